package growth

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// wave is a straight line with one sine of a period: intercept + slope x +
// cos cos(2 pi x/period) + sin sin(2 pi x/period), by least squares (Nelson et
// al. 1979, Chronobiologia 6:305).
type wave struct {
	intercept, slope, cos, sin float64
	sd                         float64       // of the values off it, with the freedom that is left
	covariance                 *mat.SymDense // of intercept in the middle, slope a period, cos and sin, over sd squared
	period                     float64
}

// ground is where waves are fitted: the four columns at each x. The line is
// reckoned from the middle and in periods, to keep the digits.
type ground struct {
	columns        [][4]float64
	middle, period float64
}

func groundOf(x []float64, period float64) ground {
	g := ground{make([][4]float64, len(x)), (x[0] + x[len(x)-1]) / 2, period}
	for i, x := range x {
		sin, cos := math.Sincos(2 * math.Pi * x / period)
		g.columns[i] = [4]float64{1, (x - g.middle) / period, cos, sin}
	}
	return g
}

// fit is the wave of values, and what they are off it; weight is nil where all
// count alike. ok is false where the values can't tell line and wave apart.
func (g ground) fit(y, weight []float64) (w wave, off []float64, ok bool) {
	q := newNormal(4)
	for i := range y {
		q.add(g.columns[i][:], y[i], at(weight, i))
	}
	b, ok := q.solved(0)
	if !ok || len(y) <= 4 {
		return wave{}, nil, false
	}
	w = wave{slope: b[1] / g.period, cos: b[2], sin: b[3], period: g.period}
	w.intercept = b[0] - w.slope*g.middle
	w.covariance, ok = q.inverse()
	off, rss := make([]float64, len(y)), 0.0
	for i, c := range g.columns {
		off[i] = y[i] - b[0] - b[1]*c[1] - b[2]*c[2] - b[3]*c[3]
		rss += at(weight, i) * square(off[i])
	}
	w.sd = math.Sqrt(rss / float64(len(y)-4))
	return w, off, ok
}

func at(weight []float64, i int) float64 {
	if weight == nil {
		return 1
	}
	return weight[i]
}

func square(v float64) float64 { return v * v }

func (w wave) at(x float64) float64 {
	sin, cos := math.Sincos(2 * math.Pi * x / w.period)
	return w.intercept + w.slope*x + w.cos*cos + w.sin*sin
}

func (w wave) amplitude() float64 { return math.Hypot(w.cos, w.sin) }

// peak is the place of the top of the wave, from 0 up to the period.
func (w wave) peak() float64 {
	out := math.Atan2(w.sin, w.cos) / (2 * math.Pi) * w.period
	if out < 0 {
		out += w.period
	}
	return out
}

// errors are the standard errors of amplitude and peak by the delta method.
func (w wave) errors(sd float64) (amplitude, peak float64) {
	a := w.amplitude()
	if a == 0 {
		return sd * math.Sqrt(w.covariance.At(2, 2)), w.period / 2
	}
	along := []float64{0, 0, w.cos / a, w.sin / a}
	across := []float64{0, 0, -w.sin / a, w.cos / a}
	return sd * math.Sqrt(variance(w.covariance, along)), sd * math.Sqrt(variance(w.covariance, across)) / a * w.period / (2 * math.Pi)
}

// robustWave is a wave on which values far off count less, the further the less
// (Huber 1964, Ann Math Stat 35:73), and what they are off it; its sd is from the
// middle of these.
func robustWave(x, y []float64, period float64) (w wave, off []float64, ok bool) {
	g, weight, huber := groundOf(x, period), make([]float64, len(x)), assumed("huber")
	w, off, ok = g.fit(y, nil)
	for range 30 {
		sd := spread(off)
		if !ok || sd == 0 {
			break
		}
		for i, e := range off {
			weight[i] = min(1, huber*sd/math.Abs(e))
		}
		last := w
		w, off, ok = g.fit(y, weight)
		if math.Hypot(w.cos-last.cos, w.sin-last.sin) < 1e-4*sd {
			break
		}
	}
	w.sd = spread(off) * math.Sqrt(float64(len(x))/float64(len(x)-4))
	return w, off, ok
}
