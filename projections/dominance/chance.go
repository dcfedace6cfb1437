package dominance

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"
)

// LinearityTest is de Vries' two-step test: the h of the group, with its unknown
// dyads filled in by chance, beside the h of groups whose every dyad is a coin
// thrown. Where there is not enough, both p are 1.
type LinearityTest struct {
	NotEnough string  // why the numbers say nothing; empty where they do
	Right     float64 // p of a group this linear or more
	Left      float64 // p of a group this linear or less
	Exact     bool    // over all outcomes, without throws
	Throws    int     // of each step that is not exact
	Least     float64 // the least Right that this many animals can have, with all dyads known and one straight order
}

const (
	tabled = 12 // animals, of which every tournament is counted in the table
	filled = 20 // unknown dyads, of which every outcome is looked at: a million
)

// LinearityTest works out both p. Up to 12 animals, of which at most 20 dyads
// are unknown, they are exact; beyond, each step that there are too many
// outcomes of is thrown, by a seed: the same matrix, throws and seed give the
// same answer, to within about 1/√throws. Up to 5 animals no order is linear
// beyond chance: Least is above 0.05. Errors: no throws. Source: de Vries 1995,
// Anim Behav 50:1375-1389, who throws both steps; the exact p is their limit.
func (m Matrix) LinearityTest(throws int, seed uint64) (LinearityTest, error) {
	if throws < 1 {
		return LinearityTest{}, fmt.Errorf("throws: %d is out of range: give 1 or more", throws)
	}
	n, unknown := len(m.IDs), m.unknown()
	out := LinearityTest{NotEnough: m.tooFew(), Right: 1, Left: 1, Least: straight(n)}
	if out.NotEnough != "" {
		return out, nil
	}
	out.Exact = n <= tabled && len(unknown) <= filled
	if !out.Exact {
		out.Throws = throws
	}
	dice := rand.New(rand.NewPCG(seed, 2))
	coins := coinsOf(n, throws, dice)
	out.Right, out.Left = 0, 0
	for squares, share := range m.fillings(unknown, throws, dice) {
		if share == 0 {
			continue
		}
		d := triads(n, squares)
		out.Right += share * coins.upTo(d)
		out.Left += share * coins.from(d)
	}
	return out, nil
}

// straight is the share of all tournaments of n animals that are one straight
// order: n!/2^(n(n-1)/2).
func straight(n int) float64 {
	share := 1.0
	for i := range n {
		share *= math.Ldexp(float64(i+1), -i)
	}
	return share
}

// coins is how many of all tournaments, or of those thrown, have so many
// circular triads.
type coins struct {
	counts []float64 // by circular triads
	all    float64
	one    float64 // what keeps the p of throws from being 0
}

// More triads are less linear.
func (c coins) upTo(d float64) float64 {
	return (c.one + floats.Sum(c.counts[:min(len(c.counts), int(math.Floor(d))+1)])) / (c.one + c.all)
}

func (c coins) from(d float64) float64 {
	return (c.one + floats.Sum(c.counts[min(len(c.counts), int(math.Ceil(d))):])) / (c.one + c.all)
}

//go:embed triads-2026-11.json
var triadsFile []byte

var table = func() (out struct {
	Tournaments map[int][]float64 `json:"tournaments"`
}) {
	if err := json.Unmarshal(triadsFile, &out); err != nil {
		panic("dominance: the reference file of circular triads: " + err.Error())
	}
	return out
}()

func coinsOf(n, throws int, dice *rand.Rand) coins {
	if n <= tabled {
		counts := table.Tournaments[n]
		return coins{counts: counts, all: floats.Sum(counts)}
	}
	return thrownCoins(n, throws, dice)
}

func thrownCoins(n, throws int, dice *rand.Rand) coins {
	group := empty(make([]string, n))
	out := coins{counts: make([]float64, n*n*n/24+1), all: float64(throws), one: 1}
	for squares, times := range group.outcome(group.unknown()).thrown(throws, dice) {
		if times > 0 {
			out.counts[int(triads(n, squares))] += times
		}
	}
	return out
}
