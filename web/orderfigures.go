package web

import (
	"fmt"

	"haulout/projections"
	"haulout/projections/dominance"
)

// figurePart is the figures of the whole group, and what all of it rests on.
type figurePart struct {
	Straight string
	Rows     []figureRow
	Notes    []string
	Reasons  []reasonRow
}

// figureRow is a figure, and what it says.
type figureRow struct{ Name, Value, Says string }

func figurePartOf(o *projections.Order) figurePart {
	f := o.Figures
	p := figurePart{Straight: byChance(f.Straightness)}
	share := func(name string, v *float64, says string) {
		row := figureRow{Name: name, Value: "–", Says: says}
		if v != nil {
			row.Value = fmt.Sprintf("%.2f", *v)
		}
		p.Rows = append(p.Rows, row)
	}
	number := func(name, value string, known bool, says string) {
		if !known {
			value = "–"
		}
		p.Rows = append(p.Rows, figureRow{name, value, says})
	}
	share("Linearity, Landau’s h′", f.LandauPrime, "0 to 1; 1 is a straight line. Unseen pairs filled at random")
	share("Linearity, Landau’s h", f.Landau, "the same with unseen pairs as even")
	share("Linearity, Kendall’s K", f.Kendall, "0 to 1; circles among three animals lower it")
	share("Triangles without a circle", f.Triangles, "0 is as many circles as by chance, 1 is none")
	share("Steepness, Dij", f.Steepness, "0 to 1; how much each step of the ladder counts. Falls with few encounters")
	share("Consistency of direction", f.Consistency, "0 to 1; 1 where each pair always goes the same way")
	share("Stability", f.Stability, "1 where no place ever changed; weighted towards the top")
	number("Pairs against the best order", countOf(f.Inconsistent), f.Inconsistent != nil, "the fewest that any order leaves")
	number("Steps that these skip", countOf(f.Strength), f.Strength != nil, "in all")
	number("Orders as good as the best", goodOrders(f.EquallyGood), f.EquallyGood != nil, "one is a ladder that nothing else fits as well")
	for _, note := range f.Notes {
		p.Notes = append(p.Notes, sentence(note)+".")
	}
	for _, c := range o.Reasons {
		p.Reasons = append(p.Reasons, assumedRow(c))
	}
	return p
}

func countOf(n *int) string {
	if n == nil {
		return ""
	}
	return count(*n)
}

func goodOrders(n *uint64) string {
	if n == nil {
		return ""
	}
	return count(*n)
}

// curlyUnits are the units of what is counted, as people write them.
var curlyUnits = map[string]string{
	"{encounters}": "encounters", "{draws}": "draws", "{points}": "points", "{animals}": "animals", "d": "days", "h": "animal-hours", "1": "",
}

func assumedRow(c dominance.Constant) reasonRow {
	unit, known := curlyUnits[c.Unit]
	if !known {
		unit = c.Unit
	}
	row := reasonRow{Name: sentence(c.Name), Value: plainFigure(c.Value), Source: c.Source, Verified: c.Verified}
	if unit != "" {
		row.Value += nb + unit
	}
	if c.Low != c.High {
		row.Range = plainFigure(c.Low) + " to " + plainFigure(c.High)
	}
	return row
}
