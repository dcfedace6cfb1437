package main

import (
	"errors"
	"fmt"
	"io"
	"math"

	"haulout/projections/growth"
)

// averagesFigure is an exponentially weighted average with its limits, null
// where the value is.
type averagesFigure struct {
	Average []*float64 `json:"ewma"`
	Hi      float64    `json:"ucl"` // steady limits, after many values
	Lo      float64    `json:"lcl"`
	ExactHi []*float64 `json:"ucl_exact"`
	ExactLo []*float64 `json:"lcl_exact"`
	Steady  []int      `json:"out_steady"` // places beyond the steady limits, from 1
	Exact   []int      `json:"out_exact"`
	Caution string     `json:"caution"`
}

func answerAverages(o object) (answer, error) {
	var in struct {
		X      numbers  `json:"x"`
		Lambda *float64 `json:"lambda"`
		Target *float64 `json:"target"`
		Sigma  *float64 `json:"sigma"`
		L      *float64 `json:"L"`
	}
	if err := o.into(&in); err != nil {
		return nil, err
	}
	values, at := in.X.known()
	err := errors.Join(must(in.Lambda, "lambda", "the weight of the newest value, above 0 and up to 1"), must(in.Target, "target", "the value that is held against"),
		must(in.Sigma, "sigma", "the standard deviation of a value"), must(in.L, "L", "the limits in standard deviations, such as 3"), filled("x", values))
	if err != nil {
		return nil, err
	}
	if !(*in.L > 0) {
		return nil, fmt.Errorf("the limit L is %v; give it in standard deviations, above 0", *in.L)
	}
	list, err := growth.EWMA(values, *in.Lambda, *in.Target, *in.Sigma, *in.L)
	if err != nil {
		return nil, err
	}
	half := *in.L * *in.Sigma * math.Sqrt(*in.Lambda/(2-*in.Lambda))
	n := len(in.X)
	out := &averagesFigure{
		Average: make([]*float64, n), ExactHi: make([]*float64, n), ExactLo: make([]*float64, n),
		Hi: *in.Target + half, Lo: *in.Target - half, Steady: []int{}, Exact: []int{}, Caution: weightsCaution,
	}
	for i, a := range list {
		place := at[i]
		out.Average[place], out.ExactHi[place], out.ExactLo[place] = &a.Value, &a.Hi, &a.Lo
		if a.Value > out.Hi || a.Value < out.Lo {
			out.Steady = append(out.Steady, place+1)
		}
		if a.Value > a.Hi || a.Value < a.Lo {
			out.Exact = append(out.Exact, place+1)
		}
	}
	return out, nil
}

func filled(key string, values []float64) error {
	if len(values) == 0 {
		return fmt.Errorf("%s is empty; give one value or more that is known", key)
	}
	return nil
}

func (f *averagesFigure) print(out io.Writer) error {
	lines := []string{
		fmt.Sprintf("The weighted average of %s has steady limits of %.6g and %.6g.", counted(len(f.Average), "value", "values"), f.Lo, f.Hi),
		"Beyond the limits as they widen from the first value on: " + places(f.Exact) + ".", "Beyond the steady limits: " + places(f.Steady) + ".",
	}
	return printLines(out, f.Caution, lines...)
}

// places lists places of values in words.
func places(list []int) string {
	if len(list) == 0 {
		return "none"
	}
	text := "value"
	if len(list) > 1 {
		text += "s"
	}
	for i, n := range list {
		if i > 0 {
			text += ","
		}
		text += fmt.Sprintf(" %d", n)
	}
	return text
}

// sumsFigure is the two cumulative sums, null where the value is.
type sumsFigure struct {
	High    []*float64 `json:"s_hi"`
	Low     []*float64 `json:"s_lo"`
	FirstHi *int       `json:"first_hi"` // place of the first sum beyond the limit, from 1
	FirstLo *int       `json:"first_lo"`
	AllHi   []int      `json:"all_hi"`
	AllLo   []int      `json:"all_lo"`
	Plain   []*float64 `json:"cusum_plain"` // of what values are off the target
	Caution string     `json:"caution"`
}

func answerSums(o object) (answer, error) {
	var in struct {
		X      numbers  `json:"x"`
		Target *float64 `json:"target"`
		K      *float64 `json:"k"`
		H      *float64 `json:"h"`
	}
	if err := o.into(&in); err != nil {
		return nil, err
	}
	values, at := in.X.known()
	err := errors.Join(must(in.Target, "target", "the value that is held against"), must(in.K, "k", "what a value may be off without adding"), must(in.H, "h", "the limit of a sum"), filled("x", values))
	if err != nil {
		return nil, err
	}
	if *in.K < 0 || *in.H < 0 {
		return nil, fmt.Errorf("k is %v and h %v; give 0 or more of both", *in.K, *in.H)
	}
	n := len(in.X)
	out := &sumsFigure{High: make([]*float64, n), Low: make([]*float64, n), Plain: make([]*float64, n), AllHi: []int{}, AllLo: []int{}, Caution: weightsCaution}
	plain := 0.
	for i, s := range growth.CUSUM(values, *in.Target, *in.K) {
		place := at[i]
		plain += values[i] - *in.Target
		out.High[place], out.Low[place], out.Plain[place] = &s.High, &s.Low, finite(plain)
		if s.High > *in.H {
			out.AllHi = append(out.AllHi, place+1)
		}
		if s.Low > *in.H {
			out.AllLo = append(out.AllLo, place+1)
		}
	}
	out.FirstHi, out.FirstLo = firstOf(out.AllHi), firstOf(out.AllLo)
	return out, nil
}

func firstOf(list []int) *int {
	if len(list) == 0 {
		return nil
	}
	return &list[0]
}

func (f *sumsFigure) print(out io.Writer) error {
	return printLines(out, f.Caution, "Above the target, the sum is beyond its limit at: "+places(f.AllHi)+".", "Below the target, the sum is beyond its limit at: "+places(f.AllLo)+".")
}
