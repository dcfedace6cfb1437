package dominance

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/floats"
)

// Published: how many tournaments of 5 to 12 animals have 2, 3 and 5 circular
// triads (Kadane 1966, Ann Math Stat 37:488-494; OEIS A357242, A357257,
// A357266), and that n! of them have none.
func TestTheTableOfTriads(t *testing.T) {
	for triads, counts := range map[int][]float64{
		0: {120, 720, 5040, 40320, 362880, 3628800, 39916800, 479001600},
		2: {240, 2240, 21840, 228480, 2580480, 31449600, 412473600, 5801241600},
		3: {240, 2880, 33600, 403200, 5093760, 68275200, 972787200, 14724864000},
		5: {24, 3648, 90384, 1304576, 19958400, 311592960, 5054353920, 85709352960},
	} {
		t.Run("published/"+strconv.Itoa(triads)+" triads", func(t *testing.T) {
			for i, want := range counts {
				if got := table.Tournaments[i+5][triads]; got != want {
					t.Errorf("%v of %d animals, want %v", got, i+5, want)
				}
			}
		})
	}
	t.Run("each tournament once", func(t *testing.T) {
		for n := 3; n <= 7; n++ {
			group := empty(make([]string, n))
			counts := make([]float64, len(table.Tournaments[n]))
			for squares, times := range group.outcome(group.unknown()).each() {
				if times > 0 {
					counts[int(triads(n, squares))] += times
				}
			}
			if !floats.Equal(counts, table.Tournaments[n]) {
				t.Errorf("%d animals: %v, want %v", n, table.Tournaments[n], counts)
			}
		}
	})
}

// The mean of h, the share of straight orders, and the least h that is beyond
// chance. Only the mean is published (help of an open statistics package).
func TestTheTableOfTriadsHasTheNullOfH(t *testing.T) {
	for text, value := range readVector(t, "null_landau_h.json").Computed["table"].Value.(map[string]any) {
		n, err := strconv.Atoi(text)
		if err != nil {
			t.Fatal(err)
		}
		c, cube := coinsOf(n, 1, nil), float64(n*n*n-n)
		mean, distinct, critical := 0.0, 0.0, any(nil)
		for d, times := range c.counts {
			h := 1 - 24*float64(d)/cube
			mean += h * times / c.all
			if times > 0 {
				distinct++
			}
			if times > 0 && c.upTo(float64(d)) <= 0.05 {
				critical = h
			}
		}
		got := map[string]any{"E_h": mean, "P_h_eq_1": c.upTo(0), "critical_h_05": critical, "distinct_h": distinct}
		if why := differs(got, value, 1e-6); why != "" {
			t.Errorf("%d animals: %s", n, why)
		}
		if least := straight(n); math.Abs(least/c.upTo(0)-1) > hair {
			t.Errorf("%d animals: the least p is %v, want %v", n, least, c.upTo(0))
		}
	}
}

func TestUpToFiveAnimalsNoOrderIsBeyondChance(t *testing.T) {
	for n, beyond := range []bool{3: false, 4: false, 5: false, 6: true} {
		if n >= 3 && (straight(n) <= 0.05) != beyond {
			t.Errorf("%d animals: the least p is %v", n, straight(n))
		}
	}
}

// What is thrown lies within four standard errors of what is exact.
func TestThrowsComeNearTheExactTest(t *testing.T) {
	const throws = 20_000
	m := readVector(t, "devries1998_fictional.json").group(t)
	exact, dice := coinsOf(10, 1, nil), rand.New(rand.NewPCG(7, 7))
	thrown := thrownCoins(10, throws, dice)
	within := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 4*math.Sqrt(want*(1-want)/throws)+1.0/throws {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	for d := 0.0; d <= 40; d++ {
		within("tournaments of fewer triads", thrown.upTo(d), exact.upTo(d))
		within("tournaments of more triads", thrown.from(d), exact.from(d))
	}
	counts, all := m.outcome(m.unknown()).thrown(throws, dice), m.fillings(m.unknown(), 1, nil)
	for squares, share := range all {
		within("outcomes of the unknown dyads", counts[squares]/throws, share)
	}
}

// A straight order of 14 has one chance in 10^16; no number of throws makes it 0.
func TestThrowsNeverMakeItCertain(t *testing.T) {
	wins := make([][]float64, 14)
	for i := range wins {
		wins[i] = make([]float64, 14)
		for j := i + 1; j < 14; j++ {
			wins[i][j] = 1
		}
	}
	got, err := lettered(wins...).LinearityTest(999, 1)
	if err != nil {
		t.Fatal(err)
	}
	if got.Exact || got.Throws != 999 || math.Abs(got.Right-0.001) > hair || got.Left != 1 {
		t.Errorf("%+v", got)
	}
	steep, err := readVector(t, "bonobos_devries2006.json").group(t).SteepnessTest(Dij, 999, 1)
	if err != nil || math.Abs(steep.P-0.001) > hair {
		t.Errorf("%+v, %v", steep, err)
	}
}

func TestTheSameSeedThrowsTheSame(t *testing.T) {
	m := readVector(t, "matrix_sullivan_1982_indices.json").group(t)
	run := func(seed uint64) (LinearityTest, SteepnessTest) {
		h, err := m.LinearityTest(500, seed)
		steep, err2 := m.SteepnessTest(Dij, 500, seed)
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		return h, steep
	}
	h, steep := run(1)
	h1, steep1 := run(1)
	h2, steep2 := run(2)
	if h != h1 || steep != steep1 {
		t.Errorf("%+v and %+v; %+v and %+v", h, h1, steep, steep1)
	}
	if h == h2 || steep == steep2 {
		t.Errorf("another seed threw the same: %+v, %+v", h, steep)
	}
}

func TestNoThrowsAreRefused(t *testing.T) {
	m := readVector(t, "edge_cycle_3.json").group(t)
	if _, err := m.LinearityTest(0, 1); err == nil {
		t.Error("a test of linearity without throws")
	}
	if _, err := m.SteepnessTest(Dij, 0, 1); err == nil {
		t.Error("a test of steepness without throws")
	}
}
