package dominance

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Rating is where the animals of one group stand after the encounters so far.
// It is a value that can be kept as JSON and carried on day by day; Step makes
// a new one and leaves the old as it was.
type Rating struct {
	Scale  Scale              `json:"scale"`
	Points map[string]float64 `json:"points"`
	Met    map[string]int     `json:"met"` // encounters counted, by animal
}

// NewRating begins a rating in which nobody stands yet. Errors: a curve that is
// not known; stakes for the encounters without an intensity missing; a stake
// that is not above zero; points that are not finite.
func NewRating(s Scale) (Rating, error) {
	if err := s.check(); err != nil {
		return Rating{}, err
	}
	return Rating{s, map[string]float64{}, map[string]int{}}, nil
}

// Join lets animals stand at their start before their first encounter, so that
// it is seen who was there. Those that stand already stay where they are.
func (r Rating) Join(animals ...string) Rating {
	out := r.clone()
	for _, id := range animals {
		out.join(id)
	}
	return out
}

// Step takes in counted encounters one after the other, as they followed each
// other in a day: the order must come from their times, never from when they
// were written down. Winner and loser exchange k(1-p) points, with p the chance
// of the winner before; in a draw the better one gives k(p-1/2). The sum of
// points stays. Nothing is rounded. Errors: an encounter without two animals;
// an intensity that has no stake.
func (r Rating) Step(day []Seen) (Rating, error) {
	out := r.clone()
	for n, s := range day {
		if err := out.meet(s, out.Points); err != nil {
			return Rating{}, fmt.Errorf("encounter %d: %w", n+1, err)
		}
	}
	return out, nil
}

// StepTogether takes in the encounters of a day whose order is not known: each
// is reckoned from the points at the start of the day, so that the result is
// the same in whatever order they are given. Errors as for Step.
func (r Rating) StepTogether(day []Seen) (Rating, error) {
	out, first := r.Join(named(day)...), r.Join(named(day)...)
	for n, s := range inAnyOrder(day) {
		if err := out.meet(s, first.Points); err != nil {
			return Rating{}, fmt.Errorf("encounter %d by name: %w", n+1, err)
		}
	}
	return out, nil
}

// inAnyOrder sorts encounters by what they say alone: sums of floating numbers
// depend on their order.
func inAnyOrder(day []Seen) []Seen {
	out := slices.Clone(day)
	for i, s := range out {
		if s.Undecided && s.Winner > s.Loser {
			out[i].Winner, out[i].Loser = s.Loser, s.Winner
		}
	}
	slices.SortFunc(out, func(a, b Seen) int {
		return cmp.Or(strings.Compare(a.Winner, b.Winner), strings.Compare(a.Loser, b.Loser),
			strings.Compare(a.Intensity, b.Intensity), compareBool(a.Undecided, b.Undecided))
	})
	return out
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// Ranked are the animals from the most points down; equal ones by name.
func (r Rating) Ranked() []string {
	return slices.SortedFunc(maps.Keys(r.Points), func(a, b string) int {
		return cmp.Or(cmp.Compare(r.Points[b], r.Points[a]), strings.Compare(a, b))
	})
}

func (r Rating) clone() Rating {
	out := Rating{r.Scale, maps.Clone(r.Points), maps.Clone(r.Met)}
	if out.Points == nil {
		out.Points = map[string]float64{}
	}
	if out.Met == nil {
		out.Met = map[string]int{}
	}
	return out
}

func (r Rating) join(id string) {
	if _, stands := r.Points[id]; stands {
		return
	}
	points, known := r.Scale.Prior[id]
	if !known {
		points = r.Scale.Start
	}
	r.Points[id] = points
}

// meet moves the points of two animals by what was expected of them from the
// points in before.
func (r Rating) meet(s Seen, before map[string]float64) error {
	if err := s.check(); err != nil {
		return err
	}
	k, ok := r.Scale.K[s.Intensity]
	if !ok {
		return fmt.Errorf("intensity: %q has nothing at stake: use one of %q", s.Intensity, slices.Sorted(maps.Keys(r.Scale.K)))
	}
	r.join(s.Winner)
	r.join(s.Loser)
	moved := k * (s.score() - r.Scale.Curve.Chance(before[s.Winner]-before[s.Loser]))
	r.Points[s.Winner] += moved
	r.Points[s.Loser] -= moved
	r.Met[s.Winner]++
	r.Met[s.Loser]++
	return nil
}

// score is what the one named first got out of it: 1, or a half in a draw.
func (e Encounter) score() float64 {
	if e.Undecided {
		return 0.5
	}
	return 1
}
