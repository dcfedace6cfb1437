package main

import (
	"maps"
	"math"
	"time"

	"haulout/projections/dominance"
)

// eloRun is a rating encounter by encounter, with the chance that each winner
// had.
type eloRun struct {
	Ratings map[string]float64   `json:"ratings"`
	Sum     float64              `json:"sum_log_p_winner"`
	First   []float64            `json:"first3_p"`
	after   []map[string]float64 // each encounter
}

// run rates the encounters as they followed each other; published runs round
// all points to whole ones after each.
func (in *hierarchyInput) run(scale dominance.Scale, whole bool) (out eloRun, err error) {
	r, err := dominance.NewRating(scale)
	if err != nil {
		return eloRun{}, err
	}
	r = r.Join(in.matrix.IDs...)
	for _, m := range in.met {
		if !m.Undecided {
			p := scale.Curve.Chance(r.Points[m.Winner] - r.Points[m.Loser])
			if out.Sum += math.Log(p); len(out.First) < 3 {
				out.First = append(out.First, p)
			}
		}
		if r, err = r.Step([]dominance.Seen{m.Seen}); err != nil {
			return eloRun{}, err
		}
		if whole {
			for id, points := range r.Points {
				r.Points[id] = math.RoundToEven(points)
			}
		}
		out.after = append(out.after, maps.Clone(r.Points))
	}
	out.Ratings = r.Points
	return out, nil
}

// sequence gives the runs of a sequence, whole and not, and its stability.
func (f *hierarchyFigure) sequence() error {
	runs := map[string]dominance.Scale{"": f.in.scale}
	if !f.in.set {
		flat := func(curve dominance.Curve, k, start float64) dominance.Scale {
			return dominance.Scale{Curve: curve, Start: start, K: map[string]float64{"": k, "low": k, "medium": k, "high": k}}
		}
		runs["normal_k100"], runs["logistic_k100"] = flat(dominance.Normal, 100, 1000), flat(dominance.Logistic, 100, 1000)
		runs["exp0.01_k200_start0"] = flat(dominance.Exponential, 200, 0)
	}
	for name, scale := range runs {
		exact, err := f.in.run(scale, false)
		if err != nil {
			return err
		}
		whole, err := f.in.run(scale, true)
		if err != nil {
			return err
		}
		if name != "" {
			f.values[name], f.values[name+"_rounded"], f.values["final_ratings_"+name+"_rounded"] = exact, whole, whole.Ratings
			continue
		}
		f.values["unrounded"], f.values["rounded"], f.values["final_ratings"] = exact, whole, whole.Ratings
		if f.in.scale.Prior != nil {
			f.values["prior_starts_rounded"] = whole
		}
		f.stability(whole)
	}
	return nil
}

// stability carries whole points forward from day to day.
func (f *hierarchyFigure) stability(run eloRun) {
	var out dominance.Stability
	f.none("not every encounter has its day, or all were on one", "stability_S_carry_forward")
	last := -1 // the last encounter of the day before
	for i, m := range f.in.met {
		if m.day == "" {
			return
		}
		if i+1 < len(f.in.met) && f.in.met[i+1].day == m.day {
			continue
		}
		if last >= 0 {
			out = out.Step(run.after[last], run.after[i], daysBetween(f.in.met[last].at, m.at))
		}
		last = i
	}
	if weighted, plain, ok := out.Index(); ok {
		f.give("stability_S_carry_forward", map[string]float64{"weighted": weighted, "unweighted": plain})
	}
}

// daysBetween counts days of the calendar.
func daysBetween(from, until time.Time) int {
	return int(until.Truncate(24*time.Hour).Sub(from.Truncate(24*time.Hour)) / (24 * time.Hour))
}

// randomised puts the encounters in many orders.
func (f *hierarchyFigure) randomised() error {
	orders := int(dominance.Assumed("shuffles").Value)
	by, repeatability, err := dominance.Randomised(seenOf(f.in.met), f.in.scale, orders, seedOfHierarchy)
	if err != nil {
		return err
	}
	mean, sd, place := map[string]float64{}, map[string]float64{}, map[string]float64{}
	for _, s := range by {
		mean[s.Animal], sd[s.Animal], place[s.Animal] = s.Points, s.SD, s.Place
	}
	f.values["randomised"] = map[string]any{"orders": orders, "mean": mean, "sd": sd, "mean_rank": place, "repeatability": repeatability}
	return nil
}
