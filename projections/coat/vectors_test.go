package coat

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"
)

// vector reads one of the files of testdata/vectors/coat; SOURCE.txt there says
// where each comes from.
func vector[In, Out any](t *testing.T, name string) (in In, out Out) {
	t.Helper()
	raw, err := os.ReadFile("../../testdata/vectors/coat/molt-" + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Input    In
		Expected Out
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	return file.Input, file.Expected
}

// near compares figures in order, to a relative tolerance.
func near(t *testing.T, what string, tolerance float64, want []float64, got ...float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d figures, want %d", what, len(got), len(want))
	}
	for i := range want {
		if !(math.Abs(got[i]-want[i]) <= tolerance*math.Abs(want[i])+1e-12) {
			t.Errorf("%s: figure %d is %.12g, want %.12g", what, i+1, got[i], want[i])
		}
	}
}

func circle(t *testing.T, turns []float64) Circle {
	t.Helper()
	c, err := Directions(turns)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func scaled(by float64, list []float64) []float64 {
	out := slices.Clone(list)
	for i := range out {
		out[i] *= by
	}
	return out
}

type circleIn struct {
	Degrees []float64   `json:"degrees"`
	Days    []float64   `json:"day_of_year"`
	Period  json.Number `json:"period"`
}

type circleOut struct {
	N            float64  `json:"n"`
	C            float64  `json:"C"`
	S            float64  `json:"S"`
	Rbar         float64  `json:"Rbar"`
	MeanDeg      float64  `json:"mean_deg"`
	Variance     float64  `json:"circ_variance"`
	SDRad        float64  `json:"circ_sd_rad"`
	SDDeg        float64  `json:"circ_sd_deg"`
	DeviationDeg float64  `json:"angular_dev_deg"`
	Kappa        float64  `json:"kappa_ml"`
	KappaSmall   float64  `json:"kappa_ml_bias_corrected"`
	MeanErrorDeg float64  `json:"se_mu_deg"`
	Z            float64  `json:"rayleigh_z"`
	Stat         float64  `json:"rayleigh_stat_pkg"`
	P            float64  `json:"rayleigh_p_zar"`
	Series       float64  `json:"rayleigh_p_pkg"`
	MeanDay      *float64 `json:"mean_doy365"`
	SDDays       *float64 `json:"sd_days365"`
}

func TestCirclesAgainstVectors(t *testing.T) {
	for _, name := range []string{"circular-turtles76", "circular-doy"} {
		t.Run("computed/"+name, func(t *testing.T) {
			in, want := vector[circleIn, circleOut](t, name)
			c := circle(t, scaled(1./360, in.Degrees))
			near(t, "circle", 1e-6,
				[]float64{want.N, want.C, want.S, want.Rbar, want.MeanDeg, want.Variance, want.SDRad, want.SDDeg, want.DeviationDeg},
				float64(c.N), c.C, c.S, c.Resultant, 360*c.Mean, 1-c.Resultant, 2*math.Pi*c.SD, 360*c.SD, 360*c.Deviation)
			near(t, "concentration", 1e-6, []float64{want.Kappa, want.KappaSmall, want.MeanErrorDeg}, c.Kappa, c.KappaSmall, 360*c.MeanError)
			near(t, "Rayleigh", 1e-6, []float64{want.Z, want.Stat, want.P, want.Series}, c.Rayleigh.Z, c.Resultant, c.Rayleigh.P, c.Rayleigh.Series)
			if want.MeanDay != nil {
				near(t, "days", 1e-6, []float64{*want.MeanDay, *want.SDDays}, yearDays*c.Mean, yearDays*c.SD)
				near(t, "degrees", 1e-9, in.Degrees, scaled(360/yearDays, in.Days)...)
			}
		})
	}
}

func TestGroupsAgainstAVector(t *testing.T) {
	t.Run("computed", func(t *testing.T) {
		in, want := vector[struct{ Group1, Group2 []float64 }, struct{ Kappa, K, F, P float64 }](t, "watson-williams")
		got, err := WatsonWilliams(scaled(1/yearDays, in.Group1), scaled(1/yearDays, in.Group2))
		if err != nil || got.NotEnough != "" {
			t.Fatal(got, err)
		}
		near(t, "Watson-Williams", 1e-6, []float64{want.Kappa, want.K, want.F, want.P}, got.Kappa, got.K, got.F, got.P)
	})
}

func TestOnsetFromPercentAgainstAVector(t *testing.T) {
	t.Run("computed", func(t *testing.T) {
		in, want := vector[struct {
			Day        []float64
			Percent    []float64 `json:"percent_new"`
			Thresholds []float64
			Tau        float64 `json:"tau_days"`
		}, struct {
			Onset, Mid, End, Duration float64
			OnsetIn                   []float64 `json:"onset_interval"`
			EndIn                     []float64 `json:"end_interval"`
			Known                     float64   `json:"onset_known_tau"`
			Used                      float64   `json:"n_used"`
		}](t, "onset-from-stages")
		near(t, "thresholds", 0, in.Thresholds, assumed("onset_at"), assumed("middle_at"), assumed("end_at"))
		var scores []Score
		for i, p := range in.Percent {
			s, err := NewScore(Day(in.Day[i]), "", &p)
			if err != nil {
				t.Fatal(err)
			}
			scores = append(scores, s)
		}
		years, err := Read(scores, 1, 300)
		if err != nil || len(years) != 1 {
			t.Fatal(years, err)
		}
		on, mid, end := years[0].Onset, years[0].Middle, years[0].End
		near(t, "lines", 1e-6, []float64{want.Onset, want.Mid, want.End, want.Duration},
			float64(on.Likely), float64(mid.Likely), float64(end.Likely), float64(end.Likely-on.Likely))
		near(t, "intervals", 1e-6, slices.Concat(want.OnsetIn, want.EndIn), float64(on.After), float64(on.By), float64(end.After), float64(end.By))
		onset, used, err := BackProjected(scores, in.Tau)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "by a known duration", 1e-6, []float64{want.Known, want.Used}, float64(onset), float64(used))
	})
}

type shrinkage struct {
	Mu       float64
	Error    float64   `json:"se_mu"`
	Between  float64   `json:"var_between_reml"`
	Within   float64   `json:"var_within_reml"`
	BetweenL float64   `json:"var_between_ml"`
	WithinL  float64   `json:"var_within_ml"`
	Crit     float64   `json:"reml_crit"`
	N        []float64 `json:"n"`
	Mean     []float64 `json:"group_mean"`
	Weight   []float64 `json:"weight"`
	Blup     []float64 `json:"blup"`
	Lme4     []float64 `json:"blup_lme4"`
	Plain    []float64 `json:"pred_sd_next_plugin"`
	Lo       []float64 `json:"pred95_lo"`
	Hi       []float64 `json:"pred95_hi"`
}

func TestShrinkageAgainstVectors(t *testing.T) {
	const tolerance = 1e-4 // of both files, for their optimiser
	for _, name := range []string{"shrinkage-dyestuff", "shrinkage-onset"} {
		t.Run("computed/"+name, func(t *testing.T) {
			in, want := vector[struct {
				Y     []float64
				Group []string
			}, shrinkage](t, name)
			var figures []Observed
			for i, y := range in.Y {
				figures = append(figures, Observed{Animal: in.Group[i], Value: y})
			}
			got, err := Pool(figures, nil)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "class", tolerance, []float64{want.Mu, want.Error, want.Between, want.Within}, got.Mean, got.Error, got.Between, got.Within)
			var n, mean, weight, value, plain, lo, hi []float64
			for _, a := range got.Animals {
				sd := math.Sqrt(got.Between*(1-a.Weight) + got.Within)
				n, mean, weight, value = append(n, float64(a.N)), append(mean, a.Mean), append(weight, a.Weight), append(value, a.Value)
				plain, lo, hi = append(plain, sd), append(lo, a.Value-1.959963984540054*sd), append(hi, a.Value+1.959963984540054*sd)
			}
			near(t, "n", 0, want.N, n...)
			near(t, "means", 1e-9, want.Mean, mean...)
			near(t, "weights", tolerance, want.Weight, weight...)
			near(t, "animals", tolerance, want.Blup, value...)
			near(t, "animals by lme4", tolerance, want.Lme4, value...)
			near(t, "plain deviation", tolerance, want.Plain, plain...)
			near(t, "plain interval", tolerance, slices.Concat(want.Lo, want.Hi), slices.Concat(lo, hi)...)
			likelihoodsMatch(t, figures, want)
		})
	}
}

// likelihoodsMatch holds the two criteria against the vector: the restricted one
// by its value, the plain one by where it is least.
func likelihoodsMatch(t *testing.T, figures []Observed, want shrinkage) {
	t.Helper()
	p := &pooling{groups: grouped(figures), n: len(figures)}
	constant := float64(p.n-1) * math.Log(2*math.Pi)
	near(t, "criterion", 1e-4, []float64{want.Crit}, p.restricted(want.Between, want.Within)+constant)
	between, within := p.likeliest(func(b, w float64) float64 { return p.sums(b, w).deviance() })
	near(t, "by plain likelihood", 1e-4, []float64{want.BetweenL, want.WithinL}, between, within)
}

type seasonFigures struct {
	Duration, LogLik float64
	Mean             float64   `json:"mean_start"`
	SD               float64   `json:"sd_start"`
	Errors           []float64 `json:"se"`
	ErrorDuration    float64   `json:"se_duration"`
	ErrorMean        float64   `json:"se_mean"`
}

func sanderlings(t *testing.T, wide float64) (scores []Score, want map[string]seasonFigures) {
	t.Helper()
	in, want := vector[struct{ Day, Index []float64 }, map[string]seasonFigures](t, "underhill-zucchini-sanderlings")
	for i, y := range in.Index {
		s := Score{Day: Day(in.Day[i]), Least: 100 * y, Most: 100 * y}
		if s.Molting() {
			s.Least, s.Most = max(s.Least-wide, 0), min(s.Most+wide, 100)
		}
		scores = append(scores, s)
	}
	return scores, want
}

func season(t *testing.T, scores []Score, sample Sample) Season {
	t.Helper()
	s, err := FitSeason(scores, sample)
	if err != nil || s.NotEnough != "" {
		t.Fatal(s, err)
	}
	return s
}

func TestSeasonsOfSanderlings(t *testing.T) {
	exact, want := sanderlings(t, 0)
	fits := map[string]Season{
		"type1": season(t, exact, ByState), "type2": season(t, exact, ByScore), "type3": season(t, exact, OnlyMolting),
	}
	// The vignette's figures, within the 1 % that its form with bounds and ours
	// with densities may differ by. Its likelihood is of an index known to 0.02.
	t.Run("published", func(t *testing.T) {
		wide, _ := sanderlings(t, 2)
		near(t, "likelihood", 0.01, []float64{want["published_type2_Erni2013_vignette"].LogLik}, season(t, wide, ByScore).LogLikelihood)
		for is, name := range map[string]string{"type2": "published_type2_Erni2013_vignette", "type3": "published_type3_Erni2013_vignette"} {
			w, s := want[name], fits[is]
			near(t, name, 0.01, []float64{w.Duration, w.Mean, w.SD}, s.Duration, float64(s.Onset), s.SD)
			if w.ErrorMean > 0 {
				near(t, name+", errors", 0.01, []float64{w.ErrorDuration, w.ErrorMean}, s.Errors[0], s.Errors[1])
			}
		}
	})
	t.Run("computed", func(t *testing.T) {
		wide, _ := sanderlings(t, 1) // "prec002" is the whole width
		fits["type2_integral_prec002"] = season(t, wide, ByScore)
		for name, s := range fits {
			w := want[name]
			near(t, name, 1e-4, []float64{w.Duration, w.Mean, w.SD, w.LogLik}, s.Duration, float64(s.Onset), s.SD, s.LogLikelihood)
			near(t, name+", errors", 1e-3, w.Errors, s.Errors[:]...)
		}
	})
}
