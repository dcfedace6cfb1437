package main

import (
	"fmt"
	"strings"
	"time"
)

// moment is a time as a sheet gives it, and what had to be assumed.
type moment struct {
	at    time.Time // UTC
	noon  bool      // the day alone was given
	twice bool      // the clocks went through it twice; it is the first of the two
}

var (
	offsetForms = []string{time.RFC3339Nano, "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05Z07:00", "2006-01-02 15:04Z07:00"}
	localForms  = []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02T15:04:05"}
)

// parseMoment reads a time with its offset, or one of the zone.
func parseMoment(text string, zone *time.Location) (moment, error) {
	for _, form := range offsetForms {
		if at, err := time.Parse(form, text); err == nil && !strings.Contains(text, ",") {
			return moment{at: at.UTC()}, nil
		}
	}
	if day, err := time.Parse(time.DateOnly, text); err == nil {
		m, err := onTheClock(day.Add(12*time.Hour), zone)
		m.noon = true
		return m, err
	}
	for _, form := range localForms {
		if wall, err := time.Parse(form, text); err == nil && !strings.Contains(text, ",") {
			return onTheClock(wall, zone)
		}
	}
	return moment{}, fmt.Errorf("write a time as 2026-03-01 16:00, 2026-03-01T16:00:00Z or 2026-03-01")
}

// onTheClock finds when the clocks of a zone showed a time: once, twice where
// they were put back over it, or never where they were put forward.
func onTheClock(wall time.Time, zone *time.Location) (moment, error) {
	var found []time.Time
	for _, near := range []time.Duration{-26 * time.Hour, 26 * time.Hour} {
		_, offset := wall.Add(near).In(zone).Zone()
		at := wall.Add(-time.Duration(offset) * time.Second)
		if shown := at.In(zone); shown.Format(time.DateTime) == wall.Format(time.DateTime) {
			found = append(found, at)
		}
	}
	switch {
	case len(found) == 0:
		return moment{}, fmt.Errorf("there was no %s in %s, the clocks were put forward over it; write the time as a clock showed it, or with its offset",
			wall.Format("15:04 on 2006-01-02"), zone)
	case len(found) == 2 && !found[0].Equal(found[1]):
		first := found[0]
		if found[1].Before(first) {
			first = found[1]
		}
		return moment{at: first, twice: true}, nil
	}
	return moment{at: found[0]}, nil
}

// moment reads the time of a row.
func (im *importer) moment(r *row) time.Time {
	text := r.cell("time")
	if text == "" {
		im.problem(r, "time", "", "is empty; write a time as 2026-03-01 16:00")
		return time.Time{}
	}
	m, err := parseMoment(text, im.where)
	if err != nil {
		im.problem(r, "time", text, "%v", err)
		return time.Time{}
	}
	if m.noon {
		im.sum.noon++
	}
	if m.twice {
		im.sum.twice++
	}
	return m.at
}

func (im *importer) momentOr(r *row, usual time.Time) time.Time {
	if r.cell("time") == "" {
		return usual
	}
	return im.moment(r)
}
