package growth

import "math"

// Form is a form of the curve of growth: mass in kg at an age x in years, from a
// final mass A in kg.
type Form string

// The forms that are tried. Sources: von Bertalanffy 1938 (Hum Biol 10:181) as
// the vectors have it for mass; Gompertz 1825; Verhulst 1838; Richards 1959 (J
// Exp Bot 10:290) as in the certified problem Rat43.
const (
	Bertalanffy Form = "von Bertalanffy" // A (1 - exp(-k (x - t0)))
	Gompertz    Form = "Gompertz"        // A exp(-b exp(-k x))
	Logistic    Form = "logistic"        // A / (1 + exp((xm - x)/s))
	Richards    Form = "Richards"        // A / (1 + exp(b - k x))^(1/m)
)

// form is how a form is reckoned. The final mass is its first parameter; it ends
// there only if all of the parameters in grows are above 0.
type form struct {
	name   Form
	params []Param // names and units
	grows  []int
	at     func(p []float64, x float64, slopes []float64) float64 // the mass, and its slope by each parameter
	starts func(x, y []float64) [][]float64                       // where to begin, many
}

var forms = []form{
	{Bertalanffy, []Param{{Name: "A", Unit: "kg"}, {Name: "k", Unit: "1/a"}, {Name: "t0", Unit: "a"}}, []int{0, 1}, bertalanffy, bertalanffyStarts},
	{Gompertz, []Param{{Name: "A", Unit: "kg"}, {Name: "b", Unit: "1"}, {Name: "k", Unit: "1/a"}}, []int{0, 1, 2}, gompertz, gompertzStarts},
	{Logistic, []Param{{Name: "A", Unit: "kg"}, {Name: "xm", Unit: "a"}, {Name: "s", Unit: "a"}}, []int{0, 2}, logistic, logisticStarts},
	{Richards, []Param{{Name: "A", Unit: "kg"}, {Name: "b", Unit: "1"}, {Name: "k", Unit: "1/a"}, {Name: "m", Unit: "1"}}, []int{0, 2, 3}, richards, richardsStarts},
}

func bertalanffy(p []float64, x float64, slopes []float64) float64 {
	left := math.Exp(-p[1] * (x - p[2]))
	slopes[0], slopes[1], slopes[2] = 1-left, p[0]*left*(x-p[2]), -p[0]*p[1]*left
	return p[0] * (1 - left)
}

func gompertz(p []float64, x float64, slopes []float64) float64 {
	slowing := math.Exp(-p[2] * x)
	share := math.Exp(-p[1] * slowing)
	y := p[0] * share
	slopes[0], slopes[1], slopes[2] = share, -y*slowing, y*p[1]*slowing*x
	return y
}

func logistic(p []float64, x float64, slopes []float64) float64 {
	share := sigmoid((x - p[1]) / p[2])
	steep := p[0] * share * (1 - share) / p[2]
	slopes[0], slopes[1], slopes[2] = share, -steep, steep*(p[1]-x)/p[2]
	return p[0] * share
}

func richards(p []float64, x float64, slopes []float64) float64 {
	z := p[1] - p[2]*x
	soft := softplus(z)
	share := math.Exp(-soft / p[3])
	y := p[0] * share
	slopes[0], slopes[1] = share, -y/p[3]*sigmoid(z)
	slopes[2], slopes[3] = -slopes[1]*x, y*soft/square(p[3])
	return y
}

func sigmoid(z float64) float64 { return 1 / (1 + math.Exp(-z)) }

// softplus is log(1 + exp(z)), for z of any size.
func softplus(z float64) float64 { return max(z, 0) + math.Log1p(math.Exp(-math.Abs(z))) }
