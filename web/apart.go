package web

import (
	"fmt"
	"strings"

	"haulout/events"
	"haulout/projections"
)

// heldPair is what holds about two animals, and where they live.
type heldPair struct {
	Names   string
	Where   string
	Pool    string // where both live
	Verdict string
	Since   string
	By      string
	Why     string
	Urgent  bool // to be kept apart, and living together
	Watched bool // together only while somebody watches, and living together
}

// heldPart is what was decided about who may live with whom.
type heldPart struct {
	Answer  string
	Rows    []heldPair
	Undealt string // pairs that live together and of which nothing was decided
	Here    []option
	Others  []option // housed elsewhere at the facility
	Form    factForm
}

// factForm is what a form of the page needs to make a fact.
type factForm struct {
	Allowed    bool
	Kind, Body string
	By         string
}

// home says where an animal lives.
func homeOf(housed []projections.Housed, animal string) string {
	for _, h := range housed {
		if h.Animal.ID == animal {
			return h.Enclosure
		}
	}
	return ""
}

// heldOf is a judged pair in words. Pools are the names of enclosures.
func heldOf(j projections.JudgedPair, housed []projections.Housed, called func(string) string, pools map[string]string, since string) heldPair {
	a, b := homeOf(housed, j.A), homeOf(housed, j.B)
	out := heldPair{
		Names: called(j.A) + " and " + called(j.B), Verdict: verdictWords[j.Verdict], Since: since, By: j.By, Why: trimSentence(j.Reason),
		Where: orElse(pools[a], "no enclosure on record") + " and " + orElse(pools[b], "no enclosure on record"),
	}
	if a != "" && a == b {
		out.Pool = orElse(pools[a], a)
		out.Where = "both in " + out.Pool
		out.Urgent, out.Watched = j.Verdict == "apart", j.Verdict == "watched"
	}
	return out
}

// concerns says that a judged pair has one of its animals in this enclosure.
func (g *group) concerns(j projections.JudgedPair) bool { return g.livesHere(j.A) || g.livesHere(j.B) }

func (g *group) held(j projections.JudgedPair) heldPair {
	return heldOf(j, g.housed, g.name, g.pools, onDate(j.Since, g.zone))
}

// loud are the pairs that are to be kept apart and live here together.
func (g *group) loud() (out []heldPair) {
	for _, j := range g.judged {
		if h := g.held(j); g.concerns(j) && (h.Urgent || h.Watched) {
			out = append(out, h)
		}
	}
	return out
}

func heldPartOf(g *group, visitor Visitor) heldPart {
	p := heldPart{Form: factForm{Allowed: visitor.Records && g.asOf.day == "", Kind: events.TypeOf("company.judged"), By: visitor.Name}}
	decided, apart := map[[2]string]bool{}, []string{}
	for _, j := range g.judged {
		decided[[2]string{j.A, j.B}] = true
		if !g.concerns(j) {
			continue
		}
		h := g.held(j)
		p.Rows = append(p.Rows, h)
		if j.Verdict == "apart" {
			apart = append(apart, h.Names)
		}
	}
	var here []string
	for _, h := range g.housed {
		one := option{h.Animal.ID, g.name(h.Animal.ID)}
		if h.Enclosure != g.ask.Enclosure {
			p.Others = append(p.Others, one)
			continue
		}
		p.Here, here = append(p.Here, one), append(here, h.Animal.ID)
	}
	p.Answer, p.Undealt = heldAnswer(apart, len(p.Rows)), undealt(here, decided)
	return p
}

func heldAnswer(apart []string, rows int) string {
	switch {
	case len(apart) > 0:
		return "To be kept apart: " + strings.Join(apart, "; ") + "."
	case rows > 0:
		return "No pair is to be kept apart."
	}
	return "Nothing was decided about the animals that live here."
}

// undealt counts the pairs that live together without a decision.
func undealt(here []string, decided map[[2]string]bool) string {
	open, all := 0, 0
	for i, a := range here {
		for _, b := range here[i+1:] {
			all++
			if !decided[[2]string{min(a, b), max(a, b)}] {
				open++
			}
		}
	}
	if open == 0 || all == 0 {
		return ""
	}
	return fmt.Sprintf("Of %s that live here together nothing was decided about %d. Not decided is not the same as free to live together.", plural(all, "pair", "pairs"), open)
}
