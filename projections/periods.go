package projections

import (
	"time"

	"haulout/events"
)

// Period is the beginning of a time in which the company of an enclosure is
// looked at by itself.
type Period struct {
	From   time.Time `json:"from"`
	Reason string    `json:"reason"`
	Text   string    `json:"text,omitempty"`
	By     string    `json:"by"`
	Entry  string    `json:"entry"`
}

// periodRow is every period of an enclosure, in order of time.
type periodRow struct {
	Periods []Period `json:"periods"`
}

var periods = Whole("periods", 1, "enclosure", []string{"period.begun"}, foldPeriods)

func foldPeriods(_ Scope, recs []Record) *periodRow {
	if len(recs) == 0 {
		return nil
	}
	out := &periodRow{}
	for _, rec := range recs {
		b := rec.Body.(*events.PeriodBegun)
		out.Periods = append(out.Periods, Period{rec.Time, b.Reason, b.Text, rec.Author, rec.ID})
	}
	return out
}

// Periods lists when the company of an enclosure was begun anew.
func (s *Store) Periods(facility, enclosure string, asOf time.Time) (out []Period, err error) {
	err = s.at(asOf, func(v view) error {
		out, err = v.periods(facility, enclosure)
		return err
	})
	return out, err
}

func (v view) periods(facility, enclosure string) ([]Period, error) {
	r, err := row[periodRow](v, &periods, Scope{Ref: Local("enclosure", facility, enclosure)})
	if r == nil || err != nil {
		return nil, err
	}
	return r.Periods, nil
}
