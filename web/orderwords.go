package web

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"

	"haulout/projections"
	"haulout/projections/dominance"
)

// stateWord is how sure an order is, as a shape and a word.
type stateWord struct{ Shape, Text string }

func stateOf(state dominance.State) stateWord {
	switch state {
	case dominance.Supported:
		return stateWord{"done", "Supported"}
	case dominance.Provisional:
		return stateWord{"soon", "Provisional"}
	}
	return stateWord{"none", "No order yet"}
}

// ordinal writes a place: 1st, 2nd, 3rd, 4th.
func ordinal(n int) string {
	ending := "th"
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			ending = "st"
		case 2:
			ending = "nd"
		case 3:
			ending = "rd"
		}
	}
	return strconv.Itoa(n) + ending
}

// placesOf writes where an animal could stand, 9 in 10.
func placesOf(a projections.Ranked) string {
	switch {
	case a.First == nil || a.Last == nil:
		return "any place"
	case *a.First == *a.Last:
		return ordinal(*a.First)
	}
	return ordinal(*a.First) + " to " + ordinal(*a.Last)
}

// windowWords writes two days and what lies between.
func windowWords(from, to projections.Day) string {
	layout := "2" + nb + "January"
	if from[:4] != to[:4] {
		layout += nb + "2006"
	}
	return dayAs(from, layout) + " to " + dayAs(to, "2"+nb+"January"+nb+"2006")
}

// inTen writes a chance, never greater than it is.
func inTen(chance float64) string {
	hundredths := int(math.Floor(100*chance + 1e-9))
	switch {
	case chance > 0.99:
		return "over 99" + nb + "in" + nb + "100"
	case hundredths >= 95:
		return fmt.Sprintf("%d%sin%s100", hundredths, nb, nb)
	case hundredths < 10:
		return "under 1" + nb + "in" + nb + "10"
	}
	return fmt.Sprintf("%d%sin%s10", hundredths/10, nb, nb)
}

// record writes how two met: wins of the first, then of the second.
func record(won, lost int) string { return fmt.Sprintf("%d%sto%s%d", won, nb, nb, lost) }

var bareChance = regexp.MustCompile(`(,|with) p = ([0-9]+(?:\.[0-9]+)?(?:e-[0-9]+)?)`)

// byChance writes a p as how often chance alone would do the same.
func byChance(text string) string {
	return bareChance.ReplaceAllStringFunc(text, func(found string) string {
		part := bareChance.FindStringSubmatch(found)
		p, err := strconv.ParseFloat(part[2], 64)
		if err != nil {
			return found
		}
		if part[1] == "," {
			return ", as straight by chance alone " + howOften(p)
		}
		return howOften(p)
	})
}

func howOften(p float64) string {
	switch {
	case p < 0.001:
		return "less than once in 1000 times"
	case p < 0.0995:
		return fmt.Sprintf("%s in 1000", plural(int(math.Round(1000*p)), "time", "times"))
	}
	return fmt.Sprintf("%s in 100", plural(int(math.Round(100*p)), "time", "times"))
}

// tied says which neighbours have the same score: their names alone put one
// above the other.
func tied(o *projections.Order) (out []string) {
	if o.State == dominance.NoOrder {
		return nil
	}
	for i := 0; i < len(o.Animals); {
		j := i + 1
		for j < len(o.Animals) && sameScore(o.Animals[i], o.Animals[j]) {
			j++
		}
		if j-i > 1 {
			out = append(out, listed(ranked(o)[i:j])+" have the same score; their names alone put one before the other.")
		}
		i = j
	}
	return out
}

// hair is what sums of fractions leave between equal scores.
const hair = 1e-9

func sameScore(a, b projections.Ranked) bool {
	return a.Score != nil && b.Score != nil && math.Abs(*a.Score-*b.Score) < hair
}

// methodWords name the ways to put animals in order.
var methodWords = map[string]string{
	"david": "David’s score, Dij", "david_pij": "David’s score, Pij", "abilities": "Abilities", "ratings": "Ratings", "isi": "Fewest contradictions",
}

// methodNotes say what they do.
var methodNotes = map[string]string{
	"david":     "Wins weighed by how strong the beaten are; few encounters count less. Normalised David’s score on Dij (de Vries, Stevens & Vervaecke 2006).",
	"david_pij": "Wins weighed by how strong the beaten are; one encounter of a pair counts as much as twenty. Normalised David’s score on Pij (David 1987).",
	"abilities": "The abilities under which what was seen is the likeliest (Bradley & Terry 1952), held together by a few imagined encounters.",
	"ratings":   "Points that go from the loser to the winner at each encounter, as they stand at the end of the window. Later encounters count more.",
	"isi":       "The order with the fewest pairs against it, and these as near to each other as can be (de Vries 1998).",
}

// samplingWords name how encounters came to be noted (Altmann 1974).
var samplingWords = map[string]string{
	"ad_libitum": "whenever somebody saw one", "all_occurrences": "watches in which all were noted", "focal": "watches of one animal", "scan": "scans",
}

// verdictWords are what was decided about two animals.
var verdictWords = map[string]string{"apart": "kept apart", "watched": "together only while watched", "together": "free to live together"}

// clip shortens a name that has no room in a drawing; the table has all of it.
func clip(name string, most int) string {
	letters := []rune(name)
	if len(letters) <= most {
		return name
	}
	return string(letters[:most-1]) + "…"
}

// nameAll gives each animal a name that no other of the list has.
func nameAll(list []projections.Animal) map[string]string {
	times, out := map[string]int{}, map[string]string{}
	for _, a := range list {
		times[a.Name]++
	}
	for _, a := range list {
		out[a.ID] = a.Name
		if times[a.Name] > 1 {
			out[a.ID] += " (" + a.ID + ")"
		}
	}
	return out
}

// pairMet finds two animals among the pairs of an order; a is the one whose
// wins come first.
func pairMet(o *projections.Order, a, b string) (projections.PairMet, bool) {
	i := slices.IndexFunc(o.Pairs, func(p projections.PairMet) bool { return p.A == a && p.B == b || p.A == b && p.B == a })
	if i < 0 {
		return projections.PairMet{}, false
	}
	p := o.Pairs[i]
	if p.A != a {
		p.A, p.B, p.Won, p.Lost = p.B, p.A, p.Lost, p.Won
		p.Direction, p.Low, p.High = 1-p.Direction, 1-p.High, 1-p.Low
	}
	return p, true
}
