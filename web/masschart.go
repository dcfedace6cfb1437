package web

import (
	"fmt"
	"strings"
	"time"

	"haulout/projections"
	"haulout/projections/energetics"
)

// Days that the course of a mass shows.
const (
	massPhoneDays = 365
	massDeskDays  = 730
)

// massCourseChart is weigh-ins over years, what trend and season expect, the
// trend of the last weeks, and the days on which a scale began to read otherwise.
type massCourseChart struct {
	plot
	Top, Zero px
	Start     string
	Rules     []rule
	Band      string // what trend and season expect of a day, 9 in 10
	Middle    string
	Trend     string
	Dots      []point
	Steps     []label // of scales, with a line down
	Dates     []label
}

func massCourseOf(size string, days int, m *projections.MassAnswer, weights []projections.Weighing, f file) massCourseChart {
	c := massCourseChart{plot: plot{ID: "course-" + size, Size: size, W: 960, H: 290, Left: 58, Right: 944}, Top: 30, Zero: 250}
	if size == "phone" {
		c.W, c.Left, c.Right = 300, 42, 292
	}
	from := f.today.Add(1 - days)
	for len(weights) > 0 && projections.DayOf(weights[0].Time, f.zone) < from {
		weights = weights[1:]
	}
	var course []projections.MassExpected
	for _, e := range m.Season.Course {
		if e.Day >= from {
			course = append(course, e)
		}
	}
	c.Title = fmt.Sprintf("Weights and what trend and season expect, %s to %s", dayAs(from, "January 2006"), dayAs(f.today, "January 2006"))
	c.Desc = massCourseDesc(m, len(weights))
	y := massCourseAxis(weights, course, c.Top, c.Zero)
	c.Rules, c.Start = y.rules(), plainNumber(y.low, roundStep((y.high-y.low)/3))
	x := func(at time.Time) px { return c.moment(at, from, f.today, f.zone) }
	c.expect(course, x, y, f)
	for _, w := range weights {
		c.Dots = append(c.Dots, point{x(w.Time), y.y(w.Kg)})
	}
	c.trend(m.Trend, x, y, f)
	c.stepped(m.Scales, from, x, f)
	c.dates(from, f, x)
	return c
}

func massCourseAxis(weights []projections.Weighing, course []projections.MassExpected, top, bottom px) axis {
	low, high := 0.0, 0.0
	hold := func(lo, hi float64) {
		if high == 0 {
			low, high = lo, hi
		}
		low, high = min(low, lo), max(high, hi)
	}
	for _, w := range weights {
		hold(w.Kg, w.Kg)
	}
	for _, e := range course {
		hold(e.Lo, e.Hi)
	}
	return around(low, high, top, bottom)
}

func (c *massCourseChart) expect(course []projections.MassExpected, x func(time.Time) px, y axis, f file) {
	var band fanPath
	var middle []string
	for _, e := range course {
		at := x(midday(e.Day, f.zone))
		band.add(at, y, energetics.Interval{Mean: e.Kg, Lo: e.Lo, Hi: e.Hi})
		middle = append(middle, fmt.Sprintf("%s %s", at, y.y(e.Kg)))
	}
	if c.Band = band.String(); c.Band != "" {
		c.Middle = "M" + strings.Join(middle, "L")
	}
}

// trend is drawn where the mass goes one way for certain: of one that turned the
// line would say what is not so.
func (c *massCourseChart) trend(t projections.MassTrend, x func(time.Time) px, y axis, f file) {
	if t.Going == "" {
		return
	}
	a, b := t.Line[0], t.Line[1]
	c.Trend = fmt.Sprintf("M%s %sL%s %s", x(midday(a.Day, f.zone)), y.y(a.Kg), x(midday(b.Day, f.zone)), y.y(b.Kg))
}

// stepped marks the days from which a scale reads otherwise; on a phone the
// words above the chart must do.
func (c *massCourseChart) stepped(scales []projections.MassScale, from projections.Day, x func(time.Time) px, f file) {
	for _, s := range scales {
		for _, step := range s.Steps {
			if step.Since < from {
				continue
			}
			l := label{x(step.Since.Start(f.zone)), c.Top - 12, "tq", "scale " + s.Scale + " steps"}
			if l.X > (c.Left+c.Right)/2 {
				l.Class = "tq te"
			}
			if c.Size == "phone" {
				l.Text = ""
			}
			c.Steps = append(c.Steps, l)
		}
	}
}

// dates writes the first of every third month.
func (c *massCourseChart) dates(from projections.Day, f file, x func(time.Time) px) {
	for d := from; d <= f.today; d = d.Add(1) {
		if d[8:] != "01" || !strings.Contains("01 04 07 10", string(d[5:7])) {
			continue
		}
		at := x(d.Start(f.zone))
		if at < c.Left+20 || at > c.Right-20 {
			continue
		}
		text := dayAs(d, "Jan")
		if d[5:7] == "01" {
			text = dayAs(d, "Jan"+nb+"2006")
		}
		c.Dates = append(c.Dates, label{at, c.Zero + 20, "tq tm", text})
	}
}

func massCourseDesc(m *projections.MassAnswer, weights int) string {
	text := plural(weights, "weight", "weights") + ". " + massSeasonWords(m.Season) + " " + massTrendWords(m.Trend)
	for _, s := range m.Scales {
		for _, step := range s.Steps {
			text += " " + massWarningOf(s.Scale, step).Says + "."
		}
	}
	return text
}

// massCurveChart is an animal's own masses at age on the curve of its kind.
type massCurveChart struct {
	plot
	Top, Zero px
	Rules     []rule
	Spread    string // nine of ten masses
	Band      string // how far the curve may be off, 9 in 10
	Middle    string
	Dots      []point
	Published []point
	Labels    []label
	Ages      []label
}

func massCurveOf(size string, m *projections.MassAnswer) massCurveChart {
	c := massCurveChart{plot: plot{ID: "growth-" + size, Size: size, W: 960, H: 270, Left: 58, Right: 830}, Top: 18, Zero: 228}
	if size == "phone" {
		c.W, c.Left, c.Right = 300, 42, 292
	}
	line := m.Curve.Line
	oldest, most := line[len(line)-1].Years, 0.0
	for _, at := range line {
		most = max(most, at.Hi, at.Mean+*m.Curve.Nine)
	}
	for _, own := range m.Curve.Own {
		oldest, most = max(oldest, own.Years), max(most, own.Kg)
	}
	y := fromZero(most, c.Top, c.Zero)
	c.Rules = y.rules()
	x := func(years float64) px { return c.Left + px(years/oldest)*(c.Right-c.Left) }
	c.draw(m, x, y)
	step := roundStep(oldest / 6)
	for years := 0.0; years <= oldest; years += step {
		c.Ages = append(c.Ages, label{x(years), c.Zero + 20, "tq tm", plainNumber(years, step)})
	}
	c.Title = "Mass at age: its own, and the curve of its kind and sex here"
	c.Desc = massCurveWords(m) + " " + massPlaceWords(m)
	return c
}

func (c *massCurveChart) draw(m *projections.MassAnswer, x func(float64) px, y axis) {
	var spread, band fanPath
	var middle []string
	for _, at := range m.Curve.Line {
		i := at.Interval
		band.add(x(at.Years), y, i)
		spread.add(x(at.Years), y, energetics.Interval{Mean: i.Mean, Lo: max(0, i.Mean-*m.Curve.Nine), Hi: i.Mean + *m.Curve.Nine})
		middle = append(middle, fmt.Sprintf("%s %s", x(at.Years), y.y(i.Mean)))
	}
	c.Spread, c.Band, c.Middle = spread.String(), band.String(), "M"+strings.Join(middle, "L")
	for _, own := range m.Curve.Own {
		c.Dots = append(c.Dots, point{x(own.Years), y.y(own.Kg)})
	}
	if p := m.Place; p.Kg != nil && *p.Kg <= y.high && m.Years != nil && x(*m.Years) <= c.Right {
		at := point{x(*m.Years), y.y(*p.Kg)}
		c.Published = append(c.Published, at)
	}
	if last := m.Curve.Line[len(m.Curve.Line)-1]; c.Size == "desk" {
		c.Labels = append(c.Labels, label{x(last.Years) + 8, y.y(last.Mean) + 4, "tb", fmt.Sprintf("%.0f%skg", last.Mean, nb)},
			label{x(last.Years) + 8, y.y(last.Mean) + 20, "tq", fmt.Sprintf("the curve at %.0f", last.Years)})
	}
}
