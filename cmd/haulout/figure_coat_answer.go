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

// coatFigure is the answer.
type coatFigure struct {
	On       coat.Day       `json:"on"` // the last day with a score in the file
	Animals  []coat.Outlook `json:"animals"`
	Scale    string         `json:"scale"` // where the stages come from
	Warnings []string       `json:"warnings"`
	Caution  string         `json:"caution"`
}

func newCoatFigure(in *coatInput, o coatOptions) (*coatFigure, error) {
	f := &coatFigure{On: in.last, Warnings: []string{}, Caution: coatCaution}
	_, f.Scale = coat.Stages()
	sites := map[string]string{}
	for _, facility := range in.facilities {
		if o.hemisphere != "" {
			sites[facility] = o.hemisphere
		}
	}
	var animals []coat.Animal
	for _, a := range in.animals {
		animals = append(animals, a.Animal)
	}
	var err error
	f.Animals, err = coat.Outlooks(animals, sites, in.last)
	if o.hemisphere == "" && slices.ContainsFunc(f.Animals, func(o coat.Outlook) bool { return len(o.Published) > 0 }) {
		f.Warnings = append(f.Warnings, "no --hemisphere is given, so no published date counts")
	}
	return f, err
}

func (f *coatFigure) print(out io.Writer) error {
	lines := []string{fmt.Sprintf("As of %s, the last day with a score in the file:", coatDay(f.On))}
	for _, o := range f.Animals {
		lines = append(append(lines, ""), outlookLines(o)...)
	}
	lines = append(append(lines, ""), f.published()...)
	for _, warning := range f.Warnings {
		lines = append(lines, "Mind: "+warning+".")
	}
	lines = append(lines, "Stages: "+f.Scale+".")
	return printLines(out, f.Caution, lines...)
}

func outlookLines(o coat.Outlook) []string {
	lines := []string{fmt.Sprintf("%s: %s. %s.", o.Animal, o.Standing.Word, capital(o.Standing.Words))}
	for _, y := range o.Years {
		lines = append(lines, "  "+y.Words())
		if text := regionsText(y); text != "" {
			lines = append(lines, "    New coat first showed: "+text+".")
		}
	}
	if o.End != nil {
		lines = append(lines, "  End of the molt that runs: "+intervalText(*o.End)+".")
	}
	switch {
	case o.Next != nil:
		lines = append(lines, fmt.Sprintf("  Next onset: %s, from %s and those of its class.", intervalText(*o.Next), counted(ownMolts(o), "molt of its own", "molts of its own")))
	case o.OfClass != nil:
		lines = append(lines, "  No expectation of its own; its class begins "+intervalText(*o.OfClass)+".")
	default:
		lines = append(lines, "  No next onset is expected: "+lacking(o)+".")
	}
	return lines
}

// ownMolts is from how many molts of its own the next onset is expected: those
// before the coat year that runs, and the one in it where that was seen.
func ownMolts(o coat.Outlook) int {
	if now := o.Years[len(o.Years)-1]; now.Onset != nil && now.Onset.Known() {
		return o.Own + 1
	}
	return o.Own
}

func lacking(o coat.Outlook) string {
	least := coat.Assumed("own_least").Value
	if float64(ownMolts(o)) < least {
		return fmt.Sprintf("that needs %.0f molts of its own with a known onset", least)
	}
	return "the molts on record lie all round the year, or are of another class"
}

func regionsText(y coat.Year) string {
	var parts []string
	for _, r := range y.Regions {
		when := "between " + coatDay(r.First.After) + " and " + coatDay(r.First.By)
		if !r.First.Checked || r.First.After == r.First.By {
			when = "by " + coatDay(r.First.By)
		}
		parts = append(parts, r.Region+" "+when)
	}
	return strings.Join(parts, ", ")
}

func intervalText(i coat.Interval) string {
	return fmt.Sprintf("about %s, 9 in 10 between %s and %s", coatDay(i.Likely), coatDay(i.Lo), coatDay(i.Hi))
}

func coatDay(d coat.Day) string {
	return time.Unix(int64(math.Floor(float64(d)))*24*60*60, 0).UTC().Format("2 January 2006")
}

// monthDays are the published dates, where there are any.
func monthDays(p coat.Timing) (text string) {
	for _, date := range []string{p.Onset, p.End} {
		if day, err := time.Parse("01-02", date); err == nil {
			text += day.Format("2 January") + ", "
		}
	}
	return text
}

// published names each source once, and what is said without one.
func (f *coatFigure) published() (out []string) {
	named := map[string]bool{}
	add := func(line string) {
		if !named[line] {
			named[line], out = true, append(out, line)
		}
	}
	for _, o := range f.Animals {
		for _, p := range o.Published {
			seen := ""
			if !p.Verified {
				seen = ", to be verified"
			}
			add(fmt.Sprintf("Published of %s, %s: %s%s (%s%s).", p.Taxon, p.Place, monthDays(p), p.Says, p.Source, seen))
		}
	}
	for _, o := range f.Animals {
		for _, p := range o.Practice {
			add(fmt.Sprintf("Said in the trade: %s (%s).", p.Says, p.Source))
		}
	}
	return out
}
