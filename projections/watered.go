package projections

import (
	"iter"
	"slices"
	"time"

	"haulout/events"
	"haulout/projections/rules"
)

// watered is an enclosure's water on its way to an answer.
type watered struct {
	e        Enclosure
	house    rules.House
	zone     *time.Location
	now      time.Time
	today    Day
	from, to Day // of the history
	water    rules.Water
	tests    []WaterTest          // up to now, in order of time
	tested   map[string]time.Time // when each was last measured
	series   []WaterSeries        // by their first counts
	of       map[string]int       // the series that a test's count is in, by entry
	stray    []string             // what repeats a count that is not on record, in words
}

// waterNames are what may be measured, in the order in which it is told.
var waterNames = []string{
	"total_coliform", "faecal_coliform", "enterococci", "ph", "salinity", "temperature", "free_chlorine", "total_chlorine", "ozone", "turbidity", "ammonia", "nitrate",
}

func newWatered(e Enclosure, set rules.House, now time.Time) *watered {
	w := &watered{e: e, house: set, zone: now.Location(), now: now, water: rules.Water{Salt: e.Salt}, tested: map[string]time.Time{}, of: map[string]int{}}
	w.today = DayOf(now, w.zone)
	w.from, w.to = w.today.Add(1), w.today
	switch {
	case len(e.Added) == 1 && e.Added[0] == "none":
		w.water.Treated = "no"
	case len(e.Added) > 0:
		w.water.Treated, w.water.Added = "yes", e.Added
	}
	return w
}

func (w *watered) setDays(from, to Day) {
	if to == "" {
		to = w.today
	}
	if from == "" {
		from = to.Add(1 - waterHistory)
	}
	w.from, w.to = from, to
}

// beforeWindow is how many days more are read, so that a count is not taken for
// the first of its series because that lies just before: it covers two repeats,
// and those that are late.
const beforeWindow = 14

// read takes the tests that the answer needs, and looks further back for the
// last of what is due and was not tested lately.
func (w *watered) read(v view) error {
	first := min(w.from, w.today.Add(1-WaterDays)).Add(-beforeWindow)
	if err := w.take(v, first, w.today); err != nil {
		return err
	}
	w.chain()
	for _, due := range rules.WaterDue(w.water, w.tested, w.now, w.house).Due {
		if due.Last != "" {
			continue
		}
		earlier := &watered{now: w.now, tested: w.tested, e: w.e}
		return earlier.take(v, "0001-01-01", first.Add(-1))
	}
	return nil
}

// take adds the tests of days from … to.
func (w *watered) take(v view, from, to Day) error {
	days, err := shared[waterRow](v, &waters, Local("enclosure", w.e.Facility, w.e.ID), from, to)
	for _, day := range days {
		for _, t := range day.Row.Tests {
			if t.Time.After(w.now) {
				continue
			}
			w.tests = append(w.tests, t)
			for _, r := range t.Readings {
				if t.Time.After(w.tested[r.What]) {
					w.tested[r.What] = t.Time
				}
			}
		}
	}
	slices.SortStableFunc(w.tests, func(a, b WaterTest) int { return a.Time.Compare(b.Time) })
	return err
}

// judge is a reading of a test with its verdict, by itself.
func (w *watered) judge(t WaterTest, r events.WaterReading) WaterValue {
	out := WaterValue{Entry: t.Entry, Time: t.Time, By: t.By, Sample: t.Sample, Repeat: t.Repeat, Method: t.Method, What: r.What, Value: r.Value, Bound: r.Bound}
	verdict, err := rules.Judge(reading(r), w.water, w.house)
	if err != nil {
		verdict = rules.Verdict{What: r.What, Standing: rules.Undecided, Words: "it can't be judged, so correct the entry: " + err.Error()}
	}
	out.Verdict = verdict
	return out
}

func reading(r events.WaterReading) rules.Reading {
	return rules.Reading{What: r.What, Value: r.Value.Float(r.Value.Unit), Unit: r.Value.Unit, Bound: r.Bound}
}

// lately are the tests of the last days, the newest first.
func (w *watered) lately() iter.Seq[WaterTest] {
	return func(yield func(WaterTest) bool) {
		for _, t := range slices.Backward(w.tests) {
			if DayOf(t.Time, w.zone) <= w.today.Add(-WaterDays) || !yield(t) {
				return
			}
		}
	}
}

// last are the last readings of each that was measured lately. Of several in one
// test the gravest counts.
func (w *watered) last() []WaterValue {
	latest := map[string]WaterValue{}
	for t := range w.lately() {
		for _, r := range t.Readings {
			held, ok := latest[r.What]
			if ok && held.Entry != t.Entry {
				continue
			}
			if value := w.judge(t, r); !ok || rules.Graver(value.Verdict.Standing, held.Verdict.Standing) {
				latest[r.What] = value
			}
		}
	}
	out := []WaterValue{}
	for _, what := range waterNames {
		value, measured := latest[what]
		if at, counted := w.of[value.Entry]; measured && counted && what == "total_coliform" {
			value.Verdict = w.series[at].Verdict
		}
		if measured {
			out = append(out, value)
		}
	}
	return out
}

// history is what was measured in the days that were asked for.
func (w *watered) history() []WaterHistory {
	levels := map[string][]WaterLevel{}
	for _, t := range w.tests {
		if day := DayOf(t.Time, w.zone); day < w.from || day > w.to {
			continue
		}
		for _, r := range t.Readings {
			levels[r.What] = append(levels[r.What], WaterLevel{t.Entry, t.Time, r.Value, r.Bound, level(r.Value), w.judge(t, r).Verdict.Standing})
		}
	}
	out := []WaterHistory{}
	for _, what := range waterNames {
		if len(levels[what]) > 0 {
			limits := append([]rules.Limit{}, rules.Limits(what, w.water, w.house)...)
			out = append(out, WaterHistory{what, rules.WaterUnits(what)[0], limits, levels[what]})
		}
	}
	return out
}

// level is a value in the unit of limits: ten parts in a thousand are one in a
// hundred, and what is counted two ways is taken as it is.
func level(q events.Quantity) float64 {
	v := q.Float(q.Unit)
	if q.Unit == "%" {
		v *= 10
	}
	return v
}
