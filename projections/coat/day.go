package coat

import (
	"fmt"
	"math"
	"time"
)

// Day is a day by the calendar of where the animal lives, counted from
// 1 January 1970. A day worked out from others may fall between two.
type Day float64

const (
	secondsOfDay = 24 * 60 * 60
	yearDays     = 365.25 // mean of the Julian calendar, as circular statistics of dates have it
)

// On is a day of the calendar.
func On(year int, month time.Month, day int) Day {
	return Day(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix() / secondsOfDay)
}

// ParseDay reads a day such as 2026-08-14.
func ParseDay(text string) (Day, error) {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return 0, fmt.Errorf("day: %q is no day of the calendar: write it like 2026-08-14", text)
	}
	return Day(t.Unix() / secondsOfDay), nil
}

func (d Day) date() time.Time {
	return time.Unix(int64(math.Floor(float64(d)))*secondsOfDay, 0).UTC()
}

// String writes the day as 2026-08-14.
func (d Day) String() string { return d.date().Format(time.DateOnly) }

// MarshalText writes the day as 2026-08-14.
func (d Day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// Year is its calendar year.
func (d Day) Year() int { return d.date().Year() }

// Turn is the share of its calendar year that has passed, from 0 on 1 January
// to below 1: a direction on the circle of the year, which a leap day moves by
// less than a day.
func (d Day) Turn() float64 {
	first, next := d.edges()
	return float64(d-first) / float64(next-first)
}

// edges are the first day of its calendar year and of the next.
func (d Day) edges() (first, next Day) {
	year := d.Year()
	return On(year, time.January, 1), On(year+1, time.January, 1)
}

// at is the day of a year at which a share of it has passed.
func at(year int, turn float64) Day {
	first, next := On(year, time.January, 1), On(year+1, time.January, 1)
	return first + Day(turn)*(next-first)
}

// words writes a day for a sentence.
func (d Day) words() string { return d.date().Format("2 January 2006") }
