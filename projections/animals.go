package projections

import (
	"cmp"
	"slices"
	"time"

	"haulout/events"
)

// Animal is who an animal is and where it has lived.
type Animal struct {
	ID     string  `json:"animal"`
	Name   string  `json:"name"`
	Taxon  string  `json:"taxon"`
	Sex    string  `json:"sex"`
	Born   string  `json:"born,omitempty"` // EDTF
	Dam    string  `json:"dam,omitempty"`
	Sire   string  `json:"sire,omitempty"`
	Tape   int     `json:"tape,omitempty"`
	Text   string  `json:"text,omitempty"`
	Marks  []Mark  `json:"marks,omitempty"`
	Stays  []Stay  `json:"stays"`
	Places []Place `json:"places,omitempty"`
}

// Mark is a code, tag or scar by which an animal is told apart.
type Mark struct {
	Scheme string    `json:"scheme"`
	Code   string    `json:"code"`
	Where  string    `json:"where,omitempty"`
	Seen   time.Time `json:"seen"`
}

// Stay is one period in a facility's care. Until is nil while it lasts.
type Stay struct {
	Facility string     `json:"facility"`
	From     time.Time  `json:"from"`
	How      string     `json:"how"`
	Origin   string     `json:"origin,omitempty"`
	Until    *time.Time `json:"until,omitempty"`
	Left     string     `json:"left,omitempty"`
	To       string     `json:"to,omitempty"`
}

// Place is an enclosure that an animal lived in from a moment on.
type Place struct {
	Facility  string    `json:"facility"`
	Enclosure string    `json:"enclosure"`
	From      time.Time `json:"from"`
}

var animals = Whole("animals", 1, "animal",
	[]string{"animal.entered", "animal.identified", "animal.placed", "animal.left"}, foldAnimal)

func foldAnimal(sc Scope, recs []Record) *Animal {
	a := &Animal{ID: sc.Ref.ID}
	for _, rec := range recs {
		switch body := rec.Body.(type) {
		case *events.AnimalEntered:
			a.enter(body, rec)
		case *events.AnimalIdentified:
			a.Marks = append(a.Marks, Mark{body.Scheme, body.Code, body.Where, rec.Time})
		case *events.AnimalPlaced:
			a.Places = append(a.Places, Place{rec.Facility, body.Enclosure, rec.Time})
		case *events.AnimalLeft:
			a.leave(body, rec)
		}
	}
	if len(a.Stays) == 0 {
		return nil
	}
	return a
}

func (a *Animal) enter(b *events.AnimalEntered, rec Record) {
	a.Name, a.Taxon, a.Sex = b.Name, b.Taxon, b.Sex
	a.Born, a.Dam, a.Sire = cmp.Or(b.Born, a.Born), cmp.Or(b.Dam, a.Dam), cmp.Or(b.Sire, a.Sire)
	a.Tape, a.Text = cmp.Or(b.Tape, a.Tape), cmp.Or(b.Text, a.Text)
	a.Stays = append(a.Stays, Stay{Facility: rec.Facility, From: rec.Time, How: b.How, Origin: b.From})
}

// leave ends the stay at the facility that the animal left.
func (a *Animal) leave(b *events.AnimalLeft, rec Record) {
	for i := range slices.Backward(a.Stays) {
		if stay := &a.Stays[i]; stay.Facility == rec.Facility && stay.Until == nil {
			at := rec.Time
			stay.Until, stay.Left, stay.To = &at, b.How, b.To
			return
		}
	}
}

// Stay is the stay that holds at a moment, nil where the animal was in nobody's
// care. An animal has one custodian at a time: the one it entered last.
func (a *Animal) Stay(at time.Time) *Stay {
	for i := range slices.Backward(a.Stays) {
		stay := &a.Stays[i]
		if !stay.From.After(at) && (stay.Until == nil || stay.Until.After(at)) {
			return stay
		}
	}
	return nil
}

// Place is where the animal lives at a moment, nil where that is not known.
func (a *Animal) Place(at time.Time) *Place {
	stay := a.Stay(at)
	if stay == nil {
		return nil
	}
	for i := range slices.Backward(a.Places) {
		place := &a.Places[i]
		if place.Facility == stay.Facility && !place.From.After(at) && !place.From.Before(stay.From) {
			return place
		}
	}
	return nil
}

// Animals lists every animal on record, by name.
func (s *Store) Animals(asOf time.Time) (out []Animal, err error) {
	err = s.at(asOf, func(v view) error {
		out, err = every[Animal](v, &animals)
		return err
	})
	slices.SortFunc(out, func(a, b Animal) int { return compareNames(a.Name, a.ID, b.Name, b.ID) })
	return out, err
}

// compareNames orders animals by name, and those of one name by id.
func compareNames(a, idA, b, idB string) int { return cmp.Or(cmp.Compare(a, b), cmp.Compare(idA, idB)) }

// Animal reads one animal by its id; nil where there is none.
func (s *Store) Animal(id string, asOf time.Time) (a *Animal, err error) {
	err = s.at(asOf, func(v view) error {
		a, err = row[Animal](v, &animals, Scope{Ref: events.Ref{Sort: "animal", ID: id}})
		return err
	})
	return a, err
}

// Housed is an animal and where it was at a moment.
type Housed struct {
	Animal    Animal
	Facility  string
	Enclosure string // id, "" where it is not known
}

// Roster says who was in the care of a facility at a moment, or of any with "".
func (s *Store) Roster(facility string, at, asOf time.Time) ([]Housed, error) {
	all, err := s.Animals(asOf)
	if err != nil {
		return nil, err
	}
	var out []Housed
	for _, a := range all {
		stay := a.Stay(at)
		if stay == nil || (facility != "" && stay.Facility != facility) {
			continue
		}
		h := Housed{Animal: a, Facility: stay.Facility}
		if place := a.Place(at); place != nil {
			h.Enclosure = place.Enclosure
		}
		out = append(out, h)
	}
	return out, nil
}

// sinceBirth is the days since an animal last bore a pup in care, below nought
// where it did not.
func sinceBirth(all []Animal, dam string, now time.Time, zone *time.Location) int {
	days := -1
	for i := range all {
		pup := &all[i]
		for _, stay := range pup.Stays {
			if pup.Dam == dam && stay.How == "birth" && !stay.From.After(now) {
				if n := DayOf(stay.From, zone).until(DayOf(now, zone)); days < 0 || n < days {
					days = n
				}
			}
		}
	}
	return days
}
