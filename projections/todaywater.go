package projections

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"haulout/projections/board"
	"haulout/projections/rules"
)

// waters adds the water and the space of the enclosures in which animals live.
func (b *boarding) waters() error {
	pools, err := every[Enclosure](b.v, &enclosures)
	if err != nil {
		return err
	}
	set := rules.House(b.house)
	for _, e := range pools {
		if e.Facility != b.facility {
			continue
		}
		since := b.livedInSince(e)
		if since.IsZero() {
			continue
		}
		w := newWatered(e, set, b.now)
		if err := w.read(b.v); err != nil {
			return err
		}
		space, err := spaceOf(e, b.all, b.now, nil)
		if err != nil {
			return err
		}
		b.calls = append(b.calls, w.board(!b.out.Silent, space.short(since)).Calls()...)
	}
	return nil
}

// livedInSince is when the last of those who live in an enclosure came; zero
// where nobody lives there.
func (b *boarding) livedInSince(e Enclosure) (since time.Time) {
	for i := range b.all {
		if a := &b.all[i]; a.livesIn(e.Facility, e.ID, b.now) {
			if came := a.Place(b.now).From; came.After(since) {
				since = came
			}
		}
	}
	return since
}

// board is what the rules of the board ask of an enclosure's water.
func (w *watered) board(heard bool, space *board.Space) board.Water {
	out := board.Water{ID: w.e.ID, Name: w.e.Name, At: w.now, Heard: heard, Space: space}
	for _, value := range w.last() {
		if value.Verdict.Standing == rules.Fails && value.What != "total_coliform" {
			out.Failing = append(out.Failing, board.Reading{
				What: value.What, Name: rules.WaterName(value.What), Since: w.failingSince(value).In(w.zone), Words: value.Verdict.Words, Cited: value.Verdict.Cited,
			})
		}
	}
	out.Counts = w.gravest()
	if !w.hasWater() {
		return out
	}
	for _, due := range rules.WaterDue(w.water, w.tested, w.now, w.house).Due {
		if !due.Overdue {
			continue
		}
		one := board.Overdue{What: due.What, Name: rules.WaterName(due.What), Never: due.Last == "", Words: dueWords(due), Cited: due.Cited, Since: w.e.Since.In(w.zone)}
		if by, err := ParseDay(due.By); err == nil && !one.Never {
			one.Since = by.End(w.zone)
		}
		out.Overdue = append(out.Overdue, one)
	}
	return out
}

// dueWords says of a test when it was due and when it was made last; the rule
// stands beside it.
func dueWords(due rules.Due) string {
	by, last := dayWords(Day(due.By)), "no test is on record"
	if due.Last != "" {
		last = "last tested on " + dayWords(Day(due.Last))
	}
	return fmt.Sprintf("%s due by %s, %s", rules.WaterName(due.What), by, last)
}

// hasWater says that the record speaks of water here: a beach that nobody tests
// and that has none is owed no test.
func (w *watered) hasWater() bool {
	e := w.e
	return len(w.tested) > 0 || e.Salt != "" || len(e.Added) > 0 || !e.Depth.IsZero() || !e.Volume.IsZero() || e.Water.Float("m2") > 0
}

// failingSince is the first of the readings that failed one after the other, up
// to the last.
func (w *watered) failingSince(last WaterValue) time.Time {
	since := last.Time
	for t := range w.lately() {
		for _, r := range t.Readings {
			if r.What != last.What || t.Entry == last.Entry {
				continue
			}
			if w.judge(t, r).Verdict.Standing != rules.Fails {
				return since
			}
			since = t.Time
		}
	}
	return since
}

// gravest is the series that is not settled and fails, or else the newest; nil
// where all are settled.
func (w *watered) gravest() *board.Counts {
	open := w.unsettled()
	if len(open) == 0 {
		return nil
	}
	s := open[0]
	if i := slices.IndexFunc(open, func(s WaterSeries) bool { return s.Standing == rules.Fails }); i >= 0 {
		s = open[i]
	}
	repeats := w.house.Setting("coliform_repeats")
	out := &board.Counts{
		Fails: s.Standing == rules.Fails, First: s.Counts[0].Time.In(w.zone), Last: s.Counts[len(s.Counts)-1].Time.In(w.zone), Words: s.Words, Cited: s.Cited,
	}
	if s.Rule != repeats.Name {
		out.Cited += "; with the samples that repeat it, averaged by " + repeats.Cited()
	}
	for _, c := range s.Counts {
		out.Behind = append(out.Behind, board.When(c.Time, w.now)+": "+c.Verdict.Words)
	}
	if due := w.samplesDue(s); len(due) > 0 {
		out.Due, out.Late = due[0].By.In(w.zone), due[0].Overdue
	}
	return out
}

// short is what an enclosure is short of; nil where it is not known to be.
func (a *SpaceAnswer) short(since time.Time) *board.Space {
	if a.Standing != rules.Fails {
		return nil
	}
	out := &board.Space{Since: since, Cited: a.Cited, Note: a.Notes[len(a.Notes)-1]}
	var short []string
	for _, m := range a.Measures {
		out.Behind = append(out.Behind, m.Words)
		if m.Standing == rules.Fails {
			short = append(short, m.What)
		}
	}
	out.Short = strings.Join(short, " and ") + " below the minimum, by what is on record"
	return out
}
