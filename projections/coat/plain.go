package coat

import "math"

// Criteria are what likelihood makes of figures without a prior, to be held
// against those of others.
type Criteria struct {
	Between, Within float64 // the variances by plain maximum likelihood
	Restricted      float64 // minus twice the logarithm of the restricted likelihood where it is greatest
}

// CriteriaOf works out both likelihoods of figures: y = mean + animal + year, all
// normal. Errors: those of Pool.
func CriteriaOf(figures []Observed) (Criteria, error) {
	pooled, err := Pool(figures, nil)
	if err != nil {
		return Criteria{}, err
	}
	p := &pooling{groups: grouped(figures), n: len(figures)}
	out := Criteria{Restricted: p.restricted(pooled.Between, pooled.Within) + float64(p.n-1)*math.Log(2*math.Pi)}
	out.Between, out.Within = p.likeliest(func(between, within float64) float64 { return p.sums(between, within).deviance() })
	return out, nil
}
