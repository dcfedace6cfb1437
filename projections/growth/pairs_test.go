package growth

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// long are series beyond what is listed, with the ties of a coarse scale or
// without.
func long(t *rapid.T) series {
	dice := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	n := rapid.IntRange(listedUpTo+1, 700).Draw(t, "weigh-ins")
	step := rapid.SampledFrom([]float64{0, 0.1, 1, 20}).Draw(t, "kg that the scale shows")
	var s series
	for day := rapid.IntRange(0, 20_000).Draw(t, "first day"); len(s.day) < n; day += 1 + dice.IntN(3) {
		kg := 90 + 0.01*float64(day) + 2*dice.NormFloat64()
		if step > 0 {
			kg = math.Round(kg/step) * step
		}
		if dice.IntN(50) == 0 {
			kg *= 10
		}
		s.day, s.kg = append(s.day, float64(day)), append(s.kg, kg)
	}
	return s
}

// Counting finds what listing all pairs finds, whatever the rank.
func TestSlopesAreTheNaiveOnes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := long(t)
		all := s.slopes()
		ranks := []int{0, len(all) - 1, len(all) / 2, (len(all) - 1) / 2}
		for range 4 {
			ranks = append(ranks, rapid.IntRange(0, len(all)-1).Draw(t, "rank"))
		}
		hair := 1e-11 * slices.Max(s.kg)
		for i, got := range s.ranked(ranks...) {
			if want := all[ranks[i]]; math.Abs(got-want) > hair {
				t.Fatalf("slope of rank %d of %d: %v, want %v", ranks[i], len(all), got, want)
			}
		}
	})
}

func TestSlopesOfAnAnimalThatNeverChanges(t *testing.T) {
	w := walk{days: 3650, start: 90}
	s := daily(w.weighings(1))
	if got := s.sen(0.9).slope; got != (Interval{}) {
		t.Errorf("%+v, want no slope at all", got)
	}
}

func TestInversionsAreCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOf(rapid.Map(rapid.IntRange(0, 9), func(i int) float64 { return float64(i) })).Draw(t, "values")
		want := 0
		for i := range v {
			for j := i + 1; j < len(v); j++ {
				if v[j] < v[i] {
					want++
				}
			}
		}
		if got := inversions(v, make([]float64, len(v))); got != want {
			t.Fatalf("%d, want %d", got, want)
		}
	})
}
