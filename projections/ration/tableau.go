package ration

import "slices"

// tableau is a linear program in the middle of being solved by the dual
// simplex method: each basic amount is a constant and so much of each other
// amount, and those are 0. A search solves thousands of programs that differ
// from one just solved in one bound. From there it takes a step or two, where
// a solver that begins anew takes a millisecond.
type tableau struct {
	rows, width int
	cells       []float64 // by row: the shares of the other amounts, then the constant; the last row is the cost
	basic       []int     // amount of each row; those of the program first, then what its rows give beyond their least
	other       []int     // amount of each column
}

// tiny counts as nothing in a tableau.
const tiny = 1e-9

func newTableau(p Program) *tableau {
	t := &tableau{rows: len(p.Rows), width: len(p.Cost) + 1}
	for r, row := range p.Rows {
		t.cells = append(append(t.cells, row...), -p.Least[r])
		t.basic = append(t.basic, len(p.Cost)+r)
	}
	t.cells = append(append(t.cells, p.Cost...), 0)
	for j := range p.Cost {
		t.other = append(t.other, j)
	}
	return t
}

func (t *tableau) row(r int) []float64 { return t.cells[r*t.width : (r+1)*t.width] }

func (t *tableau) constant(r int) *float64 { return &t.cells[(r+1)*t.width-1] }

// cost is no more than the least, and the least once solved.
func (t *tableau) cost() float64 { return *t.constant(t.rows) }

func (t *tableau) copyFrom(from *tableau) {
	t.rows, t.width = from.rows, from.width
	t.cells = append(t.cells[:0], from.cells...)
	t.basic = append(t.basic[:0], from.basic...)
	t.other = append(t.other[:0], from.other...)
}

// raise makes a row of the program have to give so much more.
func (t *tableau) raise(row int, by float64) {
	beyond := t.width - 1 + row
	if r := slices.Index(t.basic, beyond); r >= 0 {
		*t.constant(r) -= by
		return
	}
	j := slices.Index(t.other, beyond)
	for r := range t.rows + 1 {
		*t.constant(r) += t.row(r)[j] * by
	}
}

// solve makes every amount at least 0, at the least cost. It is false where
// that can't be. work is the cells that it worked out; after too many it gives
// up, and the cost is then only no more than the least.
func (t *tableau) solve() (possible bool, work int) {
	for range 20 * (t.rows + t.width) {
		r := t.lowest()
		if r < 0 {
			return true, work
		}
		j := t.entering(r)
		if j < 0 {
			return false, work
		}
		t.pivot(r, j)
		work += len(t.cells)
	}
	return true, work
}

// lowest is the row whose amount is the farthest below 0; none: -1.
func (t *tableau) lowest() int {
	at, least := -1, -tiny
	for r := range t.rows {
		if v := *t.constant(r); v < least {
			at, least = r, v
		}
	}
	return at
}

// entering is the column whose amount raises a row's at the least cost, of
// equals the one with the lowest number; none: -1.
func (t *tableau) entering(r int) int {
	at, least, cost := -1, 0.0, t.row(t.rows)
	for j, share := range t.row(r)[:t.width-1] {
		if share <= tiny {
			continue
		}
		ratio := max(cost[j], 0) / share
		if at < 0 || ratio < least || ratio == least && t.other[j] < t.other[at] {
			at, least = j, ratio
		}
	}
	return at
}

// pivot lets the amounts of a row and of a column change places.
func (t *tableau) pivot(r, j int) {
	row := t.row(r)
	by := 1 / row[j]
	for k := range row {
		row[k] *= -by
	}
	row[j] = by
	for other := range t.rows + 1 {
		cells := t.row(other)[:len(row)]
		share := cells[j]
		if other == r || share == 0 {
			continue
		}
		cells[j] = 0
		for k, v := range row {
			cells[k] += share * v
		}
	}
	t.basic[r], t.other[j] = t.other[j], t.basic[r]
}

// amounts writes the first amounts of the program into out.
func (t *tableau) amounts(out []float64) {
	clear(out)
	for r, which := range t.basic {
		if which < len(out) {
			out[which] = *t.constant(r)
		}
	}
}
