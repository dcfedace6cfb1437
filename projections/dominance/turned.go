package dominance

import (
	"cmp"
	"slices"
)

// Turn is a pair in which another animal yields lately than did before: Rose
// wins now, and Fell won then. Both pairs are seen from Rose.
type Turn struct {
	Rose, Fell     string
	Before, Lately Pair
}

// Turned finds the pairs that changed between two matrices of the same animals,
// the plainest first. Before and lately each must say with the chance of the
// reference file ("turned", 0.9: three of three and none lost say it) who
// stands above. Errors: matrices that are not of the same animals. The rule is
// an assumption, no published standard; that change is to be told apart from
// noise in each pair follows Strauss & Holekamp 2019 (J Anim Ecol 88:521-536,
// pages from memory).
func Turned(before, lately Matrix) ([]Turn, error) {
	if !slices.Equal(before.IDs, lately.IDs) {
		return nil, errOtherAnimals
	}
	sure := assumed("turned")
	var out []Turn
	for i := range lately.IDs {
		for j := range lately.IDs {
			if i == j || lately.Met(i, j) == 0 || before.Met(i, j) == 0 {
				continue
			}
			if lately.above(i, j) >= sure && before.above(i, j) <= 1-sure {
				out = append(out, Turn{lately.IDs[i], lately.IDs[j], before.Pair(i, j), lately.Pair(i, j)})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Turn) int { return cmp.Compare(b.Lately.Direction, a.Lately.Direction) })
	return out, nil
}
