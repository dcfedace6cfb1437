package growth

import (
	"cmp"
	"math"
	"slices"
)

// Jump is how far one animal's readings step, in kg and in percent of its mass.
type Jump struct {
	Animal  string
	Kg      float64
	Percent float64
}

// jumped is one animal's step in one unit with its standard error.
type jumped struct {
	animal  string
	jump    float64
	inverse float64 // of its variance
}

// jumpsOn are the steps of all animals on a day, those of one animal's tracks
// taken together. Tracks are in the order of animals.
func jumpsOn(tracks []track, day, unit int) (out []jumped) {
	for _, t := range tracks {
		jump, ok := t.on(day, unit)
		if !ok {
			continue
		}
		inverse := 1 / square(t.jumps[unit].sd)
		if n := len(out); n > 0 && out[n-1].animal == t.animal {
			o := &out[n-1]
			o.jump = (o.jump*o.inverse + jump*inverse) / (o.inverse + inverse)
			o.inverse += inverse
			continue
		}
		out = append(out, jumped{t.animal, jump, inverse})
	}
	return out
}

// common is the step that animals have in common: those whose steps differ by
// more than their errors say tell of themselves, and make it less sure.
type common struct {
	step, se float64
	unlike   float64 // Cochran's Q: how much animals differ, their number less one if only by error
	animals  int
}

// commonOf is a random-effects mean (DerSimonian & Laird 1986, Control Clin
// Trials 7:177).
func commonOf(jumps []jumped) common {
	sum, weights, squares := 0.0, 0.0, 0.0
	for _, j := range jumps {
		sum, weights, squares = sum+j.jump*j.inverse, weights+j.inverse, squares+square(j.inverse)
	}
	out := common{animals: len(jumps)}
	for _, j := range jumps {
		out.unlike += j.inverse * square(j.jump-sum/weights)
	}
	between := max(0, (out.unlike-float64(len(jumps)-1))/(weights-squares/weights))
	sum, weights = 0, 0
	for _, j := range jumps {
		w := 1 / (1/j.inverse + between)
		sum, weights = sum+w*j.jump, weights+w
	}
	out.step, out.se = sum/weights, 1/math.Sqrt(weights)
	return out
}

func (c common) z() float64 { return c.step / c.se }

// scan is the common step of each day on which the scale was used, in one unit.
// Where the animals' steps go together on all days, as in a season that they
// share, all of them count less.
type scan struct {
	unit  int
	days  []int
	steps []common
	apart float64 // standard deviation of z over the days, 1 or more
}

func scanOf(tracks []track, unit int) scan {
	out := scan{unit: unit, apart: 1}
	var zs []float64
	for _, day := range daysOf(tracks) {
		jumps := jumpsOn(tracks, day, unit)
		if float64(len(jumps)) < assumed("step_animals") {
			continue
		}
		c := commonOf(jumps)
		out.days, out.steps, zs = append(out.days, day), append(out.steps, c), append(zs, c.z())
	}
	if len(zs) > 0 {
		out.apart = max(1, spread(zs))
	}
	return out
}

func (s scan) z(i int) float64 { return math.Abs(s.steps[i].z()) / s.apart }

// shared says whether a step is still there, half as large and half as sure,
// without the quarter of the animals that step furthest.
func (s scan) shared(tracks []track, at int) bool {
	step := s.steps[at].step
	jumps := jumpsOn(tracks, s.days[at], s.unit)
	slices.SortFunc(jumps, func(a, b jumped) int { return cmp.Compare(b.jump*step, a.jump*step) })
	rest := commonOf(jumps[(len(jumps)+3)/4:])
	return rest.step/step >= 0.5 && math.Abs(rest.z())/s.apart >= assumed("step_sd")/2
}

// daysOf are the days of all tracks, each once.
func daysOf(tracks []track) (out []int) {
	for _, t := range tracks {
		out = append(out, t.days...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}
