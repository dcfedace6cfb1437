package projections

import (
	"cmp"
	"slices"
	"time"

	"haulout/events"
)

// Judged is what was decided about an animal and another that it might live
// with. The latest decision on a pair holds.
type Judged struct {
	Other    string    `json:"other,omitempty"`
	Verdict  string    `json:"verdict"`
	Reason   string    `json:"reason"`
	Since    time.Time `json:"since"`
	By       string    `json:"by"`
	Facility string    `json:"facility"`
	Entry    string    `json:"entry"`
}

// judgedRow is all that was decided about an animal's company, in order of time.
type judgedRow struct {
	Animal string   `json:"animal"`
	Turns  []Judged `json:"turns"`
}

var judged = Whole("judged", 1, "animal", []string{"company.judged"}, foldJudged)

func foldJudged(sc Scope, recs []Record) *judgedRow {
	if len(recs) == 0 {
		return nil
	}
	out := &judgedRow{Animal: sc.Ref.ID}
	for _, rec := range recs {
		b := rec.Body.(*events.CompanyJudged)
		for _, other := range b.Animals {
			if other != sc.Ref.ID {
				out.Turns = append(out.Turns, Judged{other, b.Verdict, b.Reason, rec.Time, rec.Author, rec.Facility, rec.ID})
			}
		}
	}
	return out
}

// JudgedPair is what holds about two animals. A sorts before B.
type JudgedPair struct {
	A string `json:"a"`
	B string `json:"b"`
	Judged
}

// Judgements lists what holds about pairs of the animals at a moment; pairs of
// which nothing was decided are not in it.
func (s *Store) Judgements(animals []string, at, asOf time.Time) (out []JudgedPair, err error) {
	err = s.at(asOf, func(v view) error {
		out, err = v.judgements(animals, at)
		return err
	})
	return out, err
}

func (v view) judgements(animals []string, at time.Time) (out []JudgedPair, err error) {
	for _, a := range animals {
		r, err := row[judgedRow](v, &judged, Scope{Ref: events.Ref{Sort: "animal", ID: a}})
		if err != nil {
			return nil, err
		}
		if r == nil {
			continue
		}
		for other, turn := range r.holding(at) {
			if a < other && slices.Contains(animals, other) {
				turn.Other = ""
				out = append(out, JudgedPair{a, other, turn})
			}
		}
	}
	slices.SortFunc(out, func(x, y JudgedPair) int { return cmp.Or(cmp.Compare(x.A, y.A), cmp.Compare(x.B, y.B)) })
	return out, nil
}

// holding is the latest decision about each other animal at a moment.
func (r *judgedRow) holding(at time.Time) map[string]Judged {
	out := map[string]Judged{}
	for _, turn := range r.Turns {
		if !turn.Since.After(at) {
			out[turn.Other] = turn
		}
	}
	return out
}
