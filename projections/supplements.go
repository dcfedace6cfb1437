package projections

import (
	"slices"
	"time"

	"haulout/events"
)

// Supplement is a supplement of one facility and what was said of it over time.
type Supplement struct {
	Facility string  `json:"facility"`
	ID       string  `json:"supplement"`
	Name     string  `json:"name"`
	Labels   []Label `json:"labels"`
}

// Label is what one unit of a supplement holds from a moment on.
type Label struct {
	From     time.Time        `json:"from"`
	Name     string           `json:"name"`
	Per      string           `json:"per"`
	Contents []events.Content `json:"contents"`
	Source   string           `json:"source"`
}

var supplements = Whole("supplements", 1, "supplement", []string{"supplement.described"}, foldSupplement)

func foldSupplement(_ Scope, recs []Record) *Supplement {
	if len(recs) == 0 {
		return nil
	}
	last := recs[len(recs)-1].Body.(*events.SupplementDescribed)
	out := &Supplement{Facility: recs[0].Facility, ID: last.Supplement, Name: last.Name}
	for _, rec := range recs {
		b := rec.Body.(*events.SupplementDescribed)
		out.Labels = append(out.Labels, Label{rec.Time, b.Name, b.Per, b.Contents, b.Source})
	}
	return out
}

// At gives the label in force at a moment: the last one by then, or the first
// one where nothing had been said yet.
func (s *Supplement) At(at time.Time) Label {
	for _, label := range slices.Backward(s.Labels) {
		if !label.From.After(at) {
			return label
		}
	}
	return s.Labels[0]
}

// Supplements lists the supplements of a facility, or of all with "".
func (s *Store) Supplements(facility string, asOf time.Time) (out []Supplement, err error) {
	err = s.at(asOf, func(v view) error {
		out, err = v.supplements(facility)
		return err
	})
	return out, err
}

func (v view) supplements(facility string) (out []Supplement, err error) {
	all, err := every[Supplement](v, &supplements)
	for _, one := range all {
		if facility == "" || one.Facility == facility {
			out = append(out, one)
		}
	}
	return out, err
}
