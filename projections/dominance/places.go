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
	n, dice := len(a.IDs), rand.New(rand.NewPCG(seed, 1))
	held := make([][]int, n) // draws, by animal and place
	for i := range held {
		held[i] = make([]int, n)
	}
	bells, able := make([]float64, n), make([]float64, n)
	for range draws {
		a.draw(spread, dice, bells, able)
		for i := range n {
			held[i][above(able, i)]++
		}
	}
	out := make([]Place, n)
	for i, id := range a.IDs {
		first, last := middlePlaces(held[i], draws)
		out[i] = Place{id, commonest(held[i]), first, last}
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

// draw throws abilities from the bell curve about them. Bells is room to throw in.
func (a Abilities) draw(spread *mat.TriDense, dice *rand.Rand, bells, able []float64) {
	raw := spread.RawTriangular()
	for i := range able {
		bells[i] = dice.NormFloat64()
		able[i] = a.Log[i]
		for j, share := range raw.Data[i*raw.Stride : i*raw.Stride+i+1] {
			able[i] += share * bells[j]
		}
	}
}

// above counts the animals that are abler than one.
func above(able []float64, i int) (n int) {
	for _, other := range able {
		if other > able[i] {
			n++
		}
	}
	return n
}

// middlePlaces are the first and the last place, 1 the top, of those that are
// left when the draws beyond the level of the reference file are cut off on
// either side.
func middlePlaces(held []int, draws int) (first, last int) {
	out := int(float64(draws) * (1 - assumed("level")) / 2)
	seen := 0
	for place, times := range held {
		if seen <= out && seen+times > out {
			first = place + 1
		}
		if seen <= draws-1-out && seen+times > draws-1-out {
			last = place + 1
		}
		seen += times
	}
	return first, last
}

// commonest is the place that occurs most often, the upper one of equals.
func commonest(held []int) (best int) {
	for place, times := range held {
		if times > held[best] {
			best = place
		}
	}
	return best + 1
}
