package rules

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Reading is one value of a water test. Bound is "" for a figure, below for less
// than Value, above for more.
type Reading struct {
	What  string
	Value float64
	Unit  string
	Bound string
}

// ParseReading reads a result as a laboratory writes it: a figure, <1, >2419, or
// TNTC (too numerous to count), which says of itself nothing but that it is above
// zero. Errors: text that is none of these, and those of Judge.
func ParseReading(what, text, unit string) (Reading, error) {
	out := Reading{What: what, Unit: unit}
	text = strings.TrimSpace(text)
	switch {
	case strings.EqualFold(text, "TNTC"):
		out.Bound, text = "above", "0"
	case strings.HasPrefix(text, "<"):
		out.Bound, text = "below", text[1:]
	case strings.HasPrefix(text, ">"):
		out.Bound, text = "above", text[1:]
	}
	value, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil {
		return Reading{}, fmt.Errorf("value: %q is no result: write a figure, <1, >2419 or TNTC", text)
	}
	out.Value = value
	return out, out.check()
}

func (r Reading) check() error {
	units := WaterUnits(r.What)
	switch {
	case units == nil:
		return fmt.Errorf("what: %q is not measured in water here", r.What)
	case !slices.Contains(units, r.Unit):
		return fmt.Errorf("unit: %q does not go with %s: give it in %s", r.Unit, r.What, strings.Join(units, " or "))
	case r.Bound != "" && r.Bound != "below" && r.Bound != "above":
		return fmt.Errorf("bound: %q is no bound: give below or above, or leave it out", r.Bound)
	case r.Value-r.Value != 0 || r.Value < 0 && r.What != "temperature":
		return fmt.Errorf("value: %v of %s can't be: give it as it was read", r.Value, r.What)
	}
	return nil
}

func (r Reading) name() string {
	if r.What == "ph" {
		return "pH"
	}
	return strings.ReplaceAll(r.What, "_", " ")
}

func (r Reading) words() string {
	switch {
	case r.Bound == "above" && r.Value == 0:
		return "too many to count"
	case r.Bound == "above":
		return "more than " + amount(r.Value, r.Unit)
	case r.Bound == "below":
		return "less than " + amount(r.Value, r.Unit)
	}
	return amount(r.Value, r.Unit)
}

// span is where a value lies: between lo and hi, neither of them itself where it
// is open there.
type span struct {
	lo, hi         float64
	loOpen, hiOpen bool
}

// span is the reading in the unit that its limits are held in. Ten in a
// thousand are one in a hundred; what is counted two ways is compared as it is.
func (r Reading) span() span {
	v := r.Value
	if r.Unit == "%" {
		v *= 10
	}
	least := 0.0
	if r.What == "temperature" {
		least = math.Inf(-1)
	}
	switch r.Bound {
	case "above":
		return span{v, math.Inf(1), true, true}
	case "below":
		return span{least, v, false, true}
	}
	return span{lo: v, hi: v}
}

// plus adds two values.
func (s span) plus(o span) span {
	return span{s.lo + o.lo, s.hi + o.hi, s.loOpen || o.loOpen, s.hiOpen || o.hiOpen}
}

type answer int

const (
	no answer = iota
	perhaps
	yes
)

func (s span) atMost(limit float64) answer {
	switch {
	case s.hi <= limit:
		return yes
	case s.lo > limit || s.lo == limit && s.loOpen:
		return no
	}
	return perhaps
}

func (s span) atLeast(limit float64) answer {
	switch {
	case s.lo >= limit:
		return yes
	case s.hi < limit || s.hi == limit && s.hiOpen:
		return no
	}
	return perhaps
}

func (s span) below(limit float64) answer { return yes - s.atLeast(limit) }
