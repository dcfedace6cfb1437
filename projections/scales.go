package projections

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections/board"
	"haulout/projections/growth"
)

// Scales is what the weigh-ins at a facility up to a day say of its scales, by
// name: how much was weighed on each, and whether its readings step for all
// animals. Days of the steps are counted from 1 January 1970. Scales that nobody
// named, and those of other facilities, are left out. What is answered is shared
// with others: it is to be read only.
func (s *Store) Scales(facility string, to Day, asOf time.Time) (out []growth.Scale, err error) {
	err = s.at(asOf, func(v view) error {
		all, err := every[Animal](v, &animals)
		if err != nil {
			return err
		}
		out, err = v.scales(facility, all, to)
		return err
	})
	return out, err
}

// scales looks at the animals that were in the facility's care within the days.
func (v view) scales(facility string, all []Animal, to Day) ([]growth.Scale, error) {
	from := to.Add(1 - int(growth.Assumed("scale_days").Value))
	of := stretch{p: &weights, refs: v.stayed(facility, all, from, to), from: from, to: to}
	name := fmt.Sprintf("scales of %s over %s to %s, %s", facility, from, to, refNames(of.refs))
	return madeOf(v, name, of, func() ([]growth.Scale, error) {
		readings, err := v.readings(facility, of)
		if err != nil {
			return nil, err
		}
		return growth.Scales(readings)
	})
}

// namedSteps are the scales of a facility with the steps that matter in its house.
func (v view) namedSteps(facility string, all []Animal, to Day, house board.House) ([]growth.Scale, error) {
	list, err := v.scales(facility, all, to)
	out := slices.Clone(list)
	for i := range out {
		out[i].Steps = slices.DeleteFunc(slices.Clone(out[i].Steps), func(s growth.Step) bool { return !house.ScaleMatters(s.Percent.Value) })
	}
	return out, err
}

// stayed are the animals that a facility cared for on any of some days.
func (v view) stayed(facility string, all []Animal, from, to Day) (out []events.Ref) {
	zone := v.zone(facility)
	if zone == nil {
		return nil
	}
	start, end := from.Start(zone), to.End(zone)
	for i := range all {
		for _, stay := range all[i].Stays {
			if stay.Facility == facility && stay.From.Before(end) && (stay.Until == nil || stay.Until.After(start)) {
				out = append(out, events.Ref{Sort: "animal", ID: all[i].ID})
				break
			}
		}
	}
	return out
}

func refNames(refs []events.Ref) string {
	var ids []string
	for _, ref := range refs {
		ids = append(ids, ref.ID)
	}
	return strings.Join(ids, " ")
}

func (v view) readings(facility string, of stretch) (out []growth.Reading, err error) {
	for _, ref := range of.refs {
		list, err := shared[weighings](v, &weights, ref, of.from, of.to)
		if err != nil {
			return nil, err
		}
		for _, day := range list {
			for _, w := range day.Row.List {
				if w.Facility == facility {
					out = append(out, growth.Reading{Animal: ref.ID, Weighing: weighingOn(day.Day, w)})
				}
			}
		}
	}
	return out, nil
}

// weighingOn is a weigh-in as the science takes it.
func weighingOn(day Day, w Weighing) growth.Weighing {
	return growth.Weighing{Day: int(day.number()), Kg: w.Kg, Scale: w.Scale, Method: w.Method, Coat: w.Coat}
}

// beside are the weigh-ins of an animal at a facility, with no scale named for
// those elsewhere: the name of a scale is each facility's own.
func beside(facility string, day Day, w Weighing) growth.Weighing {
	out := weighingOn(day, w)
	if w.Facility != facility {
		out.Scale = ""
	}
	return out
}

// massChange is a change of mass, with how much of a fall the steps of scales
// explain.
type massChange struct {
	growth.Change
	Explained float64 // percentage points, nought or above
}

// changesOf holds the last day's mass against the medians of the days before. A
// scale that steps makes masses fall that did not: what is left of a fall when
// its readings are put back is the animal's own.
func changesOf(series []growth.Weighing, scales []growth.Scale) (out []massChange, err error) {
	last := series[len(series)-1].Day
	seen, err := growth.ChangesOn(series, last)
	if err != nil {
		return nil, err
	}
	level, err := growth.ChangesOn(levelled(series, scales), last)
	if err != nil {
		return nil, err
	}
	for i, c := range seen {
		change := massChange{Change: c}
		if c.NotEnough == "" && c.Percent < 0 {
			change.Explained = min(max(0, level[i].Percent-c.Percent), -c.Percent)
		}
		out = append(out, change)
	}
	return out, nil
}

// levelled puts readings back to what they would have been without the steps of
// their scales. Of the last day only those readings are put back that show too
// little: a scale that reads too much may have been set right by then, and
// nobody can see that yet.
func levelled(series []growth.Weighing, scales []growth.Scale) []growth.Weighing {
	out, last := make([]growth.Weighing, len(series)), series[len(series)-1].Day
	for i, w := range series {
		out[i] = w
		for _, s := range scales {
			if s.Scale != w.Scale {
				continue
			}
			if kg := unstepped(w, s.Steps); w.Day < last || kg > w.Kg {
				out[i].Kg = kg
			}
		}
	}
	return out
}

// unstepped is a reading without the steps that came before it, in kg.
func unstepped(w growth.Weighing, steps []growth.Step) float64 {
	kg := w.Kg
	for _, step := range steps {
		switch {
		case w.Day < step.Since:
		case step.Same == "kg":
			kg -= step.Kg.Value
		default:
			kg /= 1 + step.Percent.Value/100
		}
	}
	return max(kg, w.Kg/2) // a light animal on a scale that is off by kilograms still weighs something
}
