package dominance

import (
	"fmt"
	"math"
	"slices"
)

// Encounter is a meeting of two animals. The winner is the one that did not
// yield; in one that was not decided the order of the two says nothing.
type Encounter struct {
	Winner, Loser string
	Undecided     bool
}

// Matrix is the encounters of a group in one window. Rows and columns follow
// IDs; row i, column j holds how often i won over j. An encounter that was not
// decided counts as half a win for each of the two, and Undecided keeps their
// number apart: it is symmetric, or nil where there were none. Every method but
// Check takes the matrix to be one that Check has nothing against.
type Matrix struct {
	IDs       []string
	Wins      [][]float64 // encounters, in halves
	Undecided [][]int     // encounters
}

// most is how many wins a cell may hold, so that sums of squares stay exact.
const most = 1 << 20

// FromEvents counts encounters, in whatever order, into a matrix of the animals
// ids: one row and column each. Errors: an animal listed twice; an encounter of
// an animal that is not listed, or with itself.
func FromEvents(ids []string, encounters []Encounter) (Matrix, error) {
	m, at := empty(ids), map[string]int{}
	for i, id := range ids {
		if at[id] = i; slices.Index(ids, id) != i {
			return Matrix{}, fmt.Errorf("ids: %q is listed twice: list each animal once", id)
		}
	}
	for n, e := range encounters {
		i, won := at[e.Winner]
		j, lost := at[e.Loser]
		switch {
		case !won:
			return Matrix{}, fmt.Errorf("encounter %d: winner %q is not listed: add it to the animals or leave the encounter out", n+1, e.Winner)
		case !lost:
			return Matrix{}, fmt.Errorf("encounter %d: loser %q is not listed: add it to the animals or leave the encounter out", n+1, e.Loser)
		case i == j:
			return Matrix{}, fmt.Errorf("encounter %d: %q can't meet itself: name two animals", n+1, e.Winner)
		}
		m.add(i, j, e.Undecided)
	}
	return m, m.Check()
}

func empty(ids []string) Matrix {
	m := Matrix{IDs: slices.Clone(ids), Wins: make([][]float64, len(ids)), Undecided: make([][]int, len(ids))}
	for i := range ids {
		m.Wins[i], m.Undecided[i] = make([]float64, len(ids)), make([]int, len(ids))
	}
	return m
}

func (m Matrix) add(i, j int, undecided bool) {
	if !undecided {
		m.Wins[i][j]++
		return
	}
	m.Wins[i][j] += 0.5
	m.Wins[j][i] += 0.5
	m.Undecided[i][j]++
	m.Undecided[j][i]++
}

// Check says what is wrong with a matrix that was not made by FromEvents. Errors: rows or columns that don't fit the
// animals; an animal listed twice; wins below zero, above a million, over
// itself, or not in whole encounters; undecided ones that don't fit the wins.
func (m Matrix) Check() error {
	n := len(m.IDs)
	if len(m.Wins) != n || m.Undecided != nil && len(m.Undecided) != n {
		return fmt.Errorf("matrix: %d animals but %d rows of wins and %d of undecided: give each animal one row", n, len(m.Wins), len(m.Undecided))
	}
	for i, id := range m.IDs {
		if slices.Index(m.IDs, id) != i {
			return fmt.Errorf("ids: %q is listed twice: list each animal once", id)
		}
		if len(m.Wins[i]) != n || m.Undecided != nil && len(m.Undecided[i]) != n {
			return fmt.Errorf("matrix: the row of %q does not have %d columns: give each animal one", id, n)
		}
	}
	for i := range m.IDs {
		for j := range m.IDs {
			if err := m.checkCell(i, j); err != nil {
				return fmt.Errorf("wins of %q over %q: %w", m.IDs[i], m.IDs[j], err)
			}
		}
	}
	return nil
}

func (m Matrix) checkCell(i, j int) error {
	wins, undecided := m.Wins[i][j], m.draws(i, j)
	switch decided := m.Decided(i, j); {
	case !(wins >= 0 && wins <= most):
		return fmt.Errorf("%v is out of range: give a count from 0 to %d", wins, most)
	case i == j && wins != 0:
		return fmt.Errorf("%v: an animal can't meet itself: give 0", wins)
	case undecided != m.draws(j, i) || undecided < 0 || decided < 0:
		return fmt.Errorf("%v wins with %d encounters undecided: count each of these as half a win for both", wins, undecided)
	case decided != math.Trunc(decided):
		return fmt.Errorf("%v wins are not whole encounters: give whole wins, and undecided encounters as such", wins)
	}
	return nil
}

func (m Matrix) draws(i, j int) int {
	if m.Undecided == nil {
		return 0
	}
	return m.Undecided[i][j]
}

// Decided is in how many encounters i won over j and that was plain to see.
func (m Matrix) Decided(i, j int) float64 { return m.Wins[i][j] - float64(m.draws(i, j))/2 }

// Met is in how many encounters i and j were seen, decided or not. None makes
// them an unknown dyad.
func (m Matrix) Met(i, j int) float64 { return m.Wins[i][j] + m.Wins[j][i] }

// Dominates says whether i won more often over j than j over i. Where neither
// did, they are tied, or unknown if they never met.
func (m Matrix) Dominates(i, j int) bool { return m.Wins[i][j] > m.Wins[j][i] }

// Transposed is the same encounters with winners and losers changed places, as
// behaviour that goes from the loser to the winner is recorded, like fleeing.
func (m Matrix) Transposed() Matrix {
	out := empty(m.IDs)
	for i := range m.IDs {
		for j := range m.IDs {
			out.Wins[i][j], out.Undecided[i][j] = m.Wins[j][i], m.draws(i, j)
		}
	}
	return out
}
