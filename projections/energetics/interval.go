package energetics

import (
	"math"
	"slices"
)

// Interval is a number with how far it may be off: the truth lies between Lo
// and Hi in 9 of 10 cases, if the assumptions hold.
type Interval struct {
	Mean float64 `json:"mean"`
	Lo   float64 `json:"lo90"`
	Hi   float64 `json:"hi90"`
}

// bell is one normal distribution of a mixture.
type bell struct{ weight, mean, sd float64 }

// mixture is a weighted sum of normal distributions; weights sum to 1.
type mixture []bell

func (m mixture) mean() (sum float64) {
	for _, b := range m {
		sum += b.weight * b.mean
	}
	return sum
}

func (m mixture) variance() (sum float64) {
	mean := m.mean()
	for _, b := range m {
		sum += b.weight * (b.sd*b.sd + (b.mean-mean)*(b.mean-mean))
	}
	return sum
}

// below is the chance of a value under v.
func (m mixture) below(v float64) (sum float64) {
	for _, b := range m {
		sum += b.weight * normalBelow((v-b.mean)/b.sd)
	}
	return sum
}

func normalBelow(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// quantile finds the value that a share p of the mixture lies under. What
// weighs less than a hundred thousandth can't move it.
func (m mixture) quantile(p float64) float64 {
	m = slices.DeleteFunc(slices.Clone(m), func(b bell) bool { return b.weight < 1e-5 })
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, b := range m {
		lo, hi = min(lo, b.mean-6*b.sd), max(hi, b.mean+6*b.sd)
	}
	return bisect(lo, hi, p, m.below)
}

// bisect finds where a rising function reaches p, to a 2^-30th of the span.
func bisect(lo, hi, p float64, below func(float64) float64) float64 {
	for range 30 {
		mid := lo + (hi-lo)/2
		if below(mid) < p {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + (hi-lo)/2
}

func (m mixture) interval() Interval {
	return Interval{m.mean(), m.quantile(0.05), m.quantile(0.95)}
}

// exponential is the interval of the exponential of a mixture; its middle is
// the median, which is what half of the cases lie under.
func (m mixture) exponential() Interval {
	return Interval{math.Exp(m.quantile(0.5)), math.Exp(m.quantile(0.05)), math.Exp(m.quantile(0.95))}
}
