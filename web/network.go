package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"haulout/projections"
)

// companyPart is who is seen beside whom.
type companyPart struct {
	Answer string
	None   string // why there is nothing to show
	Charts []networkChart
	Rows   []companyRow
	Note   string
	Scans  string
	Most   []companyRow // seen together most
	Left   bool         // some who were seen have left
}

type companyRow struct {
	Names  string
	Ratio  string
	Range  string
	Both   string // together of the looks that saw one of them
	Counts string
	Half   string
	Known  bool
}

func companyPartOf(g *group) companyPart {
	c := g.company
	p := companyPart{Note: c.Note, None: c.NotEnough}
	if c.NotEnough != "" || len(c.Animals) < 2 {
		if p.None != "" {
			p.None = fmt.Sprintf("Nobody scanned %s in this window, so who keeps company with whom can’t be told. A scan is one look at who lies beside whom.", c.Name)
		}
		return p
	}
	for _, pair := range c.Pairs {
		p.Rows = append(p.Rows, companyRowOf(pair, g))
	}
	p.Answer = companyAnswer(g)
	p.Charts = []networkChart{networkOf("phone", g), networkOf("desk", g)}
	p.Scans, p.Most = plural(c.Scans, "scan", "scans")+" on "+plural(c.Days, "day", "days"), mostTogether(g)
	for _, a := range c.Animals {
		p.Left = p.Left || !a.Here
	}
	return p
}

// mostShown is how many pairs stand beside the drawing.
const mostShown = 8

func mostTogether(g *group) (out []companyRow) {
	known := slices.DeleteFunc(slices.Clone(g.company.Pairs), func(p projections.PairScanned) bool { return p.Ratio == nil || *p.Ratio == 0 })
	slices.SortStableFunc(known, func(a, b projections.PairScanned) int { return cmp.Compare(*b.Ratio, *a.Ratio) })
	for _, p := range known[:min(len(known), mostShown)] {
		out = append(out, companyRowOf(p, g))
	}
	return out
}

func companyRowOf(pair projections.PairScanned, g *group) companyRow {
	row := companyRow{Names: g.name(pair.A) + " and " + g.name(pair.B), Known: pair.Ratio != nil}
	if pair.Ratio == nil {
		return row
	}
	row.Ratio = fmt.Sprintf("%.2f", *pair.Ratio)
	if pair.Low != nil {
		row.Range = fmt.Sprintf("%.2f to %.2f", *pair.Low, *pair.High)
	}
	looks := pair.Together + pair.BothApart + pair.OnlyA + pair.OnlyB
	row.Both = fmt.Sprintf("%d%sof%s%d", pair.Together, nb, nb, looks)
	row.Counts = fmt.Sprintf("both apart %d; one not seen %d", pair.BothApart, pair.OnlyA+pair.OnlyB)
	if pair.HalfWeight != nil {
		row.Half = fmt.Sprintf("%.2f", *pair.HalfWeight)
	}
	return row
}

// companyAnswer names who is seen together most, and who never.
func companyAnswer(g *group) string {
	var most *projections.PairScanned
	var never []string
	for i := range g.company.Pairs {
		pair := &g.company.Pairs[i]
		switch {
		case pair.Ratio == nil:
		case *pair.Ratio == 0:
			never = append(never, g.name(pair.A)+" and "+g.name(pair.B))
		case most == nil || *pair.Ratio > *most.Ratio:
			most = pair
		}
	}
	if most == nil {
		return "No two were seen together in any scan."
	}
	text := fmt.Sprintf("%s and %s were seen together most: in %.2f of the looks that saw either", g.name(most.A), g.name(most.B), *most.Ratio)
	if most.Low != nil {
		text += fmt.Sprintf(" (%.2f to %.2f, 9 in 10)", *most.Low, *most.High)
	}
	if len(never) > 0 && len(never) < 4 {
		return text + ". Never seen together: " + strings.Join(never, "; ") + "."
	}
	if len(never) > 0 {
		return text + ". " + sentence(plural(len(never), "pair was", "pairs were")) + " never seen together."
	}
	return text + "."
}
