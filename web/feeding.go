package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"haulout/projections"
)

// How many days a chart of feeding shows.
const (
	phoneDays = 14
	deskDays  = 42
)

// leastDays is how many of seven days must be logged before their sum is said.
const leastDays = 3

// feeding is what an animal ate, day by day: a sentence, charts and a table.
type feeding struct {
	Answer, More string
	Key          []foodKey
	Charts       []feedingChart
	Rows         []feedingRow // newest first
	AnyUnknown   bool         // some energy is not known
}

// foodKey is a food and how its part of a bar is filled. Foods past the fifth
// share the last fill.
type foodKey struct {
	ID, Name string
	Fill     string
	Open     bool // drawn with an edge
}

var foodFills = []foodKey{
	{Fill: "currentColor"}, {Fill: "none", Open: true}, {Fill: "url(#p-dots)", Open: true},
	{Fill: "url(#p-bars)", Open: true}, {Fill: "url(#p-check)", Open: true},
}

type feedingRow struct {
	Day       string
	Gap       string // not logged, or not yet; set instead of figures
	Offered   string
	Eaten     string
	Refused   string
	Items     []string // by food, in the order of the key
	Kcal      string
	Unknown   string
	By        string
	Corrected bool
}

// feedingChart has kilograms by food above and kilocalories below.
type feedingChart struct {
	plot
	Kg, Kcal []rule
	KgTop    px
	KcalTop  px
	KgZero   px
	KcalZero px
	Bars     []bar
	Refused  []box
	Gaps     []box
	Dots     []point
	OpenDots []point
	Dates    []label
}

type bar struct {
	box
	Fill string
	Open bool
}

// span is the days that a page looks at.
type span struct {
	from, to projections.Day // to is today, or the day that is asked for
	zone     *time.Location
	logged   map[projections.Day]*projections.AnimalDay
	inCare   func(projections.Day) bool
	ended    bool // to is over
}

// fed is the day's record where a feed is in it.
func (p span) fed(d projections.Day) *projections.AnimalDay {
	if day := p.logged[d]; day != nil && day.Feeds > 0 {
		return day
	}
	return nil
}

func feedingOf(p span) feeding {
	var out feeding
	out.Answer, out.More = p.answer()
	out.Key = p.foods()
	for d := p.to; d >= p.from; d = d.Add(-1) {
		if row, ok := p.row(d, out.Key); ok {
			out.Rows = append(out.Rows, row)
			out.AnyUnknown = out.AnyUnknown || row.Unknown != ""
		}
	}
	if len(out.Key) == 0 {
		return out
	}
	for _, size := range []string{"phone", "desk"} {
		out.Charts = append(out.Charts, p.chart(size, out.Key))
	}
	return out
}

// answer sums up the seven days before today; today is not over.
func (p span) answer() (bold, more string) {
	last := p.to
	if !p.ended {
		last = last.Add(-1)
	}
	var eaten, offered float64
	logged, care := 0, 0
	for d := last.Add(-6); d <= last; d = d.Add(1) {
		care += one(p.inCare(d))
		if day := p.fed(d); day != nil {
			eaten, offered, logged = eaten+day.EatenG, offered+day.OfferedG, logged+1
		}
	}
	until := dayAs(last, "Mon 2"+nb+"January")
	switch {
	case care == 0:
		return "", "Not in care in the 7 days to " + until + "."
	case logged < leastDays:
		return fmt.Sprintf("%d of %s logged", logged, plural(care, "day", "days")), " in the 7 days to " + until + ". Too little to sum up."
	}
	return "Ate " + kgOf(eaten, offered) + " offered", fmt.Sprintf(" in the 7 days to %s, %d of %s logged.", until, logged, plural(care, "day", "days"))
}

// foods orders the foods of the span by how much was eaten.
func (p span) foods() []foodKey {
	grams, called := map[string]float64{}, map[string]string{}
	for _, day := range p.logged {
		for _, item := range day.Items {
			grams[item.Food] += item.EatenG + 1
			called[item.Food] = item.Name
		}
	}
	var out []foodKey
	for id := range grams {
		out = append(out, foodKey{ID: id, Name: called[id]})
	}
	slices.SortFunc(out, func(a, b foodKey) int { return cmp.Or(cmp.Compare(grams[b.ID], grams[a.ID]), cmp.Compare(a.ID, b.ID)) })
	for i := range out {
		fill := foodFills[min(i, len(foodFills)-1)]
		out[i].Fill, out[i].Open = fill.Fill, fill.Open
	}
	return out
}

func (p span) row(d projections.Day, key []foodKey) (feedingRow, bool) {
	row := feedingRow{Day: dayAs(d, "Mon 2"+nb+"Jan")}
	day := p.fed(d)
	if day == nil {
		row.Gap = "not logged"
		if d == p.to && !p.ended {
			row.Gap = "not yet"
		}
		return row, p.inCare(d)
	}
	row.Offered, row.Eaten, row.Refused = kilos(day.OfferedG), kilos(day.EatenG), kilos(day.RefusedG)
	row.By, row.Corrected = strings.Join(day.Keepers, ", "), day.Corrected > 0
	row.Kcal, row.Unknown = kcal(day.Kcal), listed(day.Unknown)
	for _, food := range key {
		row.Items = append(row.Items, kilos(eatenOf(day, food.ID)))
	}
	return row, true
}

func kcal(v *float64) string {
	if v == nil {
		return ""
	}
	return count(int(*v + 0.5))
}

func eatenOf(day *projections.AnimalDay, food string) (g float64) {
	for _, item := range day.Items {
		if item.Food == food {
			g += item.EatenG
		}
	}
	return g
}

func (p span) chart(size string, key []foodKey) feedingChart {
	c := feedingChart{plot: plot{ID: "feeding-" + size, Size: size, W: 960, H: 300, Left: 58, Right: 956}, KgTop: 18, KgZero: 166, KcalTop: 202, KcalZero: 262}
	days := deskDays
	if size == "phone" {
		days, c.W, c.Left, c.Right = phoneDays, 300, 52, 298
	}
	from := p.to.Add(1 - days)
	kg, energy := fromZero(p.most(from, offeredKg), c.KgTop, c.KgZero), fromZero(p.most(from, kcalOf), c.KcalTop, c.KcalZero)
	energy.top, energy.bottom = c.KcalTop, c.KcalZero
	c.Kg, c.Kcal = kg.rules(), energy.ends()
	slot := (c.Right - c.Left) / px(days)
	for i, d := 0, from; d <= p.to; i, d = i+1, d.Add(1) {
		c.day(p, d, c.Left+px(i)*slot, slot, kg, energy, key)
	}
	c.dates(from, p.to, slot, !p.ended)
	c.Title = fmt.Sprintf("Kilograms and kilocalories eaten each day, %s to %s", dayAs(from, "2 January"), dayAs(p.to, "2 January 2006"))
	c.Desc = p.desc(from)
	return c
}

// ends are the two outer rules of an axis, where the panel is too low for more.
func (a axis) ends() []rule {
	all := a.rules()
	return []rule{all[0], all[len(all)-1]}
}

func offeredKg(d *projections.AnimalDay) float64 { return d.OfferedG / 1000 }

func kcalOf(d *projections.AnimalDay) float64 {
	if d.Kcal == nil {
		return 0
	}
	return *d.Kcal
}

func (p span) most(from projections.Day, of func(*projections.AnimalDay) float64) (most float64) {
	for d := from; d <= p.to; d = d.Add(1) {
		if day := p.fed(d); day != nil {
			most = max(most, of(day))
		}
	}
	return most
}

// day draws one day. A day in care without a feed on record is hatched, never
// drawn as zero; today is not over and stays blank.
func (c *feedingChart) day(p span, d projections.Day, x, slot px, kg, energy axis, key []foodKey) {
	day := p.fed(d)
	if day == nil {
		if p.inCare(d) && (d < p.to || p.ended) {
			c.Gaps = append(c.Gaps, box{x, c.KgTop, slot, c.KcalZero - c.KgTop})
		}
		return
	}
	wide := slot * 0.62
	left, level := x+(slot-wide)/2, 0.0
	for _, food := range key {
		eaten := eatenOf(day, food.ID) / 1000
		if eaten > 0 {
			top, bottom := kg.y(level+eaten), kg.y(level)
			c.Bars = append(c.Bars, bar{box{left, top, wide, bottom - top}, food.Fill, food.Open})
		}
		level += eaten
	}
	if refused := day.RefusedG / 1000; refused > 0 {
		c.Refused = append(c.Refused, box{left, kg.y(level + refused), wide, kg.y(level) - kg.y(level+refused)})
	}
	switch middle := x + slot/2; {
	case day.Kcal == nil:
	case len(day.Unknown) > 0:
		c.OpenDots = append(c.OpenDots, point{middle, energy.y(*day.Kcal)})
	default:
		c.Dots = append(c.Dots, point{middle, energy.y(*day.Kcal)})
	}
}

// dates writes a date under every seventh day, counted back from today.
func (c *feedingChart) dates(from, to projections.Day, slot px, open bool) {
	for d := to; d >= from; d = d.Add(-7) {
		x := c.Left + px(daysBetween(from, d))*slot + slot/2
		text, class := shortDay(d), "tq tm"
		if d == to {
			x, class = c.Right, "tq te"
			if open {
				text, class = "today", "tb te"
			}
		}
		c.Dates = append(c.Dates, label{x, c.KcalZero + 20, class, text})
	}
}

// desc reads the chart out: how much, and which days nobody knows of.
func (p span) desc(from projections.Day) string {
	var gaps, refused []string
	least, most, n := 0.0, 0.0, 0
	for d := from; d <= p.to; d = d.Add(1) {
		day := p.fed(d)
		if day == nil {
			if p.inCare(d) && (d < p.to || p.ended) {
				gaps = append(gaps, dayAs(d, "2 January"))
			}
			continue
		}
		if day.EatenG == 0 {
			refused = append(refused, dayAs(d, "2 January"))
		}
		if n == 0 || day.EatenG < least {
			least = day.EatenG
		}
		most, n = max(most, day.EatenG), n+1
	}
	if n == 0 {
		return "No feed is logged on these days."
	}
	text := fmt.Sprintf("From %s to %s eaten a day on %s logged.", kg(least), kg(most), plural(n, "day", "days"))
	if len(refused) > 0 {
		text += " Everything was refused on " + listed(refused) + "."
	}
	if len(gaps) > 0 {
		text += " Not logged: " + listed(gaps) + "."
	}
	return text
}
