package growth

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Here the methods stand as their papers have them, of bare values and without
// what this package asks of weigh-ins besides, so that figures can be held
// against those of others.

// Sen is the median slope of values and whether they rise.
type Sen struct {
	Slope     Interval   // of y for one of x
	Ranks     [2]float64 // where its ends lie among the slopes, from 1
	Intercept float64    // median of what y lies above the slope
	Conover   float64    // of the line through the medians of x and y
	Straight  float64    // slope by least squares
	Pairs     int
	Rising    Kendall
}

// SenOf is the slope of values after Theil 1950 and Sen 1968 (J Am Stat Assoc
// 63:1379-1389) with Sen's interval at a level below 1, and Kendall's test with
// ties. Unlike TrendOf it widens nothing. Errors: lists of two lengths, fewer
// than two values, an x that stands twice, a level that can't be.
func SenOf(x, y []float64, level float64) (Sen, error) {
	s, err := seriesOf(x, y)
	if err != nil {
		return Sen{}, err
	}
	if !(level > 0 && level < 1) {
		return Sen{}, fmt.Errorf("level: %v can't be: give a share between 0 and 1", level)
	}
	unit := s.nearest()
	spread := series{mapped(s.day, func(x float64) float64 { return x / unit }), s.kg}
	slopes := spread.byRank()
	l := spread.line(slopes)
	spread.bound(&l, slopes, level, 1)
	out := Sen{Slope: Interval{l.slope.Value / unit, l.slope.Lo / unit, l.slope.Hi / unit}, Ranks: l.ranks, Intercept: l.intercept, Pairs: s.pairs(), Rising: s.kendall(1)}
	out.Conover = median(slices.Clone(s.kg)) - out.Slope.Value*median(slices.Clone(s.day))
	_, out.Straight, _ = straight(s.day, s.kg)
	return out, nil
}

// seriesOf puts values in the order of x.
func seriesOf(x, y []float64) (series, error) {
	if len(x) != len(y) {
		return series{}, fmt.Errorf("x has %d values and y %d: give as many of both", len(x), len(y))
	}
	if len(x) < 2 {
		return series{}, fmt.Errorf("x has %d values: give two or more", len(x))
	}
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	var out series
	for i, at := range order {
		if i > 0 && x[at] == out.day[i-1] {
			return series{}, fmt.Errorf("x: %v stands twice: give one value of y for each x", x[at])
		}
		out.day, out.kg = append(out.day, x[at]), append(out.kg, y[at])
	}
	return out, nil
}

// nearest is how near two x lie at least, where that is below 1: slopes of long
// series are counted as between days.
func (s series) nearest() float64 {
	least := 1.0
	for i := 1; i < len(s.day); i++ {
		least = min(least, s.day[i]-s.day[i-1])
	}
	return least
}

// Harmonic is a straight line with one sine of a period.
type Harmonic struct {
	Intercept, Slope float64 // at x 0, and for one of x
	Cos, Sin         float64
	Amplitude        float64
	Peak             float64 // x of the top, from 0 up to the period
	SD               float64 // of values off it
}

// HarmonicOf is the line and sine of values by least squares (cosinor, Nelson et
// al. 1979, Chronobiologia 6:305); all values count alike. Errors: lists of two
// lengths, an x that stands twice, a period not above 0, values that can't tell
// line and sine apart.
func HarmonicOf(x, y []float64, period float64) (Harmonic, error) {
	s, err := seriesOf(x, y)
	if err != nil {
		return Harmonic{}, err
	}
	if !(period > 0) || math.IsInf(period, 0) {
		return Harmonic{}, fmt.Errorf("period: %v can't be: give it above 0", period)
	}
	w, _, ok := groundOf(s.day, period).fit(s.kg, nil)
	if !ok {
		return Harmonic{}, fmt.Errorf("y: %d values can't tell a line and a sine of %v apart: give more, over all of the period", len(y), period)
	}
	return Harmonic{w.intercept, w.slope, w.cos, w.sin, w.amplitude(), w.peak(), w.sd}, nil
}

// BertalanffyFromNought is von Bertalanffy's curve with nothing at an age of
// nought. No growth is of that form; it is there to be held against others.
const BertalanffyFromNought Form = "von Bertalanffy from nought" // A (1 - exp(-k x))

func fromNought() form {
	return form{
		BertalanffyFromNought, []Param{{Name: "A", Unit: "kg"}, {Name: "k", Unit: "1/a"}}, []int{0, 1},
		func(p []float64, x float64, slopes []float64) float64 {
			var all [3]float64
			y := bertalanffy([]float64{p[0], p[1], 0}, x, all[:])
			copy(slopes, all[:2])
			return y
		},
		func(x, y []float64) (out [][]float64) {
			for _, start := range bertalanffyStarts(x, y) {
				out = append(out, start[:2])
			}
			return out
		},
	}
}

// Fit is a form fitted to values as they are, without asking whether they tell
// of growth.
type Fit struct {
	Curve
	Freedom int    // values less parameters
	Doubt   string // why the fit would not be taken for a curve of growth here; empty where it would
}

// FitOf fits a form by least squares, from a start or, where that is nil, from
// its own ones. NotEstimable says where it comes to nothing. Errors: a form that
// is not known, lists of two lengths, a start of another length.
func FitOf(name Form, x, y, start []float64) (Fit, error) {
	all := append(slices.Clone(forms), fromNought())
	i := slices.IndexFunc(all, func(f form) bool { return f.name == name })
	if i < 0 {
		return Fit{}, fmt.Errorf("form: %q is not known: give %s, %s, %s or %s", name, Bertalanffy, Gompertz, Logistic, Richards)
	}
	f := all[i]
	if len(x) != len(y) {
		return Fit{}, fmt.Errorf("x has %d values and y %d: give as many of both", len(x), len(y))
	}
	if start != nil && len(start) != len(f.params) {
		return Fit{}, fmt.Errorf("start has %d values: give %d", len(start), len(f.params))
	}
	out := Fit{Curve: Curve{Form: name, form: f}, Freedom: len(x) - len(f.params)}
	if out.Freedom < 1 {
		out.NotEstimable = fmt.Sprintf("%d values for %d parameters; needs %d", len(x), len(f.params), len(f.params)+1)
		return out, nil
	}
	out.years = [2]float64{slices.Min(x), slices.Max(x)}
	out.begin(x, y, start)
	return out, nil
}

// begin fits from a start, and says what comes of it.
func (f *Fit) begin(x, y, start []float64) {
	s, ok := solution{}, true
	if start == nil {
		s, ok = f.form.best(x, y)
	} else {
		s = leastSquares(f.form, x, y, start)
	}
	if !ok {
		f.NotEstimable = "no final value goes with these: they do not slow down towards one"
		return
	}
	f.take(s, len(x))
	f.Doubt = f.unbelievable(x, y)
	if !f.Converged || s.covariance == nil {
		f.Curve = Curve{Form: f.Form, Steps: s.steps, Converged: s.converged, NotEstimable: f.Doubt}
	}
}
