package web

import (
	"fmt"
	"math"
	"strings"

	"haulout/projections"
	molts "haulout/projections/coat"
)

// ringChart is an animal's coat over the years: the year runs clockwise from
// January at the top, one circle a year, the newest outside.
type ringChart struct {
	plot
	Middle  point
	Frame   px // radius of the circle that the months stand on
	Circles []ringCircle
	Next    string // sector of the days on which the next molt is expected to begin
	Today   *point
	Months  []ringMonth
}

// ringCircle is one calendar year.
type ringCircle struct {
	Base   string // from the first score of all, up to today
	Blank  []string
	Molt   []string
	Edges  []string // the molt began, or ended, somewhere within
	Width  px       // of the molt
	Narrow px
	Year   label
}

type ringMonth struct {
	Tick string
	Name label
}

// ringSize is the room that a drawing has. Chart text keeps its 13 px, so that a
// phone's has fewer years.
type ringSize struct {
	name                string
	wide                px
	inner, outer, names px // radii
	years               int
}

var (
	ringDesk  = ringSize{"desk", 408, 64, 152, 190, 6}
	ringPhone = ringSize{"phone", 300, 44, 104, 136, 4}
)

func ringOf(size ringSize, c *projections.CoatAnswer, today projections.Day) ringChart {
	r := ringChart{plot: plot{ID: "ring-" + size.name, Size: size.name, W: size.wide, H: size.wide}, Middle: point{size.wide / 2, size.wide / 2}, Frame: size.outer + 18}
	rings := c.Rings[max(0, len(c.Rings)-size.years):]
	step := (size.outer - size.inner) / px(max(1, size.years-1))
	first := molts.On(rings[0].Year, 1, 1)
	if years := c.Outlook.Years; len(years) > 0 && len(c.Scores) > 0 {
		first = max(first, coatDayOf(projections.DayOf(c.Scores[0].Time, c.Scores[0].Time.Location())))
	}
	for i, ring := range rings {
		radius := size.outer - step*px(len(rings)-1-i)
		r.Circles = append(r.Circles, r.circle(ring, radius, min(step/2, 10), first, coatDayOf(today)))
	}
	at := r.at(coatDayOf(today).Turn(), size.outer)
	r.Today = &at
	if next := c.Outlook.Next; next != nil {
		r.Next = r.sector(next.Lo, next.Hi, size.outer+8, size.outer+18)
	}
	r.months(size)
	r.Title = fmt.Sprintf("Coat ring, %d to %d", rings[0].Year, rings[len(rings)-1].Year)
	r.Desc = ringDesc(c)
	return r
}

func coatDayOf(d projections.Day) molts.Day {
	day, err := molts.ParseDay(string(d))
	if err != nil {
		panic("web: a day that is none: " + err.Error())
	}
	return day
}

// at is a place on the year: its share that has passed, clockwise from the top.
func (r *ringChart) at(turn float64, radius px) point {
	angle := 2 * math.Pi * turn
	return point{r.Middle.X + radius*px(math.Sin(angle)), r.Middle.Y - radius*px(math.Cos(angle))}
}

// arc runs clockwise from one share of the year to another. A whole year stops
// short of its end, since an arc that ends where it began is none.
func (r *ringChart) arc(from, to float64, radius px) string {
	to = min(to, from+0.999)
	a, b := r.at(from, radius), r.at(to, radius)
	return fmt.Sprintf("M%s %sA%s %s 0 %d 1 %s %s", a.X, a.Y, radius, radius, one(to-from > 0.5), b.X, b.Y)
}

// sector is the ground between two radii over some days.
func (r *ringChart) sector(from, to molts.Day, inner, outer px) string {
	start, length := from.Turn(), min(float64(to-from)/365.25, 0.999)
	a, b := r.at(start, inner), r.at(start+length, inner)
	c, d := r.at(start+length, outer), r.at(start, outer)
	large := one(length > 0.5)
	return fmt.Sprintf("M%s %sA%s %s 0 %d 1 %s %sL%s %sA%s %s 0 %d 0 %s %sZ", a.X, a.Y, inner, inner, large, b.X, b.Y, c.X, c.Y, outer, outer, large, d.X, d.Y)
}

func (r *ringChart) circle(ring molts.Ring, radius, width px, first, today molts.Day) ringCircle {
	out := ringCircle{Width: width, Narrow: max(3, width*0.6)}
	begin, end := 0.0, 1.0
	if ring.Year == first.Year() {
		begin = first.Turn()
	}
	if ring.Year == today.Year() {
		end = today.Turn()
	}
	if end > begin {
		out.Base = r.arc(begin, end, radius)
	}
	for _, a := range ring.Arcs {
		path := r.arc(a.From, a.To, radius)
		switch a.Kind {
		case "molt":
			out.Molt = append(out.Molt, path)
		case "began", "ended":
			out.Edges = append(out.Edges, path)
		case "unchecked":
			out.Blank = append(out.Blank, path)
		}
	}
	out.Year = label{r.Middle.X, r.Middle.Y - radius + 4, "tb tm", fmt.Sprint(ring.Year)}
	return out
}

func (r *ringChart) months(size ringSize) {
	for i, name := range strings.Fields("Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec") {
		a, b := r.at(float64(i)/12, r.Frame), r.at(float64(i)/12, r.Frame+7)
		at := r.at((float64(i)+0.5)/12, size.names)
		r.Months = append(r.Months, ringMonth{fmt.Sprintf("M%s %sL%s %s", a.X, a.Y, b.X, b.Y), label{at.X, at.Y + 4, "tq tm", name}})
	}
}

// ringDesc reads the drawing out: each molt, newest first, and the next.
func ringDesc(c *projections.CoatAnswer) string {
	var parts []string
	for i := len(c.Outlook.Years) - 1; i >= 0; i-- {
		if y := c.Outlook.Years[i]; y.Scores > 0 {
			parts = append(parts, y.Words())
		}
	}
	if next := c.Outlook.Next; next != nil {
		parts = append(parts, "The next molt is expected to begin "+coatRange(next.Lo, next.Hi)+", 9\u00a0in\u00a010.")
	}
	return strings.Join(parts, " ")
}
