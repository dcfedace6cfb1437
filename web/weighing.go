package web

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"haulout/projections"
)

// How many days a chart of weights shows.
const (
	phoneWeightDays = 60
	deskWeightDays  = 180
)

const (
	leastWeights = 5  // a line is drawn from so many on
	widestGap    = 28 // days that a line may cross
)

// weighing is what the scale said: a sentence, charts and a table.
type weighing struct {
	Answer, More string
	Charts       []weighingChart
	Rows         []weightRow // newest first
	Corrected    bool
	Unstated     bool
	Line         bool // enough weights for a line
}

// WidestGap is said in the caption.
func (weighing) WidestGap() int { return widestGap }

type weightRow struct {
	Day, Time string
	Kg        string
	Read      string // as read off the scale, where that was not kg
	Was       string // what stood there before a correction
	Coat      string
	Method    string
	Scale     string
	By        string
}

type weighingChart struct {
	plot
	Top, Zero px
	Start     string // where the scale starts
	Rules     []rule
	Lines     []string // paths
	Dry       []point
	Wet       []point
	Open      []point // coat not stated
	Was       []was
	Labels    []label
	Dates     []label
}

// was is a value before its correction: a cross, tied to the value that counts.
type was struct {
	point
	To px
}

func weighingOf(list []projections.Weighing, p span, now time.Time) weighing {
	from := p.to.Add(1 - deskWeightDays)
	var shown []projections.Weighing
	for _, w := range list {
		if projections.DayOf(w.Time, p.zone) >= from {
			shown = append(shown, w)
		}
	}
	out := weighing{Line: len(shown) >= leastWeights}
	out.Answer, out.More = weightAnswer(list, shown, now, p.zone)
	for _, w := range slices.Backward(shown) {
		out.Rows = append(out.Rows, weightRowOf(w, p.zone))
		out.Corrected = out.Corrected || w.Was != nil
		out.Unstated = out.Unstated || w.Coat == ""
	}
	if len(shown) == 0 {
		return out
	}
	out.Charts = []weighingChart{weighingChartOf("phone", phoneWeightDays, shown, p), weighingChartOf("desk", deskWeightDays, shown, p)}
	return out
}

func weightAnswer(all, shown []projections.Weighing, now time.Time, zone *time.Location) (bold, more string) {
	if len(all) == 0 {
		return "No weight on record.", " The first one starts this chart."
	}
	last := all[len(all)-1]
	bold = fmt.Sprintf("Last %s on %s%s.", kg(last.Kg*1000), onDate(last.Time, zone), after(last.Coat))
	if len(shown) == 0 {
		return bold, fmt.Sprintf(" None in the last %d days.", deskWeightDays)
	}
	least, most := ends(shown)
	more = fmt.Sprintf(" %s in the last %d days, from %s to %s.", plural(len(shown), "weight", "weights"), deskWeightDays, kilos(least*1000), kg(most*1000))
	if len(shown) == 1 {
		more = fmt.Sprintf(" The only one in the last %d days.", deskWeightDays)
	}
	if len(shown) < leastWeights {
		more += fmt.Sprintf(" Under %d weights no line is drawn.", leastWeights)
	}
	return bold, more
}

func ends(list []projections.Weighing) (least, most float64) {
	least, most = list[0].Kg, list[0].Kg
	for _, w := range list {
		least, most = min(least, w.Kg), max(most, w.Kg)
	}
	return least, most
}

func weightRowOf(w projections.Weighing, zone *time.Location) weightRow {
	row := weightRow{
		Day: w.Time.In(zone).Format("Mon 2" + nb + "Jan" + nb + "2006"), Time: clock(w.Time, zone), Kg: kilos(w.Kg * 1000),
		Coat: orElse(w.Coat, "not stated"), Method: w.Method, Scale: w.Scale, By: w.By,
	}
	if w.Read.Unit != "kg" {
		row.Read = quantity(w.Read)
	}
	if w.Was != nil {
		row.Was = quantity(*w.Was)
	}
	return row
}

func weighingChartOf(size string, days int, all []projections.Weighing, p span) weighingChart {
	c := weighingChart{plot: plot{ID: "weights-" + size, Size: size, W: 960, H: 280, Left: 58, Right: 850}, Top: 18, Zero: 240}
	if size == "phone" {
		c.W, c.Left, c.Right = 300, 42, 292
	}
	from := p.to.Add(1 - days)
	list := slices.DeleteFunc(slices.Clone(all), func(w projections.Weighing) bool { return projections.DayOf(w.Time, p.zone) < from })
	c.Title = fmt.Sprintf("Weights, %s to %s", dayAs(from, "2 January 2006"), dayAs(p.to, "2 January 2006"))
	c.Desc = weightDesc(list, p.zone)
	if len(list) == 0 {
		c.Labels = []label{{(c.Left + c.Right) / 2, (c.Top + c.Zero) / 2, "tq tm", fmt.Sprintf("no weight in %d days", days)}}
		c.dates(from, p)
		return c
	}
	y := weightAxis(list, c.Top, c.Zero)
	c.Rules, c.Start = y.rules(), plainNumber(y.low, roundStep((y.high-y.low)/3))
	c.draw(list, from, y, p)
	c.dates(from, p)
	return c
}

// weightAxis holds every weight, and the values before corrections that lie
// near them. A slip of a digit may be ten times off; it is drawn at the edge
// with its value, so that it does not flatten the rest.
func weightAxis(list []projections.Weighing, top, bottom px) axis {
	least, most := ends(list)
	low, high := least, most
	reach := max(most-least, most/10)
	for _, w := range list {
		if w.Was == nil {
			continue
		}
		if v := w.Was.Float("kg"); v >= least-reach && v <= most+reach {
			low, high = min(low, v), max(high, v)
		}
	}
	return around(low, high, top, bottom)
}

func (c *weighingChart) draw(list []projections.Weighing, from projections.Day, y axis, p span) {
	var line strings.Builder
	for i, w := range list {
		at := point{c.moment(w.Time, from, p.to, p.zone), y.y(w.Kg)}
		step := "L"
		if i == 0 || w.Time.Sub(list[i-1].Time) > widestGap*24*time.Hour {
			step = "M"
		}
		fmt.Fprintf(&line, "%s%s %s", step, at.X, at.Y)
		c.mark(w, at, y)
	}
	if len(list) >= leastWeights {
		c.Lines = []string{line.String()}
	}
	c.label(list, from, y, p)
}

func (c *weighingChart) mark(w projections.Weighing, at point, y axis) {
	switch w.Coat {
	case "dry":
		c.Dry = append(c.Dry, at)
	case "wet":
		c.Wet = append(c.Wet, at)
	default:
		c.Open = append(c.Open, at)
	}
	if w.Was == nil {
		return
	}
	v := w.Was.Float("kg")
	cross := was{point{at.X, y.y(min(max(v, y.low), y.high))}, at.Y}
	c.Was = append(c.Was, cross)
	switch {
	case v > y.high:
		c.Labels = append(c.Labels, c.beside(cross, "▲ "+quantity(*w.Was)))
	case v < y.low:
		c.Labels = append(c.Labels, c.beside(cross, "▼ "+quantity(*w.Was)))
	}
}

// beside sets a text on the side of a mark that has room.
func (c *weighingChart) beside(m was, text string) label {
	if m.X > (c.Left+c.Right)/2 {
		return label{m.X - 8, m.Y + 4, "tq te", text}
	}
	return label{m.X + 8, m.Y + 4, "tq", text}
}

// label names the last weight beside its mark.
func (c *weighingChart) label(list []projections.Weighing, from projections.Day, y axis, p span) {
	last := list[len(list)-1]
	x, at := c.moment(last.Time, from, p.to, p.zone), y.y(last.Kg)
	if c.Size == "phone" {
		c.Labels = append(c.Labels, label{min(x+4, c.Right), max(at-10, 12), "tb te", kg(last.Kg * 1000)})
		return
	}
	c.Labels = append(c.Labels, label{x + 10, at + 4, "tb", kg(last.Kg * 1000)}, label{x + 10, at + 20, "tq", onDay(last.Time, p.to.Start(p.zone), p.zone, "2"+nb+"Jan", "2"+nb+"Jan")})
}

// dates writes the first of each month, and on the phone every second week.
func (c *weighingChart) dates(from projections.Day, p span) {
	for d := from; d <= p.to; d = d.Add(1) {
		due := strings.HasSuffix(string(d), "-01")
		if c.Size == "phone" {
			due = daysBetween(d, p.to)%21 == 0
		}
		if x := c.moment(d.Start(p.zone), from, p.to, p.zone); due && x < c.Right-14 {
			c.Dates = append(c.Dates, label{max(x, c.Left+14), c.Zero + 20, "tq tm", shortDay(d)})
		}
	}
}

func weightDesc(list []projections.Weighing, zone *time.Location) string {
	if len(list) == 0 {
		return "No weight was taken on these days."
	}
	first, last := list[0], list[len(list)-1]
	least, most := ends(list)
	corrected := 0
	for _, w := range list {
		corrected += one(w.Was != nil)
	}
	text := fmt.Sprintf("%s: first %s on %s, last %s on %s, least %s, most %s.", plural(len(list), "weight", "weights"),
		kg(first.Kg*1000), onDate(first.Time, zone), kg(last.Kg*1000), onDate(last.Time, zone), kg(least*1000), kg(most*1000))
	if corrected > 0 {
		text += " " + plural(corrected, "weight was", "weights were") + " corrected; the table shows both values."
	}
	return text
}
