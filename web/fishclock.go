package web

import (
	"fmt"
	"strings"
	"time"
)

// clockChart draws thaw clocks: hatch while nobody has seen fish thawed
// through, wash while it is ready, a post where it must be used by, and the
// feeds of the day across.
type clockChart struct {
	plot
	Top, Foot px // of the plotted area
	Rows      []clockBar
	Hours     []label
	Feeds     []label
	Now       *px
}

type clockBar struct {
	Y                px // top of the bar
	Lot, Name, Until string
	Open, Ready      box
	Post             px
}

// Sizes of the drawing, in its own units.
const (
	clockStep px = 46
	clockHigh px = 16
	clockTop  px = 24
)

func (t fishTeller) clockCharts() (out []clockChart) {
	if len(t.room.Clocks) == 0 {
		return nil
	}
	return []clockChart{t.clockChart("phone", 360, 4), t.clockChart("desk", 960, 10)}
}

// clockChart draws for a width, with so many hours written along the top.
func (t fishTeller) clockChart(size string, w px, most int) (c clockChart) {
	n := px(len(t.room.Clocks))
	c.plot = plot{ID: "thawing-" + size, Size: size, W: w, H: clockTop + n*clockStep + 22, Left: 2, Right: w - 72, Title: "Thaw clocks"}
	c.Top, c.Foot = clockTop, clockTop+n*clockStep
	from, to := t.clockSpan()
	x := func(at time.Time) px {
		return c.Left + px(at.Sub(from).Seconds()/to.Sub(from).Seconds())*(c.Right-c.Left)
	}
	var said []string
	for i, k := range t.room.Clocks {
		through := k.Deadline
		if k.Complete != nil && k.Complete.Before(k.Deadline) && !k.Complete.Before(k.Removed) {
			through = *k.Complete
		}
		y := c.Top + px(i)*clockStep + 22
		c.Rows = append(c.Rows, clockBar{
			Y: y, Lot: k.Lot, Name: k.Name, Until: t.near(k.Deadline), Post: x(k.Deadline),
			Open:  box{x(k.Removed), y, x(through) - x(k.Removed), clockHigh},
			Ready: box{x(through), y, x(k.Deadline) - x(through), clockHigh},
		})
		said = append(said, fmt.Sprintf("%s of %s, lot %s, out of the freezer since %s, to be used by %s", kg(k.LeftG), k.Name, k.Lot, t.near(k.Removed), t.near(k.Deadline)))
	}
	c.Desc = strings.Join(said, "; ") + "."
	c.Hours, c.Feeds = t.hoursBetween(from, to, most, x), t.feedsBetween(from, to, c.Foot, x)
	if at := x(t.now); t.now.After(from) && t.now.Before(to) {
		c.Now = &at
	}
	return c
}

// clockSpan is from the first fish out to the last deadline.
func (t fishTeller) clockSpan() (from, to time.Time) {
	from, to = t.room.Clocks[0].Removed, t.room.Clocks[0].Deadline
	for _, c := range t.room.Clocks {
		if c.Removed.Before(from) {
			from = c.Removed
		}
		if c.Deadline.After(to) {
			to = c.Deadline
		}
	}
	return from, to
}

// hoursBetween writes round hours of the facility's clock, the weekday at midnight.
func (t fishTeller) hoursBetween(from, to time.Time, most int, x func(time.Time) px) (out []label) {
	step := 3
	for int(to.Sub(from).Hours())/step > most {
		step *= 2
	}
	local := from.In(t.zone)
	for h := 0; ; h += step {
		at := time.Date(local.Year(), local.Month(), local.Day(), h, 0, 0, 0, t.zone)
		if at.After(to) {
			return out
		}
		if at.Before(from) {
			continue
		}
		text := at.Format("15:04")
		if text == "00:00" {
			text = at.Format("Mon")
		}
		out = append(out, label{x(at), clockTop - 10, "tq tm", text})
	}
}

func (t fishTeller) feedsBetween(from, to time.Time, foot px, x func(time.Time) px) (out []label) {
	for _, session := range t.room.Sessions {
		at, err := time.ParseInLocation("2006-01-02 15:04", string(t.room.Day)+" "+session, t.zone)
		if err != nil || at.Before(from) || at.After(to) {
			continue
		}
		if n := len(out); n > 0 && x(at)-out[n-1].X < 42 {
			session = "" // no room for its words; the line stands
		}
		out = append(out, label{x(at), foot + 16, "tb tm", session})
	}
	return out
}
