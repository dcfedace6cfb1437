package ration

import (
	"fmt"
	"math"
	"strconv"
)

// foods is items that were checked, as limits see them: by portion.
type foods []Item

// limit is a limit on so much of each portion.
func (f foods) limit(name string, most float64, portion func(i int) float64) limit {
	l := limit{name: name, most: most}
	for i := range f {
		l.of = append(l.of, straight(portion(i)))
	}
	return l
}

// shares keeps each food between its least and its greatest share.
func (f foods) shares() (out []limit) {
	for at, item := range f {
		more := func(share float64) func(int) float64 {
			return func(i int) float64 {
				if i == at {
					return (1 - share) * item.PortionKg
				}
				return -share * f[i].PortionKg
			}
		}
		if least := item.MinShare; least > 0 {
			less := func(i int) float64 { return -more(least)(i) }
			out = append(out, f.limit(fmt.Sprintf("minimum share of %s (%s)", item.Name, percent(least)), 0, less))
		}
		if item.MaxShare != nil && *item.MaxShare < 1 {
			out = append(out, f.limit(fmt.Sprintf("maximum share of %s (%s)", item.Name, percent(*item.MaxShare)), 0, more(*item.MaxShare)))
		}
	}
	return out
}

// ceiling keeps the day below what a body of that mass takes.
func (f foods) ceiling(w Wanted) []limit {
	most := w.ceiling()
	if most == nil {
		return nil
	}
	name := fmt.Sprintf("ceiling of %s of body mass (%s kg a day)", percent(DailyCeiling().Value), brief(*most))
	return []limit{f.limit(name, *most, func(i int) float64 { return f[i].PortionKg })}
}

// ceiling is the most food of the day, in kg.
func (w Wanted) ceiling() *float64 {
	if w.BodyMassKg == nil {
		return nil
	}
	most := DailyCeiling().Value * *w.BodyMassKg
	return &most
}

// deviation is |kcal-K|/K, and + |protein-P|/P where protein is wanted: the
// greatest of the sums with either sign.
func (f foods) deviation(w Wanted) (out []limit) {
	for _, a := range [2]float64{1, -1} {
		energy := func(i int) float64 { return a * f[i].KcalPerKg * f[i].PortionKg / w.Kcal }
		if w.ProteinG == nil {
			out = append(out, f.limit("", a, energy))
			continue
		}
		for _, b := range [2]float64{1, -1} {
			out = append(out, f.limit("", a+b, func(i int) float64 {
				return energy(i) + b**f[i].ProteinPerKg*f[i].PortionKg / *w.ProteinG
			}))
		}
	}
	return out
}

// changed is how many portions differ from yesterday's; nil where there was no
// yesterday.
func (f foods) changed() []limit {
	l, known := limit{}, false
	for _, item := range f {
		known = known || item.Yesterday != nil
		l.of = append(l.of, bend{-1, 1, float64(item.Before())})
	}
	if !known {
		return nil
	}
	return []limit{l}
}

// left is the kg that are thawed and would be discarded; nil where nothing is.
func (f foods) left() []limit {
	l, due := limit{}, false
	for _, item := range f {
		due = due || item.DueKg > 0
		l.of = append(l.of, bend{-item.PortionKg, 0, item.DueKg / item.PortionKg})
	}
	if !due {
		return nil
	}
	return []limit{l}
}

// cost is nil where the cost of any food is not known.
func (f foods) cost() []limit {
	for _, item := range f {
		if item.CostPerKg == nil {
			return nil
		}
	}
	return []limit{f.limit("", 0, func(i int) float64 { return *f[i].CostPerKg * f[i].PortionKg })}
}

// farthest is how many times the energy wanted a plan may have that is no
// farther from what is wanted than no food at all, whose deviation is 1, or 2
// where protein is wanted.
const farthest = 3

// most is the portions of a food that stock allows and that kcal, by
// themselves, have room for.
func (f foods) most(i int, kcal float64) int {
	most := kcal / (f[i].KcalPerKg * f[i].PortionKg)
	if f[i].StockKg != nil {
		most = min(most, *f[i].StockKg/f[i].PortionKg)
	}
	return int(math.Floor(most + hair))
}

func percent(share float64) string { return brief(100*share) + " %" }

func brief(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }
