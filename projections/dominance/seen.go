package dominance

import (
	"fmt"
	"slices"
)

// Seen is an encounter with what was noted about it. The winner is the one that
// did not yield. A threat or a call that got no answer made nobody yield: it is
// Undecided, whoever gave it.
type Seen struct {
	Encounter
	Intensity string // low, medium, high, or empty where it was not noted
	Place     string // where, such as gate
	Cause     string // keeper, gate or coalition; empty where the two settled it alone
}

// Apart is an encounter that is not counted, and why.
type Apart struct {
	Seen
	Reason string
}

// notTheirOwn says why an encounter is no evidence of the two animals' standing.
var notTheirOwn = map[string]string{
	"keeper":    "a keeper brought it about",
	"gate":      "a gate brought it about",
	"coalition": "a third animal took part",
}

// Sort parts encounters into those that count, in the order given, and those
// that are kept apart with the reason: what a keeper, a gate or a coalition
// brought about, and what happened at a gate. Undecided encounters count; they
// are draws. Errors: an animal without a name, or one that meets itself; a
// cause that has no rule. That outcomes of coalitions and of keepers are left
// out follows from what an agonistic encounter of two is; the rule itself is
// common practice, no source.
func Sort(seen []Seen) (counted []Seen, apart []Apart, err error) {
	for n, s := range seen {
		if err := s.check(); err != nil {
			return nil, nil, fmt.Errorf("encounter %d: %w", n+1, err)
		}
		reason, own := notTheirOwn[s.Cause], s.Cause == ""
		switch {
		case !own && reason == "":
			return nil, nil, fmt.Errorf("encounter %d: cause %q is not known: use keeper, gate or coalition, or leave it out", n+1, s.Cause)
		case own && s.Place == "gate":
			apart = append(apart, Apart{s, "it happened at a gate"})
		case own:
			counted = append(counted, s)
		default:
			apart = append(apart, Apart{s, reason})
		}
	}
	return counted, apart, nil
}

func (e Encounter) check() error {
	switch {
	case e.Winner == "":
		return fmt.Errorf("winner: is empty: name the animal that did not yield")
	case e.Loser == "":
		return fmt.Errorf("loser: is empty: name the animal that yielded")
	case e.Winner == e.Loser:
		return fmt.Errorf("loser: %q can't meet itself: name two animals", e.Loser)
	}
	return nil
}

// Encounters leaves away what was noted besides, as FromEvents takes them.
func Encounters(counted []Seen) []Encounter {
	out := make([]Encounter, len(counted))
	for i, s := range counted {
		out[i] = s.Encounter
	}
	return out
}

// named are the animals of encounters, each once, by name.
func named(seen []Seen) (out []string) {
	for _, s := range seen {
		out = append(out, s.Winner, s.Loser)
	}
	slices.Sort(out)
	return slices.Compact(out)
}
