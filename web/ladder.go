package web

import (
	"fmt"
	"strings"

	"haulout/projections"
	"haulout/projections/dominance"
)

// ladderPart is who stands where, and how sure that is.
type ladderPart struct {
	Answer, More string
	Charts       []ladderChart
	Rungs        []rungRow
	State        stateWord
	Known        bool     // there is an order
	Why          []string // what keeps the order back, or what it passed
	Pairs        []fact   // neighbours: the record, and how sure
	Ties         []string
	Watch        []string // what to watch next
	WatchMore    int      // pairs that are not named
	Counts       []fact
}

// rungRow is a line of the ladder as a table has it.
type rungRow struct {
	Place, Name string
	Tape        int
	Range       string
	Record      string
	Score       string
	Since       string
	Mini        miniBar
}

// miniBar is a rung as small as a word.
type miniBar struct {
	X, W, Dot px
	Known     bool
}

const miniWidth = 120

// miniOf draws the places that an animal could hold among n.
func miniOf(a projections.Ranked, n int, known bool) miniBar {
	if !known || a.First == nil {
		return miniBar{W: miniWidth}
	}
	step := px(miniWidth) / px(n)
	return miniBar{X: px(*a.First-1) * step, W: px(*a.Last-*a.First+1) * step, Dot: (px(*a.Likeliest) - 0.5) * step, Known: true}
}

func rungRows(o *projections.Order) (out []rungRow) {
	known := o.State != dominance.NoOrder
	for _, a := range o.Animals {
		row := rungRow{Name: a.Name, Tape: a.Tape, Range: "not known", Record: wonLost(a), Since: shortDay(a.Since) + nb + string(a.Since[:4]), Mini: miniOf(a, len(o.Animals), known)}
		if known {
			row.Place, row.Range = ordinal(*a.Place), placesOf(a)
		}
		if known && a.Score != nil {
			row.Score = fmt.Sprintf("%.2f", *a.Score)
		}
		out = append(out, row)
	}
	return out
}

func wonLost(a projections.Ranked) string {
	text := fmt.Sprintf("%d won, %d lost", a.Won, a.Lost)
	if a.Draws > 0 {
		text += fmt.Sprintf(", %d even", a.Draws)
	}
	return strings.ReplaceAll(text, " ", nb)
}

func ladderPartOf(g *group) ladderPart {
	o := g.order
	p := ladderPart{State: stateOf(o.State), Known: o.State != dominance.NoOrder, Rungs: rungRows(o), Ties: tied(o)}
	p.Answer, p.More = orderAnswer(o)
	if len(o.Animals) > 2 {
		p.Charts = []ladderChart{ladderOf("phone", o), ladderOf("desk", o)}
	}
	p.Why, p.Pairs, p.Counts = verdictWhy(o), neighbourPairs(o), verdictCounts(o)
	const named = 6
	for i, w := range o.ToWatch {
		if i == named {
			p.WatchMore = len(o.ToWatch) - named
			break
		}
		p.Watch = append(p.Watch, g.name(w.A)+" and "+g.name(w.B)+": "+w.Why)
	}
	return p
}

// verdictWhy says which gates an order did not pass, or that it passed all.
func verdictWhy(o *projections.Order) (out []string) {
	for _, gate := range o.Gates {
		keeps := "Keeps it provisional: "
		switch {
		case gate.Keeps == dominance.NoOrder:
			keeps = "Allows no order: "
		case o.State == dominance.NoOrder:
			keeps = "Would keep it provisional: "
		}
		out = append(out, keeps+gate.Why+".")
	}
	if len(out) == 0 && o.State == dominance.Supported {
		out = append(out, fmt.Sprintf("Passed: %g encounters an animal or more, at most %s pairs unseen, and every neighbour at least %s sure.",
			dominance.Assumed("enough").Value, inWords(dominance.Assumed("unknown_provisional").Value), inTen(dominance.Assumed("sure").Value)))
	}
	return out
}

// inWords writes a share of pairs.
func inWords(share float64) string {
	if share == 0.25 {
		return "a quarter of"
	}
	return fmt.Sprintf("%g in 100", 100*share)
}

func verdictCounts(o *projections.Order) []fact {
	e := o.Evidence
	out := []fact{{Name: "Encounters that count", Value: count(e.Encounters)}, {Name: "An animal", Value: fmt.Sprintf("%.1f", e.PerAnimal)}}
	if e.Pairs > 0 {
		out = append(out, fact{Name: "Pairs never seen to meet", Value: fmt.Sprintf("%d%sof%s%d", e.Unseen, nb, nb, e.Pairs)})
	}
	if e.Never > 0 {
		out = append(out, fact{Name: "Pairs never together", Value: count(e.Never)})
	}
	return out
}

// pairsShown is how many steps of the ladder are all named; of more, those that
// are sure are counted together.
const pairsShown = 7

// neighbourPairs are the steps of the ladder: the record of the two, and how
// sure that record makes it that the upper wins more often.
func neighbourPairs(o *projections.Order) (out []fact) {
	if o.State == dominance.NoOrder || len(o.Animals) < 3 {
		return nil
	}
	sure := 0
	for i, a := range o.Animals[1:] {
		above := o.Animals[i]
		p, _ := pairMet(o, above.Animal, a.Animal)
		row := fact{Name: above.Name + " over " + a.Name, Value: inTen(p.Direction), Note: record(p.Won, p.Lost)}
		switch {
		case p.Seen != "met":
			row.Value, row.Note = seenWords[p.Seen], ""
		case p.Direction > 0.99 && len(o.Animals) > pairsShown+1:
			sure++
			continue
		}
		out = append(out, row)
	}
	if sure > 0 {
		name := plural(sure, "other pair", "other pairs")
		if len(out) == 0 {
			name = "Each of " + plural(sure, "pair", "pairs")
		}
		out = append(out, fact{Name: name + " of neighbours", Value: inTen(1)})
	}
	return out
}

// seenWords say how two met that did not.
var seenWords = map[string]string{"unseen": "never seen to meet", "never_together": "never together"}
