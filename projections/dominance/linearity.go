package dominance

import "math"

// Linearity is how near the dyads come to one straight order.
type Linearity struct {
	NotEnough string  // why the numbers say nothing; empty where they do
	H         float64 // Landau's h, 0 to 1: unknown dyads count as tied
	HPrime    float64 // de Vries' h', 0 to 1: the mean of h over every outcome of the unknown dyads
	Expected  float64 // the mean of h where every dyad is a coin thrown
	Unknown   int     // dyads never seen to meet
	Tied      int     // dyads that met and won equally often
}

// Linearity works out h and h', both without unit, in closed form:
//
//	h  = 12/(N³-N) · Σ(V - (N-1)/2)²   V: animals dominated, a tie is a half
//	h' = h + 6u/(N³-N)                 u: unknown dyads
//
// Of two animals h is always 1 or 0. Sources: Landau 1951, Bull Math Biophys
// 13:1-19 (from memory); de Vries 1995, Anim Behav 50:1375-1389, who has h' from
// throws; each unknown dyad adds a quarter to the variance of two of the V, so
// the mean of his throws is exact here.
func (m Matrix) Linearity() Linearity {
	n, c := float64(len(m.IDs)), m.Counts()
	out := Linearity{NotEnough: m.tooFew(), Unknown: c.Unknown, Tied: c.Tied}
	if c.Animals < 2 {
		return out
	}
	out.H = 1 - 24*m.circular()/(n*n*n-n)
	out.HPrime = out.H + 6*float64(c.Unknown)/(n*n*n-n)
	out.Expected = 3 / (n + 1)
	return out
}

// tooFew says that there are too few animals for a triad, or that nothing was
// observed.
func (m Matrix) tooFew() string {
	if len(m.IDs) < 3 {
		return "fewer than three animals"
	}
	return m.unseen()
}

// doubled is twice the number of animals that each dominates: a tied or unknown
// dyad is one for both, which keeps it whole.
func (m Matrix) doubled() []int {
	out := make([]int, len(m.IDs))
	for i := range m.IDs {
		for j := range i {
			switch {
			case m.Dominates(i, j):
				out[i] += 2
			case m.Dominates(j, i):
				out[j] += 2
			default:
				out[i]++
				out[j]++
			}
		}
	}
	return out
}

// circular is Kendall's d, the number of circular triads.
func (m Matrix) circular() float64 { return triads(len(m.IDs), squares(m.doubled())) }

func squares(doubled []int) (sum int) {
	for _, v := range doubled {
		sum += v * v
	}
	return sum
}

// triads is the number of circular triads from the sum of squares of the
// doubled numbers of dominated animals. Every value is a multiple of an eighth,
// so comparing two is exact.
func triads(n, squares int) float64 {
	return float64(n*(n-1)*(2*n-1))/12 - float64(squares)/8
}

// Kendall is Kendall's coefficient of linearity, with tied and unknown dyads
// counted as a half. Unknown ones bias it towards 0, and can take it below;
// de Vries 1995 made h' for that reason.
type Kendall struct {
	NotEnough string  // why the numbers say nothing; empty where they do
	Circular  float64 // d: circular triads
	Most      float64 // that this many animals can have
	K         float64 // 1 where there are none, 0 where there are the most

	// ChiSquare with its degrees of freedom is defined from five animals on, and
	// 0 below. The sign of the half in it is from memory, and a widely copied
	// script has the other one: a p is better taken from LinearityTest.
	ChiSquare, Freedom float64
}

// Kendall works out d and K: triads, and a share without unit. Sources: Kendall
// & Babington Smith 1940, Biometrika 31:324-345 (from memory); Appleby 1983,
// Anim Behav 31:600-608, as an open script reads it.
func (m Matrix) Kendall() Kendall {
	n := float64(len(m.IDs))
	out := Kendall{NotEnough: m.tooFew()}
	if n < 3 {
		return out
	}
	out.Circular, out.Most = m.circular(), (n*n*n-n)/24
	if math.Mod(n, 2) == 0 {
		out.Most = (n*n*n - 4*n) / 24
	}
	out.K = 1 - out.Circular/out.Most
	if n > 4 {
		out.Freedom = n * (n - 1) * (n - 2) / ((n - 4) * (n - 4))
		out.ChiSquare = 8/(n-4)*(n*(n-1)*(n-2)/24-out.Circular+0.5) + out.Freedom
	}
	return out
}
