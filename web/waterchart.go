package web

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"haulout/projections"
	"haulout/projections/rules"
)

// waterFigure is what was measured of one thing, as a chart with its answer.
type waterFigure struct {
	ID, Name, Unit string
	Answer, More   string
	Charts         []waterChart
	Bounds         bool // some results are bounds
	Missed         bool // some are outside their limits
	Silent         bool // nothing was measured for long
}

// waterChart draws readings over time against the limits in force. A bound is an
// open mark with a line to where the value may lie.
type waterChart struct {
	plot
	Top, Zero px
	Start     string // where the scale starts, "" at zero
	Rules     []rule
	Limits    []waterLimit
	Gaps      []box
	Dots      []point
	Out       []was        // outside a limit: the mark, and where its stem ends
	Bounds    []waterBound // results that are bounds
	Dates     []label
}

// waterLimit is a limit across the plot, with its words.
type waterLimit struct {
	Y    px
	Text label
}

// waterBound is a result that says only on which side a value lies.
type waterBound struct {
	X, Y, To px
	Out      bool
}

// phoneWaterDays is how much of a window a phone shows.
const phoneWaterDays = 30

func waterFigures(a *projections.WaterAnswer, zone *time.Location) (out []waterFigure) {
	for _, h := range a.History {
		f := waterFigure{ID: "w-" + strings.ReplaceAll(h.What, "_", "-"), Name: waterName(h.What), Unit: waterUnit(h.Unit)}
		f.Answer, f.More = waterLevelsAnswer(h, a, zone)
		for _, v := range h.Values {
			f.Bounds = f.Bounds || v.Bound != ""
			f.Missed = f.Missed || waterMissed(v)
		}
		f.Charts = []waterChart{waterChartOf("phone", a, h, zone), waterChartOf("desk", a, h, zone)}
		f.Silent = len(f.Charts[0].Gaps)+len(f.Charts[1].Gaps) > 0
		out = append(out, f)
	}
	return out
}

// waterMissed says that a reading by itself is outside a limit.
func waterMissed(v projections.WaterLevel) bool {
	return v.Standing == rules.Fails || v.Standing == rules.Exceeds
}

// waterLevelsAnswer is the chart in a sentence.
func waterLevelsAnswer(h projections.WaterHistory, a *projections.WaterAnswer, zone *time.Location) (said, more string) {
	last, out := h.Values[len(h.Values)-1], 0
	for _, v := range h.Values {
		out += one(waterMissed(v))
	}
	said = fmt.Sprintf("Last %s, %s.", waterFull(last.Value, last.Bound), when(last.Time, a.At, zone))
	more = " " + sentence(plural(len(h.Values), "result", "results"))
	if low, high, ok := waterSpan(h.Values); ok {
		more += fmt.Sprintf(" from %s to %s", waterShort(low), waterShort(high))
	}
	switch {
	case len(h.Limits) == 0:
		more += "; no limit is in force."
	case out == 0:
		more += ", none outside its limit by itself."
	default:
		more += fmt.Sprintf(", %d outside its limit by itself.", out)
	}
	return said, more
}

// waterSpan are the least and the most of the results that are figures.
func waterSpan(list []projections.WaterLevel) (low, high float64, ok bool) {
	for _, v := range list {
		if v.Bound != "" {
			continue
		}
		if !ok {
			low, high, ok = v.Level, v.Level, true
		}
		low, high = min(low, v.Level), max(high, v.Level)
	}
	return low, high, ok
}

// waterShort writes a level as it was measured, without a tail of noughts.
func waterShort(v float64) string {
	return strings.Replace(strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64), "-", "−", 1)
}

func waterChartOf(size string, a *projections.WaterAnswer, h projections.WaterHistory, zone *time.Location) waterChart {
	c := waterChart{plot: plot{ID: "water-" + strings.ReplaceAll(h.What, "_", "-") + "-" + size, Size: size, W: 960, H: 210, Left: 58, Right: 950}, Top: 26, Zero: 180}
	from, to := a.From, a.To
	if size == "phone" {
		c.W, c.Left, c.Right = 300, 44, 298
		from = max(from, to.Add(1-phoneWaterDays))
	}
	list := waterWithin(h.Values, from, to, zone)
	y := waterAxis(list, h, c.Top, c.Zero)
	c.Rules = y.rules()
	if y.low != 0 {
		c.Start = plainNumber(y.low, roundStep((y.high-y.low)/3))
	}
	for _, l := range h.Limits {
		c.limit(l, y)
	}
	for _, v := range list {
		c.mark(v, c.moment(v.Time, from, to, zone), h, y)
	}
	c.silences(list, from, to, zone)
	c.Dates = c.dates(from, to)
	c.Title = fmt.Sprintf("%s of %s, %s", waterName(h.What), a.Name, windowWords(from, to))
	c.Desc = waterLevelsDesc(list, h)
	return c
}

func waterWithin(list []projections.WaterLevel, from, to projections.Day, zone *time.Location) (out []projections.WaterLevel) {
	for _, v := range list {
		if day := projections.DayOf(v.Time, zone); day >= from && day <= to {
			out = append(out, v)
		}
	}
	return out
}

// waterAxis holds the readings and their limits. What is counted or dissolved
// starts at zero.
func waterAxis(list []projections.WaterLevel, h projections.WaterHistory, top, bottom px) axis {
	var all []float64
	for _, v := range list {
		all = append(all, v.Level)
	}
	for _, l := range h.Limits {
		all = append(all, l.InForce)
	}
	if len(all) == 0 {
		all = []float64{0, 1}
	}
	if slices.Contains([]string{"ph", "salinity", "temperature"}, h.What) {
		return around(slices.Min(all), slices.Max(all), top, bottom)
	}
	return fromZero(slices.Max(all)*1.08, top, bottom)
}

func (c *waterChart) limit(l rules.Limit, y axis) {
	side, above := "at most ", -6
	if l.Least {
		side, above = "at least ", 15
	}
	by := ", law"
	if l.By == "house" {
		by = ", house"
	}
	c.Limits = append(c.Limits, waterLimit{y.y(l.InForce), label{c.Right, y.y(l.InForce) + px(above), "tb te", side + waterShort(l.InForce) + by}})
}

// mark draws a reading: a dot, a triangle on a stem from its limit where it is
// outside, an open mark with a line where it is a bound.
func (c *waterChart) mark(v projections.WaterLevel, x px, h projections.WaterHistory, y axis) {
	at := y.y(v.Level)
	switch {
	case v.Bound == "below":
		c.Bounds = append(c.Bounds, waterBound{x, at, c.Zero, waterMissed(v)})
	case v.Bound == "above":
		c.Bounds = append(c.Bounds, waterBound{x, at, c.Top, waterMissed(v)})
	case waterMissed(v):
		c.Out = append(c.Out, was{point{x, at}, y.y(waterCrossed(v.Level, h.Limits))})
	default:
		c.Dots = append(c.Dots, point{x, at})
	}
}

// waterCrossed is the limit that a level is outside of.
func waterCrossed(level float64, limits []rules.Limit) float64 {
	for _, l := range limits {
		if l.Least && level < l.InForce || !l.Least && level > l.InForce {
			return l.InForce
		}
	}
	return level
}

// silences hatch the days in which nothing was measured for long.
func (c *waterChart) silences(list []projections.WaterLevel, from, to projections.Day, zone *time.Location) {
	var days []projections.Day
	for _, v := range list {
		days = append(days, projections.DayOf(v.Time, zone))
	}
	width := (c.Right - c.Left) / px(daysBetween(from, to)+1)
	for _, s := range silences(days, from, to) {
		x := c.Left + px(daysBetween(from, s.From))*width
		c.Gaps = append(c.Gaps, box{x, c.Top, px(daysBetween(s.From, s.To)+1) * width, c.Zero - c.Top})
	}
}

// dates names the ends and some days between.
func (c *waterChart) dates(from, to projections.Day) (out []label) {
	days, parts := daysBetween(from, to), 5
	if c.Size == "phone" {
		parts = 2
	}
	parts = max(1, min(parts, days))
	for i := range parts + 1 {
		at := days * i / parts
		l := label{c.Left + (c.Right-c.Left)*px(at)/px(max(1, days)), c.H - 10, "tq tm", shortDay(from.Add(at))}
		switch i {
		case 0:
			l.Class = "tq"
		case parts:
			l.Class = "tq te"
		}
		out = append(out, l)
	}
	return out
}

func waterLevelsDesc(list []projections.WaterLevel, h projections.WaterHistory) string {
	if len(list) == 0 {
		return "Nothing was measured in these days."
	}
	low, high, ok := waterSpan(list)
	text := fmt.Sprintf("%d results", len(list))
	if ok {
		text += fmt.Sprintf(" from %s to %s", waterShort(low), waterShort(high))
	}
	bounds, out := 0, 0
	for _, v := range list {
		bounds, out = bounds+one(v.Bound != ""), out+one(waterMissed(v))
	}
	if bounds > 0 {
		text += fmt.Sprintf(", %d of them bounds", bounds)
	}
	for _, l := range h.Limits {
		side := "most"
		if l.Least {
			side = "least"
		}
		text += fmt.Sprintf("; at %s %s", side, waterShort(l.InForce))
	}
	return text + fmt.Sprintf("; %d outside by themselves.", out)
}
