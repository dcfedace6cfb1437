package dominance

import (
	"fmt"
	"time"
)

// Stay is a time that an animal lived at a place. A zero Until is a stay that
// has not ended.
type Stay struct {
	Animal, Place string
	From, Until   time.Time
}

// Together is how long each pair of the animals ids lived at the same place
// between two moments, by row and column. A pair with none was never together:
// that it was not seen to meet is no gap in what is known. Errors: an animal
// that is not listed; a stay or a window that ends before it begins.
func Together(ids []string, stays []Stay, from, until time.Time) ([][]time.Duration, error) {
	if until.Before(from) {
		return nil, fmt.Errorf("window: ends before it begins: change the two about")
	}
	at, out := map[string]int{}, make([][]time.Duration, len(ids))
	for i, id := range ids {
		at[id], out[i] = i, make([]time.Duration, len(ids))
	}
	for n, a := range stays {
		i, listed := at[a.Animal]
		if !listed {
			return nil, fmt.Errorf("stay %d: animal %q is not listed: add it to the animals or leave the stay out", n+1, a.Animal)
		}
		if !a.Until.IsZero() && a.Until.Before(a.From) {
			return nil, fmt.Errorf("stay %d: until: is before from: correct one of them", n+1)
		}
		for _, b := range stays[:n] {
			if j := at[b.Animal]; i != j && a.Place == b.Place {
				out[i][j] += a.shared(b, from, until)
				out[j][i] = out[i][j]
			}
		}
	}
	return out, nil
}

// shared is how long two stays overlap within a window.
func (s Stay) shared(with Stay, from, until time.Time) time.Duration {
	for _, begin := range []time.Time{s.From, with.From} {
		if begin.After(from) {
			from = begin
		}
	}
	for _, end := range []time.Time{s.Until, with.Until} {
		if !end.IsZero() && end.Before(until) {
			until = end
		}
	}
	return max(0, until.Sub(from))
}
