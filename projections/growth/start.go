package growth

import (
	"math"
	"slices"
)

// Each form is straight in some of its parameters once the others are guessed.
// The starts go through guesses of these; the one that fits best is begun from.

// finals are guesses of the final mass.
func finals(y []float64) (out []float64) {
	heaviest := slices.Max(y)
	for _, times := range []float64{1.01, 1.05, 1.15, 1.4, 2, 4, 8} {
		out = append(out, times*heaviest)
	}
	return out
}

// straight is the least-squares line of y on x; ok is false where there is none.
func straight(x, y []float64) (intercept, slope float64, ok bool) {
	n, middle, mean := float64(len(x)), 0.0, 0.0
	for i := range x {
		middle, mean = middle+x[i]/n, mean+y[i]/n
	}
	xx, xy := 0.0, 0.0
	for i := range x {
		xx, xy = xx+square(x[i]-middle), xy+(x[i]-middle)*(y[i]-mean)
	}
	slope = xy / xx
	return mean - slope*middle, slope, !math.IsNaN(slope) && !math.IsInf(slope, 0)
}

func mapped(values []float64, f func(float64) float64) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = f(v)
	}
	return out
}

// bertalanffyStarts guesses k: y is straight in exp(-k x).
func bertalanffyStarts(x, y []float64) (out [][]float64) {
	width := slices.Max(x) - slices.Min(x)
	for k := 0.05 / width; k < 50/width; k *= 1.7 {
		a, b, ok := straight(mapped(x, func(x float64) float64 { return math.Exp(-k * x) }), y)
		if ok && a > 0 && b < 0 {
			out = append(out, []float64{a, k, math.Log(-b/a) / k})
		}
	}
	return out
}

func gompertzStarts(x, y []float64) (out [][]float64) {
	for _, final := range finals(y) {
		a, b, ok := straight(x, mapped(y, func(y float64) float64 { return math.Log(-math.Log(y / final)) }))
		if ok && b < 0 {
			out = append(out, []float64{final, math.Exp(a), -b})
		}
	}
	return out
}

func logisticStarts(x, y []float64) (out [][]float64) {
	for _, p := range withShape(x, y, 1) {
		out = append(out, []float64{p[0], p[1] / p[2], 1 / p[2]})
	}
	return out
}

func richardsStarts(x, y []float64) (out [][]float64) {
	for _, shape := range []float64{0.2, 0.5, 1, 2, 4} {
		out = append(out, withShape(x, y, shape)...)
	}
	return out
}

// withShape guesses final mass and shape m of Richards: the logarithm of
// (A/y)^m - 1 is straight in x.
func withShape(x, y []float64, shape float64) (out [][]float64) {
	for _, final := range finals(y) {
		a, b, ok := straight(x, mapped(y, func(y float64) float64 { return math.Log(math.Pow(final/y, shape) - 1) }))
		if ok && b < 0 {
			out = append(out, []float64{final, a, -b, shape})
		}
	}
	return out
}
