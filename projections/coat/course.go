package coat

import (
	"fmt"
	"math"
)

// course is what the molts of a class come to.
type course struct {
	class      Class
	hemisphere string
	molts      []molted
	pools      map[Day]*Pooled // onsets of the coat years before a day, about centre
	centre     float64         // the mean onset, as a share of the year
	days       *Pooled         // durations
	settled    bool
}

// molted is one molt on record.
type molted struct {
	animal string
	year   Year
}

func (c *course) take(animal string, y Year) { c.molts = append(c.molts, molted{animal, y}) }

// settle finds the mean onset about which the days of the year are laid out, and
// the durations. It does nothing the second time.
func (c *course) settle() {
	if c.settled {
		return
	}
	c.settled, c.pools, c.centre = true, map[Day]*Pooled{}, math.NaN()
	var turns []float64
	for _, m := range c.molts {
		if m.year.Onset.Known() {
			turns = append(turns, m.year.Onset.Likely.Turn())
		}
	}
	if circle, err := Directions(turns); err == nil && circle.Resultant >= assumed("round") {
		c.centre = circle.Mean
	}
	c.days = c.durations()
}

// before is the onsets of the coat years that began before a day, in days from
// the centre; nil where there are none, or where they lie all round the year.
func (c *course) before(day Day) *Pooled {
	c.settle()
	if math.IsNaN(c.centre) {
		return nil
	}
	if p, ok := c.pools[day]; ok {
		return p
	}
	var figures []Observed
	for _, m := range c.molts {
		if on := m.year.Onset; m.year.From < day && on.Known() {
			figures = append(figures, Observed{m.animal, apart(on.Likely.Turn(), c.centre) * yearDays, on.Days() / math.Sqrt(12)})
		}
	}
	prior := Prior{Between: assumed("onset_between"), Within: assumed("onset_within"), Worth: assumed("worth")}
	if turn, ok := publishedOnset(c.class, c.hemisphere); ok {
		prior.Mean, prior.Error = apart(turn, c.centre)*yearDays, assumed("published_onset")
	}
	c.pools[day] = pooled(figures, prior)
	return c.pools[day]
}

// durations are those of molts whose onset and end are both known.
func (c *course) durations() *Pooled {
	var figures []Observed
	for _, m := range c.molts {
		on, end := m.year.Onset, m.year.End
		if on.Known() && end != nil && end.Known() {
			figures = append(figures, Observed{m.animal, float64(end.Likely - on.Likely), math.Hypot(on.Days(), end.Days()) / math.Sqrt(12)})
		}
	}
	prior := Prior{Between: assumed("days_between"), Within: assumed("days_within"), Worth: assumed("worth")}
	if days, source := publishedDays(c.class); source != "" {
		prior.Mean, prior.Error = days, assumed("published_days")
	}
	return pooled(figures, prior)
}

func pooled(figures []Observed, prior Prior) *Pooled {
	p, err := Pool(figures, &prior)
	if err != nil {
		return nil // there is none: a figure that is on record is a number
	}
	return &p
}

// own is how many molts of an animal count before a day, and says why they are
// too few for an expectation of its own.
func (c *course) own(animal string, day Day) (n int, notEnough string) {
	least := int(assumed("own_least"))
	if p := c.before(day); p != nil {
		n = p.Of(animal).N
	}
	if n >= least {
		return n, ""
	}
	noun := "molts"
	if n == 1 {
		noun = "molt"
	}
	return n, fmt.Sprintf("%d %s with a known onset on record as %s; an expectation of its own needs %d", n, noun, c.class.words(), least)
}

// onset is when a molt is expected to begin in a coat year, by the coat years
// that began before a day: for an animal with enough molts of its own, or for
// any animal of a class with enough animals where animal is "".
func (c *course) onset(animal string, y Year, day Day) *Interval {
	p := c.before(day)
	if p == nil || animal == "" && len(p.Animals) < int(assumed("class_least")) {
		return nil
	}
	if _, short := c.own(animal, day); animal != "" && short != "" {
		return nil
	}
	middle := at(y.From.Year(), c.centre)
	if middle < y.From {
		middle = at(y.From.Year()+1, c.centre)
	}
	value, lo, hi := p.Next(animal)
	return &Interval{middle + Day(value), middle + Day(lo), middle + Day(hi)}
}

// lasts is for how many days an animal's molt lasts, and on what that rests;
// false where nothing is on record and nothing is published.
func (c *course) lasts(animal string) (days, most float64, basis string, ok bool) {
	c.settle()
	if p := c.days; p != nil && p.n >= int(assumed("own_least")) {
		value, _, hi := p.Next(animal)
		return value, hi, "by the molts on record", true
	}
	days, source := publishedDays(c.class)
	if source == "" {
		return 0, 0, "", false
	}
	spread := math.Sqrt(square(assumed("published_days")) + square(assumed("days_between")) + square(assumed("days_within")))
	return days, days + ninety*spread, "as published: " + source, true
}

// ninety is the distance that leaves one in twenty above, in standard deviations.
const ninety = 1.6448536269514722

func square(x float64) float64 { return x * x }

// ends is when a molt that began is expected to end.
func (c *course) ends(animal string, began Between) *Interval {
	c.settle()
	if c.days == nil || c.days.n < int(assumed("own_least")) {
		return nil
	}
	value, lo, hi := c.days.Next(animal)
	return &Interval{began.Likely + Day(value), began.After + Day(max(lo, 0)), began.By + Day(hi)}
}
