package ration

import (
	"math"
	"slices"
)

// search finds the plan of a space with the least goal by branch and bound. It
// solves the relaxed problem, splits the space where an amount isn't whole, and
// leaves out what is no better by its relaxed goal than the best plan so far.
type search struct {
	*space
	goal  []limit
	step  float64 // less than that is no better
	near  float64 // what is within that of the bound is good enough
	bound float64 // no plan's goal is below it
	seen  func(plan []int)
	pairs int        // the first row of those that bound a food
	depth []*tableau // one for each split
	best  []int
	value float64
	done  bool
	whole bool // nothing was left out for lack of turns
}

// part is a part of the space, by foods and then for all together, with its
// relaxed problem solved.
type part struct {
	*tableau
	low, high []int
	at        []float64 // the relaxed amounts
}

// least finds the plan with the least goal, which is never below bound. best
// is a plan to begin with; nil where none is known.
func (s *space) least(goal []limit, best []int, step, near float64) (plan []int, value, bound float64) {
	b := &search{space: s, goal: goal, step: step, near: near, best: best, value: math.Inf(1)}
	if best != nil {
		b.value = excess(goal, best)
	}
	if b.value <= 0 {
		return best, b.value, b.value
	}
	// Good plans are mostly found where the nearer half of a split is taken,
	// but for a few turns. Below a bad first turn there may be thousands of
	// plans and none good, so that is looked through last.
	b.run(0, 1, 2, 3, 4, 5, math.MaxInt)
	return b.best, b.value, b.bound
}

// each shows every plan of the space. It is false where the work ran out.
func (s *space) each(seen func(plan []int)) bool {
	b := &search{space: s, seen: seen, value: math.Inf(1)}
	b.run(math.MaxInt)
	return s.work > 0
}

func (b *search) run(turns ...int) {
	program := b.relax(b.goal)
	b.pairs = len(program.Rows) - 2*len(b.low) - 2
	root := newTableau(program)
	possible, work := root.solve()
	b.work -= work
	b.bound = root.cost()
	if !possible {
		b.bound = b.value
		return
	}
	for _, most := range turns {
		b.whole = true
		p := part{tableau: root, low: append(slices.Clone(b.low), sum(b.low)), high: append(slices.Clone(b.high), sum(b.high))}
		b.look(p, 0, most)
		if b.whole || b.done {
			return
		}
	}
}

// look goes through a part; as many times as turns it takes the farther half of
// a split too.
func (b *search) look(p part, level, turns int) {
	b.work -= len(p.cells)
	if b.work <= 0 || b.value <= b.bound+b.near {
		b.done = true
	}
	if b.done || p.cost() > b.room() {
		return
	}
	p.read()
	b.try(p)
	i := p.split()
	if i < 0 {
		return
	}
	v := min(max(int(math.Floor(p.at[i]+tiny)), p.low[i]), p.high[i]-1)
	more := p.at[i]-float64(v) > 0.5
	b.half(p, i, v, more, level, turns)
	if turns == 0 {
		b.whole = false
		return
	}
	b.half(p, i, v, !more, level, turns-1)
}

// half looks through the half with more than v portions of a food, or the one
// with at most v.
func (b *search) half(p part, i, v int, more bool, level, turns int) {
	if level == len(b.depth) {
		b.depth = append(b.depth, &tableau{})
	}
	h := part{tableau: b.depth[level], low: slices.Clone(p.low), high: slices.Clone(p.high)}
	h.copyFrom(p.tableau)
	if more {
		h.raise(b.pairs+2*i, float64(v+1-h.low[i]))
		h.low[i] = v + 1
	} else {
		h.raise(b.pairs+2*i+1, float64(h.high[i]-v))
		h.high[i] = v
	}
	possible, work := h.solve()
	b.work -= work
	if possible {
		b.look(h, level+1, turns)
	}
}

// room is the most that a better plan's goal may be.
func (b *search) room() float64 { return b.value - b.step + tiny }

// read takes the amounts from the tableau; the last is of all foods together.
func (p *part) read() {
	n := len(p.low) - 1
	p.at = make([]float64, n+1)
	p.amounts(p.at[:n])
	for _, v := range p.at[:n] {
		p.at[n] += v
	}
}

// split chooses where to split: all foods together first, since shares and
// ceiling leave little choice once that is whole; then the food that is the
// least whole; where all are whole, the one with the most choice. -1: one plan
// is left.
func (p *part) split() int {
	n := len(p.at) - 1
	if p.high[n] > p.low[n] && apart(p.at[n]) > 1e-6 {
		return n
	}
	which, most := -1, 0.0
	for i, v := range p.at[:n] {
		if p.high[i] == p.low[i] {
			continue
		}
		much := apart(v)
		if much <= 1e-6 {
			much = -1 / float64(p.high[i]-p.low[i])
		}
		if which < 0 || much > most {
			which, most = i, much
		}
	}
	return which
}

// apart is how far an amount is from a whole one.
func apart(v float64) float64 { return math.Abs(v - math.Round(v)) }

// try holds the nearest whole portions against the limits and the best.
func (b *search) try(p part) {
	n := len(b.low)
	if b.seen != nil && !slices.Equal(p.low[:n], p.high[:n]) {
		return
	}
	plan := make([]int, n)
	for i, v := range p.at[:n] {
		plan[i] = min(max(int(math.Round(v)), p.low[i]), p.high[i])
	}
	for _, l := range b.limits {
		if l.sum(plan) > l.most {
			return
		}
	}
	if b.seen != nil {
		b.seen(plan)
		return
	}
	if value := excess(b.goal, plan); b.best == nil || value <= b.room() {
		b.best, b.value = plan, value
	}
}
