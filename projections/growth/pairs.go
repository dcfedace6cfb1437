package growth

import "slices"

// The slopes of all pairs of n weigh-ins are half of n squared. Of long series
// they are not listed: how many slopes lie below a number is counted in
// n log n, as the pairs that change places when the series is tilted by it
// (Matousek 1991, Inf Process Lett 39:183; Dillencourt, Mount & Netanyahu 1992,
// Int J Comput Geom Appl 2:1, both from memory). A sample of pairs, drawn by a
// fixed seed, says where to count; the answer is a slope of the right rank
// whatever was drawn, and only the time depends on it.

const (
	listedUpTo = 300  // weigh-ins whose slopes are listed all
	sampled    = 4096 // pairs that say where to count
)

// pairs is how many slopes there are.
func (s series) pairs() int { return len(s.day) * (len(s.day) - 1) / 2 }

func (s series) slope(i, j int) float64 { return (s.kg[j] - s.kg[i]) / (s.day[j] - s.day[i]) }

// slopes lists the slopes of all pairs, in order.
func (s series) slopes() []float64 {
	out := make([]float64, 0, s.pairs())
	for i := range s.day {
		for j := i + 1; j < len(s.day); j++ {
			out = append(out, s.slope(i, j))
		}
	}
	slices.Sort(out)
	return out
}

// ranked are the slopes of given ranks, the least having rank 0, in kg/d.
func (s series) ranked(ranks ...int) []float64 {
	by := s.byRank()
	out := make([]float64, len(ranks))
	for i, rank := range ranks {
		out[i] = by(rank)
	}
	return out
}

// byRank gives the slope of any rank.
func (s series) byRank() func(rank int) float64 {
	if len(s.day) <= listedUpTo {
		all := s.slopes()
		return func(rank int) float64 { return all[rank] }
	}
	return newCounter(s).ranked
}
