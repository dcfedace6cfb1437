package growth

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Kendall is the rank correlation of mass and day.
type Kendall struct {
	S        int     // pairs that rise less pairs that fall
	Variance float64 // of S if there were no trend
	Z, P     float64 // P of both sides
	Tau      float64 // tau-b, -1 to 1
}

// tied are the sizes of groups of equal masses.
func (s series) tied() (out []int) {
	sorted := slices.Clone(s.kg)
	slices.Sort(sorted)
	for from := 0; from < len(sorted); {
		to := from + 1
		for to < len(sorted) && sorted[to] == sorted[from] {
			to++
		}
		if to-from > 1 {
			out = append(out, to-from)
		}
		from = to
	}
	return out
}

// variance is that of Kendall's S if there were no trend; days have no ties.
func (s series) variance() float64 {
	part := func(n int) float64 { return float64(n) * float64(n-1) * float64(2*n+5) / 18 }
	out := part(len(s.day))
	for _, t := range s.tied() {
		out -= part(t)
	}
	return out
}

// kendall is the rank correlation; wider multiplies the variance. Source: Mann
// 1945, Kendall 1970 (Rank Correlation Methods).
func (s series) kendall(wider float64) Kendall {
	pairs, equal := s.pairs(), 0
	for _, t := range s.tied() {
		equal += t * (t - 1) / 2
	}
	falling := inversions(slices.Clone(s.kg), make([]float64, len(s.kg)))
	out := Kendall{S: pairs - equal - 2*falling, Variance: wider * s.variance(), P: 1}
	if pairs == equal {
		return out
	}
	out.Tau = float64(out.S) / math.Sqrt(float64(pairs)*float64(pairs-equal))
	if out.S != 0 {
		out.Z = (float64(out.S) - math.Copysign(1, float64(out.S))) / math.Sqrt(out.Variance)
	}
	out.P = 2 * distuv.UnitNormal.Survival(math.Abs(out.Z))
	return out
}
