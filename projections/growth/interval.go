package growth

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is a number with how far it may be off: the truth lies between Lo
// and Hi as often as the level of the reference file says (9 in 10), if the
// assumptions hold.
type Interval struct{ Value, Lo, Hi float64 }

// about is the interval of a value whose error is known from so many degrees
// of freedom.
func about(value, se float64, freedom int) Interval {
	half := se * student(freedom)
	return Interval{value, value - half, value + half}
}

// student is half the width of an interval at the level of the reference file,
// in standard errors.
func student(freedom int) float64 {
	t := distuv.StudentsT{Sigma: 1, Nu: float64(freedom)}
	return t.Quantile((1 + assumed("level")) / 2)
}

func normalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// toSD makes the median distance from the middle a standard deviation under
// the normal curve: 1 over its third quartile.
const toSD = 1.482602218505602

// median is the middle of values, whose order it changes; NaN without any.
func median(values []float64) float64 {
	n := len(values)
	if n == 0 {
		return math.NaN()
	}
	low := nth(values, (n-1)/2)
	if n%2 == 1 {
		return low
	}
	return (low + slices.Min(values[n/2:])) / 2
}

// nth is the value of a rank, from 0; what is less is put before it and what is
// more after it. Source: Hoare 1961 (Commun ACM 4:321).
func nth(values []float64, rank int) float64 {
	from, to := 0, len(values)-1
	for from < to {
		pivot := values[from+(to-from)/2]
		i, j := from, to
		for i <= j {
			for values[i] < pivot {
				i++
			}
			for values[j] > pivot {
				j--
			}
			if i <= j {
				values[i], values[j] = values[j], values[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case rank <= j:
			to = j
		case rank >= i:
			from = i
		default:
			return values[rank]
		}
	}
	return values[rank]
}

// spread is the standard deviation about nought by the median distance.
func spread(values []float64) float64 {
	far := make([]float64, len(values))
	for i, v := range values {
		far[i] = math.Abs(v)
	}
	return toSD * median(far)
}

// serial is how much values that follow one another are alike, from 0 for not
// at all to at most 0.95: their correlation, freed of its bias towards nought
// (Kendall 1954, Biometrika 41:403, from memory). A single wild value can't
// hide it.
func serial(values []float64) float64 {
	n, wild := float64(len(values)), 3*spread(values)
	sum, squares, last := 0.0, 0.0, 0.0
	for _, v := range values {
		v = min(max(v, -wild), wild)
		sum, squares, last = sum+v*last, squares+v*v, v
	}
	if squares == 0 || n <= 4 {
		return 0
	}
	return min(max((n*sum/squares+1)/(n-4), 0), 0.95)
}

// longRun is by how much the variance of a mean grows when its values follow
// one another with a serial correlation.
func longRun(serial float64) float64 { return (1 + serial) / (1 - serial) }
