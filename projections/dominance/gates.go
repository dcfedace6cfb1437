package dominance

import (
	"fmt"
	"strings"
)

// State is how much an order can be relied on.
type State string

// The three states of an order.
const (
	NoOrder     State = "no order"
	Provisional State = "provisional"
	Supported   State = "supported"
)

// neighbours is the gate that has to do with the order and not with how much was
// seen.
const neighbours = "neighbours"

// Gate is a condition that an order did not meet: the state that it keeps the
// order to, and what was found, in words.
type Gate struct {
	Name  string
	Keeps State
	Why   string
}

// shut are the gates that too little evidence keeps shut, those that leave no
// order first. None of them is a published standard; each names what it was
// drawn from in the reference file. That there is no order where no chain of
// encounters links the animals is an own rule: nothing compares them.
func (e Evidence) shut(p Pairs) (out []Gate) {
	m := e.Matrix
	unknown := fmt.Sprintf("%d of %d pairs that lived together were never seen to meet", len(p.Unseen), p.Lived)
	if idle := m.short(func(_, decided float64) bool { return decided == 0 }); len(idle) > 0 {
		out = append(out, Gate{"decided", NoOrder, "no decided encounter of " + strings.Join(idle, ", ")})
	}
	if p.Unknown() > assumed("unknown_none") {
		out = append(out, Gate{"unseen pairs", NoOrder, unknown})
	}
	if !m.linked() {
		out = append(out, Gate{"linked", NoOrder, "no chain of encounters links all animals"})
	}
	if share := p.Unknown(); share > assumed("unknown_provisional") && share <= assumed("unknown_none") {
		out = append(out, Gate{"unseen pairs", Provisional, unknown})
	}
	if why := m.fewEncounters(); why != "" {
		out = append(out, Gate{"encounters", Provisional, why})
	}
	return out
}

// short are the animals whose encounters are too few.
func (m Matrix) short(few func(seen, decided float64) bool) (out []string) {
	for i, id := range m.IDs {
		if few(m.meetings(i)) {
			out = append(out, id)
		}
	}
	return out
}

// fewEncounters says that there are too few: counted over the group, as the
// source of the gate has it, each encounter once; and of each animal.
func (m Matrix) fewEncounters() string {
	enough, n := assumed("enough"), float64(len(m.IDs))
	if seen := float64(m.Counts().Interactions); seen/n < enough {
		are := "encounters of %g animals are"
		if seen == 1 {
			are = "encounter of %g animals is"
		}
		return fmt.Sprintf("%g "+are+" %.1f an animal; %g are wanted", seen, n, seen/n, enough)
	}
	if few := m.short(func(seen, _ float64) bool { return seen < enough }); len(few) > 0 {
		return fmt.Sprintf("fewer than %g encounters of %s", enough, strings.Join(few, ", "))
	}
	return ""
}

func listed(matches []Match) string {
	var out []string
	for _, m := range matches {
		out = append(out, m.A+" and "+m.B)
	}
	return strings.Join(out, "; ")
}
