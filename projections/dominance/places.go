package dominance

import (
	"fmt"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// Place is where an animal stands in a group: the place it has most often, and
// the first and the last of those that it holds at the level of the reference
// file (9 in 10). 1 is the top.
type Place struct {
	Animal                 string
	Likeliest, First, Last int
}

// Places draws abilities from the bell curve about them and looks where each
// animal comes out, in the order of IDs. The same seed gives the same places.
// Errors: no draws. Source: the draws of the reference file are an assumption;
// that a position is given with its range follows Goffe, Fischer & Sennhenn-
// Reulen 2018 (Methods Ecol Evol).
func (a Abilities) Places(draws int, seed uint64) ([]Place, error) {
	if draws < 1 {
		return nil, fmt.Errorf("draws: %d: give one or more, %g are usual", draws, assumed("draws"))
	}
	if len(a.IDs) == 0 {
		return nil, nil
	}
	spread, err := a.root()
	if err != nil {
		return nil, err
	}
	dice, held := rand.New(rand.NewPCG(seed, 1)), make([][]float64, len(a.IDs))
	for range draws {
		for i, place := range places(a.draw(spread, dice)) {
			held[i] = append(held[i], place)
		}
	}
	out := make([]Place, len(a.IDs))
	for i, id := range a.IDs {
		first, last := middle(held[i])
		out[i] = Place{id, commonest(held[i], len(a.IDs)), int(first), int(last)}
	}
	return out, nil
}

// root is the lower triangle whose square is the covariance. A one in every
// cell moves all animals alike, and so no place.
func (a Abilities) root() (*mat.TriDense, error) {
	n := len(a.IDs)
	c := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range n {
			c.SetSym(i, j, a.covariance[i][j]+1)
		}
	}
	var factored mat.Cholesky
	if !factored.Factorize(c) {
		return nil, fmt.Errorf("places: the spread of the abilities has no root: use a prior")
	}
	var out mat.TriDense
	factored.LTo(&out)
	return &out, nil
}

func (a Abilities) draw(spread *mat.TriDense, dice *rand.Rand) []float64 {
	n := len(a.IDs)
	bells, out := make([]float64, n), make([]float64, n)
	for i := range n {
		bells[i] = dice.NormFloat64()
		out[i] = a.Log[i]
		for j := range i + 1 {
			out[i] += spread.At(i, j) * bells[j]
		}
	}
	return out
}

// commonest is the place that occurs most often, the upper one of equals.
func commonest(held []float64, n int) (best int) {
	times := make([]int, n+1)
	for _, place := range held {
		times[int(place)]++
	}
	for place, t := range times {
		if t > times[best] {
			best = place
		}
	}
	return best
}
