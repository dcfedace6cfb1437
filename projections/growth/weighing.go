package growth

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Weighing is one reading of a scale.
type Weighing struct {
	Day    int     // days since 1 January 1970
	Kg     float64 // kg
	Scale  string  // its id; empty where it was not noted
	Method string  // such as voluntary, crate or sling; estimated where it was guessed
	Coat   string  // dry or wet; empty where it was not noted
}

// guessed is the method of a mass that no scale has shown.
const guessed = "estimated"

func check(weighings []Weighing) error {
	for i, w := range weighings {
		if !(w.Kg > 0) || math.IsInf(w.Kg, 0) {
			return fmt.Errorf("weighings[%d]: kg is %v: give the mass in kilograms, above nought", i, w.Kg)
		}
		if !slices.Contains([]string{"", "dry", "wet"}, w.Coat) {
			return fmt.Errorf("weighings[%d]: coat is %q: use dry or wet, or leave it out", i, w.Coat)
		}
	}
	return nil
}

// read are the weigh-ins that came off a scale, by day and then by what they say.
func read(weighings []Weighing) []Weighing {
	out := slices.DeleteFunc(slices.Clone(weighings), func(w Weighing) bool { return w.Method == guessed })
	slices.SortFunc(out, func(a, b Weighing) int {
		if a.Day != b.Day {
			return a.Day - b.Day
		}
		return cmp.Or(cmp.Compare(a.Kg, b.Kg), cmp.Compare(a.Scale, b.Scale), cmp.Compare(a.Method, b.Method), cmp.Compare(a.Coat, b.Coat))
	})
	return out
}

// series are masses on days that rise, one a day.
type series struct {
	day []float64
	kg  []float64
}

// daily is the median mass of each day with a reading of a scale.
func daily(weighings []Weighing) series {
	all := read(weighings)
	out := series{make([]float64, 0, len(all)), make([]float64, 0, len(all))}
	var kg []float64
	for i, w := range all {
		if kg = append(kg, w.Kg); i+1 < len(all) && all[i+1].Day == w.Day {
			continue
		}
		out.day, out.kg = append(out.day, float64(w.Day)), append(out.kg, median(kg))
		kg = kg[:0]
	}
	return out
}

// span is the days from the first to the last.
func (s series) span() float64 {
	if len(s.day) == 0 {
		return 0
	}
	return s.day[len(s.day)-1] - s.day[0]
}

// within are the weigh-ins from one day on and before another.
func within(weighings []Weighing, from, before int) []Weighing {
	return slices.DeleteFunc(slices.Clone(weighings), func(w Weighing) bool { return w.Day < from || w.Day >= before })
}
