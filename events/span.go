package events

import (
	"strconv"
	"strings"
	"time"
)

// Span is the days that an uncertain date allows. A zero time is an open end.
type Span struct {
	First, Last time.Time
	About       bool // the source itself is not sure
}

// ParseSpan reads EDTF level 1 (ISO 8601-2:2019, annex A). Seasons differ
// between hemispheres, so a season counts as its year.
func ParseSpan(s string) (out Span, ok bool) {
	from, to, interval := strings.Cut(s, "/")
	out.About = strings.ContainsAny(s, "?~%")
	if !interval {
		out.First, out.Last, ok = parseSpan(from)
		return out, ok
	}
	if from != "" && from != ".." {
		if out.First, _, ok = parseSpan(from); !ok {
			return out, false
		}
	}
	if to != "" && to != ".." {
		if _, out.Last, ok = parseSpan(to); !ok {
			return out, false
		}
	}
	return out, !out.First.IsZero() || !out.Last.IsZero()
}

// Middle is the middle of the span; false where an end is open.
func (s Span) Middle() (time.Time, bool) {
	if s.First.IsZero() || s.Last.IsZero() {
		return time.Time{}, false
	}
	return s.First.Add(s.Last.Sub(s.First) / 2), true
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
		return spanDate(low, 1, 1), spanDate(high, 12, 31), true
	case day == 0:
		return spanDate(low, month, 1), spanDate(low, month+1, 0), true
	}
	return spanDate(low, month, day), spanDate(low, month, day), true
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

func spanDate(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }
