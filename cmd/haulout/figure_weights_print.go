package main

import (
	"fmt"
	"io"
	"math"
	"strings"
)

// print writes each animal, what is asked about first, then the scales.
func (f *weightsFigure) print(out io.Writer) error {
	var lines, rest []string
	for i, o := range f.Animals {
		if i > 0 {
			lines = append(lines, "")
		}
		lines = append(lines, o.lines()...)
	}
	for _, s := range f.Scales {
		rest = append(rest, s.lines()...)
	}
	if f.NoScales != "" {
		rest = append(rest, "Scales are not looked at: "+f.NoScales+".")
	}
	for _, warning := range f.Warnings {
		rest = append(rest, "Mind: "+warning+".")
	}
	if len(rest) > 0 {
		lines = append(append(lines, ""), rest...)
	}
	return printLines(out, f.Caution, lines...)
}

func (o weightsOf) lines() []string {
	name := o.Animal
	if name == "" {
		name = "The animal"
	}
	lines := []string{name + ": " + o.head()}
	for _, q := range o.Asked {
		lines = append(lines, fmt.Sprintf("  Line %d, %s, is kept, but asked about: %s", q.Line, q.On, q.Ask))
	}
	for _, c := range o.Changes {
		lines = append(lines, "  "+c.words())
	}
	lines = append(lines, "  "+o.Trend.words())
	lines = append(lines, o.Watch.lines()...)
	lines = append(lines, "  "+o.Season.words())
	return lines
}

func (o weightsOf) head() string {
	text := "never weighed on a scale"
	if o.Kg != nil {
		text = fmt.Sprintf("%.1f kg on %s", *o.Kg, o.Last)
	}
	text += fmt.Sprintf("; %s since %s", counted(o.Weighed, "weigh-in", "weigh-ins"), o.First)
	if o.Estimated > 0 {
		text += fmt.Sprintf(", of which %d estimated and not counted", o.Estimated)
	}
	return text + "."
}

func (c weightChange) words() string {
	if c.NotEnough != "" {
		return fmt.Sprintf("Against the %d days before: cannot be told, %s.", c.Window, c.NotEnough)
	}
	text := fmt.Sprintf("Against the median of the %d days before, %.1f kg in %s: %+.1f %%", c.Window, *c.Median, counted(c.Of, "weigh-in", "weigh-ins"), *c.Percent)
	if c.Look {
		text += fmt.Sprintf(". Look at it, as from a fall of %g %% on (an assumption; nothing is published)", c.Limit)
	}
	return text + "."
}

func (t weightTrend) words() string {
	if t.NotEnough != "" {
		return "Trend: cannot be told, " + t.NotEnough + "."
	}
	week := func(perDay *float64) float64 { return math.Round(700**perDay)/100 + 0 } // no minus before 0.00
	text := fmt.Sprintf("Trend: %+.2f kg a week, %+.2f to %+.2f, over %d days weighed from %s to %s (Theil-Sen)", week(t.PerDay.Value), week(t.PerDay.Lo), week(t.PerDay.Hi), t.Days, t.From, t.To)
	says := "neither a rise nor a fall is sure"
	if *t.PerDay.Lo > 0 {
		says = "it rises"
	} else if *t.PerDay.Hi < 0 {
		says = "it falls"
	}
	return text + fmt.Sprintf(": %s. Mann-Kendall S %d, p %s.", says, t.Rises.S, pText(t.Rises.P))
}

func (w weightWatch) lines() []string {
	if w.NotEnough != "" {
		return []string{"  Watch: cannot be told, " + w.NotEnough + "."}
	}
	if len(w.Signals) == 0 {
		return []string{fmt.Sprintf("  Watch: the last %s weighed go as trend and season had it.", counted(w.Days, "day", "days"))}
	}
	var lines []string
	for _, s := range w.Signals {
		lines = append(lines, "  Watch: "+s.words())
	}
	return lines
}

func (s weightSignal) words() string {
	chart, way := "weighted average", "lighter"
	if s.Chart == "sum" {
		chart = "cumulative sum"
	}
	if s.Up {
		way = "heavier"
	}
	ends := "still so"
	if s.Over {
		ends = "until " + s.Until
	}
	return fmt.Sprintf("%s than trend and season had it since %s, %s (%s, seen on %s).", way, s.Began, ends, chart, s.Seen)
}

func (s weightSeason) words() string {
	switch {
	case s.NotEnough != "":
		return "Course of the year: cannot be told, " + s.NotEnough + "."
	case !s.Seen:
		return fmt.Sprintf("Course of the year: none is seen; masses lie %.1f kg about a straight line.", *s.SD)
	}
	text := fmt.Sprintf("Course of the year: %.1f kg up and down, %.1f to %.1f", *s.Amplitude.Value, *s.Amplitude.Lo, *s.Amplitude.Hi)
	if s.Peak != nil {
		text += fmt.Sprintf(", heaviest about %s (%s to %s)", dateOfDay(*s.Peak.Value), dateOfDay(*s.Peak.Lo), dateOfDay(*s.Peak.Hi))
	}
	return strings.TrimSuffix(text, ".") + fmt.Sprintf("; beside it %+.1f kg a year, %+.1f to %+.1f.", *s.PerYear.Value, *s.PerYear.Lo, *s.PerYear.Hi)
}

// dateOfDay writes days after 1 January as a date.
func dateOfDay(days float64) string {
	turn := days / daysOfYear
	return dateOfTurn(turn - math.Floor(turn)).Format("2 January")
}
