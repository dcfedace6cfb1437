package growth

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// solution is where least squares of a form ended.
type solution struct {
	params     []float64
	rss        float64
	covariance *mat.SymDense // of the parameters, over the variance of a value; nil where they can't be told apart
	steps      int
	converged  bool
}

const (
	mostSteps = 100
	near      = 1e-7 // of the way that the error of the parameters spans, from which Newton's steps go straight
)

// leastSquares fits a form from a start by the method of Levenberg 1944 and
// Marquardt 1963 (J Soc Ind Appl Math 11:431), damping each parameter by its own
// size. It has converged where a whole step would go less than a small part of
// the parameters' error (Bates & Watts 1981, Technometrics 23:179).
func leastSquares(f form, x, y, start []float64) solution {
	out := solution{params: slices.Clone(start)}
	q := f.normal(out.params, x, y)
	for damp := 1e-3; out.steps < mostSteps && damp < 1e16; out.steps++ {
		if out.converged = q.offset(out.params) < near; out.converged {
			break
		}
		next, ok := stepped(out.params, q, damp)
		if !ok {
			damp *= 10
			continue
		}
		if there := f.normal(next, x, y); there.rss < q.rss {
			out.params, q, damp = next, there, max(damp/10, 1e-12)
		} else {
			damp *= 10
		}
	}
	if out.converged {
		out.params, q = f.polished(out.params, q, x, y)
	}
	out.rss = q.rss
	out.covariance, _ = q.inverse()
	return out
}

// normal are the equations of a form at some parameters.
func (f form) normal(p, x, y []float64) *normal {
	q, slopes := newNormal(len(p)), make([]float64, len(p))
	for i := range x {
		off := y[i] - f.at(p, x[i], slopes)
		q.add(slopes, off, 1)
	}
	return q
}

// rss is what a form leaves unexplained at some parameters.
func (f form) rss(p, x, y []float64) (sum float64) {
	slopes := make([]float64, len(p))
	for i := range x {
		sum += square(y[i] - f.at(p, x[i], slopes))
	}
	return sum
}

// stepped are the parameters after a damped step; ok is false where there is
// none.
func stepped(p []float64, q *normal, damp float64) (next []float64, ok bool) {
	step, ok := q.solved(damp)
	if !ok {
		return nil, false
	}
	next = slices.Clone(p)
	for i := range next {
		next[i] += step[i]
	}
	return next, true
}

// offset is how far a whole step would go, against what is left unexplained;
// infinite where there is no such step.
func (q *normal) offset(p []float64) float64 {
	step, ok := q.solved(0)
	if !ok {
		return math.Inf(1)
	}
	gain := 0.0
	for i, d := range step {
		gain += d * q.right.AtVec(i)
	}
	if gain <= 1e-26*square(p[0])*q.squares.At(0, 0) { // nothing is left to explain: a curve without error
		return 0
	}
	return math.Sqrt(gain / q.rss)
}

// polished takes whole steps for as long as they shrink, to the last digits.
func (f form) polished(p []float64, q *normal, x, y []float64) ([]float64, *normal) {
	for last := q.offset(p); last > 0; {
		next, ok := stepped(p, q, 0)
		if !ok {
			break
		}
		there := f.normal(next, x, y)
		now := there.offset(next)
		if !(now < last/2) {
			break
		}
		p, q, last = next, there, now
	}
	return p, q
}

// best fits a form from the start that lies nearest; ok is false without one.
func (f form) best(x, y []float64) (out solution, ok bool) {
	least := math.Inf(1)
	var start []float64
	for _, s := range f.starts(x, y) {
		if rss := f.rss(s, x, y); rss < least {
			least, start = rss, s
		}
	}
	if start == nil {
		return solution{}, false
	}
	return leastSquares(f, x, y, start), true
}
