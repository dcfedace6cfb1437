package ration

import (
	"errors"
	"fmt"
	"slices"
)

// Bill is the least that food costs that gives at least what is wanted.
type Bill struct {
	Cost     float64   // with portions that can be cut
	Kg       []float64 // by food
	Whole    float64   // with whole portions
	Portions []int     // by food; nil where no whole ones were found
	Tied     *int      // plans of whole portions at that cost; nil: too many to count
	Proven   bool      // false: the search was cut short, and a cheaper plan may exist
}

// Cheapest finds the cheapest food that gives at least the energy wanted, and
// the protein and water where they are given, within shares, stock and ceiling.
// Whole portions are looked for up to twice the energy of the food that can be
// cut; of equally cheap plans it is the one with the most portions of the food
// named first. Errors: ErrNoAmounts where something keeps back what is wanted;
// else the field and the remedy.
func Cheapest(items []Item, w Wanted) (Bill, error) {
	if err := errors.Join(check(items, w, true), asked(items, w)); err != nil {
		return Bill{}, err
	}
	f := foods(items)
	limits := slices.Concat(f.atLeast(w), f.shares(), f.ceiling(w))
	p := Program{}
	for _, item := range f {
		p.Cost = append(p.Cost, *item.CostPerKg*item.PortionKg)
	}
	for _, l := range slices.Concat(limits, f.stock()) {
		p.keep(l)
	}
	cut, err := p.Solve()
	if err != nil {
		return Bill{}, fmt.Errorf("the cheapest food: %w", err)
	}
	out, kcal := Bill{Cost: cut.Cost}, 0.0
	for i, amount := range cut.Amounts {
		out.Kg = append(out.Kg, amount*f[i].PortionKg)
		kcal += out.Kg[i] * f[i].KcalPerKg
	}
	s := space{low: make([]int, len(f)), limits: within(limits, hair), work: leisure}
	for i := range f {
		s.high = append(s.high, f.most(i, 2*kcal))
	}
	out.whole(f, s)
	return out, nil
}

// whole looks for whole portions.
func (out *Bill) whole(f foods, s space) {
	c := choice{space: s}
	c.settle(f.cost(), hair, 0)
	if c.best != nil {
		out.Tied = c.count()
		c.first()
		out.Portions, out.Whole = c.best, excess(f.cost(), c.best)
	}
	out.Proven = !c.cut
}

// count is how many plans are left; nil where they are too many to count.
func (c *choice) count() *int {
	all, n := c.space, 0
	all.work = leisure
	if !all.each(func([]int) { n++ }) {
		return nil
	}
	return &n
}

// Tied is how many plans are exactly as near to what is wanted as the nearest;
// nil where they are too many to count.
func Tied(items []Item, w Wanted) (*int, error) {
	w.Exact = true
	if err := check(items, w, true); err != nil {
		return nil, err
	}
	f := foods(items)
	c := &choice{space: f.near(w), best: make([]int, len(f))}
	c.settle(f.deviation(w), hair, 0)
	if c.cut {
		return nil, nil
	}
	return c.count(), nil
}

// asked names the figures without which the cheapest food can't be told.
func asked(items []Item, w Wanted) error {
	var errs []error
	for i, item := range items {
		if item.CostPerKg == nil {
			errs = append(errs, fmt.Errorf("fish[%d].cost_per_kg is not known; give it", i))
		}
		if w.WaterG != nil && item.WaterPerKg == nil {
			errs = append(errs, fmt.Errorf("fish[%d].water_g_per_kg is not known; give it, or leave water_min out", i))
		}
	}
	return errors.Join(errs...)
}

// atLeast keeps energy, protein and water up to what is wanted.
func (f foods) atLeast(w Wanted) []limit {
	out := []limit{f.limit("", -1, func(i int) float64 { return -f[i].KcalPerKg * f[i].PortionKg / w.Kcal })}
	if w.ProteinG != nil {
		out = append(out, f.limit("", -1, func(i int) float64 { return -*f[i].ProteinPerKg * f[i].PortionKg / *w.ProteinG }))
	}
	if w.WaterG != nil && *w.WaterG > 0 {
		out = append(out, f.limit("", -1, func(i int) float64 { return -*f[i].WaterPerKg * f[i].PortionKg / *w.WaterG }))
	}
	return out
}
