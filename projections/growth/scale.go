package growth

import (
	"fmt"
	"math"
	"slices"
)

// Scale is what its readings say of a scale.
type Scale struct {
	Scale     string
	Animals   int    // weighed on it
	Weighings int    // on it
	Steps     []Step // the surest first
	NotEnough string
}

// Step is a day from which on a scale reads otherwise for all animals.
type Step struct {
	Since     int      // first day that reads otherwise
	Between   [2]int   // first and last day that it may have been
	Kg        Interval // if it is the same for all
	Percent   Interval // if it goes with the mass
	Same      string   // kg or percent, whichever the animals' steps agree on; empty where they don't tell
	Of        []Jump   // the animals behind it
	Weighings int      // days with a weigh-in of these animals within the window about it
	Elsewhere string   // whether the same animals stepped on other scales, in words
}

// apartBy is by how much Cochran's Q must differ for kg and percent to be told
// apart: the 95th percentile of chi-squared with one degree of freedom.
const apartBy = 3.841

// Scales looks for scales whose readings step on a day for all animals weighed
// on them, as they do when a scale is moved, knocked or set anew. Each animal is
// compared with itself, on the same scale, in the same coat and weighed the same
// way, by the step in a straight line through the days about it; how large such
// steps come by themselves is learnt from all of its other days. One animal's
// own change is not common, and growth, season and a fast are no steps; but
// whatever is done to all animals on one day, such as feeding them before they
// are weighed, looks the same: put a known mass on the scale. Readings that
// don't name a scale are left out. Errors: a mass or coat that can't be.
func Scales(readings []Reading) ([]Scale, error) {
	byScale := map[string][]Reading{}
	for i, r := range readings {
		if err := check([]Weighing{r.Weighing}); err != nil {
			return nil, fmt.Errorf("readings[%d]: %w", i, err)
		}
		if r.Scale != "" && r.Method != guessed {
			byScale[r.Scale] = append(byScale[r.Scale], r)
		}
	}
	var names []string
	for name := range byScale {
		names = append(names, name)
	}
	slices.Sort(names)
	var out []Scale
	for _, name := range names {
		others := slices.DeleteFunc(slices.Clone(readings), func(r Reading) bool { return r.Scale == name || r.Method == guessed })
		out = append(out, scaleOf(name, byScale[name], others))
	}
	return out, nil
}

func scaleOf(name string, readings, others []Reading) Scale {
	out := Scale{Scale: name, Weighings: len(readings), Animals: len(countOf(readings))}
	tracks := tracksOf(readings)
	kg, percent := scanOf(tracks, inKg), scanOf(tracks, inPercent)
	if len(kg.days) == 0 {
		out.NotEnough = fmt.Sprintf("on no day %.0f animals were weighed often enough before and after; each needs some %.0f days with a weigh-in on it, in one coat and way",
			assumed("step_animals"), assumed("step_own")+2*assumed("step_each"))
		return out
	}
	other := tracksOf(others)
	for _, at := range peaks(kg, percent) {
		if step, ok := stepAt(tracks, other, kg, percent, kg.settled(tracks, at)); ok {
			out.Steps = append(out.Steps, step)
		}
	}
	return out
}

func countOf(readings []Reading) map[string]int {
	out := map[string]int{}
	for _, r := range readings {
		out[r.Animal]++
	}
	return out
}

// peaks are the days that are surest of a step, in kg or in percent, none within
// the window of another. Both scans have the same days.
func peaks(kg, percent scan) (out []int) {
	surest := func(i int) float64 { return max(kg.z(i), percent.z(i)) }
	for {
		best := -1
		for i, day := range kg.days {
			if surest(i) < assumed("step_sd") || slices.ContainsFunc(out, func(p int) bool { return math.Abs(float64(kg.days[p]-day)) <= 2*assumed("step_window") }) {
				continue
			}
			if best < 0 || surest(i) > surest(best) {
				best = i
			}
		}
		if best < 0 {
			return out
		}
		out = append(out, best)
	}
}
