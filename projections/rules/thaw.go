package rules

import (
	"fmt"
	"slices"
	"time"
)

// Thaw is fish that was taken out of the freezer.
type Thaw struct {
	Removed  time.Time
	Complete *time.Time // seen to be thawed through; nil where nobody saw it yet
	How      string     // refrigerated, room or water
}

// Clock is until when thawed fish may be fed, and by which rule.
type Clock struct {
	Deadline    time.Time `json:"deadline"`
	Rule        string    `json:"rule"` // thaw_hours or thawed_hours
	By          string    `json:"by"`   // law or house
	Hours       float64   `json:"hours"`
	Provisional bool      `json:"provisional,omitempty"` // thaws in the fridge, and nobody saw it through yet
	Words       string    `json:"words"`
}

// ThawClock gives the first deadline that holds. The law counts from the
// freezer, and where fish thawed under refrigeration from when it was thawed
// through instead (9 CFR 3.105(d), from memory, to be verified); until somebody
// has seen that, it is taken to count from the freezer, which is the safe side.
// A house's own hours hold besides, and the stricter deadline governs.
func ThawClock(t Thaw, h House) Clock {
	cold := t.How == "refrigerated"
	through := t.Complete
	if through != nil && through.Before(t.Removed) {
		through = nil // nothing thaws before it is taken out
	}
	var all []Clock
	if cold && through != nil {
		all = append(all, lawClock("thawed_hours", *through))
	} else {
		all = append(all, lawClock("thaw_hours", t.Removed))
	}
	if own, set := h["thaw_hours"]; set {
		all = append(all, houseClock("thaw_hours", t.Removed, own))
	}
	if own, set := h["thawed_hours"]; set && through != nil {
		all = append(all, houseClock("thawed_hours", *through, own))
	}
	first := slices.MinFunc(all, func(a, b Clock) int { return a.Deadline.Compare(b.Deadline) }) // the law, where they agree
	if cold && through == nil {
		first.Provisional = true
		first.Words += "; not yet seen thawed through"
	}
	return first
}

func lawClock(rule string, from time.Time) Clock {
	r := fishroom[rule]
	return clock(rule, "law", from, r.Value, r.Cited())
}

func houseClock(rule string, from time.Time, hours float64) Clock {
	return clock(rule, "house", from, hours, "the house's own rule")
}

func clock(rule, by string, from time.Time, hours float64, cited string) Clock {
	since := "left the freezer"
	if rule == "thawed_hours" {
		since = "was thawed through"
	}
	return Clock{
		Deadline: from.Add(time.Duration(hours * float64(time.Hour))), Rule: rule, By: by, Hours: hours,
		Words: fmt.Sprintf("%s after it %s, by %s", amount(hours, "h"), since, cited),
	}
}
