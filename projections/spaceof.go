package projections

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"haulout/events"
	"haulout/projections/energetics"
	"haulout/projections/rules"
)

// SpaceAnswer is how an enclosure stands by the minimum of space for those who
// live there, and for newcomers where some are named.
type SpaceAnswer struct {
	Facility  string         `json:"facility"`
	Enclosure string         `json:"enclosure"`
	Name      string         `json:"name"`
	At        time.Time      `json:"at"`
	Sentence  string         `json:"sentence"`
	Now       rules.Standing `json:"standing_now"` // without the newcomers
	rules.Space
	Animals []SpaceAnimal `json:"animals"` // those who live there, and newcomers, by name
	Missing []string      `json:"missing"` // on record, in words
	Caution string        `json:"caution"`
}

// SpaceAnimal is an animal as the rule counts it.
type SpaceAnimal struct {
	Animal   string `json:"animal"`
	Name     string `json:"name"`
	Tape     int    `json:"tape,omitempty"`
	Taxon    string `json:"taxon"`
	Sex      string `json:"sex"`
	Mature   string `json:"mature,omitempty"` // yes, no, or "" where its age does not tell
	Newcomer bool   `json:"newcomer,omitempty"`
}

// SpaceCaution stands beside everything that is said of space.
const SpaceCaution = "An aid to planning: the minimum of the rule says nothing of what is good for these animals together. Local law and permits come first, and who lives where is for the lead keeper and the veterinarian."

// ErrSpace says what is wrong with the newcomers that were named.
var ErrSpace = errors.New("with can't be used")

// SpaceOf holds an enclosure, as it is described, against the minimum of space
// for the animals that live there at a moment, and for newcomers by their ids:
// does it fit? It is nil where the enclosure is not known. Errors: ErrSpace where
// a newcomer is not on record.
func (s *Store) SpaceOf(facility, enclosure string, now, asOf time.Time, with ...string) (out *SpaceAnswer, err error) {
	err = s.at(asOf, func(v view) error {
		e, err := v.enclosure(facility, enclosure)
		if e == nil || err != nil {
			return err
		}
		all, err := every[Animal](v, &animals)
		if err != nil {
			return err
		}
		out, err = spaceOf(*e, all, now, with)
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func spaceOf(e Enclosure, all []Animal, now time.Time, with []string) (*SpaceAnswer, error) {
	out := &SpaceAnswer{Facility: e.Facility, Enclosure: e.ID, Name: e.Name, At: now.UTC(), Animals: []SpaceAnimal{}, Missing: []string{}, Caution: SpaceCaution}
	for _, id := range with {
		if !slices.ContainsFunc(all, func(a Animal) bool { return a.ID == id }) {
			return nil, fmt.Errorf("%w: no animal has the id %q; name animals on record, or leave it out", ErrSpace, id)
		}
	}
	for i := range all {
		a := &all[i]
		here := a.livesIn(e.Facility, e.ID, now)
		if here || slices.Contains(with, a.ID) {
			out.Animals = append(out.Animals, SpaceAnimal{a.ID, a.Name, a.Tape, a.Taxon, a.Sex, a.matureOn(now), !here})
		}
	}
	slices.SortFunc(out.Animals, func(a, b SpaceAnimal) int { return compareNames(a.Name, a.Animal, b.Name, b.Animal) })
	var err error
	if out.Space, err = rules.SpaceFor(occupants(out.Animals, true), e.extent()); err != nil {
		return nil, err
	}
	before, err := rules.SpaceFor(occupants(out.Animals, false), e.extent())
	out.Now = before.Standing
	out.missing()
	out.Sentence = out.sentence()
	return out, err
}

// livesIn says whether an animal lives in an enclosure at a moment.
func (a *Animal) livesIn(facility, enclosure string, at time.Time) bool {
	place := a.Place(at)
	return place != nil && place.Facility == facility && place.Enclosure == enclosure
}

// matureOn says whether an animal is mature, as far as its birth tells: the
// oldest and the youngest that it may be have to agree.
func (a *Animal) matureOn(at time.Time) string {
	kind, known := energetics.TaxonOf(a.Taxon)
	span, ok := events.ParseSpan(a.Born)
	if !known || !ok {
		return ""
	}
	grown := kind.Sex(a.Sex).GrownYears
	if a.Sex != "male" && a.Sex != "female" {
		return ""
	}
	older := func(born time.Time) bool { return at.Sub(born).Hours()/24/365.25 >= grown }
	switch {
	case !span.Last.IsZero() && older(span.Last):
		return "yes"
	case !span.First.IsZero() && !older(span.First):
		return "no"
	}
	return ""
}

func occupants(list []SpaceAnimal, newcomers bool) (out []rules.Occupant) {
	for _, a := range list {
		if newcomers || !a.Newcomer {
			out = append(out, rules.Occupant{Animal: a.Name, Taxon: a.Taxon, Sex: a.Sex, Mature: a.Mature})
		}
	}
	return out
}

// extent is what the enclosure has, in metres and square metres.
func (e Enclosure) extent() rules.Extent {
	in := func(q events.Quantity, unit string) *float64 {
		if q.IsZero() {
			return nil
		}
		value := q.Float(unit)
		return &value
	}
	return rules.Extent{WaterArea: in(e.Water, "m2"), WaterDepth: in(e.Depth, "m"), DryArea: in(e.Dry, "m2"), Width: in(e.Width, "m"), Across: in(e.Across, "m")}
}

// missing names what has to be on record for a verdict. What is taken the
// stricter way for want of it stands among the notes of the rule.
func (a *SpaceAnswer) missing() {
	for _, m := range a.Measures {
		if m.Present == nil {
			a.Missing = append(a.Missing, m.What+" of "+a.Name+" is not on record: describe the enclosure again with it")
		} else if m.Standing == rules.Undecided {
			a.Missing = append(a.Missing, "the dimension at a right angle to the width of "+a.Name+" is not on record: describe the enclosure again with across")
		}
	}
	if a.NotEnough != "" && len(a.Animals) > 0 {
		a.Missing = append(a.Missing, "the program has no adult length of every kind here: hold the enclosure against the table of the law by hand")
	}
}

func (a *SpaceAnswer) sentence() string {
	who, newcomers := "those who live there", 0
	for _, animal := range a.Animals {
		newcomers += one(animal.Newcomer)
	}
	if newcomers > 0 {
		who = "those who live there and the newcomers"
	}
	switch {
	case a.NotEnough != "":
		return "Not enough is known: " + a.NotEnough + "."
	case a.Standing == rules.Passes:
		return fmt.Sprintf("%s has the space that the rule asks for %s.", a.Name, who)
	case a.Standing == rules.Fails && newcomers > 0 && a.Now != rules.Fails:
		return fmt.Sprintf("%s has less space than the rule asks for %s; without the newcomers it has not been found wanting.", a.Name, who)
	case a.Standing == rules.Fails:
		return fmt.Sprintf("%s has less space than the rule asks for %s.", a.Name, who)
	}
	return fmt.Sprintf("Whether %s has the space that the rule asks for %s can't be said yet.", a.Name, who)
}
