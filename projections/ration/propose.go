package ration

import "slices"

// A search stops looking for something better after so many cells of tableaus.
// That bounds its time without a clock: a cell takes about a nanosecond.
const (
	patience = 25_000_000
	leisure  = 20 * patience // where nobody waits at a page
)

// Propose finds the plan of whole portions, within shares, stock and ceiling,
// that is nearest to what is wanted: with the least deviation
//
//	|kcal-K|/K + |protein-P|/P
//
// the second part where protein is wanted. Plans whose deviation is within
// half a portion's energy (of the portion that has the least) of what would be
// reached if portions could be cut, from the stock's whole ones, are equally
// near: an assay is not more exact than that, and no rounding of one food does
// better. Where no plan comes that near, or Wanted.Exact, only the nearest are
// equal.
//
// Of equally near plans it is the one with the fewest portions changed from
// yesterday; then the one that leaves the least of what is thawed and due,
// since the rest is discarded; then the cheapest, where every cost is known;
// then the one with the most portions of the food named first, then of the
// second, and so on. The answer never depends on chance.
//
// Where the energy can't be reached the plan is the nearest, and its Short
// says why. Errors name the field and the remedy.
func Propose(items []Item, w Wanted) (Plan, error) {
	if err := check(items, w, true); err != nil {
		return Plan{}, err
	}
	f := foods(items)
	short, err := f.short(w)
	if err != nil {
		return Plan{}, err
	}
	c := f.choose(w)
	plan := f.plan(w, c.best)
	plan.Proven, plan.Tolerance, plan.Short = !c.cut, c.near, short
	if plan.Kg == 0 && short == nil {
		plan.Short = &Infeasible{Shortfall: w.Kcal, Binding: []string{"portion sizes: no whole portions within the shares come nearer than none at all"}}
	}
	return plan, nil
}

// choice settles one question after another; each leaves a smaller space.
type choice struct {
	space
	best []int
	near float64
	cut  bool // a search was cut short
}

func (f foods) choose(w Wanted) *choice {
	c := &choice{space: f.near(w), best: make([]int, len(f))}
	if !w.Exact {
		c.near = f.halfPortion() / w.Kcal
	}
	c.settle(f.deviation(w), hair, c.near)
	c.settle(f.changed(), 1, 0)
	c.settle(f.left(), hair, 0)
	c.settle(f.cost(), hair, 0)
	c.first()
	return c
}

// near is every plan within shares, stock and ceiling that is no farther from
// what is wanted than no food at all.
func (f foods) near(w Wanted) space {
	s := space{low: make([]int, len(f)), limits: within(slices.Concat(f.shares(), f.ceiling(w)), hair), work: patience}
	if w.Exact {
		s.work = leisure
	}
	for i := range f {
		s.high = append(s.high, f.most(i, farthest*w.Kcal))
	}
	return s
}

// settle keeps the plans with the least goal, or as good as that.
func (c *choice) settle(goal []limit, step, near float64) {
	if goal == nil {
		return
	}
	value, bound := c.ask(goal, step, near)
	c.limits = append(c.limits, within(goal, max(value, bound+near)+hair)...)
}

// first keeps the plan with the most of the first food, then of the second.
func (c *choice) first() {
	for i := range c.best {
		fewer := limit{of: make([]bend, len(c.best)), most: -float64(c.high[i])}
		fewer.of[i] = straight(-1)
		c.ask([]limit{fewer}, 1, 0)
		c.low[i], c.high[i] = c.best[i], c.best[i]
	}
}

// ask leaves half of the work for the questions that come after.
func (c *choice) ask(goal []limit, step, near float64) (value, bound float64) {
	kept := c.work / 2
	c.work -= kept
	c.best, value, bound = c.least(goal, c.best, step, near)
	c.cut = c.cut || c.work <= 0
	c.work = max(c.work, 0) + kept
	return value, bound
}

// halfPortion is half the energy of the portion that has the least, in kcal.
func (f foods) halfPortion() float64 {
	least := f[0].KcalPerKg * f[0].PortionKg
	for _, item := range f {
		least = min(least, item.KcalPerKg*item.PortionKg)
	}
	return least / 2
}
