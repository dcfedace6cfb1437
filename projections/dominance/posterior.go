package dominance

import (
	"fmt"

	"gonum.org/v1/gonum/mathext"
)

// Pair is what the encounters of two animals say of who stands above, seen from
// A. Low and High hold A's chance to win at the level of the reference file (9 in
// 10); of a pair that never met they hold nearly everything.
type Pair struct {
	A, B                 string
	Won, Lost, Undecided int     // encounters
	Direction            float64 // chance that A is the one that wins more often, 0 to 1
	Low, High            float64 // A's chance to win, 0 to 1
}

// Pair is the evidence about the animals i and j, by row.
func (m Matrix) Pair(i, j int) Pair {
	prior, out := assumed("pair_prior"), (1-assumed("level"))/2
	won, lost := m.Wins[i][j]+prior, m.Wins[j][i]+prior
	return Pair{
		A: m.IDs[i], B: m.IDs[j],
		Won: int(m.Decided(i, j)), Lost: int(m.Decided(j, i)), Undecided: m.draws(i, j),
		Direction: m.above(i, j),
		Low:       mathext.InvRegIncBeta(won, lost, out), High: mathext.InvRegIncBeta(won, lost, 1-out),
	}
}

// above is the chance that i is the one that wins more often over j.
func (m Matrix) above(i, j int) float64 {
	prior := assumed("pair_prior")
	return direction(m.Wins[i][j]+prior, m.Wins[j][i]+prior)
}

// Direction is the chance, 0 to 1, that the first of two animals is the one that
// wins more often, after it won and lost so many encounters: P(X > 1/2) for X of
// a beta distribution. Both begin with the wins of the reference file
// ("pair_prior"), so that of three won and none lost it is 15/16 and not
// certainty. An undecided encounter is half a win for both. Errors: counts below
// zero.
func Direction(won, lost float64) (float64, error) {
	if !(won >= 0 && lost >= 0) {
		return 0, fmt.Errorf("encounters: %v won and %v lost: give counts from zero", won, lost)
	}
	prior := assumed("pair_prior")
	return direction(won+prior, lost+prior), nil
}

// direction is P(X > 1/2) for X of a beta distribution.
func direction(a, b float64) float64 { return mathext.RegIncBeta(b, a, 0.5) }
