package web

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"haulout/projections"
	molts "haulout/projections/coat"
)

// coatSection is what an animal's coat scores come to: how it stands, the ring,
// the molts and what is published.
type coatSection struct {
	State        string // soon where a person should look, "" otherwise
	Answer, More string
	Next         string
	Rings        []ringChart
	Years        []coatYearRow // newest first
	Published    []coatTimingRow
	Practice     []string
	NoSide       string // why nothing published is used
	Class        string // what an animal of its class does
	Reasons      []reasonRow
	Caution      string
}

type coatYearRow struct {
	Year         string
	Began, Ended string
	Days, Scores string
	Says         string // what does not fit
	Gap          string // the coat was not scored
}

type coatTimingRow struct {
	Place, Says, Source string
	Verified            bool
}

func (s *site) coat(f file) (coatSection, error) {
	c, err := s.Store.CoatOf(f.animal.ID, f.now, f.asOf.moment)
	if err != nil || c == nil {
		return coatSection{}, err
	}
	return coatSectionOf(c, f.today), nil
}

func coatSectionOf(c *projections.CoatAnswer, today projections.Day) coatSection {
	o := &c.Outlook
	out := coatSection{Caution: c.Caution, Next: coatNext(o, coatDayOf(today)), Class: coatClass(o), Reasons: coatReasons(c.Assumptions)}
	out.State, out.Answer, out.More = coatAnswer(o)
	if len(c.Rings) > 0 && len(c.Scores) > 0 {
		out.Rings = []ringChart{ringOf(ringPhone, c, today), ringOf(ringDesk, c, today)}
	}
	for _, y := range slices.Backward(o.Years) {
		out.Years = append(out.Years, coatYearRowOf(y))
	}
	for _, t := range o.Published {
		out.Published = append(out.Published, coatTimingRow{coatPlace(t), sentence(t.Says) + ".", t.Source, t.Verified})
	}
	for _, p := range o.Practice {
		out.Practice = append(out.Practice, "Said of all kinds alike: "+p.Says+" ("+p.Source+").")
	}
	if c.Hemisphere == "" {
		out.NoSide = "The facility's time zone does not tell on which side of the equator it lies, so no published time is used."
	}
	return out
}

func coatAnswer(o *molts.Outlook) (state, bold, more string) {
	word := sentence(string(o.Standing.Word)) + "."
	more = " " + sentence(strings.TrimSuffix(o.Standing.Words, ".")) + "."
	switch o.Standing.Word {
	case molts.Early, molts.Late, molts.Stalled:
		return "soon", word, more
	case molts.NotEnough:
		return "", "How the molt of this year stands cannot be told.", more
	}
	return "", word, more
}

// coatNext says when the next molt is expected, and when the present one ends.
func coatNext(o *molts.Outlook, today molts.Day) string {
	text := ""
	if end := o.End; end != nil {
		text = "This molt is expected to be over " + coatRange(end.Lo, end.Hi) + ", 9\u00a0in\u00a010. "
	}
	next := o.Next
	if next != nil && next.Hi < today {
		return text + fmt.Sprintf("It was expected to begin %s, 9\u00a0in\u00a010; from %s on record.", coatRange(next.Lo, next.Hi), plural(coatKnown(o), "molt", "molts"))
	}
	if next != nil {
		return text + fmt.Sprintf("The next molt is expected to begin %s, 9\u00a0in\u00a010, likeliest about %s; from %s on record.", coatRange(next.Lo, next.Hi), coatDate(next.Likely, "2"+nb+"January"), plural(coatKnown(o), "molt", "molts"))
	}
	return text
}

// coatKnown is how many molts are on record whose beginning is known.
func coatKnown(o *molts.Outlook) (n int) {
	for _, y := range o.Years {
		n += one(y.Onset != nil && y.Onset.Known())
	}
	return n
}

// coatClass says what animals of its class do, where the animal itself tells
// nothing.
func coatClass(o *molts.Outlook) string {
	if o.Expected != nil || o.OfClass == nil {
		return ""
	}
	return "An animal of its class here begins " + coatRange(o.OfClass.Lo, o.OfClass.Hi) + ", 9\u00a0in\u00a010."
}

func coatTime(d molts.Day) time.Time { return projections.Day(d.String()).Start(time.UTC) }

func coatDate(d molts.Day, layout string) string { return coatTime(d).Format(layout) }

// coatRange is two days with a word between, the year once where it is the same.
func coatRange(lo, hi molts.Day) string {
	a, b := "2"+nb+"January"+nb+"2006", "2"+nb+"January"+nb+"2006"
	if lo.Year() == hi.Year() {
		a = "2" + nb + "January"
	}
	return coatDate(lo, a) + " to " + coatDate(hi, b)
}

func coatYearRowOf(y molts.Year) coatYearRow {
	row := coatYearRow{Year: fmt.Sprint(y.Year), Scores: fmt.Sprint(y.Scores), Says: coatDoubts(y)}
	switch {
	case y.State == molts.NotScored:
		row.Gap = "not scored"
		return row
	case y.Onset == nil && y.State == molts.NotBegun:
		row.Began = "not by " + coatDate(*y.Last, "2"+nb+"Jan")
	case y.Onset == nil:
		row.Began, row.Ended = "not seen", "all new at its first score"
	default:
		row.Began = coatBetween(*y.Onset)
	}
	if y.End != nil {
		row.Ended = coatBetween(*y.End)
		if y.Onset != nil {
			row.Days = coatDays(y)
		}
	} else if y.State == molts.InMolt {
		row.Ended = "in molt on " + coatDate(*y.Last, "2"+nb+"Jan")
	}
	return row
}

// coatBetween writes the days between which something came, from the day after
// the last score before it.
func coatBetween(b molts.Between) string {
	by := coatDate(b.By, "2"+nb+"Jan")
	switch {
	case !b.Checked:
		return "by " + by
	case b.By-b.After <= 1:
		return by
	}
	after := coatTime(b.After + 1)
	if after.Month() == coatTime(b.By).Month() {
		return after.Format("2") + " to " + by
	}
	return after.Format("2"+nb+"Jan") + " to " + by
}

// coatDays is how many days a molt took, at least and at most.
func coatDays(y molts.Year) string {
	least, most := max(y.End.After-y.Onset.By, 0), y.End.By-y.Onset.After
	switch {
	case !y.Onset.Checked:
		return fmt.Sprintf("%.0f or more", float64(least))
	case least == most:
		return fmt.Sprintf("%.0f", float64(most))
	}
	return fmt.Sprintf("%.0f to %.0f", float64(least), float64(most))
}

// coatDoubts is what does not fit in a coat year, and the parts in which new coat
// showed, in their order.
func coatDoubts(y molts.Year) string {
	var parts []string
	for _, b := range y.Backward {
		parts = append(parts, b.Words)
	}
	parts = append(parts, y.Doubts...)
	if len(y.Regions) > 1 {
		var names []string
		for _, r := range y.Regions {
			names = append(names, r.Region)
		}
		parts = append(parts, "new coat came over "+listed(names))
	}
	if len(parts) == 0 {
		return ""
	}
	return sentence(strings.Join(parts, "; ")) + "."
}

func coatPlace(t molts.Timing) string {
	return t.Place + after(t.Sex) + after(t.Age)
}

func coatReasons(list []molts.Constant) (out []reasonRow) {
	for _, c := range list {
		row := reasonRow{Name: sentence(c.Name), Value: plainFigure(c.Value) + massUnit(c.Unit), Source: c.Source, Verified: c.Verified}
		if c.Low != c.High {
			row.Range = plainFigure(c.Low) + " to " + plainFigure(c.High)
		}
		out = append(out, row)
	}
	return out
}
