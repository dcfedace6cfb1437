package web

import (
	"fmt"
	"slices"
	"strings"

	"haulout/projections"
	"haulout/projections/dominance"
)

// encounterPart is who yielded to whom how often, and what the order rests on.
type encounterPart struct {
	Answer   string
	Rows     []encounterRow // each is also a column
	Tall     bool           // the names of the columns stand upright
	Wide     bool           // nothing has room beside the table
	Even     string         // what nobody won
	Against  []string
	Strips   []strip
	Most     string // what the longest strip stands for
	Tick     px
	Enough   string
	Facts    []fact
	Sampling []samplingRow
	Apart    []fact
}

type encounterRow struct {
	Name  string
	Tape  int
	Cells []encounterCell
}

// encounterCell is how often the row won over the column. Heard is for those
// who don't see the cell.
type encounterCell struct{ Text, Class, Note, Heard string }

// strip is the evidence about one animal.
type strip struct {
	Name  string
	Tape  int
	W     px
	Count string
}

type samplingRow struct{ How, Encounters, Watches, Hours string }

// How many columns have names that lie down, and how many leave room beside the
// table.
const (
	lyingNames = 8
	narrowRows = 13
)

func encounterPartOf(o *projections.Order) encounterPart {
	p := encounterPart{Tall: len(o.Animals) > lyingNames, Wide: len(o.Animals) > narrowRows}
	if len(o.Animals) < 2 {
		return p
	}
	for _, a := range o.Animals {
		row := encounterRow{Name: a.Name, Tape: a.Tape}
		for _, b := range o.Animals {
			row.Cells = append(row.Cells, cellOf(o, a.Animal, b.Animal, p.Tall))
		}
		p.Rows = append(p.Rows, row)
	}
	p.Against, p.Even = againstWords(o), evenWords(o)
	p.Answer = encounterAnswer(o)
	p.strips(o)
	p.Facts, p.Apart = evidenceFacts(o), apartFacts(o)
	for _, s := range o.Evidence.Sampling {
		row := samplingRow{orElse(samplingWords[s.Method], spaced(s.Method)), count(s.Encounters), "–", "–"}
		if s.Watches > 0 {
			row.Watches, row.Hours = count(s.Watches), fmt.Sprintf("%.1f", s.Hours)
		}
		p.Sampling = append(p.Sampling, row)
	}
	return p
}

// encounterAnswer says how one-sided the encounters are.
func encounterAnswer(o *projections.Order) string {
	e := o.Evidence
	if e.Encounters == 0 {
		return "No encounter that counts was seen in this window."
	}
	text := fmt.Sprintf("%s of %s pairs were seen to meet", count(e.Pairs-e.Unseen), count(e.Pairs))
	if e.Never > 0 {
		text += fmt.Sprintf("; %s never lived here together", plural(e.Never, "pair", "pairs"))
	}
	if o.State == dominance.NoOrder {
		return text + "."
	}
	if n := len(o.Against); n > 0 {
		return text + fmt.Sprintf(". In %s the lower one wins more often.", plural(n, "pair", "pairs"))
	}
	return text + ". None goes against the order."
}

func cellOf(o *projections.Order, a, b string, tall bool) encounterCell {
	if a == b {
		return encounterCell{Text: "·", Class: "self"}
	}
	p, _ := pairMet(o, a, b)
	switch p.Seen {
	case "unseen":
		return unmetCell("unseen", "un", tall)
	case "never_together":
		return unmetCell("never together", "nev", tall)
	}
	c := encounterCell{Text: count(p.Won)}
	switch {
	case p.Won > p.Lost:
		c.Class = "win"
	case p.Won == 0:
		c.Class = "zero"
	}
	if slices.ContainsFunc(o.Against, func(x projections.Contradiction) bool { return x.Lower == a && x.Upper == b }) {
		c.Class, c.Note = "win con", "against"
		if tall {
			c.Note, c.Heard = "", "against the order"
		}
	}
	return c
}

// unmetCell says so in the cell where there is room for the words.
func unmetCell(words, class string, tall bool) encounterCell {
	if tall {
		return encounterCell{Class: class, Heard: words}
	}
	return encounterCell{Class: class, Text: words}
}

func againstWords(o *projections.Order) (out []string) {
	names := map[string]string{}
	for _, a := range o.Animals {
		names[a.Animal] = a.Name
	}
	for _, c := range o.Against {
		out = append(out, fmt.Sprintf("%s over %s, %s", names[c.Lower], names[c.Upper], record(c.Won, c.Lost)))
	}
	return out
}

// evenWords lists the encounters in which neither yielded.
func evenWords(o *projections.Order) string {
	if o.Evidence.Undecided == 0 {
		return ""
	}
	names, parts := map[string]string{}, []string{}
	for _, a := range o.Animals {
		names[a.Animal] = a.Name
	}
	for _, p := range o.Pairs {
		if p.Draws > 0 {
			parts = append(parts, fmt.Sprintf("%s and %s%s%d", names[p.A], names[p.B], nb, p.Draws))
		}
	}
	const shown = 8
	if more := len(parts) - shown; more > 1 {
		parts = append(parts[:shown], fmt.Sprintf("%d more pairs", more))
	}
	return fmt.Sprintf("Neither yielded in %s: %s. Each counts as half a win for both; the table leaves them out.", count(o.Evidence.Undecided), strings.Join(parts, ", "))
}

// stripWidth is how long the longest strip is, in the units of its drawing.
const stripWidth = 132

// strips draws how often each animal was seen to meet, beside what is enough.
func (p *encounterPart) strips(o *projections.Order) {
	enough := enoughEncounters()
	most := 2 * enough
	for _, a := range o.Animals {
		most = max(most, a.Won+a.Lost+a.Draws)
	}
	p.Tick, p.Enough = px(stripWidth)*px(enough)/px(most), count(enough)
	for _, a := range o.Animals {
		n := a.Won + a.Lost + a.Draws
		p.Strips = append(p.Strips, strip{a.Name, a.Tape, px(stripWidth) * px(n) / px(most), count(n)})
	}
}

func evidenceFacts(o *projections.Order) []fact {
	e := o.Evidence
	out := []fact{{"Pairs unseen", fmt.Sprintf("%d%sof%s%d", e.Unseen, nb, nb, e.Pairs), "that lived together"}}
	if e.Elsewhere > 0 {
		out = append(out, fact{"With others", count(e.Elsewhere), "encounters with animals that are not in the order"})
	}
	window := fact{"Window", plural(daysBetween(o.From, o.To)+1, "day", "days"), windowWords(o.From, o.To)}
	if o.Period != nil {
		window.Note += ", a period: " + o.Period.Reason
	}
	return append(out, window)
}

func apartFacts(o *projections.Order) (out []fact) {
	for _, a := range o.Evidence.Apart {
		out = append(out, fact{Name: sentence(a.Why), Value: count(a.Count)})
	}
	return out
}
