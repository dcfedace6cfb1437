package growth

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
)

const vectors = "../../testdata/vectors/growth/"

// vector is a file of testdata/vectors/growth; SOURCE.txt beside it says what of
// it was published. Its tolerance is 1e-6 relative.
type vector[In, Out any] struct {
	Tolerance string `json:"tolerance"`
	Input     In     `json:"input"`
	Expected  Out    `json:"expected"`
}

func readVector[In, Out any](t testing.TB, name string) (in In, out Out) {
	t.Helper()
	raw, err := os.ReadFile(vectors + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var v vector[In, Out]
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatal(err)
	}
	if v.Tolerance[:4] != "1e-6" {
		t.Fatalf("tolerance of %s is %q", name, v.Tolerance)
	}
	return v.Input, v.Expected
}

const stated = 1e-6

// holds compares to a relative tolerance; nought to the same absolutely.
func holds(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !scalar.EqualWithinAbsOrRel(got, want, 1e-12, tolerance) {
		t.Errorf("%s: %v, want %v within %g", what, got, want, tolerance)
	}
}

func allHold(t testing.TB, what string, got, want []float64, tolerance float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d values, want %d", what, len(got), len(want))
	}
	for i := range got {
		holds(t, what, got[i], want[i], tolerance)
	}
}

// closeTo compares absolutely, for what was published to some decimals.
func closeTo(t testing.TB, what string, got, want, far float64) {
	t.Helper()
	if !(math.Abs(got-want) <= far) {
		t.Errorf("%s: %v, want %v within %g", what, got, want, far)
	}
}

type sloped struct {
	Slope     float64 `json:"slope"`
	Intercept float64 `json:"intercept_median_resid"`
	Conover   float64 `json:"intercept_conover"`
	Pairs     int     `json:"n_pairs"`
	S         int     `json:"mk_S"`
	Variance  float64 `json:"mk_var"`
	Z         float64 `json:"mk_z"`
	P         float64 `json:"mk_p"`
	Tau       float64 `json:"tau_b"`
	RankLo    float64 `json:"ci_rank_lo"`
	RankHi    float64 `json:"ci_rank_hi"`
	Lo        float64 `json:"ci_lo"`
	Hi        float64 `json:"ci_hi"`
	OLS       float64 `json:"ols_slope"`
}

type xy struct{ X, Y []float64 }

// sen is a line with its interval as Sen has it.
func (s series) sen(level float64) line {
	slopes := s.byRank()
	out := s.line(slopes)
	s.bound(&out, slopes, level, 1)
	return out
}

func TestSlopesOfTheVectors(t *testing.T) {
	for _, name := range []string{"weight-theilsen-chick1", "weight-theilsen-outlier"} {
		t.Run("only computed/"+name, func(t *testing.T) {
			in, want := readVector[xy, sloped](t, name)
			s := series{in.X, in.Y}
			got, k := s.sen(0.95), s.kendall(1)
			if s.pairs() != want.Pairs || k.S != want.S {
				t.Errorf("%d pairs, S %d; want %d, %d", s.pairs(), k.S, want.Pairs, want.S)
			}
			_, ols, _ := straight(in.X, in.Y)
			conover := median(slices.Clone(in.Y)) - got.slope.Value*median(slices.Clone(in.X))
			allHold(t, "slope, intercepts, ranks, interval, Kendall, least squares",
				[]float64{got.slope.Value, got.intercept, conover, got.ranks[0], got.ranks[1], got.slope.Lo, got.slope.Hi, k.Variance, k.Z, k.P, k.Tau, ols},
				[]float64{want.Slope, want.Intercept, want.Conover, want.RankLo, want.RankHi, want.Lo, want.Hi, want.Variance, want.Z, want.P, want.Tau, want.OLS}, stated)
		})
	}
}

func TestTheCourseOfTheYearOfTheVector(t *testing.T) {
	t.Run("only computed/weight-annual-harmonic", func(t *testing.T) {
		in, want := readVector[struct {
			Y      []float64
			Period float64
		}, struct {
			Intercept, Slope, Cos, Sin, Amplitude float64
			Peak                                  float64 `json:"peak_month"`
			SD                                    float64 `json:"resid_sd"`
		}](t, "weight-annual-harmonic")
		x := make([]float64, len(in.Y))
		for i := range x {
			x[i] = float64(i + 1)
		}
		got, _, ok := groundOf(x, in.Period).fit(in.Y, nil)
		if !ok {
			t.Fatal("no wave")
		}
		allHold(t, "line, wave, spread", []float64{got.intercept, got.slope, got.cos, got.sin, got.amplitude(), got.peak(), got.sd},
			[]float64{want.Intercept, want.Slope, want.Cos, want.Sin, want.Amplitude, want.Peak, want.SD}, stated)
	})
}

func TestWeightedAveragesOfTheHandbook(t *testing.T) {
	in, want := readVector[struct {
		X                     []float64
		Lambda, Target, Sigma float64
		L                     float64
	}, struct {
		EWMA     []float64
		UCL, LCL float64
		Hi       []float64 `json:"ucl_exact"`
		Lo       []float64 `json:"lcl_exact"`
	}](t, "weight-ewma-nist")
	got, err := EWMA(in.X, in.Lambda, in.Target, in.Sigma, in.L)
	if err != nil {
		t.Fatal(err)
	}
	far, err := EWMA(make([]float64, 200), in.Lambda, in.Target, in.Sigma, in.L)
	if err != nil {
		t.Fatal(err)
	}
	steady := far[199]
	t.Run("published/weight-ewma-nist", func(t *testing.T) {
		// NIST/SEMATECH e-Handbook 6.3.2.4: averages to two decimals, and limits, of
		// which the lower is cut off and not rounded.
		published := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}
		for i, v := range published {
			closeTo(t, "average", got[i].Value, v, 0.005)
		}
		closeTo(t, "upper limit", steady.Hi, 52.5884, 0.0001)
		closeTo(t, "lower limit", steady.Lo, 47.4115, 0.0001)
	})
	t.Run("only computed/weight-ewma-nist", func(t *testing.T) {
		var value, lo, hi []float64
		for _, a := range got {
			value, lo, hi = append(value, a.Value), append(lo, a.Lo), append(hi, a.Hi)
			if a.Value < a.Lo || a.Value > a.Hi {
				t.Errorf("%v is beyond its limits; none is", a)
			}
		}
		allHold(t, "averages", value, want.EWMA, stated)
		allHold(t, "lower limits", lo, want.Lo, stated)
		allHold(t, "upper limits", hi, want.Hi, stated)
		allHold(t, "steady limits", []float64{steady.Lo, steady.Hi}, []float64{want.LCL, want.UCL}, stated)
	})
}

type summed struct {
	Hi      []float64 `json:"s_hi"`
	Lo      []float64 `json:"s_lo"`
	FirstHi *int      `json:"first_hi"`
	FirstLo *int      `json:"first_lo"`
	AllHi   []int     `json:"all_hi"`
	AllLo   []int     `json:"all_lo"`
	Plain   []float64 `json:"cusum_plain"`
}

type charted struct {
	X            []float64
	Target, K, H float64
}

// checkSums holds sums and signals against a file; with no slack, the upper less
// the lower is the plain sum of what a value is off the target for as long as
// neither came back to nought.
func checkSums(t *testing.T, in charted, want summed) {
	t.Helper()
	var hi, lo []float64
	var allHi, allLo []int
	for i, s := range CUSUM(in.X, in.Target, in.K) {
		hi, lo = append(hi, s.High), append(lo, s.Low)
		if s.High > in.H {
			allHi = append(allHi, i+1)
		}
		if s.Low > in.H {
			allLo = append(allLo, i+1)
		}
	}
	allHold(t, "upper sums", hi, want.Hi, stated)
	allHold(t, "lower sums", lo, want.Lo, stated)
	if !slices.Equal(allHi, want.AllHi) || !slices.Equal(allLo, want.AllLo) {
		t.Errorf("signals at %v and %v, want %v and %v", allHi, allLo, want.AllHi, want.AllLo)
	}
	if found := runs(len(hi), func(i int) bool { return hi[i] > 0 }, func(i int) bool { return hi[i] > in.H }); len(found) > 0 != (want.FirstHi != nil) || len(found) > 0 && found[0].seen+1 != *want.FirstHi {
		t.Errorf("signals %v, want the first at %v", found, want.FirstHi)
	}
	always := CUSUM(in.X, in.Target-1e6, 0) // far below: the upper sum never comes back
	var plain []float64
	for i, s := range always {
		plain = append(plain, s.High-1e6*float64(i+1))
	}
	for i := range plain {
		closeTo(t, "plain sum", plain[i], want.Plain[i], 1e-6)
	}
}

func TestCumulativeSumsOfTheBooks(t *testing.T) {
	t.Run("published/weight-cusum-montgomery", func(t *testing.T) { // Montgomery & Runger 3rd ed., tables 16-7 and 16-8
		in, want := readVector[charted, summed](t, "weight-cusum-montgomery")
		checkSums(t, in, want)
	})
	t.Run("only computed/weight-cusum-nist", func(t *testing.T) {
		in, want := readVector[charted, summed](t, "weight-cusum-nist")
		checkSums(t, in, want)
	})
}

func TestChangesOfTheVector(t *testing.T) {
	t.Run("only computed/weight-percent-alert", func(t *testing.T) {
		in, want := readVector[struct {
			Day    []int
			Weight []float64
		}, struct {
			Short []*float64 `json:"pct_vs_median_prev7"`
			Long  []*float64 `json:"pct_vs_median_prev30"`
			Five  int        `json:"hits_5pct_7d"`
			Ten   []int      `json:"hits_10pct_30d"`
		}](t, "weight-percent-alert")
		var all []Weighing
		for i, day := range in.Day {
			all = append(all, Weighing{Day: day, Kg: in.Weight[i]})
		}
		var five, ten []int
		for i, day := range in.Day {
			got, err := ChangesOn(all, day)
			if err != nil {
				t.Fatal(err)
			}
			for j, want := range []*float64{want.Short[i], want.Long[i]} {
				if (want == nil) != (got[j].NotEnough != "") {
					t.Fatalf("day %d: %+v, want %v", day, got[j], want)
				}
				if want != nil {
					closeTo(t, "percent", got[j].Percent, *want, 1e-9)
				}
			}
			if got[0].Look {
				five = append(five, i+1)
			}
			if got[1].Look {
				ten = append(ten, i+1)
			}
		}
		if !slices.Equal(five, []int{want.Five}) || !slices.Equal(ten, want.Ten) {
			t.Errorf("to look at: %v and %v, want %v and %v", five, ten, want.Five, want.Ten)
		}
	})
}
