package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"haulout/projections/ration"
)

// dietInput is foods by the dollar, and what a day needs of each nutrient.
type dietInput struct {
	Nutrients words    `json:"nutrients"`
	Need      numbers  `json:"need_per_day"`
	Foods     []object `json:"foods"`
	Days      *float64 `json:"days"`
}

type dietFood struct {
	ID       string  `json:"id"`
	Name     string  `json:"name"`
	Unit     string  `json:"unit"`
	Price    float64 `json:"price_cents"`
	Grams    float64 `json:"grams_per_dollar"`
	Contents numbers `json:"nutrients_per_dollar"`
}

// dietFigure is the cheapest diet, in dollars.
type dietFigure struct {
	Feasible   bool               `json:"feasible"`
	CostPerDay *float64           `json:"cost_per_day,omitempty"`
	Annual     *float64           `json:"annual,omitempty"`
	Annual365  *float64           `json:"annual_365,omitempty"`
	Dollars    map[string]float64 `json:"dollars_per_year,omitempty"`
	Duals      map[string]float64 `json:"duals_per_day,omitempty"` // what one unit more of each need would cost
	Caution    string             `json:"caution"`

	in    dietInput
	names []string
	found ration.Optimum
}

// trace is what counts as nothing of a diet, in dollars a day.
const trace = 1e-12

func answerDiet(o object) (answer, error) {
	f := &dietFigure{Caution: rationCaution}
	if err := o.into(&f.in); err != nil {
		return nil, err
	}
	p, err := f.program()
	if err != nil {
		return nil, err
	}
	f.found, err = p.Solve()
	if errors.Is(err, ration.ErrNoAmounts) {
		return f, nil
	}
	if err != nil {
		return nil, err
	}
	days := *f.in.Days
	cost, year, short := f.found.Cost, f.found.Cost*days, f.found.Cost*365
	f.Feasible, f.CostPerDay, f.Annual, f.Annual365 = true, &cost, &year, &short
	f.Dollars, f.Duals = map[string]float64{}, map[string]float64{}
	for i, dollars := range f.found.Amounts {
		if dollars > trace {
			f.Dollars[f.names[i]] = dollars * days
		}
	}
	for n, price := range f.found.Prices {
		f.Duals[fmt.Sprintf("n%d", n+1)] = price
	}
	return f, nil
}

// program has one amount for each food: the dollars spent on it in a day.
func (f *dietFigure) program() (p ration.Program, err error) {
	in := f.in
	switch {
	case in.Days == nil || *in.Days <= 0 || *in.Days > 366:
		return p, errors.New("days is missing or not the days of a year; give 365.25")
	case len(in.Nutrients) == 0 || len(in.Need) != len(in.Nutrients):
		return p, fmt.Errorf("need_per_day has %s for %d nutrients; give one for each", counted(len(in.Need), "figure", "figures"), len(in.Nutrients))
	case len(in.Foods) == 0:
		return p, errors.New("foods is empty; name at least one food")
	}
	p.Rows = make([][]float64, len(in.Need))
	errs := []error{}
	for n, need := range in.Need {
		p.Least = append(p.Least, 0)
		errs = append(errs, amount(fmt.Sprintf("need_per_day[%d]", n), need, &p.Least[n]))
	}
	for i, o := range in.Foods {
		errs = append(errs, f.add(&p, fmt.Sprintf("foods[%d]", i), o))
	}
	return p, errors.Join(errs...)
}

func (f *dietFigure) add(p *ration.Program, of string, o object) error {
	var food dietFood
	if err := o.into(&food); err != nil {
		return fmt.Errorf("%s: %w", of, err)
	}
	if len(food.Contents) != len(p.Rows) {
		return fmt.Errorf("%s.nutrients_per_dollar has %s for %d nutrients; give one for each", of, counted(len(food.Contents), "figure", "figures"), len(p.Rows))
	}
	f.names = append(f.names, cmp.Or(food.Name, food.ID, of))
	p.Cost = append(p.Cost, 1)
	errs := []error{}
	for n, content := range food.Contents {
		p.Rows[n] = append(p.Rows[n], 0)
		errs = append(errs, amount(fmt.Sprintf("%s.nutrients_per_dollar[%d]", of, n), content, &p.Rows[n][len(p.Rows[n])-1]))
	}
	return errors.Join(errs...)
}

func amount(of string, v *float64, to *float64) error {
	if v == nil {
		return fmt.Errorf("%s is not known; give it", of)
	}
	if *to = *v; *v < 0 {
		return fmt.Errorf("%s is %v; give a number of at least 0", of, *v)
	}
	return nil
}

func (f *dietFigure) print(out io.Writer) error {
	if !f.Feasible {
		_, err := fmt.Fprintf(out, "No amounts of these foods give what a day needs.\n\n%s\n", f.Caution)
		return err
	}
	var text strings.Builder
	w := tabwriter.NewWriter(&text, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "food\tdollars")
	for i, dollars := range f.found.Amounts {
		if dollars > trace {
			fmt.Fprintf(w, "%s\t%.2f\n", f.names[i], dollars**f.in.Days)
		}
	}
	fmt.Fprintln(w, "\t\nneed\tdollars for one more a day")
	for n, price := range f.found.Prices {
		fmt.Fprintf(w, "%s\t%s\n", f.in.Nutrients[n], figure(rounded(price)))
	}
	w.Flush()
	_, err := fmt.Fprintf(out, "The cheapest diet costs %.4f dollars a day, %.2f in %v days.\n\n%s\n\n%s\n",
		*f.CostPerDay, *f.Annual, *f.in.Days, strings.Join(trimmed(text.String()), "\n"), f.Caution)
	return err
}
