package projections

import (
	"cmp"
	"slices"
	"time"

	"haulout/events"
)

// Guidance is which foods an animal may be given, and in what shares, from a
// moment on in some months or all year.
type Guidance struct {
	From     time.Time           `json:"from"`
	Facility string              `json:"facility"`
	Items    []events.GuidedItem `json:"items"`
	Months   []string            `json:"months,omitempty"`
	Reason   string              `json:"reason,omitempty"`
	By       string              `json:"by"`
}

// Diets is every guidance an animal was ever given, in order of time.
type Diets struct {
	Set []Guidance `json:"set"`
}

var diets = Whole("diets", 1, "animal", []string{"diet.guided"}, foldDiets)

func foldDiets(_ Scope, recs []Record) *Diets {
	if len(recs) == 0 {
		return nil
	}
	out := &Diets{}
	for _, rec := range recs {
		b := rec.Body.(*events.DietGuided)
		out.Set = append(out.Set, Guidance{rec.Time, rec.Facility, b.Items, b.Months, b.Reason, rec.Author})
	}
	return out
}

// Diet is the guidance that holds for an animal at a moment: the last one by
// then whose months hold it, by the calendar of the facility that gave it; nil
// where there is none.
func (s *Store) Diet(animal string, at, asOf time.Time) (out *Guidance, err error) {
	err = s.at(asOf, func(v view) error {
		d, err := row[Diets](v, &diets, Scope{Ref: events.Ref{Sort: "animal", ID: animal}})
		if err != nil || d == nil {
			return err
		}
		zone := time.UTC
		if n := len(d.Set); n > 0 {
			zone = cmp.Or(v.zone(d.Set[n-1].Facility), time.UTC)
		}
		out = d.at(at, at.In(zone).Format("01"))
		return nil
	})
	return out, err
}

// at is the guidance that was given by a moment and holds in a month, such as
// 06; nil where there is none.
func (d *Diets) at(at time.Time, month string) *Guidance {
	if d == nil {
		return nil
	}
	for _, g := range slices.Backward(d.Set) {
		if !g.From.After(at) && (len(g.Months) == 0 || slices.Contains(g.Months, month)) {
			return &g
		}
	}
	return nil
}
