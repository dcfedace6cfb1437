package coat

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Comparison says whether groups of directions have the same mean.
type Comparison struct {
	Kappa     float64 `json:"kappa"` // common concentration
	K         float64 `json:"k"`     // correction of F for it, 1 + 3/(8 kappa)
	F         float64 `json:"f"`
	P         float64 `json:"p"`
	NotEnough string  `json:"not_enough,omitempty"`
}

// alike is how near a resultant length is to 1 where only rounding is between
// them: directions within minutes of one another.
const alike = 1e-9

// WatsonWilliams compares the mean directions of two groups or more, given as
// shares of a turn (Watson & Williams 1956, Biometrika 43:344; Zar 1999; Mardia
// & Jupp 2000). The test holds for groups that lie close about their means;
// NotEnough says where they don't, and where directions are too few. Errors:
// fewer than two groups; those of Directions.
func WatsonWilliams(groups ...[]float64) (Comparison, error) {
	if len(groups) < 2 {
		return Comparison{}, fmt.Errorf("groups: %d given: give two or more", len(groups))
	}
	var each float64 // sum of the groups' resultants
	var all []float64
	few := ""
	for i, group := range groups {
		c, err := Directions(group)
		if err != nil {
			return Comparison{}, fmt.Errorf("group %d: %w", i+1, err)
		}
		if c.N < 2 {
			few = fmt.Sprintf("group %d has one direction; a comparison needs two of each", i+1)
		}
		each += c.Resultant * float64(c.N)
		all = append(all, group...)
	}
	if few != "" {
		return Comparison{NotEnough: few}, nil
	}
	together, err := Directions(all)
	if err != nil {
		return Comparison{}, err
	}
	n, k := float64(len(all)), float64(len(groups))
	if least := assumed("concentrated"); each/n < least {
		return Comparison{NotEnough: fmt.Sprintf("the groups lie too widely round the year to compare their means: resultant length %.2f, needs %g", each/n, least)}, nil
	}
	if n-each < alike*n {
		return Comparison{NotEnough: "within each group all directions are the same, so nothing says how far they vary"}, nil
	}
	out := Comparison{Kappa: concentration(each / n)}
	out.K = 1 + 3/(8*out.Kappa)
	out.F = max(0, out.K*(n-k)*(each-math.Hypot(together.C, together.S))/((k-1)*(n-each)))
	out.P = distuv.F{D1: k - 1, D2: n - k}.Survival(out.F)
	return out, nil
}
