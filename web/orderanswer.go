package web

import (
	"strings"

	"haulout/projections"
	"haulout/projections/dominance"
)

// settled are the animals from the top whose place is sure, 9 in 10.
func settled(o *projections.Order) (out []string) {
	for i, a := range o.Animals {
		if a.First == nil || *a.First != i+1 || *a.Last != i+1 {
			break
		}
		out = append(out, a.Name)
	}
	return out
}

// orderAnswer says who is in charge, and no more than is sure.
func orderAnswer(o *projections.Order) (bold, more string) {
	switch {
	case len(o.Animals) < 3:
		return readable(o.Sentence, o), ""
	case o.State == dominance.NoOrder:
		return "No order yet.", " " + gateWords(o)
	case o.State == dominance.Supported:
		return leads(ranked(o), "then") + ".", " The order is supported; the bars show how far each could still be from its place."
	}
	return provisionalAnswer(o), " The order is provisional: " + o.Gates[0].Why + "."
}

// leads writes names from the top.
func leads(names []string, then string) string {
	if len(names) == 1 {
		return names[0] + " leads"
	}
	return names[0] + " leads, " + then + " " + listed(names[1:])
}

func ranked(o *projections.Order) (out []string) {
	for _, a := range o.Animals {
		out = append(out, a.Name)
	}
	return out
}

func provisionalAnswer(o *projections.Order) string {
	top := settled(o)
	if len(top) == 0 {
		return unsureLead(o) + strings.Replace(alsoSure(o, 0), "Sure too", "Sure", 1)
	}
	if rest := alsoSure(o, len(top)); rest != "" || len(top) == len(o.Animals) {
		return leads(top, "then") + "." + rest
	}
	return leads(top, "then") + ". Below that no place is sure."
}

// unsureLead names those who could be first.
func unsureLead(o *projections.Order) string {
	var could []string
	for _, a := range o.Animals {
		if a.First != nil && *a.First == 1 {
			could = append(could, a.Name)
		}
	}
	if len(could) < 2 {
		return "Who leads is not sure."
	}
	return "Who leads is not sure: " + strings.Join(could[:len(could)-1], ", ") + " or " + could[len(could)-1] + "."
}

// alsoSure names those below whose place is sure, 9 in 10.
func alsoSure(o *projections.Order, below int) string {
	var sure []string
	for i, a := range o.Animals[below:] {
		if a.First != nil && *a.First == *a.Last && *a.First == below+i+1 {
			sure = append(sure, a.Name+" "+ordinal(*a.First))
		}
	}
	if len(sure) == 0 {
		return ""
	}
	return " Sure too: " + listed(sure) + "."
}

// gateWords says what allows no order.
func gateWords(o *projections.Order) string {
	var why []string
	for _, g := range o.Gates {
		if g.Keeps == dominance.NoOrder {
			why = append(why, g.Why)
		}
	}
	if len(why) == 0 {
		return readable(o.Sentence, o)
	}
	return sentence(strings.Join(why, "; ")) + "."
}

// readable writes the first day of the window as people do.
func readable(text string, o *projections.Order) string {
	return strings.ReplaceAll(text, "since "+string(o.From), "since "+dayAs(o.From, "2"+nb+"January"+nb+"2006"))
}
