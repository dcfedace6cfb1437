package growth

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Param is a parameter of a curve.
type Param struct {
	Name, Unit string // UCUM
	Interval
	SE float64 // standard error, of the same unit
}

// Curve is a form fitted to masses at age.
type Curve struct {
	Form      Form
	Params    []Param // the final mass A first
	SD        float64 // kg, of a mass off the curve
	RSS       float64 // kg2, what it leaves unexplained
	AIC, AICc float64
	Weight    float64 // share of belief among the forms that could be estimated, 0 to 1 (Akaike weight)
	Steps     int     // that the fit took
	Converged bool

	NotEstimable string // why the curve says nothing; it has no numbers then

	form       form
	covariance *mat.SymDense
	freedom    int
	years      [2]float64
}

// At is the curve at an age in years, with how far it may be off; ok is false
// beyond the ages that it was fitted to.
func (c Curve) At(years float64) (kg Interval, ok bool) {
	if c.NotEstimable != "" || years < c.years[0] || years > c.years[1] {
		return Interval{}, false
	}
	p, slopes := make([]float64, len(c.Params)), make([]float64, len(c.Params))
	for i := range p {
		p[i] = c.Params[i].Value
	}
	mean := c.form.at(p, years, slopes)
	return about(mean, c.SD*math.Sqrt(variance(c.covariance, slopes)), c.freedom), true
}

// Ages are the youngest and the oldest age, in years, that the curve was fitted
// to; both are nought where it says nothing.
func (c Curve) Ages() (youngest, oldest float64) {
	if c.NotEstimable != "" {
		return 0, 0
	}
	return c.years[0], c.years[1]
}

// fitted fits a form to masses at ages, and says whether it can be believed.
func (f form) fitted(x, y []float64) Curve {
	out := Curve{Form: f.name, form: f, years: [2]float64{slices.Min(x), slices.Max(x)}}
	if out.NotEstimable = f.few(x); out.NotEstimable != "" {
		return out
	}
	s, ok := f.best(x, y)
	if !ok {
		out.NotEstimable = "no final mass goes with these weigh-ins: they do not slow down towards one"
		return out
	}
	out.take(s, len(x))
	if why := out.unbelievable(x, y); why != "" {
		return Curve{Form: f.name, Steps: s.steps, Converged: s.converged, NotEstimable: why}
	}
	return out
}

// few says that there are too few points: AICc needs two more than there are
// unknowns, of which the error is one.
func (f form) few(x []float64) string {
	ages := slices.Clone(x)
	slices.Sort(ages)
	n, want := len(slices.Compact(ages)), len(f.params)+3
	if n >= want {
		return ""
	}
	return fmt.Sprintf("masses at %d ages; needs %d", n, want)
}

// take makes a curve of a solution.
func (c *Curve) take(s solution, n int) {
	size := len(s.params)
	c.freedom = n - size
	c.RSS, c.Steps, c.Converged = s.rss, s.steps, s.converged
	c.SD = math.Sqrt(s.rss / float64(c.freedom))
	c.covariance = s.covariance
	c.AIC, c.AICc = akaike(n, size, s.rss)
	for i, name := range c.form.params {
		p := Param{Name: name.Name, Unit: name.Unit, Interval: Interval{s.params[i], math.Inf(-1), math.Inf(1)}, SE: math.Inf(1)}
		if s.covariance != nil {
			p.SE = c.SD * math.Sqrt(s.covariance.At(i, i))
			p.Interval = about(s.params[i], p.SE, c.freedom)
		}
		c.Params = append(c.Params, p)
	}
}

// akaike is the information criterion of n values with normal errors, the error
// being one of the unknowns, and the same corrected for few values (Hurvich &
// Tsai 1989, Biometrika 76:297).
func akaike(n, size int, rss float64) (aic, corrected float64) {
	k, values := float64(size+1), float64(n)
	aic = values*(math.Log(2*math.Pi)+1+math.Log(max(rss, math.SmallestNonzeroFloat64)/values)) + 2*k
	return aic, aic + 2*k*(k+1)/(values-k-1)
}

// unbelievable says in words why a curve says nothing of growth.
func (c *Curve) unbelievable(x, y []float64) string {
	final, heaviest := c.Params[0], slices.Max(y)
	switch {
	case !c.Converged && final.Value > assumed("final_most")*heaviest:
		return fmt.Sprintf("the fit ran off to a final mass of %.3g kg, and the heaviest weigh-in is %.1f kg: there is no end of growth in them yet", final.Value, heaviest)
	case !c.Converged:
		return fmt.Sprintf("the fit did not converge in %d steps", c.Steps)
	case c.covariance == nil:
		return "these weigh-ins do not tell its parameters apart"
	case !c.slows():
		return "it does not slow down towards a final mass"
	case !c.bent(x, y):
		return "no curvature: a straight line says as much"
	case final.Value > assumed("final_most")*heaviest:
		return fmt.Sprintf("its final mass, %.1f kg, is more than %g times the heaviest weigh-in, %.1f kg: there is no end of growth in them yet", final.Value, assumed("final_most"), heaviest)
	case final.Hi-final.Value > assumed("final_width")*final.Value:
		return fmt.Sprintf("its final mass, %.1f kg, may be anything from %.1f to %.1f kg", final.Value, final.Lo, final.Hi)
	}
	return ""
}

func (c *Curve) slows() bool {
	return !slices.ContainsFunc(c.form.grows, func(i int) bool { return !(c.Params[i].Value > 0) })
}

// bent says whether the curve is worth more than a straight line, by AICc.
func (c *Curve) bent(x, y []float64) bool {
	a, b, ok := straight(x, y)
	if !ok {
		return false
	}
	rss := 0.0
	for i := range x {
		rss += square(y[i] - a - b*x[i])
	}
	_, line := akaike(len(x), 2, rss)
	return c.AICc < line
}
