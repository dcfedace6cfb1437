package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"haulout/projections/ration"
)

// print writes the answer first, then the plan, then what it rests on.
func (f *rationFigure) print(out io.Writer) error {
	lines := []string{f.answer()}
	if f.Plan != nil {
		lines = append(lines, f.table()...)
		lines = append(lines, "", f.holds())
		lines = append(lines, f.chosen()...)
	}
	if f.Cost != nil {
		lines = append(lines, "", f.bill())
	}
	if len(f.Notes) > 0 {
		lines = append(lines, "")
	}
	for _, note := range f.Notes {
		lines = append(lines, "Mind: "+note+".")
	}
	lines = append(lines, "", f.Caution)
	_, err := fmt.Fprintln(out, strings.Join(lines, "\n"))
	return err
}

func (f *rationFigure) answer() string {
	if !f.Feasible {
		text := fmt.Sprintf("%.0f kcal a day can't be reached: the most is %.0f, short by %.0f.\nWhat binds: %s.", f.wanted.Kcal, *f.Most, *f.Shortfall, strings.Join(f.Binding, "; "))
		if f.Plan != nil {
			text += fmt.Sprintf("\nThe nearest plan holds %.0f kcal, in %s.", f.Plan.Kcal, f.count())
		}
		return text
	}
	return fmt.Sprintf("%.0f kcal a day are wanted; the plan holds %.0f, %s, in %s.", f.wanted.Kcal, f.Plan.Kcal, apart(f.Plan.Kcal-f.wanted.Kcal, "kcal"), f.count())
}

func (f *rationFigure) count() string {
	n := 0
	for _, portions := range f.Plan.Portions {
		n += portions
	}
	return fmt.Sprintf("%s (%s kg)", counted(n, "portion", "portions"), figure(rounded(f.Plan.Kg)))
}

// apart says how far a plan is from what is wanted.
func apart(v float64, unit string) string {
	switch n := math.Round(v); {
	case n > 0:
		return fmt.Sprintf("%.0f %s above", n, unit)
	case n < 0:
		return fmt.Sprintf("%.0f %s below", -n, unit)
	}
	return "exactly that"
}

// rounded takes away what binary fractions leave: 0.1 and 0.2 are 0.3.
func rounded(v float64) float64 { return math.Round(v*1e6) / 1e6 }

func (f *rationFigure) table() []string {
	var text strings.Builder
	w := tabwriter.NewWriter(&text, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(w, "food\tportions\tof kg\tkg\tshare\tkcal\t")
	if f.Plan.Changed != nil {
		fmt.Fprint(w, "yesterday\t")
	}
	for s := range f.Sessions {
		fmt.Fprintf(w, "session %d\t", s+1)
	}
	fmt.Fprintln(w)
	for i, item := range f.items {
		kg := float64(f.Plan.Portions[i]) * item.PortionKg
		fmt.Fprintf(w, "%s\t%d\t%s\t%s\t%.0f %%\t%.0f\t", item.Name, f.Plan.Portions[i], figure(item.PortionKg), figure(rounded(kg)), 100*f.Plan.Shares[i], kg*item.KcalPerKg)
		if f.Plan.Changed != nil {
			fmt.Fprintf(w, "%d\t", item.Before())
		}
		for _, session := range f.Sessions {
			fmt.Fprintf(w, "%d\t", session[i])
		}
		fmt.Fprintln(w)
	}
	w.Flush()
	return append([]string{""}, trimmed(text.String())...)
}

// trimmed is the lines of a table without what it puts after them.
func trimmed(table string) (lines []string) {
	for line := range strings.Lines(table) {
		lines = append(lines, strings.TrimRight(line, " \n"))
	}
	return lines
}

// holds says what the plan holds, and how far that is from what is wanted.
func (f *rationFigure) holds() string {
	p := f.Plan
	parts := []string{
		"protein " + grams(p.ProteinG, f.wanted.ProteinG), "fat " + grams(p.FatG, nil), "water " + grams(p.WaterG, f.wanted.WaterG),
	}
	cost := "not known"
	if p.Cost != nil {
		cost = fmt.Sprintf("%.2f", *p.Cost)
	}
	return "It holds " + strings.Join(parts, ", ") + "; cost " + cost + "."
}

func grams(has, wanted *float64) string {
	if has == nil {
		return "not known"
	}
	text := fmt.Sprintf("%.0f g", *has)
	if wanted != nil {
		text += fmt.Sprintf(" (%.0f g wanted, %s)", *wanted, apart(*has-*wanted, "g"))
	}
	return text
}

// chosen says by what the plan was chosen.
func (f *rationFigure) chosen() []string {
	p, merits := f.Plan, []string{}
	if p.Changed != nil {
		merits = append(merits, fmt.Sprintf("changes the fewest portions from yesterday (%d)", *p.Changed))
	}
	if slices.ContainsFunc(f.items, func(i ration.Item) bool { return i.DueKg > 0 }) {
		merits = append(merits, fmt.Sprintf("leaves the least of what is thawed and due (%s kg)", figure(rounded(p.DueLeftKg))))
	}
	if !slices.ContainsFunc(f.items, func(i ration.Item) bool { return i.CostPerKg == nil }) {
		merits = append(merits, "is cheapest")
	}
	merits = append(merits, "has the most of the food named first")
	lines := []string{"Plans within half a portion's energy count as equally near; of those it is the one that " + strings.Join(merits, ", then ") + "."}
	if c := ration.DailyCeiling(); p.CeilingKg != nil {
		lines = append(lines, fmt.Sprintf("It is held to %s kg, %.0f %% of body mass: %s.", figure(rounded(*p.CeilingKg)), 100*c.Value, c.Source))
	}
	return lines
}

func (f *rationFigure) bill() string {
	line := fmt.Sprintf("The cheapest that gives at least what is wanted costs %.2f if portions are cut", *f.Cost)
	if f.Whole == nil {
		return line + "."
	}
	var parts []string
	for i, n := range f.Cheapest {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, f.items[i].Name))
		}
	}
	return line + fmt.Sprintf(", and %.2f in whole portions: %s.", *f.Whole, strings.Join(parts, ", "))
}
