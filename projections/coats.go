package projections

import (
	"time"

	"haulout/events"
)

// CoatScore is one look at how much of a coat is new.
type CoatScore struct {
	Entry string    `json:"entry"`
	Time  time.Time `json:"time"`
	CoatMark
	By string `json:"by"`
}

// CoatMark is what a molt is read from.
type CoatMark struct {
	Day      Day             `json:"day"` // of the facility
	Facility string          `json:"facility"`
	Stage    string          `json:"stage,omitempty"`
	NewCoat  events.Quantity `json:"new_coat,omitzero"`
	Regions  []string        `json:"regions,omitempty"`
}

// coatMarks is a row without who wrote each score down and when: ten years of a
// hundred animals are decoded sooner.
type coatMarks struct {
	Scores []CoatMark `json:"scores"`
}

// coatRow is every coat score of an animal, by the time it was given: a molt is
// read over years, and one row is read sooner than one a day.
type coatRow struct {
	Scores []CoatScore `json:"scores"`
}

var coats = Whole("coats", 2, "animal", []string{"coat.scored"}, foldCoats)

func foldCoats(_ Scope, recs []Record) *coatRow {
	out := &coatRow{}
	for _, rec := range recs {
		if rec.Zone == nil {
			continue // the day is not known before the zone is
		}
		b := rec.Body.(*events.CoatScored)
		out.Scores = append(out.Scores, CoatScore{rec.ID, rec.Time, CoatMark{DayOf(rec.Time, rec.Zone), rec.Facility, b.Stage, b.NewCoat, b.Regions}, rec.Author})
	}
	if len(out.Scores) == 0 {
		return nil
	}
	return out
}

// coatScores are an animal's scores up to a day. They are shared: they are to be
// read only.
func (v view) coatScores(animal string, to Day) (out []CoatScore, err error) {
	r, err := row[coatRow](v, &coats, Scope{Ref: events.Ref{Sort: "animal", ID: animal}})
	if r == nil || err != nil {
		return nil, err
	}
	for _, s := range r.Scores {
		if s.Day <= to {
			out = append(out, s)
		}
	}
	return out, nil
}

// LastCoat is the last score of an animal's coat up to a day; nil where there is none.
func (s *Store) LastCoat(animal string, to Day) (out *CoatScore, err error) {
	err = s.at(time.Time{}, func(v view) error {
		list, err := v.coatScores(animal, to)
		if n := len(list); n > 0 {
			out = &list[n-1]
		}
		return err
	})
	return out, err
}
