package growth

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Aged is a mass at an age.
type Aged struct {
	Animal string
	Sex    string  // female, male or unknown
	Years  float64 // age in years of 365.25 days
	Kg     float64
}

// Growth is what masses at age of one sex say of growth.
type Growth struct {
	Sex       string
	Animals   int
	Weighings int
	Points    int     // medians of a stretch of one animal's life
	Curves    []Curve // one a form, in the order of Form
	Best      Form    // of those that could be estimated, by AICc; empty without one
	NotEnough string
}

// BySex fits the four forms to the masses of each sex, females first. Of one
// animal's masses that follow one another within the stretch of the reference
// file (30 days) the median counts: they would be wrong together. Masses of one
// animal still go together, so that the intervals are too narrow for other
// animals where few were weighed. The form is chosen by AICc (Burnham & Anderson
// 2002, Model Selection and Multimodel Inference, from memory). Errors: an age,
// a mass or a sex that can't be.
func BySex(masses []Aged) ([]Growth, error) {
	for i, m := range masses {
		if !(m.Years >= 0) || math.IsInf(m.Years, 0) || !(m.Kg > 0) || math.IsInf(m.Kg, 0) {
			return nil, fmt.Errorf("masses[%d]: %v kg at %v years: give a mass above nought and an age from nought", i, m.Kg, m.Years)
		}
		if !slices.Contains(sexes, m.Sex) {
			return nil, fmt.Errorf("masses[%d]: sex is %q: use female, male or unknown", i, m.Sex)
		}
	}
	var out []Growth
	for _, sex := range sexes {
		of := slices.DeleteFunc(slices.Clone(masses), func(m Aged) bool { return m.Sex != sex })
		if len(of) > 0 {
			out = append(out, growthOf(sex, of))
		}
	}
	return out, nil
}

var sexes = []string{"female", "male", "unknown"}

func growthOf(sex string, masses []Aged) Growth {
	points := stretches(masses)
	out := Growth{Sex: sex, Weighings: len(masses), Points: len(points), Animals: animals(points)}
	x, y := make([]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		x[i], y[i] = p.Years, p.Kg
	}
	for _, f := range forms {
		out.Curves = append(out.Curves, f.fitted(x, y))
	}
	out.choose()
	return out
}

func animals(points []Aged) int {
	seen := map[string]bool{}
	for _, p := range points {
		seen[p.Animal] = true
	}
	return len(seen)
}

// stretches are the medians of each stretch of each animal's life.
func stretches(masses []Aged) (out []Aged) {
	all, perYear := slices.Clone(masses), 365.25/assumed("curve_spacing")
	stretch := func(m Aged) float64 { return math.Floor(m.Years * perYear) }
	slices.SortFunc(all, func(a, b Aged) int {
		if a.Animal != b.Animal {
			return cmp.Compare(a.Animal, b.Animal)
		}
		return cmp.Or(cmp.Compare(a.Years, b.Years), cmp.Compare(a.Kg, b.Kg))
	})
	var years, kg []float64
	for i, m := range all {
		years, kg = append(years, m.Years), append(kg, m.Kg)
		if i+1 < len(all) && all[i+1].Animal == m.Animal && stretch(all[i+1]) == stretch(m) {
			continue
		}
		out = append(out, Aged{m.Animal, m.Sex, median(years), median(kg)})
		years, kg = years[:0], kg[:0]
	}
	return out
}

// choose weighs the curves that could be estimated against each other.
func (g *Growth) choose() {
	least, sum := math.Inf(1), 0.0
	for _, c := range g.Curves {
		if c.NotEstimable == "" && c.AICc < least {
			g.Best, least = c.Form, c.AICc
		}
	}
	if g.Best == "" {
		g.NotEnough = "no curve of growth can be estimated: " + g.Curves[0].NotEstimable
		return
	}
	for i := range g.Curves {
		if c := &g.Curves[i]; c.NotEstimable == "" {
			c.Weight = math.Exp((least - c.AICc) / 2)
			sum += c.Weight
		}
	}
	for i := range g.Curves {
		g.Curves[i].Weight /= sum
	}
}

// Chosen is the curve that was chosen; ok is false where none could be
// estimated.
func (g Growth) Chosen() (c Curve, ok bool) {
	i := slices.IndexFunc(g.Curves, func(c Curve) bool { return c.Form == g.Best })
	if i < 0 {
		return Curve{}, false
	}
	return g.Curves[i], true
}
