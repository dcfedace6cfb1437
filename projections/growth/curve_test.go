package growth

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func growthOfOne(t testing.TB, masses []Aged) Growth {
	t.Helper()
	out, err := BySex(masses)
	if err != nil || len(out) != 1 {
		t.Fatal(out, err)
	}
	return out[0]
}

// grown invents masses of one animal along a curve, every so many years.
func grown(f form, p []float64, from, to, every, sd float64, seed uint64) (out []Aged) {
	dice, room := rand.New(rand.NewPCG(seed, 3)), make([]float64, len(p))
	for years := from; years <= to; years += every {
		out = append(out, Aged{"one", "female", years, f.at(p, years, room) + sd*dice.NormFloat64()})
	}
	return out
}

var female = []float64{88, 0.4, -0.2}

func TestWhatCanNotBeEstimatedSaysWhy(t *testing.T) {
	chick, _ := readVector[toFit, fitted](t, "growth-logistic-chick1")
	var hatched []Aged
	for i, day := range chick.X {
		hatched = append(hatched, Aged{Sex: "unknown", Years: day, Kg: chick.Y[i]})
	}
	straight := form{at: func(p []float64, x float64, _ []float64) float64 { return p[0] + p[1]*x }}
	for _, c := range []struct {
		situation string
		masses    []Aged
		form      int
		says      string
	}{
		{"five weigh-ins", grown(forms[0], female, 0.1, 4.2, 1, 0, 1), 0, "masses at 5 ages; needs 6"},
		{"six weigh-ins, for four unknowns", grown(forms[0], female, 0.1, 5.2, 1, 0, 1), 3, "masses at 6 ages; needs 7"},
		{"a straight line", grown(straight, []float64{20, 8}, 0.1, 3, 0.1, 0.5, 1), 1, "no curvature: a straight line says as much"},
		{"an animal that loses", grown(straight, []float64{90, -2}, 6, 12, 0.3, 1, 1), 0, "they do not slow down towards"},
		{"a grown animal that stays", grown(straight, []float64{90, 0}, 6, 12, 0.3, 1, 1), 1, "they do not slow down towards"},
		{"a pup in its first half year", grown(forms[0], female, 0.02, 0.5, 0.09, 0.3, 2), 0, "no curvature: a straight line says as much"},
		{"the chick, by Gompertz: its final mass lies far outside", hatched, 1, "the fit ran off to a final mass of"},
		{"the chick, by a logistic curve: 937 g of 205", hatched, 2, "more than 2 times the heaviest weigh-in"},
	} {
		got := growthOfOne(t, c.masses).Curves[c.form]
		if got.NotEstimable == "" || !strings.Contains(got.NotEstimable, c.says) {
			t.Errorf("%s: %q, want %q", c.situation, got.NotEstimable, c.says)
		}
		if got.Weight != 0 || got.Params != nil || got.RSS != 0 {
			t.Errorf("%s: it has numbers: %+v", c.situation, got)
		}
		if _, ok := got.At(1); ok {
			t.Errorf("%s: it gives masses", c.situation)
		}
	}
	none := growthOfOne(t, grown(straight, []float64{20, 8}, 0.1, 3, 0.1, 0.5, 1))
	if _, ok := none.Chosen(); ok || none.Best != "" || !strings.HasPrefix(none.NotEnough, "no curve of growth can be estimated: ") {
		t.Errorf("a straight line: %+v", none)
	}
}

// A curve without error comes back as it was, and is chosen.
func TestACurveComesBack(t *testing.T) {
	params := [][]float64{female, {90, 2.3, 0.6}, {92, 2, 0.9}, {95, 6, 1.1, 2.5}}
	for i, f := range forms {
		got := growthOfOne(t, grown(f, params[i], 0.1, 12, 0.25, 0, 1))
		c := got.Curves[i]
		if got.Best != f.name || c.NotEstimable != "" || c.Weight < 0.99 {
			t.Errorf("%s: best is %s, weight %v, %s", f.name, got.Best, c.Weight, c.NotEstimable)
		}
		for j := range c.Params {
			holds(t, string(f.name)+" "+c.Params[j].Name, c.Params[j].Value, params[i][j], 1e-7)
		}
	}
}

// Intervals hold the truth about as often as they say.
func TestTheIntervalsHoldTheCurveAsOftenAsTheySay(t *testing.T) {
	const tries = 300
	for i, p := range [][]float64{female, {90, 2.3, 0.6}, {92, 2, 0.9}} {
		held, at, estimated := 0, 0, 0
		for seed := range uint64(tries) {
			c := growthOfOne(t, grown(forms[i], p, 0.1, 11, 0.25, 3, seed)).Curves[i]
			if c.NotEstimable != "" {
				continue
			}
			estimated++
			if a := c.Params[0]; a.Lo <= p[0] && p[0] <= a.Hi {
				held++
			}
			if kg, ok := c.At(3); ok && kg.Lo <= forms[i].at(p, 3, make([]float64, 3)) && forms[i].at(p, 3, make([]float64, 3)) <= kg.Hi {
				at++
			}
		}
		share, line := float64(held)/float64(estimated), float64(at)/float64(estimated)
		if t.Logf("%s: %d estimated, final mass held %.3f, curve at 3 years %.3f", forms[i].name, estimated, share, line); estimated < tries*9/10 || share < 0.85 || share > 0.95 || line < 0.85 || line > 0.95 {
			t.Errorf("%s: of %d estimated, %.3f held the final mass and %.3f the curve, want about 0.9", forms[i].name, estimated, share, line)
		}
	}
}

func TestACurveGivesNoMassBeyondItsAges(t *testing.T) {
	c, ok := growthOfOne(t, grown(forms[0], female, 1, 11, 0.25, 1, 1)).Chosen()
	if !ok {
		t.Fatal("nothing was chosen")
	}
	for years, want := range map[float64]bool{0.9: false, 1: true, 5: true, 11.1: false} {
		if _, ok := c.At(years); ok != want {
			t.Errorf("at %v years: %v, want %v", years, ok, want)
		}
	}
}

// Of masses that follow one another closely the median of a month counts.
func TestCloseMassesCountOnce(t *testing.T) {
	daily := grown(forms[0], female, 0.01, 9, 1/365.25, 0.5, 1)
	got := growthOfOne(t, daily)
	if got.Weighings != len(daily) || got.Points < 105 || got.Points > 112 || got.Animals != 1 {
		t.Errorf("%d weigh-ins make %d points of %d animals", got.Weighings, got.Points, got.Animals)
	}
	closeTo(t, "final mass", got.Curves[0].Params[0].Value, 88, 0.5)
}

func TestSexesAreFittedApart(t *testing.T) {
	both := append(kastelein(t, "male"), kastelein(t, "female")...)
	got, err := BySex(both)
	if err != nil || len(got) != 2 || got[0].Sex != "female" || got[1].Sex != "male" || got[0].Points != 13 || got[1].Points != 17 {
		t.Errorf("%+v, %v", got, err)
	}
	for _, c := range []struct {
		mass Aged
		says string
	}{
		{Aged{"one", "cow", 1, 20}, `masses[0]: sex is "cow": use female, male or unknown`},
		{Aged{"one", "male", -1, 20}, "give a mass above nought and an age from nought"},
		{Aged{"one", "male", math.NaN(), 20}, "give a mass above nought and an age from nought"},
		{Aged{"one", "male", 1, 0}, "give a mass above nought and an age from nought"},
	} {
		if _, err := BySex([]Aged{c.mass}); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: %v, want %q", c.mass, err, c.says)
		}
	}
}
