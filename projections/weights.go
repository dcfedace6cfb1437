package projections

import (
	"time"

	"haulout/events"
)

// Weighing is one reading of a scale.
type Weighing struct {
	ID       string           `json:"id"`
	Time     time.Time        `json:"time"`
	Facility string           `json:"facility"`
	Kg       float64          `json:"mass_kg"`
	Read     events.Quantity  `json:"read"` // as read off the scale
	Scale    string           `json:"scale,omitempty"`
	Coat     string           `json:"coat,omitempty"`
	Method   string           `json:"method,omitempty"`
	By       string           `json:"by"`
	Was      *events.Quantity `json:"was,omitempty"` // what stood there before a correction
}

type weighings struct {
	List []Weighing `json:"list"`
}

var weights = Daily("weights", 1, "animal", []string{"weight.taken"}, foldWeights)

func foldWeights(_ Scope, recs []Record) *weighings {
	if len(recs) == 0 {
		return nil
	}
	out := &weighings{}
	for i := range recs {
		out.List = append(out.List, weighingOf(&recs[i]))
	}
	return out
}

func weighingOf(rec *Record) Weighing {
	b := rec.Body.(*events.WeightTaken)
	w := Weighing{
		ID: rec.ID, Time: rec.Time, Facility: rec.Facility, Kg: b.Mass.Float("kg"), Read: b.Mass,
		Scale: b.Scale, Coat: b.Coat, Method: b.Method, By: rec.Author,
	}
	if rec.Original != nil {
		was := rec.Original.Body.(*events.WeightTaken).Mass
		w.Was = &was
	}
	return w
}

// Weights lists an animal's weigh-ins over days from … to, in order of time.
func (s *Store) Weights(animal string, from, to Day, asOf time.Time) (out []Weighing, err error) {
	err = s.at(asOf, func(v view) error {
		list, err := rows[weighings](v, &weights, events.Ref{Sort: "animal", ID: animal}, from, to)
		for _, day := range list {
			out = append(out, day.Row.List...)
		}
		return err
	})
	return out, err
}
