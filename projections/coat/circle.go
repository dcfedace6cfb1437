package coat

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Circle is what directions have in common, such as the days of the year on
// which molts began. Angles are shares of a full turn: times 365.25 they are
// days, times 360 degrees.
type Circle struct {
	N          int
	C          float64 // sum of cosines
	S          float64 // sum of sines
	Resultant  float64 // mean resultant length: 0 all round, 1 all alike
	Mean       float64 // mean direction, from 0 to below 1
	SD         float64 // circular standard deviation, sqrt(-2 ln R)
	Deviation  float64 // mean angular deviation, sqrt(2 (1 - R))
	Kappa      float64 // concentration of a von Mises distribution; infinite where all are alike
	KappaSmall float64 // the same, corrected for few directions
	MeanError  float64 // standard error of the mean direction
	Rayleigh   Rayleigh
}

// Rayleigh is the test of Rayleigh against directions all round. P is by Zar's
// formula; Series is by Mardia's series, which may come out as 0 for few
// directions that are all alike, and is here for comparison.
type Rayleigh struct {
	Z      float64
	P      float64
	Series float64
}

// Directions reads directions, given as shares of a turn, after Batschelet 1981
// and Fisher 1993 (Statistical Analysis of Circular Data); kappa is by the
// approximations of Fisher. Errors: no direction, or one that is no number.
func Directions(turns []float64) (Circle, error) {
	if len(turns) == 0 {
		return Circle{}, errors.New("turns: is empty: give one direction or more")
	}
	turns = slices.Clone(turns)
	slices.Sort(turns) // sums that do not depend on the order
	out := Circle{N: len(turns)}
	for _, t := range turns {
		if t-t != 0 {
			return Circle{}, fmt.Errorf("turns: %v is no direction: give shares of a turn", t)
		}
		sin, cos := math.Sincos(2 * math.Pi * t)
		out.C, out.S = out.C+cos, out.S+sin
	}
	out.describe()
	return out, nil
}

func (c *Circle) describe() {
	n := float64(c.N)
	c.Resultant = min(math.Hypot(c.C, c.S)/n, 1)
	c.Mean = wrap(math.Atan2(c.S, c.C) / (2 * math.Pi))
	c.SD = math.Sqrt(max(-2*math.Log(c.Resultant), 0)) / (2 * math.Pi)
	c.Deviation = math.Sqrt(2*(1-c.Resultant)) / (2 * math.Pi)
	c.Kappa = concentration(c.Resultant)
	c.KappaSmall = fewer(c.Kappa, n)
	c.MeanError = 1 / math.Sqrt(n*c.Kappa*besselRatio(c.Kappa)) / (2 * math.Pi)
	c.Rayleigh = rayleigh(n, c.Resultant)
}

// wrap brings a turn into 0 to below 1.
func wrap(turn float64) float64 {
	if turn -= math.Floor(turn); turn < 1 {
		return turn
	}
	return 0 // a hair below zero
}

// apart is how far a direction lies after another, from -1/2 to below 1/2 turn.
func apart(turn, from float64) float64 { return wrap(turn-from+0.5) - 0.5 }

// concentration is kappa of a resultant length, by the approximations of
// Fisher 1993, 4.40.
func concentration(r float64) float64 {
	switch {
	case r < 0.53:
		return 2*r + r*r*r + 5*math.Pow(r, 5)/6
	case r < 0.85:
		return -0.4 + 1.39*r + 0.43/(1-r)
	}
	return 1 / (r*r*r - 4*r*r + 3*r)
}

// fewer corrects kappa for few directions, after Best & Fisher 1981.
func fewer(kappa, n float64) float64 {
	if n < 2 {
		return 0 // one direction says nothing of how they scatter
	}
	if kappa < 2 {
		return max(kappa-2/(n*kappa), 0)
	}
	return math.Pow(n-1, 3) * kappa / (n*n*n + n)
}

// besselRatio is I1(k)/I0(k), by its continued fraction.
func besselRatio(k float64) float64 {
	if k > 1e3 {
		return 1 - 1/(2*k) - 1/(8*k*k)
	}
	ratio := 0.0
	for v := int(k) + 50; v > 0; v-- {
		ratio = 1 / (2*float64(v)/k + ratio)
	}
	return ratio
}

func rayleigh(n, r float64) Rayleigh {
	z, all := n*r*r, n*r
	zar := math.Exp(math.Sqrt(1+4*n+4*(n*n-all*all)) - (1 + 2*n))
	series := math.Exp(-z)
	if n < 50 {
		series *= 1 + (2*z-z*z)/(4*n) - (24*z-132*z*z+76*z*z*z-9*z*z*z*z)/(288*n*n)
	}
	return Rayleigh{Z: z, P: min(zar, 1), Series: min(max(series, 0), 1)}
}
