package ration

import (
	"fmt"
	"slices"
)

// Infeasible says that the energy wanted can't be reached, and why.
type Infeasible struct {
	Shortfall float64  `json:"shortfall"` // kcal
	Most      float64  `json:"most"`      // kcal that can be reached
	Binding   []string `json:"binding"`   // limits that alone, without any other, allow no more
}

// Short says whether the energy wanted can be reached at all, with portions
// that can be cut; it needs no portion sizes. nil: it can.
func Short(items []Item, w Wanted) (*Infeasible, error) {
	if err := check(items, w, false); err != nil {
		return nil, err
	}
	return foods(items).short(w)
}

// short finds the least energy that is missing. The limits that have a price
// are those that hold it there.
func (f foods) short(w Wanted) (*Infeasible, error) {
	f = slices.Clone(f)
	for i := range f {
		f[i].PortionKg = 1
	}
	limits := slices.Concat(f.shares(), f.ceiling(w), f.stock())
	p := Program{Cost: make([]float64, len(f)+1)}
	p.Cost[len(f)] = 1 // what is missing, as a share of what is wanted
	p.keep(f.limit("", -1, func(i int) float64 { return -f[i].KcalPerKg / w.Kcal }), 1)
	for _, l := range limits {
		p.keep(l, 0)
	}
	found, err := p.Solve()
	if err != nil {
		return nil, fmt.Errorf("the most energy: %w", err)
	}
	missing := found.Amounts[len(f)]
	if missing <= 2*hair {
		return nil, nil
	}
	out := &Infeasible{Shortfall: missing * w.Kcal, Most: (1 - missing) * w.Kcal}
	for i, l := range limits {
		if found.Prices[i+1] > hair {
			out.Binding = append(out.Binding, l.name)
		}
	}
	return out, nil
}

// keep adds a limit, with what amounts beyond the foods make up for.
func (p *Program) keep(l limit, more ...float64) {
	var row []float64
	for _, b := range l.of {
		row = append(row, -b.left)
	}
	p.Rows, p.Least = append(p.Rows, append(row, more...)), append(p.Least, -l.most)
}

// stock keeps each food to what is at hand.
func (f foods) stock() (out []limit) {
	for at, item := range f {
		if item.StockKg == nil {
			continue
		}
		name := fmt.Sprintf("stock of %s (%s kg)", item.Name, brief(*item.StockKg))
		out = append(out, f.limit(name, *item.StockKg, func(i int) float64 {
			if i == at {
				return item.PortionKg
			}
			return 0
		}))
	}
	return out
}
