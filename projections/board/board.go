// Package board says what needs a person, from what is known of an animal or a
// facility at a moment. It is pure: each rule is one small function, facts and
// limits in, a call or none out. Limits stand in a dated reference file; a house
// may set its own, and a law's can only be tightened.
//
// A call names what was seen, the rule and one next step. It never diagnoses:
// health is the veterinarian's, and local law comes first.
package board

import (
	"cmp"
	_ "embed"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Harm is how much waiting may hurt.
type Harm int

// The harms, the gravest first.
const (
	Now   Harm = 1 // somebody may be hurt
	Today Harm = 2 // before the day is over
	Look  Harm = 3 // when there is time
)

// Call is something that needs a person.
type Call struct {
	Rule     string
	Subject  string // the id of the animal, enclosure, lot or facility, with what tells it apart
	Place    string // the id of the enclosure, where it is about one
	Name     string // what people call it
	Since    time.Time
	Harm     Harm
	What     string
	Evidence string
	Behind   []string // the entries behind it
	Next     string   // one next step
	Cited    string   // the rule in words, with its source
}

// ID names the call as long as its cause lasts: one rule and one subject.
func (c Call) ID() string { return c.Rule + "." + c.Subject }

//go:embed board-2026-11.json
var boardFile []byte

// Rule is a limit of the reference file.
type Rule struct {
	Name     string  `json:"name"`
	Says     string  `json:"says"`
	Value    float64 `json:"value"`
	Least    float64 `json:"least"`
	Most     float64 `json:"most"`
	Unit     string  `json:"unit"` // UCUM
	Kind     string  `json:"kind"` // law or practice
	Source   string  `json:"source"`
	Verified bool    `json:"verified"`
}

var reference = func() map[string]Rule {
	out := map[string]Rule{}
	if err := json.Unmarshal(boardFile, &out); err != nil {
		panic("board: the reference file: " + err.Error())
	}
	for name, r := range out {
		r.Name = name
		out[name] = r
	}
	return out
}()

// Rules lists the limits by name.
func Rules() []Rule {
	out := []Rule{}
	for _, r := range reference {
		out = append(out, r)
	}
	slices.SortFunc(out, func(a, b Rule) int { return strings.Compare(a.Name, b.Name) })
	return out
}

// House is what a house set for itself: limit by name, in the limit's unit.
type House map[string]float64

// limit is the value in force and the rule in words. Of a law a house can only
// ask for more: all of them here are shorter or smaller when stricter.
func (h House) limit(name string) (value float64, cited string) {
	r, known := reference[name]
	if !known {
		panic("board: no limit is named " + name)
	}
	value = r.Value
	own, set := h[name]
	if set && (r.Kind != "law" || own < r.Value) {
		value = own
		return value, fmt.Sprintf("%s: %g %s, the house's own", sentence(r.Says), value, word(value, r.Unit))
	}
	mark := ""
	if r.Kind == "law" && !r.Verified {
		mark = ", to be verified"
	}
	return value, fmt.Sprintf("%s: %g %s (%s%s)", sentence(r.Says), value, word(value, r.Unit), r.Source, mark)
}

// Value is the limit in force.
func (h House) Value(name string) float64 {
	value, _ := h.limit(name)
	return value
}

func word(value float64, unit string) string {
	name, known := map[string]string{"d": "day", "h": "hour"}[unit]
	switch {
	case !known:
		return unit
	case value == 1:
		return name
	}
	return name + "s"
}

func sentence(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// Ordered puts calls by harm, the older first, and keeps one of each id: the
// gravest.
func Ordered(calls []Call) []Call {
	out := slices.Clone(calls)
	slices.SortStableFunc(out, func(a, b Call) int {
		return cmp.Or(cmp.Compare(a.Harm, b.Harm), a.Since.Compare(b.Since), cmp.Compare(a.Name, b.Name), cmp.Compare(a.Rule, b.Rule))
	})
	seen := map[string]bool{}
	return slices.DeleteFunc(out, func(c Call) bool {
		again := seen[c.ID()]
		seen[c.ID()] = true
		return again
	})
}
