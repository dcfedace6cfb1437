package coat

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

func (p *pooling) pooled(between, within float64) Pooled {
	s := p.sums(between, within)
	out := Pooled{
		Mean: s.weighted / s.weight, Error: 1 / math.Sqrt(s.weight), Between: between, Within: within,
		worth: p.Worth, n: p.n,
	}
	for _, g := range p.groups {
		w, wy := 0.0, 0.0
		for _, f := range g {
			v := within + f.Error*f.Error
			w, wy = w+1/v, wy+f.Value/v
		}
		own := Own{Animal: g[0].Animal, N: len(g), Mean: wy / w, Weight: between * w / (1 + between*w)}
		own.Value = out.Mean + own.Weight*(own.Mean-out.Mean)
		out.Animals = append(out.Animals, own)
	}
	return out
}

// Of is an animal of the class; one that has no figures has the class's.
func (p Pooled) Of(animal string) Own {
	i, ok := slices.BinarySearchFunc(p.Animals, animal, func(o Own, name string) int { return cmp.Compare(o.Animal, name) })
	if !ok {
		return Own{Animal: animal, Value: p.Mean}
	}
	return p.Animals[i]
}

// Next is an animal's next figure, and the interval that holds it at the level
// of the reference file. It is wider than the variances alone would have it, by
// what is not known of the mean and of the variances themselves (Student's t,
// degrees of freedom after Satterthwaite).
func (p Pooled) Next(animal string) (value, lo, hi float64) {
	own := p.Of(animal)
	rest := 1 - own.Weight
	ofAnimal, ofYear := p.Between*rest, p.Within
	variance := ofAnimal + ofYear + rest*rest*p.Error*p.Error
	few := p.worth + float64(len(p.Animals)) - 1
	years := p.worth + float64(p.n-len(p.Animals))
	freedom := variance * variance / (ofAnimal*ofAnimal/max(few, 1) + ofYear*ofYear/max(years, 1))
	t := distuv.StudentsT{Sigma: 1, Nu: freedom}.Quantile((1 + assumed("level")) / 2)
	half := t * math.Sqrt(variance)
	return own.Value, own.Value - half, own.Value + half
}
