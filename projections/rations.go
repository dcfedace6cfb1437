package projections

import (
	"slices"
	"time"

	"haulout/events"
)

// Ration is what an animal is to get each day from a moment on.
type Ration struct {
	From     time.Time           `json:"from"`
	Facility string              `json:"facility"`
	Items    []events.RationItem `json:"items"`
	Times    []string            `json:"times,omitempty"` // of the feeds, by the clock of the facility
	Reason   string              `json:"reason,omitempty"`
	By       string              `json:"by"`
}

// Rations is every ration an animal was ever set, in order of time.
type Rations struct {
	Set []Ration `json:"set"`
}

var rations = Whole("rations", 2, "animal", []string{"ration.set"}, foldRations)

func foldRations(_ Scope, recs []Record) *Rations {
	if len(recs) == 0 {
		return nil
	}
	out := &Rations{}
	for _, rec := range recs {
		b := rec.Body.(*events.RationSet)
		out.Set = append(out.Set, Ration{rec.Time, rec.Facility, b.Items, b.Times, b.Reason, rec.Author})
	}
	return out
}

// Grams is the mass of a day's ration.
func (r *Ration) Grams() (g float64) {
	var mg int64
	for _, item := range r.Items {
		mg += item.Mass.Milligrams()
	}
	return grams(mg)
}

// At is the ration that holds at a moment; nil where none was set by then.
func (r *Rations) At(at time.Time) *Ration {
	if r == nil {
		return nil
	}
	for i := range slices.Backward(r.Set) {
		if ration := &r.Set[i]; !ration.From.After(at) {
			return ration
		}
	}
	return nil
}

// Ration is what holds for an animal at a moment; nil where none was set.
func (s *Store) Ration(animal string, at, asOf time.Time) (out *Ration, err error) {
	err = s.at(asOf, func(v view) error {
		r, err := row[Rations](v, &rations, Scope{Ref: events.Ref{Sort: "animal", ID: animal}})
		if err != nil || r == nil {
			return err
		}
		out = r.At(at)
		return nil
	})
	return out, err
}
