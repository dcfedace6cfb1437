package ration

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// Program is a linear program: amounts of which none is negative, at the least
// cost, where every row gives at least what it must.
type Program struct {
	Cost  []float64   // of one unit of each amount; none negative
	Rows  [][]float64 // what one unit of each amount gives
	Least []float64   // what each row must give
}

// Optimum is the answer of a program.
type Optimum struct {
	Cost    float64
	Amounts []float64
	Prices  []float64 // of each row: what one unit more of what it must give would cost
}

// ErrNoAmounts says that no amounts give what every row must.
var ErrNoAmounts = errors.New("no amounts give what every row must")

// Solve finds the amounts and the prices of the rows. It solves the dual by
// the simplex method: with costs that aren't negative its slacks are a basis
// to begin from, full in rank, and the basis it ends with gives both answers.
// Errors: ErrNoAmounts; rows and costs of different lengths; numbers that
// aren't finite; a problem too ill-conditioned for the simplex method.
func (p Program) Solve() (Optimum, error) {
	if err := p.check(); err != nil {
		return Optimum{}, err
	}
	dual, gain := p.dual()
	n := len(p.Cost)
	start := make([]int, n)
	for j := range start {
		start[j] = len(p.Rows) + j
	}
	_, found, err := lp.Simplex(gain, dual, p.distinct(), 1e-10, start)
	if errors.Is(err, lp.ErrUnbounded) {
		return Optimum{}, ErrNoAmounts
	}
	if err != nil {
		return Optimum{}, fmt.Errorf("the linear program can't be solved: %w", err)
	}
	return p.at(basis(found, n), dual, gain)
}

func (p Program) check() error {
	if len(p.Cost) == 0 || len(p.Rows) == 0 || len(p.Least) != len(p.Rows) {
		return fmt.Errorf("%d amounts, %d rows and %d needs are no program", len(p.Cost), len(p.Rows), len(p.Least))
	}
	for j, c := range p.Cost {
		if !finite(c) || c < 0 {
			return fmt.Errorf("cost %d is %v; give a number of at least 0", j, c)
		}
	}
	for i, row := range p.Rows {
		if len(row) != len(p.Cost) {
			return fmt.Errorf("row %d has %d numbers for %d amounts", i, len(row), len(p.Cost))
		}
		if !finite(row...) || !finite(p.Least[i]) {
			return fmt.Errorf("row %d has a number that isn't finite", i)
		}
		if p.Least[i] > 0 && floats.Norm(row, math.Inf(1)) == 0 {
			return ErrNoAmounts
		}
	}
	return nil
}

func finite(list ...float64) bool {
	return !slices.ContainsFunc(list, func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) })
}

// dual puts each row and each slack into a column. Rows are scaled to 1; one
// of zeros alone, which asks nothing, stands there as the first amount being
// at least 0, since the simplex method takes no column of zeros.
func (p Program) dual() (*mat.Dense, []float64) {
	rows, n := len(p.Rows), len(p.Cost)
	a, gain := mat.NewDense(n, rows+n, nil), make([]float64, rows+n)
	for r, row := range p.Rows {
		scale := scaleOf(row)
		for j, v := range row {
			a.Set(j, r, v/scale)
		}
		gain[r] = -p.Least[r] / scale
		if floats.Norm(row, math.Inf(1)) == 0 {
			a.Set(0, r, 1)
			gain[r] = 0
		}
	}
	for j := range n {
		a.Set(j, rows+j, 1)
	}
	return a, gain
}

func scaleOf(row []float64) float64 { return cmp.Or(floats.Norm(row, math.Inf(1)), 1) }

// distinct is the costs with a trace added that differs from one to the next.
// Equal costs, and zeros above all, let the simplex method turn in a circle.
func (p Program) distinct() []float64 {
	out := slices.Clone(p.Cost)
	trace := 1e-9 * cmp.Or(floats.Max(p.Cost), 1)
	for j := range out {
		_, part := math.Modf(float64(j+1) * math.Phi)
		out[j] += trace * (1 + part)
	}
	return out
}

// basis is the n columns with the most in them; the others have nothing.
func basis(found []float64, n int) []int {
	all := make([]int, len(found))
	for i := range all {
		all[i] = i
	}
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(found[b], found[a]) })
	return all[:n]
}

// at works out amounts and prices at a basis, with the costs as they are.
func (p Program) at(columns []int, dual *mat.Dense, gain []float64) (Optimum, error) {
	n := len(p.Cost)
	square, least := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
	for k, c := range columns {
		square.SetCol(k, mat.Col(nil, c, dual))
		least.SetVec(k, -gain[c])
	}
	var amounts, prices mat.VecDense
	err := errors.Join(amounts.SolveVec(square.T(), least), prices.SolveVec(square, mat.NewVecDense(n, p.Cost)))
	if err != nil {
		return Optimum{}, fmt.Errorf("the linear program can't be solved: %w", err)
	}
	out := Optimum{Amounts: make([]float64, n), Prices: make([]float64, len(p.Rows))}
	for j := range n {
		out.Amounts[j] = max(amounts.AtVec(j), 0)
	}
	for k, c := range columns {
		if c < len(p.Rows) {
			out.Prices[c] = max(prices.AtVec(k), 0) / scaleOf(p.Rows[c])
		}
	}
	out.Cost = floats.Dot(p.Cost, out.Amounts)
	return out, nil
}
