package main

import (
	"fmt"
	"slices"

	"haulout/projections/energetics"
)

// When figures that come out are not believed. Common practice, no source.
const (
	unlike       = 2  // times that two figures of one thing may differ
	doubtedDays  = 28 // over which weigh-ins are held against the feeds
	doubtedLeast = 3  // weigh-ins set aside in them, at least half of all
)

// balance runs the days, and gives up on numbers that no animal can have.
// Feeds that are set aside are left out of what was eaten lately too: they
// would make a surplus that nobody ate.
func (in *energyInput) balance() energetics.Balance {
	b := energetics.Run(in.series, len(in.series))
	if b.NotEnough != "" {
		return b
	}
	if len(in.fed) == 0 {
		b.NotEnough = "no feed is logged; log what it eats to see its balance"
		return b
	}
	flags := append(b.Flags, in.untried(b.First)...)
	if len(flags) > 0 {
		left := slices.Clone(in.series)
		for _, flag := range flags {
			left[flag.Day].Unknown = left[flag.Day].Unknown || flag.Weighing < 0
		}
		b = energetics.Run(left, len(left))
		b.Flags = flags
	}
	b.NotEnough = in.doubt(b)
	return b
}

// untried looks at the feeds of the last week that were eaten before there was
// a mass to hold them against: up to the first weigh-in.
func (in *energyInput) untried(weighed int) (out []energetics.Flag) {
	for i := max(0, len(in.series)-7); i <= weighed; i++ {
		d := in.series[i]
		if why := in.cantEat(d.EatenKg, d.Kcal); why != "" {
			out = append(out, energetics.Flag{Day: i, Weighing: -1, Kg: d.EatenKg, Reason: why})
		}
	}
	return out
}

// cantEat says why the animal can't eat so much in a day; "" where it can. One
// day more is tried, which would be set aside.
func (in *energyInput) cantEat(kg, kcal float64) string {
	n := len(in.series)
	b := energetics.Run(append(slices.Clone(in.series), energetics.Day{Class: in.series[n-1].Class, Logged: true, EatenKg: kg, Kcal: kcal}), 0)
	for _, flag := range b.Flags {
		if flag.Day == n {
			return flag.Reason
		}
	}
	return ""
}

// doubt says why numbers that came out can't be believed; "" where they can.
func (in *energyInput) doubt(b energetics.Balance) string {
	aside := map[[2]int]bool{}
	impossible, reason := 0, ""
	for _, flag := range b.Flags {
		if aside[[2]int{flag.Day, flag.Weighing}] = true; flag.Weighing < 0 {
			impossible, reason = impossible+1, flag.Reason
		}
	}
	if impossible == len(in.fed) {
		return "none of the feeds can be: " + reason
	}
	for i := 1; i < len(b.States); i++ {
		before, after := b.States[i-1].Mass.Mean, b.States[i].Mass.Mean
		if apartBy(before, after) {
			return fmt.Sprintf("the weigh-ins go from %.1f to %.1f kg on %s, and nothing does that in a day; check their unit and decimal points", before, after, in.days[b.First+i].Day)
		}
	}
	return in.doubtWeighIns(b, aside)
}

// doubtWeighIns holds the last weigh-ins against what the feeds make of them.
func (in *energyInput) doubtWeighIns(b energetics.Balance, aside map[[2]int]bool) string {
	counted, left, last, day := 0, 0, 0.0, 0
	for i, d := range in.series {
		for j, w := range d.Weighings {
			switch recent := i >= len(in.series)-doubtedDays; {
			case !aside[[2]int{i, j}]:
				last, day = w.Kg, i
				if recent {
					counted++
				}
			case recent:
				left++
			}
		}
	}
	if left >= doubtedLeast && left >= counted {
		return fmt.Sprintf("%d of the last %d weigh-ins do not go with what was logged as eaten; look for feeds that were not logged, units and decimal points, and at the scale", left, left+counted)
	}
	if mass, _ := b.MassNow(); apartBy(last, mass.Mean) {
		return fmt.Sprintf("what was logged as eaten would have brought it from %.1f kg at the last weigh-in on %s to %.1f kg. Weigh it; look for feeds that were not logged, units and decimal points", last, in.days[day].Day, mass.Mean)
	}
	return ""
}

func apartBy(a, b float64) bool { return a > unlike*b || b > unlike*a }
