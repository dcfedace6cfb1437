package growth

import (
	"fmt"
	"math"
	"slices"
)

// stepAt describes the step of a peak; ok is false where it is too small to
// matter, where it took weeks, where it is that of a few animals, or where they
// stepped on other scales as well.
func stepAt(tracks, other []track, kg, percent scan, at int) (out Step, ok bool) {
	k, p := kg.steps[at], percent.steps[at]
	out = Step{Since: kg.days[at], Kg: about(k.step, k.se*kg.apart, k.animals-1)}
	out.Percent = shares(about(p.step, p.se*percent.apart, p.animals-1))
	surest := kg
	if percent.z(at) > kg.z(at) {
		surest = percent
	}
	switch {
	case k.unlike+apartBy < p.unlike:
		out.Same, surest = "kg", kg
	case p.unlike+apartBy < k.unlike:
		out.Same, surest = "percent", percent
	}
	small := math.Abs(p.step)/100 < assumed("step_least")
	if small || surest.z(at) < assumed("step_sd") || !surest.shared(tracks, at) || ramped(tracks, out.Since) {
		return Step{}, false
	}
	out.Between = surest.between(at)
	out.of(tracks)
	moved := false
	out.Elsewhere, moved = elsewhere(other, out, p.step)
	return out, !moved
}

// shares turns logarithms of masses, in hundredths, into percent.
func shares(logs Interval) Interval {
	percent := func(log float64) float64 { return 100 * math.Expm1(log/100) }
	return Interval{percent(logs.Value), percent(logs.Lo), percent(logs.Hi)}
}

// between are the days about a peak that are nearly as sure as it: the step may
// have come after the last weigh-in that is not.
func (s scan) between(at int) [2]int {
	from, to := at, at
	nearly := func(i int) bool { return s.z(i) > s.z(at)-2 && s.steps[i].step*s.steps[at].step > 0 }
	for from > 0 && nearly(from-1) {
		from--
	}
	for to+1 < len(s.days) && nearly(to+1) {
		to++
	}
	if from == 0 {
		return [2]int{s.days[0], s.days[to]}
	}
	return [2]int{s.days[from-1] + 1, s.days[to]}
}

// of names the animals behind a step, and counts their days within its window.
func (s *Step) of(tracks []track) {
	kg, percent := jumpsOn(tracks, s.Since, inKg), jumpsOn(tracks, s.Since, inPercent)
	for i := range kg {
		s.Of = append(s.Of, Jump{kg[i].animal, kg[i].jump, 100 * math.Expm1(percent[i].jump/100)})
	}
	window := int(assumed("step_window"))
	for _, t := range tracks {
		if _, ok := t.on(s.Since, inKg); !ok {
			continue
		}
		for _, day := range t.days {
			if day >= s.Since-window && day <= s.Since+window {
				s.Weighings++
			}
		}
	}
}

// elsewhere says whether the animals of a step did the same on other scales:
// then it is not the scale. Percent is the logarithm of the step, in hundredths.
func elsewhere(other []track, s Step, percent float64) (says string, moved bool) {
	same := slices.DeleteFunc(slices.Clone(other), func(t track) bool {
		return !slices.ContainsFunc(s.Of, func(j Jump) bool { return j.Animal == t.animal })
	})
	jumps := jumpsOn(same, s.Since, inPercent)
	if len(jumps) == 0 {
		return "none of them was weighed on another scale about that day", false
	}
	c := commonOf(jumps)
	if math.Abs(c.z()) >= assumed("step_sd")/2 && c.step/percent > 0.5 {
		return fmt.Sprintf("%d of them stepped on other scales as well", len(jumps)), true
	}
	return fmt.Sprintf("%d of them were weighed on other scales as well, and did not step there", len(jumps)), false
}
