package projections

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections/coat"
	"haulout/projections/energetics"
)

// CoatAnswer is what an animal's coat scores come to: the molts that were seen,
// the next that is expected, and how the present one stands.
type CoatAnswer struct {
	Animal     string       `json:"animal"`
	Name       string       `json:"name"`
	Day        Day          `json:"day"`                  // that is asked from
	Facility   string       `json:"facility"`             // whose animals it is compared with
	Hemisphere string       `json:"hemisphere,omitempty"` // north or south, by the facility's time zone; "" where that is not certain
	Outlook    coat.Outlook `json:"outlook"`
	Scores     []CoatScore  `json:"scores"` // up to the day, in order of time
	Rings      []coat.Ring  `json:"rings"`

	Assumptions []coat.Constant `json:"assumptions"`
	Caution     string          `json:"caution"`
}

// CoatCaution stands beside every answer about a coat.
const CoatCaution = "Worked out from the coat scores on record. It is no diagnosis: what an early, late or stalled molt means is for the veterinarian to say."

// CoatOutlooks gives the outlook of each animal in a facility's care at a
// moment, by id. Molts of all animals that the facility ever cared for tell what
// is usual of a class. What hangs on the outlooks is shared with others: it is to
// be read only.
func (s *Store) CoatOutlooks(facility string, now, asOf time.Time) (out []coat.Outlook, err error) {
	err = s.at(asOf, func(v view) error {
		all, err := every[Animal](v, &animals)
		if err != nil {
			return err
		}
		out, err = v.coatOutlooks(facility, all, now)
		return err
	})
	return out, err
}

func (v view) coatOutlooks(facility string, all []Animal, now time.Time) ([]coat.Outlook, error) {
	inCare := map[string]bool{}
	for i := range all {
		stay := all[i].Stay(now)
		inCare[all[i].ID] = stay != nil && stay.Facility == facility
	}
	list, err := v.coatsAt(facility, all, now)
	return slices.DeleteFunc(slices.Clone(list), func(o coat.Outlook) bool { return !inCare[o.Animal] }), err
}

// CoatOf answers about one animal, among those of the facility that cares for
// it, or last did. It is nil where no such animal is known.
func (s *Store) CoatOf(animal string, now, asOf time.Time) (out *CoatAnswer, err error) {
	err = s.at(asOf, func(v view) error {
		all, err := every[Animal](v, &animals)
		if err != nil {
			return err
		}
		i := slices.IndexFunc(all, func(a Animal) bool { return a.ID == animal })
		if i < 0 {
			return nil
		}
		out, err = v.coatOf(&all[i], all, now)
		return err
	})
	return out, err
}

func (v view) coatOf(a *Animal, all []Animal, now time.Time) (*CoatAnswer, error) {
	home := a.homeAt(now)
	list, err := v.coatsAt(home, all, now)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(list, func(o coat.Outlook) bool { return o.Animal == a.ID })
	zone := v.zoneOr(home)
	out := &CoatAnswer{
		Animal: a.ID, Name: a.Name, Day: DayOf(now, zone), Facility: home, Hemisphere: coat.HemisphereOf(zone.String()), Outlook: list[i],
		Scores: []CoatScore{}, Assumptions: coatAssumptions(), Caution: CoatCaution,
	}
	out.Rings = coat.Rings(out.Outlook.Years, coatDay(out.Day))
	scores, err := v.coatScores(a.ID, out.Day)
	out.Scores = append(out.Scores, scores...)
	return out, err
}

// coatAssumptions are the constants that an outlook rests on.
func coatAssumptions() (out []coat.Constant) {
	for _, key := range []string{"onset_at", "end_at", "reading_error", "gap", "bracket", "level", "own_least", "class_least", "onset_between", "onset_within", "days_between", "days_within", "worth", "published_onset", "published_days"} {
		out = append(out, coat.Assumed(key))
	}
	return out
}

// homeAt is the facility that cares for an animal at a moment, or the last that
// did by then; where none did yet, the first that will.
func (a *Animal) homeAt(at time.Time) string {
	home := a.Stays[0].Facility
	for _, stay := range a.Stays {
		if !stay.From.After(at) {
			home = stay.Facility
		}
	}
	return home
}

// zoneOr is the zone of a facility, UTC where it is not known.
func (v view) zoneOr(facility string) *time.Location { return cmp.Or(v.zone(facility), time.UTC) }

func coatDay(d Day) coat.Day { return coat.Day(d.number()) }

// coatsAt gives the outlooks of all animals that a facility cared for up to a
// moment. They are shared with others: they are to be read only.
func (v view) coatsAt(facility string, all []Animal, now time.Time) ([]coat.Outlook, error) {
	today, sides := DayOf(now, v.zoneOr(facility)), v.hemispheres()
	of := stretch{p: &coats}
	name := []string{"coats of", facility, "on", string(today), fmt.Sprint(sides)}
	var herd []coat.Animal
	for i := range all {
		if a := &all[i]; a.wasAt(facility, now) {
			herd, of.refs = append(herd, coatAnimal(a)), append(of.refs, events.Ref{Sort: "animal", ID: a.ID})
			name = append(name, a.ID, a.Taxon, a.Sex, a.Born)
		}
	}
	return madeOf(v, strings.Join(name, "\n"), of, func() (_ []coat.Outlook, err error) {
		for i, a := range herd {
			if herd[i].Scores, err = v.coatMarks(a.ID); err != nil {
				return nil, err
			}
		}
		return coat.Outlooks(herd, sides, coatDay(today))
	})
}

// wasAt says that a facility cared for an animal by a moment, or is the first
// that will.
func (a *Animal) wasAt(facility string, at time.Time) bool {
	been := func(s Stay) bool { return s.Facility == facility && !s.From.After(at) }
	return slices.ContainsFunc(a.Stays, been) || a.homeAt(at) == facility
}

// hemispheres says of each facility on which side of the equator it lies, where
// its time zone tells.
func (v view) hemispheres() map[string]string {
	out := map[string]string{}
	for _, code := range v.s.Codes() {
		if zone := v.zone(code); zone != nil {
			if side := coat.HemisphereOf(zone.String()); side != "" {
				out[code] = side
			}
		}
	}
	return out
}

// coatAnimal is an animal as the science of coats takes it, without its scores.
func coatAnimal(a *Animal) coat.Animal {
	out := coat.Animal{ID: a.ID, Taxon: a.Taxon, Sex: a.Sex}
	if taxon, known := energetics.TaxonOf(a.Taxon); known {
		out.Grown = taxon.Sex(a.Sex).GrownYears
	}
	if span, ok := events.ParseSpan(a.Born); ok {
		if born, known := span.Middle(); known {
			day := coatDay(DayOf(born, time.UTC))
			out.Born = &day
		}
	}
	return out
}

// coatMarks are all scores of an animal as the science takes them, in order of
// time.
func (v view) coatMarks(animal string) (out []coat.Score, err error) {
	of := stretch{p: &coats, refs: []events.Ref{{Sort: "animal", ID: animal}}}
	return madeOf(v, "coat scores of "+animal, of, func() (out []coat.Score, err error) {
		r, err := row[coatMarks](v, of.p, Scope{Ref: of.refs[0]})
		if r == nil || err != nil {
			return nil, err
		}
		for _, s := range r.Scores {
			score, wrong := s.score()
			if wrong != nil {
				return nil, wrong
			}
			out = append(out, score)
		}
		return out, nil
	})
}

// score is a coat score as the science takes it. Recorders see to it that it is
// sound.
func (s CoatMark) score() (coat.Score, error) {
	var percent *float64
	if s.NewCoat.Value != "" {
		share := s.NewCoat.Float("%")
		percent = &share
	}
	out, err := coat.NewScore(coatDay(s.Day), s.Stage, percent)
	out.Regions, out.Facility = s.Regions, s.Facility
	return out, err
}
