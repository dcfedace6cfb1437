package dominance

import (
	"fmt"
	"math/rand/v2"
)

// SteepnessTest says how often chance alone is as steep.
type SteepnessTest struct {
	NotEnough string // why the numbers say nothing; empty where they do
	P         float64
	Null      float64 // mean steepness of the throws
	Throws    int
}

// hair is how far sums of floats may be off before they count as different.
const hair = 1e-9

// SteepnessTest throws the wins of every dyad anew: each number from none to
// all of its encounters is as likely as any other. That is not the binomial of
// a coin thrown for each encounter, which no group would fail. P is (1 + the
// throws at least as steep)/(1 + throws). The same matrix, throws and seed give
// the same answer. Errors: no throws. Source: de Vries, Stevens & Vervaecke
// 2006, Anim Behav 71:585-592, with the throws as in two open statistics
// packages; the 1 + keeps P from being 0.
func (m Matrix) SteepnessTest(by Proportion, throws int, seed uint64) (SteepnessTest, error) {
	if throws < 1 {
		return SteepnessTest{}, fmt.Errorf("throws: %d is out of range: give 1 or more", throws)
	}
	observed := m.DavidsScore(by)
	out := SteepnessTest{NotEnough: observed.NotEnough, P: 1, Throws: throws}
	if out.NotEnough != "" {
		return out, nil
	}
	dice, d := rand.New(rand.NewPCG(seed, 1)), newDyads(len(m.IDs))
	steeper, sum := 0, 0.0
	for range throws {
		m.throw(d, by, dice)
		steep := d.david().Steepness
		if sum += steep; steep >= observed.Steepness-hair {
			steeper++
		}
	}
	out.P, out.Null = float64(1+steeper)/float64(1+throws), sum/float64(throws)
	return out, nil
}

func (m Matrix) throw(d dyads, by Proportion, dice *rand.Rand) {
	for i := range m.IDs {
		for j := range i {
			met := m.Met(i, j)
			wins := float64(dice.IntN(int(met) + 1))
			d.Set(i, j, by.of(wins, met))
			d.Set(j, i, by.of(met-wins, met))
		}
	}
}
