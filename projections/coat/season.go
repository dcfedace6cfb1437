package coat

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"
)

// Sample is how the animals came to be scored.
type Sample int

// The samples of Underhill & Zucchini: whether each animal was before, in or
// after molt (1), how far each was (2), and only animals in molt (3).
const (
	ByState Sample = iota + 1
	ByScore
	OnlyMolting
)

// Season is the molt of a class in one season: onsets are normal, and new coat
// grows evenly.
type Season struct {
	Duration      float64    // days
	Onset         Day        // mean
	SD            float64    // of onsets, in days
	Errors        [3]float64 // standard errors of the three
	LogLikelihood float64
	NotEnough     string
}

// FitSeason fits a season to scores of a class, each taken as another animal's,
// by the likelihood of Underhill & Zucchini 1988 (Ibis 130:358). A stage counts
// by its bounds. Scores of several years are first brought into one. Repeated
// scores of few animals make the errors too small. Errors: a sample that is not
// known, a score that can't be.
func FitSeason(scores []Score, sample Sample) (Season, error) {
	if sample < ByState || sample > OnlyMolting {
		return Season{}, fmt.Errorf("sample: %d is not known: give ByState, ByScore or OnlyMolting", sample)
	}
	scores, err := inOrder(scores)
	if err != nil {
		return Season{}, err
	}
	f := &seasonFit{sample: sample}
	for _, s := range scores {
		f.take(s)
	}
	if why := f.short(); why != "" {
		return Season{NotEnough: why}, nil
	}
	return f.fit()
}

type seasonFit struct {
	sample        Sample
	scores        []Score
	before, after int // scores of none and of all
	middle        float64
}

func (f *seasonFit) take(s Score) {
	switch {
	case s.Molting() && f.sample == ByState:
		s.Least, s.Most = 0, 100
	case s.None():
		f.before++
	case s.Complete():
		f.after++
	}
	if s.Molting() || f.sample != OnlyMolting {
		f.scores = append(f.scores, s)
		f.middle += float64(s.Day)
	}
}

func (f *seasonFit) short() string {
	least := int(assumed("season_least"))
	molting := len(f.scores)
	if f.sample != OnlyMolting {
		molting -= f.before + f.after
	}
	switch {
	case len(f.scores) < least:
		return fmt.Sprintf("%d scores; a season needs %d", len(f.scores), least)
	case molting < 3:
		return fmt.Sprintf("%d scores in molt; a season needs 3", molting)
	case f.sample == ByState && (f.before == 0 || f.after == 0):
		return "no score before, or none after molt; how long it lasts can't be told from states alone"
	}
	return ""
}

func (f *seasonFit) fit() (Season, error) {
	f.middle /= float64(len(f.scores))
	spread := 0.0
	for _, s := range f.scores {
		spread += math.Pow(float64(s.Day)-f.middle, 2) / float64(len(f.scores))
	}
	scale := max(math.Sqrt(spread), 1)
	// Duration and standard deviation are looked for by their logarithms, days from
	// the middle of the scores and in units of their spread.
	at := func(x []float64) (tau, mean, sd float64) {
		return scale * math.Exp(x[0]), f.middle + scale*x[1], scale * math.Exp(x[2])
	}
	loss := func(x []float64) float64 { return -f.logLikelihood(at(x)) }
	best := []float64{0.5, -0.5, -1}
	for range 3 {
		result, err := optimize.Minimize(optimize.Problem{Func: loss}, best,
			&optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-12, Iterations: 60}, MajorIterations: 2000}, &optimize.NelderMead{})
		if err != nil {
			return Season{NotEnough: "the scores settle no season: " + err.Error()}, nil
		}
		best = result.X
	}
	tau, mean, sd := at(best)
	out := Season{Duration: tau, Onset: Day(mean), SD: sd, LogLikelihood: -loss(best)}
	if !out.errors(f) {
		return Season{NotEnough: "the scores settle no season: several fit them as well"}, nil
	}
	return out, nil
}

// errors are the standard errors, by the curvature of the likelihood.
func (s *Season) errors(f *seasonFit) bool {
	var curvature mat.SymDense
	fd.Hessian(&curvature, func(x []float64) float64 { return -f.logLikelihood(x[0], x[1], x[2]) },
		[]float64{s.Duration, float64(s.Onset), s.SD}, &fd.Settings{Formula: fd.Central, Step: 1e-3 * s.SD})
	var chol mat.Cholesky
	if !chol.Factorize(&curvature) {
		return false
	}
	var inverse mat.SymDense
	if err := chol.InverseTo(&inverse); err != nil {
		return false
	}
	for i := range s.Errors {
		s.Errors[i] = math.Sqrt(inverse.At(i, i))
	}
	return s.SD > 0 && s.Errors[0] < s.Duration && s.Duration < 10*yearDays
}

const sqrt2Pi = 2.50662827463100050241576528481104525

// logLikelihood of duration, mean onset and its standard deviation, in days. An
// animal with a share y of new coat on day t began on t - y tau.
func (f *seasonFit) logLikelihood(tau, mean, sd float64) (sum float64) {
	for _, s := range f.scores {
		z := func(share float64) float64 { return (float64(s.Day) - share/100*tau - mean) / sd }
		p := 0.0
		switch {
		case s.None():
			p = normal(-z(0))
		case s.Complete():
			p = normal(z(100))
		case s.Least == s.Most:
			p = tau / sd * math.Exp(-z(s.Least)*z(s.Least)/2) / sqrt2Pi
		default:
			p = within(z(s.Most), z(s.Least))
		}
		if f.sample == OnlyMolting {
			p /= max(within(z(100), z(0)), math.SmallestNonzeroFloat64)
		}
		sum += math.Log(max(p, 1e-300))
	}
	return sum
}

// normal is the standard normal distribution function.
func normal(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// within is the chance to lie between, taken in the tail where it is exact.
func within(lo, hi float64) float64 {
	if lo > 0 {
		lo, hi = -hi, -lo
	}
	return normal(hi) - normal(lo)
}
