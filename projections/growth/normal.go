package growth

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// normal are the normal equations of least squares.
type normal struct {
	size    int
	squares *mat.SymDense // sum of weight x row x row
	right   *mat.VecDense // sum of weight x row x value
	rss     float64       // sum of weight x value squared
}

func newNormal(size int) *normal {
	return &normal{size: size, squares: mat.NewSymDense(size, nil), right: mat.NewVecDense(size, nil)}
}

func (q *normal) add(row []float64, value, weight float64) {
	squares, right := q.squares.RawSymmetric(), q.right.RawVector().Data
	for i, a := range row {
		right[i] += weight * a * value
		for j := i; j < q.size; j++ {
			squares.Data[i*squares.Stride+j] += weight * a * row[j]
		}
	}
	q.rss += weight * value * value
}

// factored gives the Cholesky factor of the squares with ones on the diagonal,
// damped, and what was divided out; ok is false where they are singular.
func (q *normal) factored(damp float64) (c *mat.Cholesky, by []float64, ok bool) {
	by = make([]float64, q.size)
	scaled := mat.NewSymDense(q.size, nil)
	for i := range by {
		by[i] = math.Sqrt(q.squares.At(i, i))
		if !(by[i] > 0) || math.IsInf(by[i], 0) {
			return nil, nil, false
		}
		for j := range i + 1 {
			scaled.SetSym(i, j, q.squares.At(i, j)/by[i]/by[j])
		}
		scaled.SetSym(i, i, 1+damp)
	}
	c = &mat.Cholesky{}
	return c, by, c.Factorize(scaled) && c.Cond() < 1e14
}

// solved are the unknowns, damped after Marquardt.
func (q *normal) solved(damp float64) (x []float64, ok bool) {
	c, by, ok := q.factored(damp)
	if !ok {
		return nil, false
	}
	v := mat.NewVecDense(q.size, nil)
	for i, b := range by {
		v.SetVec(i, q.right.AtVec(i)/b)
	}
	if err := c.SolveVecTo(v, v); err != nil {
		return nil, false
	}
	for i, b := range by {
		v.SetVec(i, v.AtVec(i)/b)
	}
	return v.RawVector().Data, true
}

// inverse is that of the squares: times the variance of a value, the
// covariance of the unknowns.
func (q *normal) inverse() (*mat.SymDense, bool) {
	c, by, ok := q.factored(0)
	if !ok {
		return nil, false
	}
	var out mat.SymDense
	if err := c.InverseTo(&out); err != nil {
		return nil, false
	}
	for i := range by {
		for j := range i + 1 {
			out.SetSym(i, j, out.At(i, j)/by[i]/by[j])
		}
	}
	return &out, true
}

// variance is of a sum of the unknowns, each times its share.
func variance(covariance *mat.SymDense, shares []float64) float64 {
	v := mat.NewVecDense(len(shares), shares)
	return mat.Inner(v, covariance, v)
}
