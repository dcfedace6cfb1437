package projections

import (
	"time"

	"haulout/events"
)

// CoatScore is one look at how much of a coat is new.
type CoatScore struct {
	Entry    string          `json:"entry"`
	Time     time.Time       `json:"time"`
	Facility string          `json:"facility"`
	Stage    string          `json:"stage,omitempty"`
	NewCoat  events.Quantity `json:"new_coat,omitzero"`
	Regions  []string        `json:"regions,omitempty"`
	By       string          `json:"by"`
}

// coatRow is the coat scores of an animal on a local day.
type coatRow struct {
	Scores []CoatScore `json:"scores"`
}

var coats = Daily("coats", 1, "animal", []string{"coat.scored"}, foldCoats)

func foldCoats(_ Scope, recs []Record) *coatRow {
	if len(recs) == 0 {
		return nil
	}
	out := &coatRow{}
	for _, rec := range recs {
		b := rec.Body.(*events.CoatScored)
		out.Scores = append(out.Scores, CoatScore{rec.ID, rec.Time, rec.Facility, b.Stage, b.NewCoat, b.Regions, rec.Author})
	}
	return out
}

// LastCoat is the last score of an animal's coat up to a day; nil where there is none.
func (s *Store) LastCoat(animal string, to Day) (out *CoatScore, err error) {
	err = s.at(time.Time{}, func(v view) error {
		last, err := latest[coatRow](v, &coats, events.Ref{Sort: "animal", ID: animal}, to)
		if last != nil {
			out = &last.Row.Scores[len(last.Row.Scores)-1]
		}
		return err
	})
	return out, err
}
