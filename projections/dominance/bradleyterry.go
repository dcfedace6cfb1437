package dominance

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Abilities are how strong the animals of a group are, as natural logarithms:
// i wins over j with odds exp(Log[i] - Log[j]). Only differences say something.
type Abilities struct {
	IDs        []string
	Log        []float64
	covariance [][]float64
}

// BradleyTerry finds the likeliest abilities under a weak prior: every animal
// also won and lost the encounters of the reference file ("ghost") against one
// of ability 0. With it they exist for every matrix, and an animal of which
// nothing is known stands at 0 with a wide interval. Undecided encounters are
// half a win for both. Empty for a group of none. Errors: those of Check; a
// search that does not settle. Bradley & Terry 1952 (Biometrika 39:324, from memory); in the
// study of dominance Boyd & Silk 1983 (Anim Behav 31:45-58).
func (m Matrix) BradleyTerry() (Abilities, error) { return m.abilities(assumed("ghost")) }

// Likeliest finds the abilities of greatest likelihood without a prior, with
// mean 0. They exist only where every animal is linked to every other by a
// chain of wins in both directions (Ford 1957); the error
// says which animals break the chain, and BradleyTerry is the remedy. Other
// errors as there.
func (m Matrix) Likeliest() (Abilities, error) {
	if err := m.Check(); err != nil {
		return Abilities{}, err
	}
	if why := m.noLikeliest(); why != "" {
		return Abilities{}, fmt.Errorf("no abilities of greatest likelihood: %s: use those with a prior", why)
	}
	return m.abilities(0)
}

// abilities climbs the logarithm of the likelihood by Newton's method. It has
// one top, and halved steps never lead down.
func (m Matrix) abilities(ghost float64) (Abilities, error) {
	if err := m.Check(); err != nil {
		return Abilities{}, err
	}
	n := len(m.IDs)
	out := Abilities{IDs: m.IDs, Log: make([]float64, n)}
	if n == 0 {
		return out, nil
	}
	for range 100 {
		curve, err := m.curvature(out.Log, ghost)
		if err != nil {
			return Abilities{}, err
		}
		step := mat.NewVecDense(n, nil)
		if err := curve.SolveVecTo(step, m.slope(out.Log, ghost)); err != nil {
			return Abilities{}, fmt.Errorf("abilities: a step: %w", err)
		}
		out.Log = m.climb(out.Log, step, ghost)
		if mat.Norm(step, math.Inf(1)) < 1e-10 {
			return out, out.believe(curve, ghost)
		}
	}
	return Abilities{}, errors.New("abilities: the search did not settle: look for counts that are far apart")
}

// slope is the gradient of the logarithm of the likelihood.
func (m Matrix) slope(log []float64, ghost float64) *mat.VecDense {
	out := mat.NewVecDense(len(log), nil)
	for i := range log {
		g := ghost * (1 - 2*odds(log[i]))
		for j := range log {
			g += m.Wins[i][j] - m.Met(i, j)*odds(log[i]-log[j])
		}
		out.SetVec(i, g)
	}
	return out
}

// curvature is the information about the abilities. Without a ghost their sum
// is free, and a one in every cell ties it down without touching differences.
func (m Matrix) curvature(log []float64, ghost float64) (*mat.Cholesky, error) {
	n := len(log)
	h := mat.NewSymDense(n, nil)
	for i := range n {
		own := 2 * ghost * odds(log[i]) * odds(-log[i])
		for j := range n {
			if i != j {
				told := m.Met(i, j) * odds(log[i]-log[j]) * odds(log[j]-log[i])
				h.SetSym(i, j, -told+free(ghost))
				own += told
			}
		}
		h.SetSym(i, i, own+free(ghost))
	}
	out := new(mat.Cholesky)
	if !out.Factorize(h) {
		return nil, errors.New("abilities: the encounters don't determine them: use a prior")
	}
	return out, nil
}

func free(ghost float64) float64 {
	if ghost == 0 {
		return 1
	}
	return 0
}

// climb goes a step up, or half of it, or a quarter, until it is not down.
func (m Matrix) climb(from []float64, step *mat.VecDense, ghost float64) []float64 {
	height := m.likelihood(from, ghost)
	to := make([]float64, len(from))
	for share := 1.0; ; share /= 2 {
		for i := range from {
			to[i] = from[i] + share*step.AtVec(i)
		}
		if share < 1e-6 || m.likelihood(to, ghost) >= height-1e-9 {
			return to
		}
	}
}

// likelihood is its logarithm.
func (m Matrix) likelihood(log []float64, ghost float64) (sum float64) {
	for i := range log {
		sum += ghost * (math.Log(odds(log[i])) + math.Log(odds(-log[i])))
		for j := range log {
			if m.Wins[i][j] > 0 {
				sum += m.Wins[i][j] * math.Log(odds(log[i]-log[j]))
			}
		}
	}
	return sum
}

// odds is the chance to win of one that is ahead by a logarithm of ability.
func odds(ahead float64) float64 { return 1 / (1 + math.Exp(-ahead)) }

// believe keeps how far the abilities may be off.
func (a *Abilities) believe(curve *mat.Cholesky, ghost float64) error {
	n := len(a.Log)
	var inverse mat.SymDense
	if err := curve.InverseTo(&inverse); err != nil {
		return fmt.Errorf("abilities: their spread: %w", err)
	}
	a.covariance = make([][]float64, n)
	for i := range n {
		a.covariance[i] = make([]float64, n)
		for j := range n {
			a.covariance[i][j] = inverse.At(i, j) - free(ghost)/float64(n*n)
		}
	}
	return nil
}

// Interval holds the logarithm of the ability of animal i at the level of the
// reference file (9 in 10), as a bell curve about it: for few encounters it is
// a rough one.
func (a Abilities) Interval(i int) (low, high float64) {
	out := math.Sqrt2 * math.Erfinv(assumed("level")) * math.Sqrt(a.covariance[i][i])
	return a.Log[i] - out, a.Log[i] + out
}

// Error is the standard error of the difference in ability of i and j.
func (a Abilities) Error(i, j int) float64 {
	c := a.covariance
	return math.Sqrt(max(0, c[i][i]+c[j][j]-2*c[i][j]))
}

// Above is the chance, 0 to 1, that i is the abler of i and j, as a bell curve
// about the difference. Of an animal and itself it is a half.
func (a Abilities) Above(i, j int) float64 {
	if i == j {
		return 0.5
	}
	return phi((a.Log[i] - a.Log[j]) / a.Error(i, j))
}
