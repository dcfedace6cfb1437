package growth

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// Of long series slopes are counted and not listed; that x lie near each other,
// or out of order, changes nothing.
func TestSlopesOfValuesThatLieNear(t *testing.T) {
	dice := rand.New(rand.NewPCG(3, 3))
	var x, near, y []float64
	for i := range 2 * listedUpTo {
		x, near, y = append(x, float64(i)), append(near, float64(i)/64), append(y, 0.01*float64(i)+dice.NormFloat64())
	}
	want, err := SenOf(x, y, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	slices.Reverse(near)
	slices.Reverse(y)
	got, err := SenOf(near, y, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	allHold(t, "slope, interval, intercept, least squares", []float64{got.Slope.Value / 64, got.Slope.Lo / 64, got.Slope.Hi / 64, got.Intercept, got.Straight / 64},
		[]float64{want.Slope.Value, want.Slope.Lo, want.Slope.Hi, want.Intercept, want.Straight}, 1e-9)
	listed := series{x, nil}
	listed.kg = slices.Clone(y)
	slices.Reverse(listed.kg)
	all := listed.slopes()
	holds(t, "slope of all that are listed", want.Slope.Value, (all[(len(all)-1)/2]+all[len(all)/2])/2, 1e-12)
}

func TestValuesThatComeToNothing(t *testing.T) {
	x, y := []float64{1, 2, 3, 4, 5, 6}, []float64{1, 2, 3, 4, 5, 6}
	fit := func(form Form, x, y, start []float64) error { _, err := FitOf(form, x, y, start); return err }
	for want, bad := range map[string]error{
		"x has 1 values: give two or more":  second(SenOf(x[:1], y[:1], 0.95)),
		"x has 6 values and y 5":            second(SenOf(x, y[:5], 0.95)),
		"x: 2 stands twice":                 second(SenOf([]float64{2, 2}, y[:2], 0.95)),
		"level: 1 can't be":                 second(SenOf(x, y, 1)),
		"period: 0 can't be":                second(HarmonicOf(x, y, 0)),
		"can't tell a line and a sine of 1": second(HarmonicOf(x, y, 1)),
		`form: "linear" is not known: give`: fit("linear", x, y, nil),
		"x has 6 values and y 4: give":      fit(Gompertz, x, y[:4], nil),
		"start has 2 values: give 3":        fit(Gompertz, x, y, []float64{1, 2}),
	} {
		if bad == nil || !strings.Contains(bad.Error(), want) {
			t.Errorf("%q: %v", want, bad)
		}
	}
	for want, y := range map[string][]float64{"3 values for 3 parameters; needs 4": y[:3], "they do not slow down": {5, 5, 5, 5, 5, 5}} {
		got, err := FitOf(Gompertz, x[:len(y)], y, nil)
		if err != nil || !strings.Contains(got.NotEstimable, want) || got.Params != nil {
			t.Errorf("%s: %+v, %v", want, got, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }

// From its own starts a form is fitted as from given ones. What would be no curve
// of growth here is doubted, and not kept back.
func TestFitsOfValuesAsTheyAre(t *testing.T) {
	for _, c := range []struct {
		file  string
		form  Form
		doubt string
	}{{"growth-nist-misra1a", BertalanffyFromNought, "more than 2 times the heaviest"}, {"growth-logistic-chick1", Logistic, "more than 2 times the heaviest"}, {"growth-vb-loblolly301", Bertalanffy, "no curvature"}, {"growth-nist-rat43", Richards, ""}} {
		in, want := readVector[toFit, fitted](t, c.file)
		got, err := FitOf(c.form, in.X, in.Y, nil)
		if err != nil || got.NotEstimable != "" {
			t.Fatalf("%s: %+v, %v", c.file, got, err)
		}
		holds(t, c.file+": what is left", got.RSS, want.RSS, stated)
		if got.Freedom != want.DF || (c.doubt == "") != (got.Doubt == "") || !strings.Contains(got.Doubt, c.doubt) {
			t.Errorf("%s: freedom %d, doubt %q", c.file, got.Freedom, got.Doubt)
		}
	}
}
