package main

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strings"

	"haulout/projections/growth"
)

// growthModel is how a form is written, with its parameters in the order of the
// form.
type growthModel struct {
	form   growth.Form
	usual  []string
	writes string // a pattern, without spaces
}

func growthModels() []growthModel {
	return []growthModel{
		{growth.Bertalanffy, []string{"A", "k", "t0"}, `^(\w+)\*\(1-exp\(-(\w+)\*\(x-(\w+)\)\)\)$`},
		{growth.BertalanffyFromNought, []string{"A", "k"}, `^(\w+)\*\(1-exp\(-(\w+)\*x\)\)$`},
		{growth.Gompertz, []string{"A", "b", "k"}, `^(\w+)\*exp\(-(\w+)\*exp\(-(\w+)\*x\)\)$`},
		{growth.Logistic, []string{"A", "xm", "s"}, `^(\w+)/\(1\+exp\(\((\w+)-x\)/(\w+)\)\)$`},
		{growth.Richards, []string{"A", "b", "k", "m"}, `^(\w+)/\(?\(1\+exp\((\w+)-(\w+)\*x\)\)\^\(1/(\w+)\)\)?$`},
	}
}

// modelOf finds the form of a model and the names that it gives the parameters.
func modelOf(text string) (growth.Form, []string, error) {
	if strings.TrimSpace(text) == "" {
		return "", nil, errors.New("model is missing; write one as \"y ~ A * exp(-b * exp(-k * x))\", or name it as Gompertz")
	}
	written := strings.TrimPrefix(strings.Join(strings.Fields(text), ""), "y~")
	var known []string
	for _, m := range growthModels() {
		known = append(known, string(m.form))
		if strings.EqualFold(strings.Join(strings.Fields(text), " "), string(m.form)) {
			return m.form, m.usual, nil
		}
		if found := regexp.MustCompile(m.writes).FindStringSubmatch(written); found != nil {
			names := found[1:]
			if sorted := slices.Sorted(slices.Values(append(slices.Clone(names), "x"))); len(slices.Compact(sorted)) <= len(names) {
				return "", nil, fmt.Errorf("model is %q, and two of its names are the same; give each parameter its own", text)
			}
			return m.form, names, nil
		}
	}
	return "", nil, fmt.Errorf("model is %q, which is not known%s; the models are %s, written as haulout figure growth --help has them", text, meant(text, known), strings.Join(known, ", "))
}

// fitFigure is a model fitted to values as they are.
type fitFigure struct {
	Form         growth.Form         `json:"form"`
	Coef         map[string]*float64 `json:"coef"` // null where it can't be estimated
	SE           map[string]*float64 `json:"se"`
	RSS          *float64            `json:"rss"`
	SD           *float64            `json:"resid_sd"`
	Freedom      int                 `json:"df"`
	AIC          *float64            `json:"aic"`
	Left         int                 `json:"left_out"`
	Doubt        string              `json:"doubt,omitempty"` // why it would not be taken for a curve of growth here
	NotEstimable string              `json:"not_estimable,omitempty"`
	Caution      string              `json:"caution"`

	names []string
}

func answerFit(o object) (answer, error) {
	var in struct {
		Model string  `json:"model"`
		X     numbers `json:"x"`
		Y     numbers `json:"y"`
		Start object  `json:"start"`
	}
	if err := o.into(&in); err != nil {
		return nil, err
	}
	form, names, err := modelOf(in.Model)
	if err != nil {
		return nil, err
	}
	x, y, left, err := in.X.beside(in.Y, "x", "y")
	if err != nil {
		return nil, err
	}
	if len(x) == 0 {
		return nil, errors.New("x and y are empty; give ages and masses that are known")
	}
	start, err := startOf(in.Start, names)
	if err != nil {
		return nil, err
	}
	fit, err := growth.FitOf(form, x, y, start)
	if err != nil {
		return nil, err
	}
	return newFitFigure(fit, names, left), nil
}

// startOf reads where the fit begins; nil where the object does not say.
func startOf(o object, names []string) (out []float64, err error) {
	if o == nil {
		return nil, nil
	}
	for _, key := range slices.Sorted(maps.Keys(o)) {
		if !slices.Contains(names, key) {
			return nil, fmt.Errorf("start has %q, which the model does not%s", key, meant(key, names))
		}
	}
	for _, name := range names {
		var v numbers
		if raw := o[name]; raw == nil || v.UnmarshalJSON(raw) != nil || len(v) != 1 || v[0] == nil {
			return nil, fmt.Errorf("start has no number for %s; give one for each parameter, or leave start out", name)
		}
		out = append(out, *v[0])
	}
	return out, nil
}

func newFitFigure(fit growth.Fit, names []string, left int) *fitFigure {
	out := &fitFigure{
		Form: fit.Form, Coef: map[string]*float64{}, SE: map[string]*float64{}, Freedom: fit.Freedom, Left: left,
		Doubt: fit.Doubt, NotEstimable: fit.NotEstimable, Caution: growthCaution, names: names,
	}
	for i, name := range names {
		out.Coef[name], out.SE[name] = nil, nil
		if fit.NotEstimable == "" {
			out.Coef[name], out.SE[name] = finite(fit.Params[i].Value), finite(fit.Params[i].SE)
		}
	}
	if fit.NotEstimable == "" {
		out.RSS, out.SD, out.AIC = finite(fit.RSS), finite(fit.SD), finite(fit.AIC)
	} else {
		out.Doubt = ""
	}
	return out
}

func (f *fitFigure) print(out io.Writer) error {
	if f.NotEstimable != "" {
		return printLines(out, f.Caution, append([]string{fmt.Sprintf("The %s curve is not estimable: %s.", f.Form, f.NotEstimable)}, leftOut(f.Left)...)...)
	}
	var parts []string
	for _, name := range f.names {
		parts = append(parts, fmt.Sprintf("%s %.6g (standard error %.3g)", name, *f.Coef[name], *f.SE[name]))
	}
	lines := []string{
		fmt.Sprintf("The %s curve: %s.", f.Form, strings.Join(parts, ", ")),
		fmt.Sprintf("It leaves %.6g of squares, values lie %.3g off it (standard deviation, %d degrees of freedom); AIC %.2f.", *f.RSS, *f.SD, f.Freedom, *f.AIC),
	}
	if f.Doubt != "" {
		lines = append(lines, "For a curve of growth it would not be taken here: "+f.Doubt+".")
	}
	return printLines(out, f.Caution, append(lines, leftOut(f.Left)...)...)
}
