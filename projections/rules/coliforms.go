package rules

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// Sample is a count of coliforms and when it was taken.
type Sample struct {
	Time    time.Time
	Reading Reading
}

// Series is a count with the samples that repeat it.
type Series struct {
	Verdict
	Mean *float64    `json:"mean,omitempty"` // of the samples that are averaged, where all are figures
	Due  []time.Time `json:"due,omitempty"`  // when further samples are to be taken
}

// Coliforms judges a count and those that repeat it, the first by its time. A
// single count passes if it does not exceed the limit. If it does, two more
// samples at intervals of 48 hours are averaged with it, and the average must
// fall below the limit: one that is the limit fails (9 CFR 3.106(b)(1), from
// memory, to be verified). It fails before they are taken where no further count
// could bring the average down. Errors: no sample; one of another quantity;
// those of Judge.
func Coliforms(samples []Sample, h House) (Series, error) {
	if len(samples) == 0 {
		return Series{}, errors.New("samples: is empty: give the first count and those that repeat it")
	}
	samples = slices.Clone(samples)
	slices.SortStableFunc(samples, func(a, b Sample) int { return a.Time.Compare(b.Time) })
	for i, s := range samples {
		if err := s.Reading.check(); err != nil {
			return Series{}, fmt.Errorf("sample %d: %w", i+1, err)
		}
		if s.Reading.What != "total_coliform" {
			return Series{}, fmt.Errorf("sample %d: what: %q is not counted here: give total_coliform", i+1, s.Reading.What)
		}
	}
	single, err := Judge(samples[0].Reading, Water{}, h)
	if err != nil || single.Standing == Passes {
		return Series{Verdict: single}, err
	}
	return averaged(samples, single, h), nil
}

// averaged judges a first count that is not known to keep to the limit.
func averaged(samples []Sample, first Verdict, h House) Series {
	rule, most := water["coliform_repeats"], h.Setting("coliform_most")
	all := 1 + int(rule.Value)
	samples = samples[:min(len(samples), all)]
	out, sum := Series{Verdict: first}, span{}
	for _, s := range samples {
		sum = sum.plus(s.Reading.span())
	}
	for i := len(samples); i < all; i++ {
		sum = sum.plus(span{hi: math.Inf(1), hiOpen: true})
		out.Due = append(out.Due, samples[0].Time.Add(repeatAfter(i)))
	}
	if out.Due == nil && sum.lo == sum.hi {
		mean := sum.lo / float64(all)
		out.Mean = &mean
	}
	mean := out.mean(sum, all)
	switch falls := sum.below(float64(all) * most.InForce); { // of the sum: nothing is lost by dividing
	case falls == yes:
		out.by(rule, Passes, fmt.Sprintf("%s is below %s", mean, most.Words))
	case falls == no:
		out.Due = nil
		out.by(rule, Fails, fmt.Sprintf("%s is not below %s: the water is unsatisfactory; put it right at once, and tell the veterinarian", mean, most.Words))
	case out.Due == nil:
		out.by(rule, Undecided, fmt.Sprintf("%s may be below %s or not; count again in a way that can say", mean, most.Words))
	default:
		out.Words = fmt.Sprintf("%s; next sample due %s", first.Words, out.Due[0].Format("2006-01-02 15:04"))
	}
	if off := offTime(samples, h); off != "" {
		out.Words += "; " + off
	}
	return out
}

func (s *Series) by(r Rule, standing Standing, words string) {
	s.Rule, s.Cited, s.Verified, s.Effective = r.Name, r.Cited(), r.Verified, r.Effective
	s.Standing, s.Words = standing, words+"; averaged by "+r.Cited()
}

func repeatAfter(i int) time.Duration {
	return time.Duration(float64(i) * water["coliform_repeat_hours"].Value * float64(time.Hour))
}

// mean writes the average of samples, as far as it is known.
func (s Series) mean(sum span, all int) string {
	write := func(v float64) string {
		return amount(math.Round(100*v/float64(all))/100, "{MPN}/dL")
	}
	switch {
	case sum.lo == sum.hi:
		return fmt.Sprintf("the mean of %d samples, %s,", all, write(sum.lo))
	case math.IsInf(sum.hi, 1) && s.Due != nil:
		return fmt.Sprintf("the mean of %d samples, %s or more whatever the next ones show,", all, write(sum.lo))
	case math.IsInf(sum.hi, 1):
		return fmt.Sprintf("the mean of %d samples, over %s,", all, write(sum.lo))
	}
	return fmt.Sprintf("the mean of %d samples, from %s to %s,", all, write(sum.lo), write(sum.hi))
}

// offTime says which repeats were not taken at their hour.
func offTime(samples []Sample, h House) string {
	var out []string
	for i, s := range samples {
		if off := s.Time.Sub(samples[0].Time.Add(repeatAfter(i))); off.Abs().Hours() > h.Setting("coliform_repeat_slack").InForce {
			out = append(out, fmt.Sprintf("sample %d was taken %.0f hours after the first, and the rule says %.0f", i+1, s.Time.Sub(samples[0].Time).Hours(), repeatAfter(i).Hours()))
		}
	}
	return strings.Join(out, "; ")
}
