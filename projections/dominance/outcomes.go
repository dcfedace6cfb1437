package dominance

import (
	"math/bits"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// unknown lists the dyads that were never seen to meet.
func (m Matrix) unknown() (out [][2]int) {
	for i := range m.IDs {
		for j := range i {
			if m.Met(i, j) == 0 {
				out = append(out, [2]int{i, j})
			}
		}
	}
	return out
}

// fillings is the share of the outcomes of the unknown dyads by what the
// squares of the doubled numbers of dominated animals sum to.
func (m Matrix) fillings(unknown [][2]int, throws int, dice *rand.Rand) []float64 {
	o := m.outcome(unknown)
	var times []float64
	if len(unknown) <= filled {
		times = o.each()
	} else {
		times = o.thrown(throws, dice)
	}
	floats.Scale(1/floats.Sum(times), times)
	return times
}

// outcome is a matrix whose unknown dyads have a winner.
type outcome struct {
	doubled []int
	pairs   [][2]int // winner, loser
	squares int
}

func (m Matrix) outcome(unknown [][2]int) *outcome {
	o := &outcome{doubled: m.doubled(), pairs: slices.Clone(unknown)}
	for _, pair := range o.pairs {
		o.doubled[pair[0]]++
		o.doubled[pair[1]]--
	}
	o.squares = squares(o.doubled)
	return o
}

// flip lets the loser of a pair win: v becomes v-2 and v+2.
func (o *outcome) flip(k int) {
	winner, loser := o.pairs[k][0], o.pairs[k][1]
	o.squares += 4*(o.doubled[loser]-o.doubled[winner]) + 8
	o.doubled[winner] -= 2
	o.doubled[loser] += 2
	o.pairs[k] = [2]int{loser, winner}
}

// counts has a place for every sum of squares up to that of a straight order.
func (o *outcome) counts() []float64 {
	n := len(o.doubled)
	return make([]float64, 2*n*(n-1)*(2*n-1)/3+1)
}

// each goes over every outcome once, a flip at a time, by Gray's code.
func (o *outcome) each() []float64 {
	out := o.counts()
	out[o.squares]++
	for i := 1; i < 1<<len(o.pairs); i++ {
		o.flip(bits.TrailingZeros(uint(i)))
		out[o.squares]++
	}
	return out
}

func (o *outcome) thrown(throws int, dice *rand.Rand) []float64 {
	out := o.counts()
	for range throws {
		for k := range o.pairs {
			if dice.Uint64()&1 == 1 {
				o.flip(k)
			}
		}
		out[o.squares]++
	}
	return out
}
