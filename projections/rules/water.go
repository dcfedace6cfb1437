package rules

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
)

//go:embed water-2026-11.json
var waterFile []byte

var waterReference = func() (out struct {
	Rules    map[string]Rule     `json:"rules"`
	Sea      Rule                `json:"natural_sea"`
	NoFigure map[string]string   `json:"no_figure"`
	Units    map[string][]string `json:"units"`
}) {
	if err := json.Unmarshal(waterFile, &out); err != nil {
		panic("rules: the reference file of water: " + err.Error())
	}
	for name, r := range out.Rules {
		r.Name = name
		out.Rules[name] = r
	}
	return out
}()

var water = waterReference.Rules

// WaterNames lists the rules of water, sorted. A house may besides set a limit
// of its own for anything that is measured, by names such as ph_least, ph_most
// or free_chlorine_most, in the first of its units.
func WaterNames() []string { return slices.Sorted(maps.Keys(water)) }

// WaterUnits are the units that go with what was measured, the one that limits
// are held in first; none where it is not measured in water. Turbidity is a
// number of NTU, which has no code of its own here.
func WaterUnits(what string) []string { return slices.Clone(waterReference.Units[what]) }

// Water is what a rule asks of an enclosure's water.
type Water struct {
	Salt      string   // where its salt comes from: sea, made, fresh; "" where nobody said
	NeedsSalt string   // whether its animals are of a kind that needs salt water, by the veterinarian: yes, no, or ""
	Treated   string   // whether chemicals are added to it: yes, no, or ""
	Added     []string // which, as readings name them
}

// Standing is where a reading, a series or an enclosure stands by a rule.
type Standing string

// The standings. A single count that exceeds a limit calls for more samples, and
// does not fail yet; what is undecided is not passed.
const (
	Passes    Standing = "passes"
	Exceeds   Standing = "exceeds"
	Fails     Standing = "fails"
	Undecided Standing = "undecided"
	NoLimit   Standing = "no limit"
)

// Verdict is a standing with its grounds.
type Verdict struct {
	What      string   `json:"what"`
	Standing  Standing `json:"standing"`
	Rule      string   `json:"rule,omitempty"`
	By        string   `json:"by,omitempty"` // law or house
	Cited     string   `json:"cited"`
	Effective string   `json:"effective,omitempty"`
	Verified  bool     `json:"verified"`
	Words     string   `json:"words"`
}

// Judge holds one reading against the limits of what was measured. A bound is
// compared as a bound, and is undecided where it leaves the limit inside. Errors:
// a quantity that is not measured in water, a unit that does not go with it, a
// value that can't be.
func Judge(r Reading, w Water, h House) (Verdict, error) {
	if err := r.check(); err != nil {
		return Verdict{}, err
	}
	all := limits(r.What, w, h)
	if len(all) == 0 {
		cited := waterReference.NoFigure[r.What]
		if cited == "" {
			cited = "it holds for kinds that need salt water, and these do not"
		}
		return Verdict{What: r.What, Standing: NoLimit, Cited: cited, Words: fmt.Sprintf("%s: %s; no limit is in force: %s. The veterinarian can set one for the house", r.name(), r.words(), cited)}, nil
	}
	worst := all[0].judge(r)
	for _, l := range all[1:] {
		if v := l.judge(r); graver(v.Standing) > graver(worst.Standing) {
			worst = v
		} else if v.Standing == Passes && worst.Standing == Passes {
			worst.Words += "; " + v.Words
		}
	}
	return worst, nil
}

func graver(s Standing) int {
	return slices.Index([]Standing{NoLimit, Passes, Undecided, Exceeds, Fails}, s)
}

// limit is one side of what is allowed.
type limit struct {
	Setting
	least bool // it is the least that is allowed
	doubt bool // it may not hold for these animals
}

// limits are those in force for what is measured, the house's own among them.
func limits(what string, w Water, h House) (out []limit) {
	of := what
	if what == "total_coliform" {
		of = "coliform" // as the law speaks of them
	}
	for _, side := range []string{"_least", "_most"} {
		l := limit{least: side == "_least"}
		own, set := h[of+side]
		rule, known := water[of+side]
		switch {
		case known && (what != "salinity" || w.NeedsSalt != "no"):
			l.Setting = h.Setting(rule.Name)
			l.doubt = what == "salinity" && w.NeedsSalt == "" && l.By == "law"
		case set:
			l.Setting = Setting{Rule: Rule{Name: of + side, Kind: "house", Value: own, Unit: WaterUnits(what)[0], Source: "the house's own rule", Verified: true}, Own: &own, InForce: own, By: "house"}
			l.Words = amount(own, l.Unit) + ", the house's own rule"
		default:
			continue
		}
		out = append(out, l)
	}
	return out
}

func (l limit) judge(r Reading) Verdict {
	out := Verdict{What: r.What, Rule: l.Name, By: l.By, Cited: l.Cited(), Effective: l.Effective, Verified: l.Verified}
	holds, side := r.span().atMost(l.InForce), "at most"
	if l.least {
		holds, side = r.span().atLeast(l.InForce), "at least"
	}
	switch {
	case holds == perhaps:
		out.Standing = Undecided
		out.Words = fmt.Sprintf("%s: %s can't say whether it keeps to %s %s; test again in a way that can", r.name(), r.words(), side, l.Words)
	case holds == yes:
		out.Standing = Passes
		out.Words = fmt.Sprintf("%s: %s keeps to %s %s", r.name(), r.words(), side, l.Words)
	case l.doubt:
		out.Standing = Undecided
		out.Words = fmt.Sprintf("%s: %s is outside %s %s, which holds for kinds that need salt water; the veterinarian says whether these do", r.name(), r.words(), side, l.Words)
	default:
		out.Standing = Fails
		out.Words = fmt.Sprintf("%s: %s is outside %s %s", r.name(), r.words(), side, l.Words)
	}
	if r.What == "total_coliform" {
		out.repeat()
	}
	if r.Unit == "[CFU]/dL" && l.Unit == "{MPN}/dL" {
		out.Words += ". It was counted as colonies; the rule speaks of the most probable number"
	}
	return out
}

// repeat says what follows a single count of coliforms that does not pass.
func (v *Verdict) repeat() {
	more := fmt.Sprintf("%g more samples, %g hours apart, and tell the veterinarian", water["coliform_repeats"].Value, water["coliform_repeat_hours"].Value)
	switch v.Standing {
	case Fails:
		v.Standing, v.Words = Exceeds, v.Words+"; take "+more
	case Undecided:
		v.Words += "; take it as exceeded until then: " + more
	}
}
