package dominance

// Counts is what a matrix holds.
type Counts struct {
	Animals      int
	Interactions int // encounters, decided or not
	Undecided    int // of them
	Dyads        int // pairs of animals: the sum of the four below
	Unknown      int // never seen to meet
	Tied         int // met, and won equally often
	OneWay       int // only one of the two ever won
	TwoWay       int // both won, one of them more often
}

// Counts counts the encounters and the dyads of the matrix.
func (m Matrix) Counts() Counts {
	n := len(m.IDs)
	out := Counts{Animals: n, Dyads: n * (n - 1) / 2}
	for i := range n {
		for j := range i {
			out.Interactions += int(m.Met(i, j))
			out.Undecided += m.draws(i, j)
			switch {
			case m.Met(i, j) == 0:
				out.Unknown++
			case m.Wins[i][j] == m.Wins[j][i]:
				out.Tied++
			case min(m.Decided(i, j), m.Decided(j, i)) == 0:
				out.OneWay++
			default:
				out.TwoWay++
			}
		}
	}
	return out
}
