package web

import (
	"slices"
	"time"

	"haulout/projections"
)

// waterTable is every test of the window, the newest first.
type waterTable struct {
	Columns []string
	Rows    []waterTestRow
}

type waterTestRow struct {
	When  string
	Cells []waterCell
}

// waterTableOf puts the readings of one entry into one row.
func waterTableOf(a *projections.WaterAnswer, zone *time.Location) (out waterTable) {
	type test struct {
		at    time.Time
		cells []waterCell
	}
	tests := map[string]*test{}
	for i, h := range a.History {
		out.Columns = append(out.Columns, waterColumn(h))
		for _, v := range h.Values {
			one := tests[v.Entry]
			if one == nil {
				one = &test{v.Time, make([]waterCell, len(a.History))}
				tests[v.Entry] = one
			}
			cell := &one.cells[i]
			if cell.Text != "" {
				cell.Text += ", "
			}
			cell.Text += waterResult(v.Value, v.Bound)
			if v.Value.Unit != h.Unit {
				cell.Text += nb + waterUnit(v.Value.Unit)
			}
			if waterMissed(v) {
				cell.Shape = "out"
			}
		}
	}
	var list []*test
	for _, one := range tests {
		list = append(list, one)
	}
	slices.SortFunc(list, func(a, b *test) int { return b.at.Compare(a.at) })
	for _, one := range list {
		out.Rows = append(out.Rows, waterTestRow{one.at.In(zone).Format("2" + nb + "Jan" + nb + "2006" + nb + "15:04"), one.cells})
	}
	return out
}

func waterColumn(h projections.WaterHistory) string {
	if unit := waterUnit(h.Unit); unit != "" {
		return waterName(h.What) + ", " + unit
	}
	return waterName(h.What)
}
