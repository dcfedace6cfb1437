package dominance

import (
	"math"
	"testing"
)

// Exact limits of a Poisson count after Garwood 1936, as tabulated for 95 % (2.5
// and 97.5 %): 0: 0 to 3.69; 1: 0.0253 to 5.57; 5: 1.62 to 11.67; 10: 4.80 to
// 18.39; 20: 12.22 to 30.89 (Pearson & Hartley, Biometrika Tables for
// Statisticians I, table 40; the figures are from memory).
func TestGammaQuantilesGiveTheTabulatedLimitsOfACount(t *testing.T) {
	for _, c := range []struct {
		count     int
		low, high float64
	}{{0, 0, 3.69}, {1, 0.0253, 5.57}, {5, 1.62, 11.67}, {10, 4.80, 18.39}, {20, 12.22, 30.89}} {
		low := 0.0
		if c.count > 0 {
			low = gammaQuantile(0.025, float64(c.count))
		}
		high := gammaQuantile(0.975, float64(c.count)+1)
		if math.Abs(low-c.low) > 0.005 || math.Abs(high-c.high) > 0.0051 {
			t.Errorf("of %d: %.4f to %.4f; wanted %v to %v", c.count, low, high, c.low, c.high)
		}
	}
}

func TestARateIsPerAnimalHour(t *testing.T) {
	mean, low, high, ok := Rate{10, 20}.PerHour()
	if !ok || mean != 0.5 || !(low < mean && mean < high) {
		t.Errorf("%v, %v to %v, %v", mean, low, high, ok)
	}
	// The same table at 9 in 10: 10 lies between 5.43 and 16.96.
	if math.Abs(low*20-5.43) > 0.005 || math.Abs(high*20-16.96) > 0.005 {
		t.Errorf("ten events: %v to %v", low*20, high*20)
	}
	if _, low, _, _ := (Rate{0, 4}).PerHour(); low != 0 {
		t.Errorf("no event: the rate is at least %v", low)
	}
	if _, _, _, ok := (Rate{3, 0}).PerHour(); ok {
		t.Error("a rate without an hour")
	}
}

// With equal effort the later count is a coin thrown for each event: of eight
// all eight come up with 1/256, at least seven with 9/256.
func TestRisingIsTheConditionalBinomial(t *testing.T) {
	for _, c := range []struct {
		before, lately int
		want           float64
	}{{0, 8, 1. / 256}, {1, 7, 9. / 256}, {4, 4, 163. / 256}, {8, 0, 1}} {
		p, ok, err := Rising(Rate{c.before, 30}, Rate{c.lately, 30})
		if err != nil || !ok || math.Abs(p-c.want) > 1e-9 {
			t.Errorf("%d then %d: %v %v %v; wanted %v", c.before, c.lately, p, ok, err, c.want)
		}
	}
	if p, ok, err := Rising(Rate{1, 3}, Rate{20, 30}); err != nil || ok || p != 1 {
		t.Errorf("with too little watched before: %v %v %v", p, ok, err)
	}
	if _, _, err := Rising(Rate{-1, 30}, Rate{1, 30}); err == nil {
		t.Error("a count below zero is taken")
	}
	if _, _, err := Rising(Rate{1, 30}, Rate{1, math.NaN()}); err == nil {
		t.Error("hours that are no number are taken")
	}
}

func TestADayOfScansIsOneLook(t *testing.T) {
	low, high, ok := Shared([]float64{1, 1, 1, 1, 1, 1, 1, 0, 0, 0})
	if !ok || !(low < 0.7 && high > 0.7) {
		t.Errorf("%v to %v, %v", low, high, ok)
	}
	manyLow, manyHigh, _ := Shared([]float64{0.7, 0.7, 0.7, 0.7, 0.7, 0.7, 0.7, 0.7, 0.7, 0.7})
	if math.Abs(low-manyLow) > 1e-12 || math.Abs(high-manyHigh) > 1e-12 {
		t.Error("days half together and half apart count otherwise than whole ones")
	}
	if _, _, ok := Shared(nil); ok {
		t.Error("a range without a day")
	}
}

func TestATurnNeedsBothTimesToBePlain(t *testing.T) {
	matrix := func(ab, ba float64) Matrix {
		return Matrix{IDs: []string{"A", "B"}, Wins: [][]float64{{0, ab}, {ba, 0}}}
	}
	for name, c := range map[string]struct {
		before, lately Matrix
		want           int
	}{
		"three of three after five of five": {matrix(0, 5), matrix(3, 0), 1},
		"two of two are too few":            {matrix(0, 5), matrix(2, 0), 0},
		"it was open before":                {matrix(2, 3), matrix(5, 0), 0},
		"nothing changed":                   {matrix(5, 0), matrix(5, 0), 0},
		"never met before":                  {matrix(0, 0), matrix(5, 0), 0},
	} {
		turns, err := Turned(c.before, c.lately)
		if err != nil || len(turns) != c.want {
			t.Errorf("%s: %v %v", name, turns, err)
		}
		if len(turns) == 1 && (turns[0].Rose != "A" || turns[0].Before.Lost != 5 || turns[0].Lately.Won != 3) {
			t.Errorf("%s: %+v", name, turns[0])
		}
	}
	if _, err := Turned(matrix(1, 0), Matrix{IDs: []string{"A", "C"}}); err == nil {
		t.Error("matrices of other animals are compared")
	}
}
