package growth

import (
	"math"
	"slices"
)

// track are the days and masses of one animal on one scale with one coat and
// method: what is like enough to be compared. A coat that turns wet, or another
// way to weigh, begins another track, so that it can't pass for a step.
type track struct {
	animal string
	days   []int
	day    []float64 // the same
	kg     []float64 // less the course of the year, where there is a year of them
	logs   []float64 // logarithms in hundredths, of which differences are percent; likewise
	jumps  [2]jumps  // in kg and in percent
}

// Units of a step.
const (
	inKg = iota
	inPercent
)

// tracksOf are the tracks of readings, each on one scale, by what they are of.
func tracksOf(readings []Reading) (out []track) {
	type like struct{ animal, scale, method, coat string }
	of := map[like][]Weighing{}
	var all []like
	for _, r := range readings {
		key := like{r.Animal, r.Scale, r.Method, r.Coat}
		if of[key] == nil {
			all = append(all, key)
		}
		of[key] = append(of[key], r.Weighing)
	}
	slices.SortFunc(all, func(a, b like) int {
		return slices.Compare([]string{a.animal, a.scale, a.method, a.coat}, []string{b.animal, b.scale, b.method, b.coat})
	})
	for _, key := range all {
		if t, ok := trackOf(key.animal, daily(of[key])); ok {
			out = append(out, t)
		}
	}
	return out
}

// trackOf measures the jumps of a series; ok is false where they are too few to
// know how large they come by themselves.
func trackOf(animal string, s series) (track, bool) {
	t := track{animal: animal, day: s.day, kg: s.calm(s.kg)}
	logs := make([]float64, len(s.kg))
	for i, kg := range s.kg {
		t.days = append(t.days, int(s.day[i]))
		logs[i] = 100 * math.Log(kg)
	}
	t.logs = s.calm(logs)
	// A scale shows steps, and a steady animal may jump by none of them.
	least := 0.1 * assumed("scale_error")
	t.jumps[inKg] = s.jumpsOf(t.kg, least*median(slices.Clone(s.kg)))
	t.jumps[inPercent] = s.jumpsOf(t.logs, 100*least)
	return t, t.measured() >= int(assumed("step_own"))
}

// calm takes the course of the year out of values, as far as a line and a sine
// make it: it would look like steps where weigh-ins are far apart. A step is left
// in, since a sine has none.
func (s series) calm(values []float64) []float64 {
	year := assumed("year")
	if s.span() < year || float64(len(values)) < assumed("season_least") {
		return values
	}
	_, off, ok := robustWave(s.day, values, year)
	if !ok {
		return values
	}
	return off
}

// measured is on how many days its jumps could be measured.
func (t track) measured() (n int) {
	for _, j := range t.jumps[inKg].at {
		if !math.IsNaN(j) {
			n++
		}
	}
	return n
}

// on is the jump of a track between its last day before a day and its first from
// it on; ok is false where it was not weighed near.
func (t track) on(day, unit int) (jump float64, ok bool) {
	i, _ := slices.BinarySearch(t.days, day)
	if i == 0 || i == len(t.days) {
		return 0, false
	}
	if window := int(assumed("step_window")); t.days[i]-day > window || day-t.days[i-1] > window {
		return 0, false
	}
	jump = t.jumps[unit].at[i]
	return jump, !math.IsNaN(jump)
}
