package ration

import "math"

// hair is how far a sum of floats may be off before it counts: in kilograms,
// in portions, in money, and in shares of what is wanted.
const hair = 1e-9

// bend is what n portions of one food add to a sum: the greater of two lines
// that cross 0 at the same n.
type bend struct{ left, right, at float64 }

func straight(slope float64) bend { return bend{left: slope, right: slope} }

func (b bend) of(n int) float64 {
	from := float64(n) - b.at
	return max(b.left*from, b.right*from)
}

// limit is what a plan keeps to: what its foods add comes to at most most.
type limit struct {
	of   []bend // by food
	most float64
	name string // in words
}

func (l limit) sum(plan []int) (sum float64) {
	for i, n := range plan {
		sum += l.of[i].of(n)
	}
	return sum
}

// excess is by how much a plan is above the limit that it is above the most.
// A goal is a list of limits whose excess is to be the least.
func excess(goal []limit, plan []int) float64 {
	out := math.Inf(-1)
	for _, l := range goal {
		out = max(out, l.sum(plan)-l.most)
	}
	return out
}

// within is limits that may be exceeded by v.
func within(limits []limit, v float64) []limit {
	out := make([]limit, len(limits))
	for i, l := range limits {
		out[i] = limit{l.of, l.most + v, l.name}
	}
	return out
}
