package dominance

import (
	"cmp"
	"math"
	"slices"
)

// Stability sums up how much an order by points changes from day to day. It is
// a value that can be carried on beside a Rating; its zero is before the first
// day.
type Stability struct {
	Changed  float64 `json:"changed"`  // places
	Weighted float64 `json:"weighted"` // places, each day's times the standing of the highest animal that moved
	Possible float64 `json:"possible"` // the most places that could have changed
}

// Step takes in the points at the end of a day and those at the end of the last
// day before that had encounters, with the days from one to the other, at least
// 1: on those between nothing moved. Animals that are not in both are left out
// and the others close up; equal animals share the mean of their places.
func (s Stability) Step(before, after map[string]float64, days int) Stability {
	was, is := []float64{}, []float64{}
	for _, id := range stayed(before, after) {
		was, is = append(was, before[id]), append(is, after[id])
	}
	n := len(was)
	s.Possible += float64(n * n / 2 * max(days, 1))
	if n == 0 {
		return s
	}
	from, to := places(was), places(is)
	changed, top := 0.0, -1
	for i := range n {
		changed += math.Abs(from[i] - to[i])
		if from[i] != to[i] && (top < 0 || from[i] < from[top]) {
			top = i
		}
	}
	if low, high := slices.Min(was), slices.Max(was); top >= 0 && high > low {
		s.Weighted += changed * (was[top] - low) / (high - low)
	}
	s.Changed += changed
	return s
}

// Index is the stability of the days so far, 1 where no place ever changed,
// weighted towards changes at the top and plain: 1 minus the sum of changes
// over the sum of floor(N²/2). Neumann et al. 2011 (Anim Behav 82:911-921) with
// the sign and divisor of McDonald & Shizuka 2013. Points are carried forward,
// not interpolated towards encounters to come, so figures differ from those of
// programs that look ahead. Without a day of two animals there is none: ok is
// false.
func (s Stability) Index() (weighted, plain float64, ok bool) {
	if s.Possible == 0 {
		return 0, 0, false
	}
	return 1 - s.Weighted/s.Possible, 1 - s.Changed/s.Possible, true
}

// stayed are the animals in both, by name.
func stayed(before, after map[string]float64) (out []string) {
	for id := range before {
		if _, ok := after[id]; ok {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

// places are the places of values from the greatest down, 1 for the first;
// equal ones share the mean of theirs.
func places(values []float64) []float64 {
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(values[b], values[a]) })
	out := make([]float64, len(values))
	for i := 0; i < len(order); {
		j := i
		for j < len(order) && values[order[j]] == values[order[i]] {
			j++
		}
		for _, at := range order[i:j] {
			out[at] = float64(i+j+1) / 2
		}
		i = j
	}
	return out
}
