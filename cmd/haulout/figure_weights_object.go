package main

import (
	"fmt"
	"io"
	"math"
	"slices"

	"haulout/projections/growth"
)

// weightShapes are the forms of object that figure weights takes: of bare
// values, for what others worked out to be held against.
func weightShapes() []shape {
	return []shape{
		{"x y", answerSlope}, {"x lambda target sigma L", answerAverages}, {"x target k h", answerSums},
		{"day weight windows", answerPercent}, {"y period", answerHarmonic},
	}
}

// levelOfSen is the level of the interval of bare values, as published.
const levelOfSen = 0.95

// slopeFigure is the median slope of values and whether they rise.
type slopeFigure struct {
	Slope     *float64 `json:"slope"`
	Intercept *float64 `json:"intercept_median_resid"`
	Conover   *float64 `json:"intercept_conover"`
	Pairs     int      `json:"n_pairs"`
	S         *int     `json:"mk_S"`
	Variance  *float64 `json:"mk_var"`
	Z         *float64 `json:"mk_z"`
	P         *float64 `json:"mk_p"`
	Tau       *float64 `json:"tau_b"`
	RankLo    *float64 `json:"ci_rank_lo"`
	RankHi    *float64 `json:"ci_rank_hi"`
	Lo        *float64 `json:"ci_lo"`
	Hi        *float64 `json:"ci_hi"`
	Level     float64  `json:"level"`
	Straight  *float64 `json:"ols_slope"`
	Left      int      `json:"left_out"`
	NotEnough string   `json:"not_enough,omitempty"`
	Caution   string   `json:"caution"`
}

func answerSlope(o object) (answer, error) {
	var in struct {
		X numbers `json:"x"`
		Y numbers `json:"y"`
	}
	if err := o.into(&in); err != nil {
		return nil, err
	}
	x, y, left, err := in.X.beside(in.Y, "x", "y")
	if err != nil {
		return nil, err
	}
	out := &slopeFigure{Level: levelOfSen, Left: left, Caution: weightsCaution}
	if len(x) < 2 {
		out.NotEnough = fmt.Sprintf("%s known; a slope needs 2", counted(len(x), "pair is", "pairs are"))
		return out, nil
	}
	sen, err := growth.SenOf(x, y, levelOfSen)
	if err != nil {
		return nil, err
	}
	k := sen.Rising
	out.Slope, out.Intercept, out.Conover, out.Straight, out.Pairs = &sen.Slope.Value, &sen.Intercept, &sen.Conover, finite(sen.Straight), sen.Pairs
	out.Lo, out.Hi, out.RankLo, out.RankHi = &sen.Slope.Lo, &sen.Slope.Hi, &sen.Ranks[0], &sen.Ranks[1]
	out.S, out.Variance, out.Z, out.P, out.Tau = &k.S, &k.Variance, &k.Z, &k.P, &k.Tau
	return out, nil
}

func (f *slopeFigure) print(out io.Writer) error {
	if f.NotEnough != "" {
		return printLines(out, f.Caution, "Cannot be told: "+f.NotEnough+".")
	}
	lines := []string{
		fmt.Sprintf("y changes by %.4g for one of x, %.4g to %.4g (Theil-Sen over %s, 95 in 100).", *f.Slope, *f.Lo, *f.Hi, counted(f.Pairs, "pair", "pairs")),
		fmt.Sprintf("Mann-Kendall S %d, z %.3g, p %s, tau-b %.3g. By least squares the slope is %.4g, which a wild value moves.", *f.S, *f.Z, pText(*f.P), *f.Tau, *f.Straight),
	}
	return printLines(out, f.Caution, append(lines, leftOut(f.Left)...)...)
}

// leftOut says how many values were not known.
func leftOut(n int) []string {
	if n == 0 {
		return nil
	}
	return []string{fmt.Sprintf("Mind: %s not known and left out.", counted(n, "value is", "values are"))}
}

// harmonicFigure is a line with one sine of a period.
type harmonicFigure struct {
	Intercept float64 `json:"intercept"`
	Slope     float64 `json:"slope"`
	Cos       float64 `json:"cos"`
	Sin       float64 `json:"sin"`
	Amplitude float64 `json:"amplitude"`
	Peak      float64 `json:"peak_month"` // 0 to 12
	SD        float64 `json:"resid_sd"`
	Caution   string  `json:"caution"`
}

func answerHarmonic(o object) (answer, error) {
	var in struct {
		Y      numbers  `json:"y"`
		Period *float64 `json:"period"`
	}
	if err := o.into(&in); err != nil {
		return nil, err
	}
	if err := must(in.Period, "period", "how many values make a year, such as 12"); err != nil {
		return nil, err
	}
	y, at := in.Y.known()
	x := make([]float64, len(at))
	for i, place := range at {
		x[i] = float64(place + 1)
	}
	if len(y) < 5 {
		return nil, fmt.Errorf("y has %s; a line and a sine need 5", counted(len(y), "value that is known", "values that are known"))
	}
	h, err := growth.HarmonicOf(x, y, *in.Period)
	if err != nil {
		return nil, err
	}
	return &harmonicFigure{h.Intercept, h.Slope, h.Cos, h.Sin, h.Amplitude, h.Peak * 12 / *in.Period, h.SD, weightsCaution}, nil
}

func (f *harmonicFigure) print(out io.Writer) error {
	return printLines(out, f.Caution,
		fmt.Sprintf("y changes by %.4g for one value, beside a yearly wave of %.4g up and down with its top at %.1f months.", f.Slope, f.Amplitude, f.Peak),
		fmt.Sprintf("Values lie %.4g off line and wave (standard deviation).", f.SD))
}

// percentFigure is each weight against the medians of the days before.
type percentFigure struct {
	windows []growth.Change // for their lengths and limits
	percent [2][]*float64
	hits    [2][]int
	Caution string
}

func answerPercent(o object) (answer, error) {
	var in struct {
		Day     numbers `json:"day"`
		Weight  numbers `json:"weight"`
		Windows numbers `json:"windows"`
	}
	if err := o.into(&in); err != nil {
		return nil, err
	}
	if len(in.Day) != len(in.Weight) || len(in.Day) == 0 {
		return nil, fmt.Errorf("day has %s and weight %d; give as many of both, one or more", counted(len(in.Day), "number", "numbers"), len(in.Weight))
	}
	weighings, err := weighingsOf(in.Day, in.Weight)
	if err != nil {
		return nil, err
	}
	f := &percentFigure{Caution: weightsCaution}
	for i, day := range in.Day {
		if err := f.add(weighings, i, day, in.Weight[i]); err != nil {
			return nil, err
		}
	}
	return f, f.agree(in.Windows)
}

// weighingsOf are the weigh-ins of which day and weight are known.
func weighingsOf(days, weights numbers) (out []growth.Weighing, err error) {
	for i, kg := range weights {
		switch day := days[i]; {
		case day == nil:
			return nil, fmt.Errorf("day[%d] is null; give the day", i)
		case *day != math.Trunc(*day):
			return nil, fmt.Errorf("day[%d] is %v; give a whole day", i, *day)
		case kg == nil:
		case !(*kg > 0):
			return nil, fmt.Errorf("weight[%d] is %v; give a mass above 0, or null", i, *kg)
		default:
			out = append(out, growth.Weighing{Day: int(*day), Kg: *kg})
		}
	}
	return out, nil
}

func (f *percentFigure) add(weighings []growth.Weighing, i int, day, kg *float64) error {
	changes, err := growth.ChangesOn(weighings, int(*day))
	if err != nil {
		return err
	}
	f.windows = changes
	for j, c := range changes {
		percent := finite(c.Percent)
		if c.NotEnough != "" || kg == nil {
			percent = nil
		}
		if f.percent[j] = append(f.percent[j], percent); percent != nil && c.Look {
			f.hits[j] = append(f.hits[j], i+1)
		}
	}
	return nil
}

// agree holds the windows that the object names against those that are used.
func (f *percentFigure) agree(windows numbers) error {
	known, _ := windows.known()
	if windows != nil && !slices.Equal(known, []float64{float64(f.windows[0].Window), float64(f.windows[1].Window)}) {
		return fmt.Errorf("windows is %v; the windows are of %d and %d days: leave it out", known, f.windows[0].Window, f.windows[1].Window)
	}
	return nil
}

func (f *percentFigure) MarshalJSON() ([]byte, error) {
	var pairs []any
	for j, w := range f.windows {
		pairs = append(pairs, fmt.Sprintf("pct_vs_median_prev%d", w.Window), f.percent[j])
	}
	for j, w := range f.windows {
		pairs = append(pairs, fmt.Sprintf("hits_%gpct_%dd", w.Limit, w.Window), append([]int{}, f.hits[j]...))
	}
	return marshalOrdered(append(pairs, "caution", f.Caution)...)
}

func (f *percentFigure) print(out io.Writer) error {
	var lines []string
	for j, w := range f.windows {
		lines = append(lines, fmt.Sprintf("Against the median of the %d days before, a fall of %g %% or more: %s.", w.Window, w.Limit, places(f.hits[j])))
	}
	return printLines(out, f.Caution, append(lines, "The limits are assumptions: nothing is published for pinnipeds.")...)
}
