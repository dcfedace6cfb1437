package projections

import (
	"fmt"
	"slices"
	"time"

	"haulout/events"
	"haulout/projections/rules"
)

// WaterSeries is a count of coliforms with the samples that repeat it, and its
// verdict. Settled says that it passes, or that a later count did.
type WaterSeries struct {
	rules.Series
	Sample  string       `json:"sample,omitempty"` // of the first
	Counts  []WaterValue `json:"counts"`           // in order of time, each judged by itself
	Settled bool         `json:"settled"`
}

// SampleDue is a sample that repeats a count and is still to be taken.
type SampleDue struct {
	Sample  string    `json:"sample,omitempty"` // that it repeats
	First   time.Time `json:"first"`            // when that was taken
	By      time.Time `json:"by"`
	Overdue bool      `json:"overdue"` // by more than a sample may be off its hour
	Words   string    `json:"words"`
}

// chain puts counts that repeat another into its series. What names a count that
// passed, is complete or is not on record stands for itself, so that no high
// count hides behind a low one.
func (w *watered) chain() {
	bySample := map[string]int{}
	for _, t := range w.tests {
		count, counted := w.count(t)
		if !counted {
			continue
		}
		at, named := bySample[t.Repeat]
		if t.Repeat == "" || !named || !w.takes(w.series[at]) {
			at = len(w.series)
			w.series = append(w.series, WaterSeries{Sample: t.Sample})
		}
		if t.Repeat != "" && !named && DayOf(t.Time, w.zone) > w.today.Add(-WaterDays) {
			w.stray = append(w.stray, fmt.Sprintf("the count of %s repeats sample %s, which is not on record here, so it stands for itself", t.Time.In(w.zone).Format("2 January 2006"), t.Repeat))
		}
		if t.Sample != "" {
			bySample[t.Sample] = at
		}
		w.of[t.Entry] = at
		w.series[at].Counts = append(w.series[at].Counts, count)
		w.series[at].Series = w.averaged(w.series[at].Counts)
	}
	for i := range w.series {
		w.series[i].Settled = w.settled(i)
	}
}

// count is the count of coliforms of a test; of several the gravest, and of
// those the highest.
func (w *watered) count(t WaterTest) (out WaterValue, found bool) {
	for _, r := range t.Readings {
		if r.What != "total_coliform" {
			continue
		}
		value := w.judge(t, r)
		one, held := value.Verdict.Standing, out.Verdict.Standing
		if !found || rules.Graver(one, held) || one == held && level(value.Value) > level(out.Value) {
			out, found = value, true
		}
	}
	return out, found
}

// takes says that a series waits for samples.
func (w *watered) takes(s WaterSeries) bool {
	return s.Counts[0].Verdict.Standing != rules.Passes && len(s.Counts) < 1+int(w.house.Setting("coliform_repeats").Value)
}

func (w *watered) averaged(counts []WaterValue) rules.Series {
	var samples []rules.Sample
	for _, c := range counts {
		r := events.WaterReading{What: c.What, Value: c.Value, Bound: c.Bound}
		samples = append(samples, rules.Sample{Time: c.Time.In(w.zone), Reading: reading(r)})
	}
	out, err := rules.Coliforms(samples, w.house)
	if err != nil {
		out.Verdict = rules.Verdict{What: "total_coliform", Standing: rules.Undecided, Words: "it can't be judged, so correct the entry: " + err.Error()}
	}
	return out
}

// settled says that a series passes, or that one which began after its last
// sample was taken, or was due, does.
func (w *watered) settled(i int) bool {
	s := w.series[i]
	if s.Standing == rules.Passes {
		return true
	}
	end := s.Counts[len(s.Counts)-1].Time
	if n := len(s.Due); n > 0 {
		end = s.Due[n-1]
	}
	return slices.ContainsFunc(w.series[i+1:], func(later WaterSeries) bool {
		return later.Standing == rules.Passes && later.Counts[0].Time.After(end)
	})
}

// unsettled are the series of the last days that somebody must see to, newest
// first.
func (w *watered) unsettled() (out []WaterSeries) {
	for _, s := range slices.Backward(w.series) {
		if !s.Settled && DayOf(s.Counts[len(s.Counts)-1].Time, w.zone) > w.today.Add(-WaterDays) {
			out = append(out, s)
		}
	}
	return out
}

func (w *watered) samplesDue(s WaterSeries) (out []SampleDue) {
	slack := time.Duration(w.house.Setting("coliform_repeat_slack").InForce * float64(time.Hour))
	for _, by := range s.Due {
		due := SampleDue{Sample: s.Sample, First: s.Counts[0].Time, By: by.UTC(), Overdue: w.now.After(by.Add(slack))}
		due.Words = fmt.Sprintf("a sample that repeats the count of %s is due %s", due.First.In(w.zone).Format("2 January 15:04"), by.In(w.zone).Format("2 January 15:04"))
		out = append(out, due)
	}
	return out
}
