package growth

import (
	"fmt"
	"math"
	"slices"
)

// Place is where a mass stands beside published ones of its kind, sex and age.
type Place struct {
	Published float64     // kg, between the published ages on a straight line
	Band      *[2]float64 // kg, the lightest and heaviest published; nil where single animals were published
	Percent   float64     // of the published mass; below nought where it is lighter
	Ages      [2]float64  // years, the published ages about its own
	Animals   int         // masses published at these ages
	Source    string
	Caveat    string
	Verified  bool // false where the source was not seen
	NotEnough string
}

type publishedCurve struct {
	Taxon    string       `json:"taxon"`
	Sex      string       `json:"sex"`
	Source   string       `json:"source"`
	Caveat   string       `json:"caveat"`
	Verified bool         `json:"verified"`
	Masses   [][2]float64 `json:"masses"` // years, kg
}

var published = reference[struct {
	Curves []publishedCurve `json:"curves"`
}](publishedFile).Curves

// PlaceOf puts a mass in kg at an age in years beside what is published of a
// kind of animal, by its scientific name, and a sex. Between two published ages
// it goes on a straight line, beyond them there is no answer. Errors: an age or
// a mass that can't be.
func PlaceOf(taxon, sex string, years, kg float64) (Place, error) {
	if !(years >= 0) || !(kg > 0) || math.IsInf(kg, 0) {
		return Place{}, fmt.Errorf("place: %v kg at %v years: give a mass above nought and an age from nought", kg, years)
	}
	i := slices.IndexFunc(published, func(c publishedCurve) bool { return c.Taxon == taxon && c.Sex == sex })
	if i < 0 {
		return Place{NotEnough: fmt.Sprintf("no masses at age of %s %s are in the reference file", sex, taxon)}, nil
	}
	c := published[i]
	out := Place{Source: c.Source, Caveat: c.Caveat, Verified: c.Verified}
	ages := c.ages()
	if len(ages) == 0 {
		out.NotEnough = c.Caveat
		return out, nil
	}
	first, last := ages[0].years, ages[len(ages)-1].years
	if years < first || years > last {
		out.NotEnough = fmt.Sprintf("masses are published from %.2g to %.3g years, and it is %.3g", first, last, years)
		return out, nil
	}
	out.between(ages, years)
	out.Percent = 100 * (kg/out.Published - 1)
	return out, nil
}

// age is what was published at one age.
type age struct {
	years           float64
	kg              float64 // the mean
	lightest, heavy float64
	animals         int
}

// ages puts published masses together whose ages are the same but for the
// reading of a figure.
func (c publishedCurve) ages() (out []age) {
	for from := 0; from < len(c.Masses); {
		to, a := from, age{lightest: math.Inf(1)}
		for to < len(c.Masses) && c.Masses[to][0]-c.Masses[from][0] < assumed("same_age") {
			years, kg := c.Masses[to][0], c.Masses[to][1]
			a.years, a.kg, a.animals = a.years+years, a.kg+kg, a.animals+1
			a.lightest, a.heavy = min(a.lightest, kg), max(a.heavy, kg)
			to++
		}
		a.years, a.kg = a.years/float64(a.animals), a.kg/float64(a.animals)
		out = append(out, a)
		from = to
	}
	return out
}

// between reads the masses off the straight lines from age to age. A band is
// given where both ends have one.
func (p *Place) between(ages []age, years float64) {
	i := max(1, slices.IndexFunc(ages, func(a age) bool { return a.years >= years }))
	a, b := ages[i-1], ages[i]
	if years == b.years {
		a = b
	} else if years == a.years {
		b = a
	}
	share := 0.0
	if b.years > a.years {
		share = (years - a.years) / (b.years - a.years)
	}
	on := func(from, to float64) float64 { return from + share*(to-from) }
	p.Ages, p.Published = [2]float64{a.years, b.years}, on(a.kg, b.kg)
	if p.Animals = a.animals; b.years > a.years {
		p.Animals += b.animals
	}
	if a.animals > 1 && b.animals > 1 {
		p.Band = &[2]float64{on(a.lightest, b.lightest), on(a.heavy, b.heavy)}
	}
}
