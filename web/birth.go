package web

import (
	"fmt"
	"strings"
	"time"

	"haulout/events"
)

// age writes how old an animal is at a moment, as a range where its birth is
// one. A birth that is not stated gives no age.
func age(born string, at time.Time) string {
	b, ok := events.ParseSpan(born)
	if !ok {
		return "age not stated"
	}
	switch {
	case b.Last.IsZero():
		return "at most " + ageIn(b.First, at)
	case b.First.IsZero():
		return "at least " + ageIn(b.Last, at)
	}
	words := ageRange(ageIn(b.Last, at), ageIn(b.First, at))
	if b.About {
		return "about " + words
	}
	return words
}

// ageRange writes the unit once where both ends have it.
func ageRange(youngest, oldest string) string {
	if youngest == oldest {
		return oldest
	}
	n, unit, _ := strings.Cut(youngest, nb)
	if m, other, _ := strings.Cut(oldest, nb); strings.TrimSuffix(unit, "s") == strings.TrimSuffix(other, "s") {
		return fmt.Sprintf("%s to %s%s%s", n, m, nb, other)
	}
	return youngest + " to " + oldest
}

// ageIn counts whole years, months below two years and weeks below three months.
func ageIn(born, at time.Time) string {
	if at.Before(born) {
		return plural(0, "week", "weeks")
	}
	months := (at.Year()-born.Year())*12 + int(at.Month()) - int(born.Month())
	if at.Day() < born.Day() {
		months--
	}
	switch {
	case months >= 24:
		return plural(months/12, "year", "years")
	case months >= 3:
		return plural(months, "month", "months")
	}
	return plural(int(at.Sub(born).Hours()/24/7), "week", "weeks")
}

// bornWords writes the birth as it is known.
func bornWords(born string) string {
	b, ok := events.ParseSpan(born)
	if !ok {
		return ""
	}
	words := spanWords(b)
	if b.About {
		return "born about " + words
	}
	return "born " + words
}

func spanWords(b events.Span) string {
	const layout = "2" + nb + "January" + nb + "2006"
	switch {
	case b.First.IsZero():
		return "by " + b.Last.Format(layout)
	case b.Last.IsZero():
		return "on or after " + b.First.Format(layout)
	case b.First.Equal(b.Last):
		return b.First.Format(layout)
	case b.First.Equal(time.Date(b.First.Year(), 1, 1, 0, 0, 0, 0, time.UTC)) && b.Last.Equal(time.Date(b.First.Year(), 12, 31, 0, 0, 0, 0, time.UTC)):
		return b.First.Format("2006")
	case b.First.Day() == 1 && b.Last.Equal(b.First.AddDate(0, 1, -1)):
		return b.First.Format("January" + nb + "2006")
	case b.First.YearDay() == 1 && b.Last.Equal(time.Date(b.Last.Year(), 12, 31, 0, 0, 0, 0, time.UTC)):
		return b.First.Format("2006") + " to " + b.Last.Format("2006")
	}
	return b.First.Format(layout) + " to " + b.Last.Format(layout)
}
