package growth

import (
	"math"
	"slices"
)

// A fast that all begin on one day, or a change of their ration, bends their
// masses for weeks. Seen through the days about it that may pass for a step; it
// is told from one by how well a ramp does in its place.

// rampGrid is the days between the ramps that are tried.
const rampGrid = 4

// ramped says whether, about a day, the animals' masses ran over weeks rather
// than stepped, all by as much in kg or all by as much in percent.
func ramped(tracks []track, day int) bool {
	window, shortest := int(assumed("step_window")), int(assumed("ramp_days"))
	beyond := 1.1*explainedByStep(tracks, day, day) + assumed("ramp_gain")
	for from := day - window; from < day; from += rampGrid {
		for to := max(day, from+shortest); to <= day+window; to += rampGrid {
			ramp := explained(tracks, day, func(t int) float64 { return clamp(float64(t-from) / float64(to-from)) })
			if ramp > beyond {
				return true
			}
		}
	}
	return false
}

// explainedByStep is that of a step on a day, by the days about another.
func explainedByStep(tracks []track, about, day int) float64 {
	return explained(tracks, about, func(t int) float64 { return clamp(float64(t - day + 1)) })
}

// settled is the day near a peak on which a step explains most: it uses all days
// about it, and a peak only the nearest of each animal.
func (s scan) settled(tracks []track, at int) int {
	best, most := at, 0.0
	for i, day := range s.days {
		if math.Abs(float64(day-s.days[at])) > assumed("ramp_days") {
			continue
		}
		if e := explainedByStep(tracks, s.days[at], day); e > most {
			best, most = i, e
		}
	}
	return best
}

func clamp(v float64) float64 { return min(max(v, 0), 1) }

// explained is how much of the masses within the window about a day one size of
// a shape explains for all animals, beside a line of its own for each, in squared
// standard deviations; in kg or in percent, whichever is more.
func explained(tracks []track, day int, shape func(day int) float64) float64 {
	best := 0.0
	for unit := range [2]int{} {
		along, squares := 0.0, 0.0
		for _, t := range tracks {
			if _, ok := t.on(day, unit); ok {
				a, s := t.along(day, unit, shape)
				inverse := 1 / square(t.jumps[unit].sd)
				along, squares = along+a*inverse, squares+s*inverse
			}
		}
		if squares > 0 {
			best = max(best, square(along)/squares)
		}
	}
	return best
}

// along is how masses go with a shape, both freed of a straight line, and the
// shape with itself.
func (t track) along(day, unit int, shape func(day int) float64) (along, squares float64) {
	values, window := t.kg, int(assumed("step_window"))
	if unit == inPercent {
		values = t.logs
	}
	from, _ := slices.BinarySearch(t.days, day-window)
	to, _ := slices.BinarySearch(t.days, day+window+1)
	along, squares = freed(t.day, values, from, to, func(i int) float64 { return shape(t.days[i]) })
	if !(squares > 0.01) { // through these days the shape is itself a straight line
		return 0, 0
	}
	return along, squares
}
