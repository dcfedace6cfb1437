package main

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"
)

// print writes the curves of each sex, then where each animal stands.
func (f *growthFigure) print(out io.Writer) error {
	var lines []string
	for _, q := range f.Asked {
		lines = append(lines, fmt.Sprintf("Line %d, at %s, is kept, but asked about: %s", q.Line, q.On, q.Ask), "")
	}
	for _, g := range f.Groups {
		lines = append(lines, g.lines()...)
		lines = append(lines, "")
	}
	for _, p := range f.Places {
		lines = append(lines, p.words())
	}
	lines = append(lines, f.sources()...)
	for _, warning := range f.Warnings {
		lines = append(lines, "Mind: "+warning+".")
	}
	return printLines(out, f.Caution, lines...)
}

// herds are the sexes in the plural.
var herds = map[string]string{"female": "Females", "male": "Males", "unknown": "Of unknown sex"}

func (g growthGroup) lines() []string {
	head := fmt.Sprintf("%s, %s of %s (%s): ", herds[g.Sex], counted(g.Weighed, "mass", "masses"), counted(g.Animals, "animal", "animals"), counted(g.Points, "point", "points"))
	if g.Best == nil {
		return append([]string{head + g.NotEnough + "."}, g.table()...)
	}
	final := g.chosen.Params[0]
	head += fmt.Sprintf("the %s curve goes best, with a final mass of %.1f kg, %.1f to %.1f.", *g.Best, final.Value, final.Lo, final.Hi)
	return append([]string{head}, g.table()...)
}

// table has a line a form.
func (g growthGroup) table() []string {
	var text strings.Builder
	w := tabwriter.NewWriter(&text, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  form\tfinal kg, 9 in 10\toff by kg\tAICc\tbelief\tparameters")
	for _, c := range g.Curves {
		if c.NotEstimable != "" {
			fmt.Fprintf(w, "  %s\tnot estimable: %s\n", c.Form, c.NotEstimable)
			continue
		}
		fmt.Fprintf(w, "  %s\t%s\t%.1f\t%.1f\t%s\t%s\n", c.Form, c.Params[0].words(""), *c.SD, *c.AICc, share(*c.Weight), c.shape())
	}
	w.Flush()
	return trimmed(text.String())
}

// shape are the parameters but the final mass.
func (c growthCurve) shape() string {
	var parts []string
	for _, p := range c.Params[1:] {
		unit := map[string]string{"1/a": " a year", "a": " years"}[p.Unit]
		parts = append(parts, p.Name+" "+p.words(unit))
	}
	return strings.Join(parts, "; ")
}

func (p growthParam) words(unit string) string {
	if p.Lo == nil || p.Hi == nil {
		return fmt.Sprintf("%.3g%s", *p.Value, unit)
	}
	return fmt.Sprintf("%.3g%s, %.3g to %.3g", *p.Value, unit, *p.Lo, *p.Hi)
}

func (p growthPlace) words() string {
	text := fmt.Sprintf("%s, %s, %.2f years: %.1f kg", cmp.Or(p.Animal, "The last mass"), strings.Replace(p.Sex, "unknown", "of unknown sex", 1), p.Years, p.Kg)
	if p.Curve != nil {
		text += fmt.Sprintf("; the curve has %.1f kg, %.1f to %.1f", *p.Curve.Value, *p.Curve.Lo, *p.Curve.Hi)
	}
	if p.Published == nil {
		return text + "; not put beside published masses, " + p.NotEnough + "."
	}
	than := "more"
	if *p.Percent < 0 {
		than = "less"
	}
	text += fmt.Sprintf("; that is %.1f %% %s than the %.1f kg published (%s from %.2g to %.3g years)", math.Abs(*p.Percent), than, *p.Published, counted(p.Animals, "mass", "masses"), p.Ages[0], p.Ages[1])
	if p.Band != nil {
		text += fmt.Sprintf(", the lightest %.1f and the heaviest %.1f kg", p.Band[0], p.Band[1])
	}
	return text + "."
}

// sources names each source once.
func (f *growthFigure) sources() (out []string) {
	named := map[string]bool{}
	for _, p := range f.Places {
		if p.Source == "" || named[p.Source+p.Caveat] {
			continue
		}
		named[p.Source+p.Caveat] = true
		seen := ""
		if !p.Verified {
			seen = " (to be verified)"
		}
		out = append(out, fmt.Sprintf("Published: %s%s; %s.", p.Source, seen, p.Caveat))
	}
	return out
}
