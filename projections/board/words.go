package board

import (
	"fmt"
	"math"
	"time"
)

func lasting(hours float64) time.Duration { return time.Duration(hours * float64(time.Hour)) }

// words is a duration as people say it.
func words(d time.Duration) string {
	d = d.Round(time.Minute)
	if d < 48*time.Hour {
		return fmt.Sprintf("%d h %d min", int(d.Hours()), int(math.Mod(d.Minutes(), 60)))
	}
	return fmt.Sprintf("%d days", int(d.Hours()/24))
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// when is a moment as seen from now: the time today, the weekday within the
// week, the date beyond.
func (a Animal) when(t time.Time) string { return When(t, a.At) }

// When is a moment as seen from another, in the zone of the other.
func When(t, now time.Time) string {
	t = t.In(now.Location())
	switch days := daysBetween(t, now); {
	case days <= 0:
		return t.Format("15:04")
	case days < 7:
		return t.Format("Mon 15:04")
	}
	return t.Format("2 January 2006")
}

func (a Animal) daysSince(t time.Time) int {
	if t.IsZero() {
		return 0
	}
	return daysBetween(t, a.At)
}

// daysBetween counts midnights of the second's zone.
func daysBetween(from, to time.Time) int {
	y, m, d := from.In(to.Location()).Date()
	return int(math.Round(midnight(to).Sub(time.Date(y, m, d, 0, 0, 0, 0, to.Location())).Hours() / 24))
}

func midnight(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, t.Location())
}

func (a Animal) midnight() time.Time { return midnight(a.At) }
