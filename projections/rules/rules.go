// Package rules is what a house is held to: thaw clocks, storage limits and the
// vitamins that go with frozen fish; readings of water, counts of coliforms with
// their repeats, and which tests are due; the space that the animals of an
// enclosure must have; and when a refusal of food goes to the veterinarian. It
// is pure: moments, masses and readings in, deadlines and verdicts out. Every
// figure lies in a dated reference file with its source; one that was written
// down from memory says so.
//
// The figures are aids to planning. Local law comes first, and the veterinarian
// and the nutritionist decide.
package rules

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

//go:embed fishroom-2026-11.json
var fishroomFile []byte

// Rule is one figure of the reference file.
type Rule struct {
	Name      string  `json:"name"`
	Kind      string  `json:"kind"` // law, advice or practice
	Says      string  `json:"says"`
	Value     float64 `json:"value"`
	Least     float64 `json:"least"` // of what is published or sensible
	Most      float64 `json:"most"`
	Unit      string  `json:"unit"`               // a UCUM code
	Stricter  string  `json:"stricter,omitempty"` // the direction that is stricter: less or more; "" where neither is
	Source    string  `json:"source"`
	Verified  bool    `json:"verified"`  // false where it is from memory, at second hand or without a source
	Effective string  `json:"effective"` // the day from which the program works by it
	Others    []Other `json:"others,omitempty"`
}

// Other is what another source says instead.
type Other struct {
	Value    string `json:"value"`
	Source   string `json:"source"`
	Verified bool   `json:"verified"`
}

var fishroom = func() map[string]Rule {
	out := map[string]Rule{}
	if err := json.Unmarshal(fishroomFile, &out); err != nil {
		panic("rules: the reference file of the fish room: " + err.Error())
	}
	for name, r := range out {
		r.Name = name
		out[name] = r
	}
	return out
}()

// Names lists the rules, sorted.
func Names() []string { return slices.Sorted(maps.Keys(fishroom)) }

// House is what a house set for itself: rule by name, in the rule's unit.
type House map[string]float64

// Setting is a rule as it is in force in a house.
type Setting struct {
	Rule
	Own     *float64 `json:"own,omitempty"` // the house's own value
	InForce float64  `json:"in_force"`      // the value that governs, in the rule's unit
	By      string   `json:"by"`            // law, default or house
	Words   string   `json:"words"`
}

// Setting joins the reference and the house. Of a law the stricter value
// governs, so a house can tighten it and never loosen it; any other rule is the
// house's to set.
func (h House) Setting(name string) Setting {
	r, known := fishroom[name]
	if !known {
		r, known = water[name]
	}
	if !known {
		panic("rules: no rule is named " + name)
	}
	out := Setting{Rule: r, InForce: r.Value, By: "default"}
	if r.Kind == "law" {
		out.By = "law"
	}
	if own, set := h[name]; set {
		out.Own = &own
		if r.Kind != "law" || r.stricter(own) {
			out.InForce, out.By = own, "house"
		}
	}
	out.Words = out.words()
	return out
}

// stricter says that a value leaves less room than the rule's own.
func (r Rule) stricter(own float64) bool {
	return r.Stricter == "less" && own < r.Value || r.Stricter == "more" && own > r.Value
}

func (s Setting) words() string {
	said := amount(s.InForce, s.Unit)
	switch {
	case s.By == "house" && s.Kind == "law":
		return fmt.Sprintf("%s, the house's own rule, stricter than the %s of %s", said, amount(s.Value, s.Unit), s.Cited())
	case s.By == "house" && (s.InForce < s.Least || s.InForce > s.Most):
		return fmt.Sprintf("%s, the house's own value, outside the %s to %s that %s gives", said, number(s.Least), amount(s.Most, s.Unit), s.Cited())
	case s.By == "house":
		return fmt.Sprintf("%s, the house's own value", said)
	case s.Own != nil && *s.Own != s.Value && !s.stricter(*s.Own):
		return fmt.Sprintf("%s by %s; the house's %s is looser and does not count", said, s.Cited(), amount(*s.Own, s.Unit))
	}
	return said + " by " + s.Cited()
}

// Cited is the source, with a mark where the figure is still to be verified.
func (r Rule) Cited() string {
	if r.Verified {
		return r.Source
	}
	return r.Source + " (to be verified)"
}

var unitWords = map[string]string{"Cel": "°C", "[iU]/kg": "IU/kg", "mo": "months", "d": "days", "g/100g": "g in 100 g",
	"{MPN}/dL": "MPN in 100 mL", "[CFU]/dL": "CFU in 100 mL", "[ppth]": "g in 1000 g", "[pH]": "", "1": "", "m2": "m²", "{samples}": "samples"}

// amount writes a value with its unit, where that has a word, and a no-break
// space between.
func amount(v float64, unit string) string {
	if words, ok := unitWords[unit]; ok {
		unit = words
	}
	if unit == "" {
		return number(v)
	}
	if v == 1 {
		unit = singular(unit)
	}
	return number(v) + "\u00a0" + unit
}

// singular is a unit of which there is one.
func singular(unit string) string {
	switch unit {
	case "days", "months", "samples":
		return unit[:len(unit)-1]
	}
	return unit
}

func number(v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', -1, 64), "-", "\u2212", 1)
}
