package coat

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/optimize"
)

// Observed is one figure of an animal, such as the day on which a molt began.
type Observed struct {
	Animal string
	Value  float64
	Error  float64 // standard error of the figure itself, 0 where it is exact
}

// Prior is what is believed of a class before its animals are looked at.
type Prior struct {
	Mean    float64 // of the class
	Error   float64 // standard error of Mean; 0 where nothing is published of it
	Between float64 // standard deviation between animals
	Within  float64 // standard deviation of an animal from year to year
	Worth   float64 // how many animals, and how many years, Between and Within count for
}

// Pooled is what a class and its animals come to: y = mean + animal + year.
type Pooled struct {
	Mean    float64
	Error   float64 // standard error of Mean
	Between float64 // variance between animals
	Within  float64 // variance of an animal from year to year
	Animals []Own   // by name

	worth float64
	n     int
}

// Own is an animal's usual figure, drawn towards the mean of its class.
type Own struct {
	Animal string
	N      int
	Mean   float64 // of its own figures
	Weight float64 // how much its own figures count, 0 to 1
	Value  float64
}

// Pool draws animals towards their class: restricted maximum likelihood of the
// two variances, and best linear unbiased prediction (Robinson 1991, Stat Sci
// 6:15). A prior is counted beside the figures; without one, nil, the figures
// speak alone, and a class of few animals makes much of little. Errors: no
// figure; one that is no number, or an error below zero.
func Pool(figures []Observed, prior *Prior) (Pooled, error) {
	if len(figures) == 0 {
		return Pooled{}, errors.New("figures: is empty: give one or more")
	}
	for i, f := range figures {
		if f.Value-f.Value != 0 || !(f.Error >= 0) {
			return Pooled{}, fmt.Errorf("figure %d: %v with an error of %v can't be: give numbers", i+1, f.Value, f.Error)
		}
	}
	p := &pooling{groups: grouped(figures), n: len(figures)}
	if prior != nil {
		p.Prior = *prior
	}
	between, within := p.likeliest(p.restricted)
	return p.pooled(between, within), nil
}

type pooling struct {
	Prior
	groups [][]Observed // by animal
	n      int
}

func grouped(figures []Observed) (out [][]Observed) {
	figures = slices.Clone(figures)
	slices.SortFunc(figures, func(a, b Observed) int {
		return cmp.Or(cmp.Compare(a.Animal, b.Animal), cmp.Compare(a.Value, b.Value), cmp.Compare(a.Error, b.Error))
	})
	for begin, end := 0, 1; end <= len(figures); end++ {
		if end == len(figures) || figures[end].Animal != figures[begin].Animal {
			out, begin = append(out, figures[begin:end]), end
		}
	}
	return out
}

// sums are what the likelihood of one pair of variances is made from.
type sums struct {
	logs, weight, weighted, squares float64
}

// add takes in one animal's figures.
func (s *sums) add(figures []Observed, between, within float64) {
	var w, wy, wyy float64
	for _, f := range figures {
		v := within + f.Error*f.Error
		s.logs += math.Log(v)
		w, wy, wyy = w+1/v, wy+f.Value/v, wyy+f.Value*f.Value/v
	}
	s.logs += math.Log1p(between * w)
	shrunk := 1 + between*w
	s.weight += w / shrunk
	s.weighted += wy / shrunk
	s.squares += wyy - between*wy*wy/shrunk
}

func (p *pooling) sums(between, within float64) (s sums) {
	for _, g := range p.groups {
		s.add(g, between, within)
	}
	if p.Error > 0 {
		w := 1 / (p.Error * p.Error)
		s.weight, s.weighted, s.squares = s.weight+w, s.weighted+w*p.Mean, s.squares+w*p.Mean*p.Mean
	}
	return s
}

// deviance is minus twice the logarithm of the likelihood at the mean, less its
// constant.
func (s sums) deviance() float64 { return s.logs + s.squares - s.weighted*s.weighted/s.weight }

// restricted is the criterion that is made least, with what the prior's
// variances are worth.
func (p *pooling) restricted(between, within float64) float64 {
	s := p.sums(between, within)
	out := s.deviance() + math.Log(s.weight)
	if p.Worth > 0 {
		out += p.Worth * (math.Log(between) + p.Between*p.Between/between + math.Log(within) + p.Within*p.Within/within)
	}
	return out
}

// likeliest are the variances at which a criterion is least.
func (p *pooling) likeliest(criterion func(between, within float64) float64) (between, within float64) {
	spread := p.spread()
	least := 1e-9 * spread * spread
	variances := func(x []float64) (float64, float64) {
		return least + x[0]*x[0]*spread*spread, least + x[1]*x[1]*spread*spread
	}
	result, err := optimize.Minimize(
		optimize.Problem{Func: func(x []float64) float64 { return criterion(variances(x)) }},
		[]float64{0.7, 0.5},
		&optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-10, Iterations: 25}, MajorIterations: 500},
		&optimize.NelderMead{},
	)
	if err != nil && result == nil {
		panic("coat: the least of a smooth function of two variances: " + err.Error())
	}
	return variances(result.X)
}

// spread is the scale on which variances are looked for.
func (p *pooling) spread() float64 {
	mean, squares := 0.0, 0.0
	for _, g := range p.groups {
		for _, f := range g {
			mean += f.Value / float64(p.n)
		}
	}
	for _, g := range p.groups {
		for _, f := range g {
			squares += (f.Value - mean) * (f.Value - mean) / float64(p.n)
		}
	}
	return max(math.Sqrt(squares), p.Between, p.Within, 1e-6)
}
