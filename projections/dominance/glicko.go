package dominance

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Believed is a rating with how far it may be off, in points on the logistic
// scale. Nine in ten is about 1.64 deviations to each side.
type Believed struct {
	Points    float64 `json:"points"`
	Deviation float64 `json:"deviation"`
}

// Unknown is what is believed of an animal before its first encounter.
func Unknown() Believed { return Believed{assumed("start"), assumed("deviation")} }

// Against is an encounter of a day as one of the two sees it: the other animal
// at the start of the day, and 1 for a win, 0 for a loss, 0.5 for a draw.
type Against struct {
	Other Believed
	Score float64
}

// After takes in all encounters of a day at once, so that their order does not
// count. Glickman 1999 (Appl Stat 48:377, cited from memory), the first system
// as its author describes it; it has not been tried on animals as far as is
// known here. The deviation does not fall below that of the reference file.
func (b Believed) After(day []Against) Believed {
	q := math.Ln10 / assumed("logistic_scale")
	information, surprise := 0.0, 0.0
	for _, met := range slices.SortedFunc(slices.Values(day), compareAgainst) {
		g := dampened(met.Other.Deviation)
		e := Logistic.Chance(g * (b.Points - met.Other.Points))
		information += q * q * g * g * e * (1 - e)
		surprise += g * (met.Score - e)
	}
	variance := 1 / (1/(b.Deviation*b.Deviation) + information)
	return Believed{b.Points + q*variance*surprise, max(math.Sqrt(variance), assumed("deviation_least"))}
}

// compareAgainst sorts by what is summed up: sums of floating numbers depend on
// their order.
func compareAgainst(a, b Against) int {
	return cmp.Or(cmp.Compare(a.Other.Points, b.Other.Points), cmp.Compare(a.Other.Deviation, b.Other.Deviation), cmp.Compare(a.Score, b.Score))
}

// Silent lets days pass without an encounter: the points stay, and the deviation
// grows up to that of an animal of which nothing is known.
func (b Believed) Silent(days float64) Believed {
	c := assumed("deviation_growth")
	return Believed{b.Points, min(math.Sqrt(b.Deviation*b.Deviation+c*c*days), assumed("deviation"))}
}

// dampened is how much an encounter tells, 0 to 1, with an animal whose rating
// may be off by a deviation.
func dampened(deviation float64) float64 {
	q := math.Ln10 / assumed("logistic_scale")
	return 1 / math.Sqrt(1+3*q*q*deviation*deviation/(math.Pi*math.Pi))
}

// Range holds the rating at the level of the reference file (9 in 10), in points.
func (b Believed) Range() (low, high float64) {
	wide := distuv.UnitNormal.Quantile((1+assumed("level"))/2) * b.Deviation
	return b.Points - wide, b.Points + wide
}
