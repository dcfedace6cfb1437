package ration

// space is the whole-portion plans that are looked through: how few and how
// many portions of each food, and what they keep to together.
type space struct {
	low, high []int
	limits    []limit
	work      int // cells of tableaus that may still be worked out
}

// relaxed writes a space and a goal, which is never below 0, as a linear
// program: the same plans, but with portions that can be cut. Its amounts are
// the portions of each food, the goal, and one for each true bend.
type relaxed struct {
	Program
	bends []func()
}

// relax ends with a pair of rows for each food and one for all together: at
// least, and at most so many portions.
func (s *space) relax(goal []limit) Program {
	n := len(s.low)
	r := relaxed{Program: Program{Cost: make([]float64, n+1)}}
	r.Cost[n] = 1
	for _, l := range s.limits {
		r.keep(l, map[int]float64{})
	}
	for _, l := range goal {
		r.keep(l, map[int]float64{n: 1})
	}
	for _, add := range r.bends {
		add()
	}
	all := map[int]float64{}
	for i := range n {
		r.between(map[int]float64{i: 1}, s.low[i], s.high[i])
		all[i] = 1
	}
	r.between(all, sum(s.low), sum(s.high))
	for i, row := range r.Rows { // bends made the program wider
		r.Rows[i] = append(row, make([]float64, len(r.Cost)-len(row))...)
	}
	return r.Program
}

// keep adds a limit that what stands in the row already makes up for.
func (r *relaxed) keep(l limit, row map[int]float64) {
	least := -l.most
	for i, b := range l.of {
		if b.left == b.right {
			row[i] = -b.left
			least -= b.left * b.at
			continue
		}
		part := len(r.Cost)
		r.Cost = append(r.Cost, 0)
		row[part] = -1
		r.bends = append(r.bends, func() {
			r.row(map[int]float64{part: 1, i: -b.left}, -b.left*b.at)
			r.row(map[int]float64{part: 1, i: -b.right}, -b.right*b.at)
		})
	}
	r.row(row, least)
}

func (r *relaxed) between(row map[int]float64, low, high int) {
	less := map[int]float64{}
	for i, v := range row {
		less[i] = -v
	}
	r.row(row, float64(low))
	r.row(less, -float64(high))
}

// row is scaled to 1, so that what is missing counts alike everywhere.
func (r *relaxed) row(cells map[int]float64, least float64) {
	row := make([]float64, len(r.Cost))
	for column, v := range cells {
		row[column] = v
	}
	scale := scaleOf(row)
	for column := range row {
		row[column] /= scale
	}
	r.Rows, r.Least = append(r.Rows, row), append(r.Least, least/scale)
}

func sum(list []int) (total int) {
	for _, n := range list {
		total += n
	}
	return total
}
