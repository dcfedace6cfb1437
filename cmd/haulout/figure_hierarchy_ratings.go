package main

import (
	"haulout/projections/dominance"
)

// ratedDay is the encounters of a day.
type ratedDay struct {
	seen    []dominance.Seen
	ordered bool // their order is known
}

func (in *hierarchyInput) days() (out []*ratedDay) {
	for i, m := range in.met {
		if i == 0 || m.day != in.met[i-1].day {
			out = append(out, &ratedDay{ordered: true})
		}
		day := out[len(out)-1]
		if !in.listed && len(day.seen) > 0 {
			last := in.met[i-1]
			day.ordered = day.ordered && m.timed && last.timed && m.at.After(last.at)
		}
		day.seen = append(day.seen, m.Seen)
	}
	return out
}

// elo is the points of each animal after all encounters.
func (in *hierarchyInput) elo() (map[string]float64, error) {
	r, err := dominance.NewRating(in.scale)
	if err != nil {
		return nil, err
	}
	r = r.Join(in.matrix.IDs...)
	for _, day := range in.days() {
		step := r.StepTogether
		if day.ordered {
			step = r.Step
		}
		if r, err = step(day.seen); err != nil {
			return nil, err
		}
	}
	return r.Points, nil
}

// rate gives the ratings, and what a file of a kind asks for besides.
func (f *hierarchyFigure) rate() error {
	if f.in.met == nil {
		f.none("a matrix does not tell which encounter came first; give the encounters one by one", "elo")
		return nil
	}
	elo, err := f.in.elo()
	if err != nil {
		return err
	}
	f.values["elo"] = elo
	if len(f.in.met) == 0 {
		f.mind("no encounter was seen", "elo")
		return nil
	}
	f.mindDays()
	switch f.in.kind {
	case "sequence":
		return f.sequence()
	case "randomized_elo":
		return f.randomised()
	case "event_ops":
		f.values["state_after_each_op"], err = f.in.states()
		return err
	}
	return nil
}

func (f *hierarchyFigure) mindDays() {
	n := 0
	for _, day := range f.in.days() {
		if !day.ordered {
			n++
		}
	}
	if n > 0 {
		f.notes["elo"] = counted(n, "day holds", "days hold") + " several encounters whose times don't tell their order; each such day is reckoned at once, from the points at its start"
	}
}
