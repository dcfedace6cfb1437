package web

import (
	"fmt"
	"strings"
	"time"

	"haulout/projections"
	"haulout/projections/energetics"
)

// massChart is mass as believed day by day, and the fan of the days to come.
type massChart struct {
	plot
	Top, Zero px
	Start     string
	Rules     []rule
	Band      string // path of what is believed, 9 in 10
	Fan       string // path of what is to come, 9 in 10
	Middle    string
	Now       px // where today ends
	Dots      []point
	Aside     []point // weights that were set aside
	Labels    []label
	Dates     []label
}

// Days before and after today that the chart shows.
const (
	deskBack   = 42
	phoneBack  = 28
	deskAhead  = 60
	phoneAhead = 30
)

func massOf(size string, e *projections.Energy, ahead *projections.Forecast, fan bool, f file) massChart {
	c := massChart{plot: plot{ID: "mass-" + size, Size: size, W: 960, H: 280, Left: 58, Right: 850}, Top: 18, Zero: 240}
	back, forward := deskBack, deskAhead
	if size == "phone" {
		c.W, c.Left, c.Right, back, forward = 300, 42, 292, phoneBack, phoneAhead
	}
	list := e.Days[max(0, len(e.Days)-back):]
	coming := ahead.Days[:min(len(ahead.Days), forward)]
	if !fan {
		coming = nil
	}
	from, to := f.today.Add(1-back), f.today.Add(forward)
	y := massAxis(list, coming, c.Top, c.Zero)
	c.Rules, c.Start = y.rules(), plainNumber(y.low, roundStep((y.high-y.low)/3))
	x := func(at time.Time) px { return c.moment(at, from, to, f.zone) }
	c.Now = x(f.today.End(f.zone))
	c.seen(list, e, x, y, f)
	c.foretell(coming, x, y, f)
	c.dates(from, to, x, f)
	c.Title = fmt.Sprintf("Mass as believed from %s, and foretold to %s", dayAs(from, "2 January 2006"), dayAs(to, "2 January 2006"))
	c.Desc = massDesc(e, coming)
	return c
}

func massAxis(list []projections.EnergyDay, coming []projections.ForecastDay, top, bottom px) axis {
	low, high, any := 0.0, 0.0, false
	hold := func(lo, hi float64) {
		if !any {
			low, high, any = lo, hi, true
		}
		low, high = min(low, lo), max(high, hi)
	}
	for _, d := range list {
		if d.Mass != nil {
			hold(d.Mass.Lo, d.Mass.Hi)
		}
	}
	for _, d := range coming {
		hold(d.Lo, d.Hi)
	}
	return around(low, high, top, bottom)
}

// seen draws the band of the days that were, and the weights.
func (c *massChart) seen(list []projections.EnergyDay, e *projections.Energy, x func(time.Time) px, y axis, f file) {
	var band fanPath
	for _, d := range list {
		if d.Mass == nil {
			continue
		}
		at := x(midday(d.Day, f.zone))
		band.add(at, y, *d.Mass)
		for _, kg := range d.Weighs {
			mark := point{at, y.y(min(max(kg, y.low), y.high))}
			if setAside(e, d.Day, kg) {
				c.Aside = append(c.Aside, mark)
				c.Labels = append(c.Labels, label{at + 8, mark.Y - 6, "tq", fmt.Sprintf("%.1f%skg, set aside", kg, nb)})
				continue
			}
			c.Dots = append(c.Dots, mark)
		}
	}
	c.Band = band.String()
}

func setAside(e *projections.Energy, day projections.Day, kg float64) bool {
	for _, flag := range e.Flags {
		if flag.Day == day && flag.What == "weigh-in" && flag.Kg == kg {
			return true
		}
	}
	return false
}

func (c *massChart) foretell(coming []projections.ForecastDay, x func(time.Time) px, y axis, f file) {
	if len(coming) == 0 {
		return
	}
	var fan fanPath
	var middle []string
	for _, d := range coming {
		at := x(midday(d.Day, f.zone))
		fan.add(at, y, energetics.Interval{Mean: d.Kg, Lo: d.Lo, Hi: d.Hi})
		middle = append(middle, fmt.Sprintf("%s %s", at, y.y(d.Kg)))
	}
	c.Fan, c.Middle = fan.String(), "M"+strings.Join(middle, "L")
	last := coming[len(coming)-1]
	end := x(midday(last.Day, f.zone))
	range9 := fmt.Sprintf("%.1f to %.1f%skg", last.Lo, last.Hi, nb)
	if c.Size == "phone" {
		c.Labels = append(c.Labels, label{end, max(y.y(last.Hi)-8, 12), "tb te", range9})
		return
	}
	c.Labels = append(c.Labels, label{end + 8, y.y(last.Kg) + 4, "tb", range9}, label{end + 8, y.y(last.Kg) + 20, "tq", "9 in 10, " + shortDay(last.Day)})
}

func (c *massChart) dates(from, to projections.Day, x func(time.Time) px, f file) {
	step := 14
	if c.Size == "phone" {
		step = 28
	}
	for d := from; d <= to; d = d.Add(1) {
		away := daysBetween(f.today, d)
		if d < f.today {
			away = daysBetween(d, f.today)
		}
		at := x(midday(d, f.zone))
		switch {
		case d == f.today:
			c.Dates = append(c.Dates, label{at, c.Zero + 20, "tb tm", dayWord(f)})
		case away%step == 0 && at > c.Left+18 && at < c.Right-10:
			c.Dates = append(c.Dates, label{at, c.Zero + 20, "tq tm", shortDay(d)})
		}
	}
}

func dayWord(f file) string {
	if f.ended() {
		return shortDay(f.today)
	}
	return "today"
}

func massDesc(e *projections.Energy, coming []projections.ForecastDay) string {
	text := fmt.Sprintf("Now %.1f kg, between %.1f and %.1f in 9 of 10 cases.", e.Mass.Mean, e.Mass.Lo, e.Mass.Hi)
	if len(coming) == 0 {
		return text + " No forecast."
	}
	last := coming[len(coming)-1]
	return text + fmt.Sprintf(" On %s between %.1f and %.1f kg in 9 of 10 cases, %.1f kg in the middle.", dayAs(last.Day, "2 January 2006"), last.Lo, last.Hi, last.Kg)
}

// fanPath is a band along a line of days.
type fanPath struct{ upper, lower []string }

func (p *fanPath) add(x px, y axis, i energetics.Interval) {
	p.upper = append(p.upper, fmt.Sprintf("%s %s", x, y.y(i.Hi)))
	p.lower = append([]string{fmt.Sprintf("%s %s", x, y.y(i.Lo))}, p.lower...)
}

func (p *fanPath) String() string {
	if len(p.upper) < 2 {
		return ""
	}
	return "M" + strings.Join(append(p.upper, p.lower...), "L") + "Z"
}
