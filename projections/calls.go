package projections

import (
	"time"

	"haulout/events"
)

// CallAnswer is what somebody did about a line of Today.
type CallAnswer struct {
	Call     string     `json:"call"`
	Facility string     `json:"facility"`
	Answer   string     `json:"answer"`
	Until    *time.Time `json:"until,omitempty"`
	Reason   string     `json:"reason,omitempty"`
	Time     time.Time  `json:"time"`
	By       string     `json:"by"`
}

// callRow is everything that was answered to one line, in order of time.
type callRow struct {
	Answers []CallAnswer `json:"answers"`
}

var calls = Whole("calls", 1, "call", []string{"call.answered"}, foldCalls)

func foldCalls(_ Scope, recs []Record) *callRow {
	if len(recs) == 0 {
		return nil
	}
	out := &callRow{}
	for _, rec := range recs {
		b := rec.Body.(*events.CallAnswered)
		a := CallAnswer{Call: b.Call, Facility: rec.Facility, Answer: b.Answer, Reason: b.Reason, Time: rec.Time, By: rec.Author}
		if until, err := events.ParseTime(b.Until); b.Until != "" && err == nil {
			a.Until = &until
		}
		out.Answers = append(out.Answers, a)
	}
	return out
}

// CallAnswers lists what was answered to a line of Today, in order of time.
func (s *Store) CallAnswers(facility, call string, asOf time.Time) (out []CallAnswer, err error) {
	err = s.at(asOf, func(v view) error {
		r, err := row[callRow](v, &calls, Scope{Ref: Local("call", facility, call)})
		if r != nil {
			out = r.Answers
		}
		return err
	})
	return out, err
}
