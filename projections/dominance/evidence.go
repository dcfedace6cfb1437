package dominance

import (
	"errors"
	"fmt"
	"time"
)

// Evidence is what a verdict on the order of a group is made from.
type Evidence struct {
	Matrix   Matrix            // counted encounters of one window
	Together [][]time.Duration // how long each pair lived together in it, as from Together; nil where all did
	When     string            // the window as a sentence ends with it, such as "since 1 March"; may be empty
}

// Match is two animals and why they are named.
type Match struct {
	A, B string
	Why  string
}

func (e Evidence) check() error {
	if err := e.Matrix.Check(); err != nil {
		return err
	}
	n := len(e.Matrix.IDs)
	if e.Together == nil {
		return nil
	}
	if len(e.Together) != n {
		return fmt.Errorf("together: %d rows for %d animals: give each animal one, or leave it out", len(e.Together), n)
	}
	for i, row := range e.Together {
		if len(row) != n {
			return fmt.Errorf("together: the row of %q does not have %d columns: give each animal one", e.Matrix.IDs[i], n)
		}
		for j := range row {
			if row[j] != e.Together[j][i] || row[j] < 0 {
				return errors.New("together: is not the same both ways and from zero: make it with Together")
			}
		}
	}
	return nil
}

// lived says whether two animals were together; those that were seen to meet
// were, whatever is known of where they lived.
func (e Evidence) lived(i, j int) bool {
	return e.Together == nil || e.Together[i][j] > 0 || e.Matrix.Met(i, j) > 0
}

// Pairs are those of the group: how many lived together, which of these were
// never seen to meet, and which were never together. Only the second are a gap
// that watching can close.
type Pairs struct {
	Lived  int     // pairs that lived together in the window
	Unseen []Match // of these, never seen to meet
	Never  []Match // never together
}

// Unknown is the share of the pairs that lived together and were not seen to
// meet, 0 to 1; 0 where no pair lived together.
func (p Pairs) Unknown() float64 {
	if p.Lived == 0 {
		return 0
	}
	return float64(len(p.Unseen)) / float64(p.Lived)
}

func (e Evidence) pairs() (out Pairs) {
	for i, a := range e.Matrix.IDs {
		for j := i + 1; j < len(e.Matrix.IDs); j++ {
			b := e.Matrix.IDs[j]
			switch {
			case !e.lived(i, j):
				out.Never = append(out.Never, Match{a, b, "never together"})
			case e.Matrix.Met(i, j) == 0:
				out.Unseen = append(out.Unseen, Match{a, b, "together but never seen to meet"})
				fallthrough
			default:
				out.Lived++
			}
		}
	}
	return out
}

// meetings are the encounters of animal i, and how many of them were decided.
func (m Matrix) meetings(i int) (seen, decided float64) {
	for j := range m.IDs {
		seen += m.Met(i, j)
		decided += m.Decided(i, j) + m.Decided(j, i)
	}
	return seen, decided
}

// linked says whether a chain of encounters leads from every animal to every
// other.
func (m Matrix) linked() bool {
	if len(m.IDs) == 0 {
		return true
	}
	reached := make([]bool, len(m.IDs))
	for todo := []int{0}; len(todo) > 0; {
		i := todo[0]
		todo, reached[i] = todo[1:], true
		for j := range m.IDs {
			if !reached[j] && m.Met(i, j) > 0 {
				reached[j], todo = true, append(todo, j)
			}
		}
	}
	for _, r := range reached {
		if !r {
			return false
		}
	}
	return true
}
