package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"haulout/projections/coat"
)

// seasonFigure is what the dates of a sheet come to.
type seasonFigure struct {
	All     seasonOf         `json:"all"`
	Groups  []seasonOf       `json:"groups"` // by name; empty where the sheet has none
	Compare *coat.Comparison `json:"watson_williams"`
	Caution string           `json:"caution"`
}

// seasonOf is the season of one group, in days and as dates of any year.
type seasonOf struct {
	Group     string   `json:"group,omitempty"`
	N         int      `json:"n"`
	Mean      *string  `json:"mean"` // month and day, as 08-14; null where the dates lie all round the year
	Resultant float64  `json:"r"`
	SD        *float64 `json:"sd_days"`
	Error     *float64 `json:"mean_error_days"`
	Kappa     *float64 `json:"kappa"` // null where all dates are one
	KappaFew  *float64 `json:"kappa_bias_corrected"`
	Rayleigh  float64  `json:"rayleigh_z"`
	P         float64  `json:"rayleigh_p"`
	NotEnough string   `json:"not_enough,omitempty"`

	mean float64 // as a share of the year
}

// seasonOfSheet reads a line a date.
func seasonOfSheet(f *figureFile) (answer, error) {
	s, err := f.lines(seasonColumns(), "", time.UTC)
	if err != nil {
		return nil, err
	}
	byGroup, all, names := map[string][]float64{}, []float64{}, namesIn(s.sheet, "group")
	for _, r := range s.sheet.rows {
		turn := coat.Day(s.day(r, "date")).Turn()
		if s.sheet.header["group"] != "" && r.cell("group") == "" {
			s.problem(r, "group", "", "is empty; name the group")
		}
		group := names.called(r.cell("group"))
		byGroup[group], all = append(byGroup[group], turn), append(all, turn)
	}
	if err := s.refusal(); err != nil {
		return nil, err
	}
	return newSeasonFigure(all, byGroup)
}

func newSeasonFigure(all []float64, byGroup map[string][]float64) (*seasonFigure, error) {
	out := &seasonFigure{Groups: []seasonOf{}, Caution: seasonCaution}
	var err error
	if out.All, err = seasonOfTurns("", all); err != nil {
		return nil, err
	}
	var groups [][]float64
	for _, name := range sortedKeys(byGroup) {
		if name == "" {
			continue
		}
		one, err := seasonOfTurns(name, byGroup[name])
		if err != nil {
			return nil, err
		}
		out.Groups, groups = append(out.Groups, one), append(groups, byGroup[name])
	}
	if len(groups) < 2 {
		return out, nil
	}
	c, err := coat.WatsonWilliams(groups...)
	out.Compare = &c
	return out, err
}

func seasonOfTurns(group string, turns []float64) (seasonOf, error) {
	c, err := coat.Directions(turns)
	if err != nil {
		return seasonOf{}, err
	}
	out := seasonOf{Group: group, N: c.N, Resultant: c.Resultant, Kappa: finite(c.Kappa), KappaFew: finite(c.KappaSmall), Rayleigh: c.Rayleigh.Z, P: c.Rayleigh.P, mean: c.Mean}
	if least := coat.Assumed("round").Value; c.Resultant < least {
		out.NotEnough = fmt.Sprintf("the dates lie all round the year: R %.2f, and a mean needs %g", c.Resultant, least)
		return out, nil
	}
	mean := dateOfTurn(c.Mean).Format("01-02")
	out.Mean, out.SD = &mean, finite(daysOfYear*c.SD)
	if out.Error = finite(daysOfYear * c.MeanError); c.N < 2 {
		out.SD, out.Error, out.NotEnough = nil, nil, "one date does not say how far others lie about it"
	}
	return out, nil
}

// dateOfTurn is the day of a year without a leap day at which a share of it has
// passed.
func dateOfTurn(turn float64) time.Time {
	return time.Date(2001, time.January, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(turn * 365 * 24 * float64(time.Hour)))
}

func (f *seasonFigure) print(out io.Writer) error {
	lines := f.All.lines("All")
	for _, g := range f.Groups {
		lines = append(lines, g.lines(g.Group)...)
	}
	if f.Compare != nil {
		lines = append(lines, "", f.compared())
	}
	return printLines(out, f.Caution, lines...)
}

func (o seasonOf) lines(name string) []string {
	head := fmt.Sprintf("%s, %s: ", name, counted(o.N, "date", "dates"))
	if o.Mean == nil {
		return []string{head + o.NotEnough + ".", "  " + o.rayleigh()}
	}
	head += "mean " + dateOfTurn(o.mean).Format("2 January")
	if o.SD == nil {
		return []string{head + "; " + o.NotEnough + "."}
	}
	if *o.Error > 0 {
		half := *o.Error / daysOfYear * twoSided
		head += fmt.Sprintf(", %s to %s (9 in 10)", dateOfTurn(o.mean-half).Format("2 January"), dateOfTurn(o.mean+half).Format("2 January"))
	}
	kappa := "kappa without end, as all dates are one"
	if o.Kappa != nil {
		kappa = fmt.Sprintf("kappa %.3g", *o.Kappa)
	}
	return []string{head + ".", fmt.Sprintf("  Single dates lie %.1f days about it (circular standard deviation); R %.3f, %s.", *o.SD, o.Resultant, kappa), "  " + o.rayleigh()}
}

// twoSided is within how many standard errors 9 in 10 lie of a normal value.
const twoSided = 1.6448536269514722

func (o seasonOf) rayleigh() string {
	says := "chance alone seldom puts dates together so"
	if o.P >= 0.05 {
		says = "by chance alone dates may lie as much together"
	}
	return fmt.Sprintf("Rayleigh z %.2f, p %s: %s.", o.Rayleigh, pText(o.P), says)
}

// pText writes a probability without pretending to know small ones.
func pText(p float64) string {
	if p < 0.0001 {
		return "under 0.0001"
	}
	return fmt.Sprintf("%.2g", p)
}

func (f *seasonFigure) compared() string {
	c := f.Compare
	if c.NotEnough != "" {
		named := c.NotEnough
		for i, g := range f.Groups {
			named = strings.Replace(named, fmt.Sprintf("group %d has", i+1), g.Group+" has", 1)
		}
		return "The groups are not compared: " + named + "."
	}
	says := "their means differ by more than chance"
	if c.P >= 0.05 {
		says = "their means may differ by chance alone"
	}
	line := fmt.Sprintf("Watson-Williams F %.1f, p %s: %s.", c.F, pText(c.P), says)
	if len(f.Groups) == 2 {
		a, b := f.Groups[0], f.Groups[1]
		apart := daysOfYear * math.Remainder(b.mean-a.mean, 1)
		word := "after"
		if apart < 0 {
			word = "before"
		}
		line += fmt.Sprintf(" The mean of %s is %.0f days %s that of %s.", b.Group, math.Abs(apart), word, a.Group)
	}
	return line
}

func sortedKeys[V any](m map[string]V) (out []string) {
	for key := range m {
		out = append(out, key)
	}
	slices.Sort(out)
	return out
}
