package web

import (
	"fmt"
	"strings"

	"haulout/projections"
)

// ribbonChart sets what was eaten each day against what was needed.
type ribbonChart struct {
	plot
	Top, Zero px
	Rules     []rule
	Bands     []string // paths
	Gaps      []box
	Dots      []point
	Out       []was // outside the ribbon: the mark, and where its stem ends
	Open      []point
	Dates     []label
}

func ribbonOf(size string, days int, e *projections.Energy, f file) ribbonChart {
	c := ribbonChart{plot: plot{ID: "ribbon-" + size, Size: size, W: 960, H: 260, Left: 58, Right: 956}, Top: 18, Zero: 222}
	if size == "phone" {
		c.W, c.Left, c.Right = 300, 52, 298
	}
	list := e.Days[max(0, len(e.Days)-days):]
	from := f.today.Add(1 - days)
	slot := (c.Right - c.Left) / px(days)
	y := fromZero(mostKcal(list), c.Top, c.Zero)
	c.Rules = y.rules()
	at := func(d projections.Day) px { return c.Left + px(daysBetween(from, d))*slot }
	c.band(list, at, slot, y)
	for i := range list {
		c.day(&list[i], at(list[i].Day), slot, y, list[i].Day == f.today && !f.ended())
	}
	c.dates(from, f, slot)
	c.Title = fmt.Sprintf("Energy eaten and needed each day, %s to %s", dayAs(from, "2 January"), dayAs(f.today, "2 January 2006"))
	c.Desc = ribbonDesc(list)
	return c
}

func mostKcal(list []projections.EnergyDay) (most float64) {
	for _, d := range list {
		if d.Eaten != nil {
			most = max(most, d.Eaten.Kcal)
		}
		if d.Likely != nil {
			most = max(most, d.Likely[1])
		}
	}
	return most
}

// band draws the need that holds in 8 of 10 cases, a step a day; where there is
// none it is broken.
func (c *ribbonChart) band(list []projections.EnergyDay, at func(projections.Day) px, slot px, y axis) {
	var upper, lower []string
	flush := func() {
		if len(upper) > 0 {
			for i := len(lower) - 1; i >= 0; i-- {
				upper = append(upper, lower[i])
			}
			c.Bands = append(c.Bands, "M"+strings.Join(upper, "L")+"Z")
		}
		upper, lower = nil, nil
	}
	for _, d := range list {
		if d.Likely == nil {
			flush()
			continue
		}
		x, lo, hi := at(d.Day), y.y(d.Likely[0]), y.y(d.Likely[1])
		upper = append(upper, fmt.Sprintf("%s %s", x, hi), fmt.Sprintf("%s %s", x+slot, hi))
		lower = append(lower, fmt.Sprintf("%s %s", x, lo), fmt.Sprintf("%s %s", x+slot, lo))
	}
	flush()
}

func (c *ribbonChart) day(d *projections.EnergyDay, x, slot px, y axis, open bool) {
	middle := x + slot/2
	switch {
	case !d.Logged && !open:
		c.Gaps = append(c.Gaps, box{x, c.Top, slot, c.Zero - c.Top})
	case !d.Logged:
	case open || !d.Used || d.Likely == nil:
		c.Open = append(c.Open, point{middle, y.y(d.Eaten.Kcal)})
	case d.Eaten.Kcal < d.Likely[0]:
		c.Out = append(c.Out, was{point{middle, y.y(d.Eaten.Kcal)}, y.y(d.Likely[0])})
	case d.Eaten.Kcal > d.Likely[1]:
		c.Out = append(c.Out, was{point{middle, y.y(d.Eaten.Kcal)}, y.y(d.Likely[1])})
	default:
		c.Dots = append(c.Dots, point{middle, y.y(d.Eaten.Kcal)})
	}
}

func (c *ribbonChart) dates(from projections.Day, f file, slot px) {
	for d := f.today; d >= from; d = d.Add(-7) {
		x, text, class := c.Left+px(daysBetween(from, d))*slot+slot/2, shortDay(d), "tq tm"
		if d == f.today {
			x, class = c.Right, "tq te"
			if !f.ended() {
				text, class = "today", "tb te"
			}
		}
		c.Dates = append(c.Dates, label{x, c.Zero + 20, class, text})
	}
}

// ribbonDesc reads the chart out.
func ribbonDesc(list []projections.EnergyDay) string {
	inside, under, over, gaps := 0, 0, 0, 0
	for _, d := range list {
		switch {
		case !d.Logged:
			gaps++
		case !d.Used || d.Likely == nil:
		case d.Eaten.Kcal < d.Likely[0]:
			under++
		case d.Eaten.Kcal > d.Likely[1]:
			over++
		default:
			inside++
		}
	}
	return fmt.Sprintf("What was eaten lies within the need on %s, under it on %d and over it on %d. Not logged: %d.", plural(inside, "day", "days"), under, over, gaps)
}
