package dominance

import (
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// Proportion is how wins are turned into a proportion of each dyad. A dyad that
// was never seen to meet has 0 both ways, by either.
type Proportion string

const (
	// Dij draws the proportion of wins towards a half, the more the fewer
	// encounters there were: (wins + 1/2)/(encounters + 1). Source: de Vries,
	// Stevens & Vervaecke 2006, Anim Behav 71:585-592.
	Dij Proportion = "Dij"
	// Pij is wins/encounters. Source: David 1987, Biometrika 74:432-436 (from
	// memory); Gammell et al. 2003, Anim Behav 66:601-605 (from memory).
	Pij Proportion = "Pij"
)

// David is David's score of a group, by animal in the order of the matrix.
type David struct {
	NotEnough string // why the numbers say nothing; empty where they do
	By        Proportion
	Score     []float64 // sums to 0
	Norm      []float64 // normalised: 0 to N-1

	// Steepness is by how much the normalised score falls from one place to the
	// next, 0 to 1, and Intercept where that line begins, at place 0. By Dij both
	// also depend on how much was seen: compare only what was watched alike.
	Steepness, Intercept float64
}

// DavidsScore weighs each win by the wins of the animal that was beaten and
// each loss by the losses of the one that won: w + w2 - l - l2, without unit.
// Sources: those of Dij and Pij; the 0 of unknown dyads and the steepness are
// de Vries, Stevens & Vervaecke 2006, as the open statistics packages read it.
func (m Matrix) DavidsScore(by Proportion) David {
	if len(m.IDs) < 2 {
		return David{NotEnough: "fewer than two animals", By: by, Score: make([]float64, len(m.IDs)), Norm: make([]float64, len(m.IDs))}
	}
	out := m.proportions(by).david()
	out.By, out.NotEnough = by, m.unseen()
	return out
}

// unseen says that nothing was observed.
func (m Matrix) unseen() string {
	if m.Counts().Interactions > 0 {
		return ""
	}
	return "no encounter was seen"
}

// dyads is a matrix of proportions with room to work in.
type dyads struct {
	*mat.Dense
	ones, w, w2, l, l2 *mat.VecDense
	places             []float64
}

func newDyads(n int) dyads {
	vector := func() *mat.VecDense { return mat.NewVecDense(n, nil) }
	d := dyads{mat.NewDense(n, n, nil), vector(), vector(), vector(), vector(), vector(), make([]float64, n)}
	for i := range n {
		d.ones.SetVec(i, 1)
		d.places[i] = float64(i + 1)
	}
	return d
}

func (m Matrix) proportions(by Proportion) dyads {
	d := newDyads(len(m.IDs))
	for i := range m.IDs {
		for j := range m.IDs {
			d.Set(i, j, by.of(m.Wins[i][j], m.Met(i, j)))
		}
	}
	return d
}

func (by Proportion) of(wins, met float64) float64 {
	if met == 0 {
		return 0
	}
	if by == Pij {
		return wins / met
	}
	return (wins + 0.5) / (met + 1)
}

func (d dyads) david() David {
	d.w.MulVec(d, d.ones)
	d.w2.MulVec(d, d.w)
	d.l.MulVec(d.T(), d.ones)
	d.l2.MulVec(d.T(), d.l)
	n := len(d.places)
	out := David{Score: make([]float64, n), Norm: make([]float64, n)}
	for i := range n {
		out.Score[i] = d.w.AtVec(i) + d.w2.AtVec(i) - d.l.AtVec(i) - d.l2.AtVec(i)
		out.Norm[i] = out.Score[i]/float64(n) + float64(n-1)/2
	}
	falling := slices.Clone(out.Norm)
	slices.Sort(falling)
	slices.Reverse(falling)
	intercept, slope := stat.LinearRegression(d.places, falling, nil, false)
	out.Intercept, out.Steepness = intercept, -slope
	return out
}
