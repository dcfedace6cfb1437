package web

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// birth is the span of days in which an animal was born, as precisely as it is
// known. A zero time is an open end.
type birth struct {
	first, last time.Time
	about       bool
}

// parseBirth reads EDTF level 1 (ISO 8601-2:2019, annex A). Seasons differ
// between hemispheres, so a season counts as its year.
func parseBirth(s string) (b birth, ok bool) {
	from, to, interval := strings.Cut(s, "/")
	b.about = strings.ContainsAny(s, "?~%")
	if !interval {
		b.first, b.last, ok = parseSpan(from)
		return b, ok
	}
	if from != "" && from != ".." {
		if b.first, _, ok = parseSpan(from); !ok {
			return b, false
		}
	}
	if to != "" && to != ".." {
		if _, b.last, ok = parseSpan(to); !ok {
			return b, false
		}
	}
	return b, !b.first.IsZero() || !b.last.IsZero()
}

// parseSpan gives the first and the last day that one date allows.
func parseSpan(s string) (first, last time.Time, ok bool) {
	s = strings.TrimRight(s, "?~%")
	parts := strings.Split(s, "-")
	low, err := strconv.Atoi(strings.ReplaceAll(parts[0], "X", "0"))
	high, err2 := strconv.Atoi(strings.ReplaceAll(parts[0], "X", "9"))
	if err != nil || err2 != nil || len(parts[0]) != 4 {
		return first, last, false
	}
	month, day := part(parts, 1), part(parts, 2)
	switch {
	case month == 0 || month > 12:
		return date(low, 1, 1), date(high, 12, 31), true
	case day == 0:
		return date(low, month, 1), date(low, month+1, 0), true
	}
	return date(low, month, day), date(low, month, day), true
}

// part is one number of a date, 0 where it is left open.
func part(parts []string, i int) int {
	if i >= len(parts) {
		return 0
	}
	n, err := strconv.Atoi(parts[i])
	if err != nil {
		return 0
	}
	return n
}

func date(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }

// age writes how old an animal is at a moment, as a range where its birth is
// one. A birth that is not stated gives no age.
func age(born string, at time.Time) string {
	b, ok := parseBirth(born)
	if !ok {
		return "age not stated"
	}
	switch {
	case b.last.IsZero():
		return "at most " + ageIn(b.first, at)
	case b.first.IsZero():
		return "at least " + ageIn(b.last, at)
	}
	words := ageRange(ageIn(b.last, at), ageIn(b.first, at))
	if b.about {
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
	b, ok := parseBirth(born)
	if !ok {
		return ""
	}
	words := spanWords(b)
	if b.about {
		return "born about " + words
	}
	return "born " + words
}

func spanWords(b birth) string {
	const layout = "2" + nb + "January" + nb + "2006"
	switch {
	case b.first.IsZero():
		return "by " + b.last.Format(layout)
	case b.last.IsZero():
		return "on or after " + b.first.Format(layout)
	case b.first.Equal(b.last):
		return b.first.Format(layout)
	case b.first.Equal(date(b.first.Year(), 1, 1)) && b.last.Equal(date(b.first.Year(), 12, 31)):
		return b.first.Format("2006")
	case b.first.Day() == 1 && b.last.Equal(b.first.AddDate(0, 1, -1)):
		return b.first.Format("January" + nb + "2006")
	case b.first.YearDay() == 1 && b.last.Equal(date(b.last.Year(), 12, 31)):
		return b.first.Format("2006") + " to " + b.last.Format("2006")
	}
	return b.first.Format(layout) + " to " + b.last.Format(layout)
}
