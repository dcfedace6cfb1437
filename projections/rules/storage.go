package rules

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"time"
)

// Storage is how long a lot may lie in the freezer.
type Storage struct {
	Class     string  `json:"class"` // fatty, lean, or unknown where no analysis says
	Months    float64 `json:"months"`
	From      string  `json:"from,omitempty"`  // the day it is counted from; "" where there is none
	Until     string  `json:"until,omitempty"` // the last day, "" where it can't be worked out
	Own       bool    `json:"own,omitempty"`   // the house set the months itself
	Uncertain bool    `json:"uncertain,omitempty"`
	Words     string  `json:"words"`
}

// Keep gives the storage limit of frozen fish. Fat is in g in 100 g as fed, nil
// where it is not known: then the shorter limit counts. Caught is an EDTF date
// and received a day; what was caught is counted from the earliest day that the
// date allows, and where no date is stated from when it was received, by which
// time it was older.
func Keep(fat *float64, caught, received string, h House) Storage {
	class, rule := fatClass(fat, h)
	set := h.Setting(rule)
	out := Storage{Class: class, Months: set.InForce, Own: set.By == "house"}
	said := fmt.Sprintf("%s for %s fish", set.Words, class)
	if class == "unknown" {
		said = set.Words + ", the shorter limit, since its fat is not known"
	}
	from, counted := countedFrom(caught, received, &out)
	out.Words = said + "; " + counted
	if from.IsZero() {
		return out
	}
	out.From, out.Until = from.Format(time.DateOnly), addMonths(from, set.InForce).Format(time.DateOnly)
	return out
}

func fatClass(fat *float64, h House) (class, rule string) {
	switch {
	case fat == nil:
		return "unknown", "fatty_months"
	case *fat >= h.Setting("fatty_from").InForce:
		return "fatty", "fatty_months"
	}
	return "lean", "lean_months"
}

// countedFrom is the day that the limit is counted from, and says why.
func countedFrom(caught, received string, out *Storage) (from time.Time, words string) {
	came, err := time.Parse(time.DateOnly, received)
	if caught == "" {
		out.Uncertain = true
		if err != nil {
			return time.Time{}, "neither catch nor delivery is stated"
		}
		return came, "the catch is not stated, so it is counted from the delivery and the fish is older"
	}
	first, ok := Earliest(caught)
	if !ok {
		out.Uncertain = true
		return time.Time{}, "the catch, " + caught + ", has no earliest day; ask the supplier"
	}
	if err == nil && came.Before(first) {
		out.Uncertain = true
		return came, "the catch, " + caught + ", is said to be after the delivery, so it is counted from the delivery"
	}
	if exact(caught) {
		return first, "counted from the catch"
	}
	out.Uncertain = true
	return first, "counted from the earliest day of the catch, " + caught
}

// Verdict says where a day stands: within, past, or unknown.
func (s Storage) Verdict(day string) string {
	switch {
	case s.Until == "":
		return "unknown"
	case day > s.Until:
		return "past"
	}
	return "within"
}

var plainDate = regexp.MustCompile(`^\d{4}-\d{2}-\d{2}$`)

func exact(edtf string) bool { return plainDate.MatchString(edtf) }

// Earliest is the first day that an EDTF date (ISO 8601-2:2019, level 1)
// allows; false where it is open towards the past or no date. A season counts
// as its year, since its months depend on the hemisphere.
func Earliest(edtf string) (time.Time, bool) {
	from, _, _ := strings.Cut(edtf, "/")
	from = strings.TrimRight(from, "?~%")
	from = strings.NewReplacer("-XX", "").Replace(from)
	parts := strings.Split(strings.ReplaceAll(from, "X", "0"), "-")
	if len(parts) == 2 && parts[1] >= "21" && parts[1] <= "24" {
		parts = parts[:1]
	}
	for len(parts) < 3 {
		parts = append(parts, "01")
	}
	day, err := time.Parse(time.DateOnly, strings.Join(parts, "-"))
	return day, err == nil
}

// addMonths counts calendar months on, to the last day of a month that is too
// short for the date. A part of a month counts 30 days to it, rounded down.
func addMonths(from time.Time, months float64) time.Time {
	whole, part := math.Modf(months)
	first := time.Date(from.Year(), from.Month(), 1, 0, 0, 0, 0, time.UTC).AddDate(0, int(whole), 0)
	last := first.AddDate(0, 1, -1).Day()
	return first.AddDate(0, 0, min(from.Day(), last)-1+int(part*30))
}
