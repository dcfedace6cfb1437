package growth

import (
	"math/rand/v2"
	"slices"
)

// counter counts slopes of a series. It starts at day 0 and 0 kg, to keep the
// digits of late days.
type counter struct {
	series
	some       []float64   // slopes of drawn pairs, in order
	hair       float64     // slopes nearer to each other than this are one
	counted    map[int]int // slopes up to a drawn one, by its place
	listed     []float64   // slopes that were listed last, beginning with a rank
	least      int         // that rank
	keys, room []float64
}

func newCounter(s series) *counter {
	n := len(s.day)
	c := &counter{
		series: series{make([]float64, n), make([]float64, n)}, some: make([]float64, 0, sampled),
		counted: map[int]int{}, keys: make([]float64, n), room: make([]float64, n),
	}
	for i := range s.day {
		c.day[i], c.kg[i] = s.day[i]-s.day[0], s.kg[i]-s.kg[0]
	}
	c.hair = 1e-12 + 1e-12*(slices.Max(c.kg)-slices.Min(c.kg))
	dice := rand.New(rand.NewPCG(1, 1))
	for range sampled {
		i, j := dice.IntN(n), dice.IntN(n-1)
		if j >= i {
			j++
		}
		c.some = append(c.some, s.slope(min(i, j), max(i, j)))
	}
	slices.Sort(c.some)
	return c
}

// ranked finds the two drawn slopes that a rank lies between, and lists only
// what lies between them.
func (c *counter) ranked(rank int) float64 {
	if in := rank - c.least; in >= 0 && in < len(c.listed) {
		return nth(c.listed, in)
	}
	at := c.first(rank)
	if at < len(c.some) && c.below(c.some[at]-c.hair) <= rank {
		return c.some[at]
	}
	widest := (slices.Max(c.kg)-slices.Min(c.kg))*2 + 1 // steeper than any: days differ by one or more
	lo, hi := -widest, widest
	if at > 0 {
		lo = c.some[at-1] + c.hair
	}
	if at < len(c.some) {
		hi = c.some[at] - c.hair
	}
	c.listed, c.least = c.between(lo, hi), c.below(lo)
	return nth(c.listed, min(max(rank-c.least, 0), len(c.listed)-1))
}

// first is the place of the first drawn slope that more slopes than a rank do not
// exceed. It is guessed from the rank, as drawn slopes lie like all of them, each
// time a little beyond, so that both sides close in; where guesses don't find it,
// what is left is halved.
func (c *counter) first(rank int) int {
	from, to := 0, len(c.some)
	guess := rank * to / c.pairs()
	for try := 0; from < to; try++ {
		if try > 6 {
			guess = (from + to) / 2
		}
		at := min(max(guess, from), to-1)
		off := (rank - c.upTo(at)) * len(c.some) / c.pairs()
		if c.upTo(at) > rank {
			to, guess = at, at+off-1-off*off/400
		} else {
			from, guess = at+1, at+off+1+off*off/400
		}
	}
	return from
}

// upTo counts the slopes that a drawn one is not exceeded by.
func (c *counter) upTo(at int) int {
	n, ok := c.counted[at]
	if !ok {
		n = c.below(c.some[at] + c.hair)
		c.counted[at] = n
	}
	return n
}

// tilt gives the masses less what a slope makes of the days.
func (c *counter) tilt(slope float64) []float64 {
	for i := range c.keys {
		c.keys[i] = c.kg[i] - slope*c.day[i]
	}
	return c.keys
}

// below counts the pairs whose slope is less.
func (c *counter) below(slope float64) int { return inversions(c.tilt(slope), c.room) }

// between lists the slopes from one up to another.
func (c *counter) between(lo, hi float64) (out []float64) {
	n := len(c.day)
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	low := slices.Clone(c.tilt(lo))
	slices.SortFunc(order, func(a, b int) int {
		switch {
		case low[a] < low[b]:
			return -1
		case low[a] > low[b]:
			return 1
		}
		return a - b
	})
	turned(order, make([]int, n), c.tilt(hi), func(i, j int) { out = append(out, c.slope(min(i, j), max(i, j))) })
	return out
}
