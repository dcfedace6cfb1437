package coat

import "slices"

// Region is where new coat first showed on one part of the body.
type Region struct {
	Region string  `json:"region"`
	First  Between `json:"first"`
}

// regions says when new coat first showed in each region, in the order in which
// it came. A score without regions says nothing of them, but one without any new
// coat says that there was none anywhere.
func regions(molt []Score) []Region {
	out, last := []Region{}, (*Day)(nil)
	for i, s := range molt {
		for _, name := range s.Regions {
			if slices.ContainsFunc(out, func(r Region) bool { return r.Region == name }) || s.None() {
				continue
			}
			r := Region{name, Between{After: s.Day, By: s.Day, Likely: s.Day}}
			if last != nil {
				r.First = Between{*last, s.Day, *last + (s.Day-*last)/2, true}
			}
			out = append(out, r)
		}
		if s.None() || len(s.Regions) > 0 {
			last = &molt[i].Day
		}
	}
	return out
}

// Showing is how many regions showed new coat by a day.
func (y Year) Showing(day Day) (out []string) {
	for _, r := range y.Regions {
		if r.First.By <= day {
			out = append(out, r.Region)
		}
	}
	return out
}
