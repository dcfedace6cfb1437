package main

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"haulout/projections/energetics"
)

// daysPrinted is how many days the table shows.
const daysPrinted = 14

// aheadPrinted are the days of the forecast that are printed.
var aheadPrinted = []int{7, 14, 30, 60, 90, 180, 365}

// print writes the answer first, then what it rests on.
func (f *energyFigure) print(out io.Writer) error {
	lines := []string{f.answer()}
	for _, warning := range f.Warnings {
		lines = append(lines, "Mind: "+warning+".")
	}
	if f.Fast != "" {
		lines = append(lines, capital(f.Fast)+".")
	}
	lines = append(lines, f.table()...)
	if f.Factor != nil {
		lines = append(lines, "", fmt.Sprintf("Needs %.2f times the basal rate, %.2f to %.2f (9 in 10). Of that %s is from its class (%.2f to %.2f), the rest from its own record.",
			f.Factor.Mean, f.Factor.Lo, f.Factor.Hi, share(*f.FromPrior), f.Prior.Lo, f.Prior.Hi))
		lines = append(lines, fmt.Sprintf("A kilogram gained or lost is %.0f MJ, %.0f to %.0f.", f.Tissue.Mean, f.Tissue.Lo, f.Tissue.Hi))
	}
	lines = append(lines, f.ahead()...)
	if len(f.Flags) > 0 {
		lines = append(lines, "", "Set aside:")
	}
	for _, flag := range f.Flags {
		lines = append(lines, fmt.Sprintf("  %s, %s: %s.", flag.Day, flag.What, flag.Reason))
	}
	lines = append(lines, "", "Kilocalories are metabolizable. "+f.BasisNote+".", "", "Assumed:")
	for i, c := range f.Reasons {
		lines = append(lines, "  "+assumed(c, f.Reasons[:i]))
	}
	lines = append(lines, "", f.Caution)
	_, err := fmt.Fprintln(out, strings.Join(lines, "\n"))
	return err
}

// answer is what the figures come to, in a sentence or two.
func (f *energyFigure) answer() string {
	if f.NotEnough != "" {
		return "Cannot be told: " + f.NotEnough + "."
	}
	need := fromTo(f.Need.Lo, f.Need.Hi)
	if f.Week == nil {
		return fmt.Sprintf("Needs %s kcal a day (9 in 10). Whether it gains or loses cannot be told: %d of the last 7 days are logged with feeds that can be.", need, len(f.lately()))
	}
	return fmt.Sprintf("Eats %s kcal a day over the last 7 days; needs %s kcal (9 in 10). %s", grouped(f.eats()), need, verdict(*f.Week))
}

func verdict(b energetics.Interval) string {
	switch {
	case b.Lo > 0:
		return fmt.Sprintf("That is a surplus of %s kcal a day.", fromTo(b.Lo, b.Hi))
	case b.Hi < 0:
		return fmt.Sprintf("That is a deficit of %s kcal a day.", fromTo(-b.Hi, -b.Lo))
	}
	return "A surplus or a deficit cannot be told from holding its mass."
}

// lately lists the days of the last seven that count.
func (f *energyFigure) lately() []energyDay {
	return slices.DeleteFunc(slices.Clone(f.Days[max(0, len(f.Days)-7):]), func(d energyDay) bool { return !d.Logged || f.setAside(d) })
}

// eats is what it ate a day, over the days of the last seven that count.
func (f *energyFigure) eats() (mean float64) {
	days := f.lately()
	for _, d := range days {
		mean += *d.Kcal / float64(len(days))
	}
	return mean
}

func (f *energyFigure) setAside(d energyDay) bool {
	for _, flag := range f.Flags {
		if flag.Day == d.Day && flag.What == "feeds" {
			return true
		}
	}
	return false
}

func (f *energyFigure) table() []string {
	if len(f.Days) == 0 {
		return nil
	}
	var text strings.Builder
	w := tabwriter.NewWriter(&text, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "day\teaten kg\teaten kcal\tneed kcal, 9 in 10\tmass kg, 9 in 10\tweighed kg\t")
	for _, d := range f.Days[max(0, len(f.Days)-daysPrinted):] {
		kg, kcal, need, mass, weighed := "not logged", "", "", "", []string{}
		if d.Logged {
			kg, kcal = fmt.Sprintf("%.2f", *d.EatenKg), grouped(*d.Kcal)
		}
		if f.setAside(d) {
			kcal = "set aside"
		}
		if d.Need != nil {
			need, mass = fromTo(d.Need.Lo, d.Need.Hi), fmt.Sprintf("%.1f to %.1f", d.Mass.Lo, d.Mass.Hi)
		}
		for _, kg := range d.Weighs {
			weighed = append(weighed, fmt.Sprintf("%.1f", kg))
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t\n", d.Day, kg, kcal, need, mass, strings.Join(weighed, ", "))
	}
	w.Flush()
	lines := []string{""}
	for line := range strings.Lines(text.String()) {
		lines = append(lines, strings.TrimRight(line, " \n"))
	}
	return lines
}

func (f *energyFigure) ahead() []string {
	switch {
	case f.NotEnough != "":
		return nil
	case len(f.Ahead) == 0:
		return []string{"", "No forecast: " + f.NoAhead + "."}
	}
	says := f.Assumes
	if f.Kcal != nil {
		says = fmt.Sprintf("%s, %s kcal a day", says, grouped(*f.Kcal))
	}
	lines := []string{"", "Mass to come (" + says + "):"}
	for i, day := range f.Ahead {
		if n := i + 1; slices.Contains(aheadPrinted, n) || n == len(f.Ahead) {
			lines = append(lines, fmt.Sprintf("  in %s, %s: %.1f kg, %.1f to %.1f (9 in 10)", counted(n, "day", "days"), day.Day, day.Kg, day.Lo, day.Hi))
		}
	}
	if f.NoAhead != "" {
		lines = append(lines, "  "+capital(f.NoAhead)+".")
	}
	return lines
}

// share is a part of 1 in whole per cent.
func share(part float64) string {
	switch {
	case part < 0.01:
		return "under 1 %"
	case part > 0.99:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*part)
}

// assumed writes a constant with its source, unless one before has the same.
func assumed(c energetics.Constant, before []energetics.Constant) string {
	text := fmt.Sprintf("%s: %.3g", c.Name, c.Value)
	if c.High > c.Low {
		text += fmt.Sprintf(", %.3g to %.3g", c.Low, c.High)
	}
	if c.Unit != "1" {
		text += " " + c.Unit
	}
	if !c.Verified {
		text += " (not verified)"
	}
	if slices.ContainsFunc(before, func(b energetics.Constant) bool { return b.Source == c.Source }) {
		return text + ". Source as above"
	}
	return text + ". " + capital(c.Source)
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// fromTo is a range rounded to tens, as nobody knows energy better.
func fromTo(lo, hi float64) string { return grouped(lo) + " to " + grouped(hi) }

// grouped writes kilocalories of 0 or more rounded to tens: 5 310.
func grouped(kcal float64) string {
	digits := strconv.Itoa(int(kcal/10+0.5) * 10)
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + " " + digits[i:]
	}
	return digits
}
