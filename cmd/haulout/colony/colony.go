// Package colony invents a colony: three facilities on an invented coast, with
// animals, foods and keepers that never were, and two years of their days.
//
// It is a pure function of a seed and an end. The same two give the same
// facts, byte for byte; there is no clock, and nothing is read but the time
// zone database. What it yields are the batches that tablets would have handed
// to the recorders, so that they can be recorded in the ordinary way, with all
// the checks that real facts meet.
//
// The animals follow what is published of their kind, roughly: grown males
// fast in the breeding months, coats change in their season, mass follows
// intake. A few problems are planted on purpose; Plan lists them.
package colony

import (
	"cmp"
	"iter"
	"math"
	"slices"
	"time"

	"haulout/events"
)

// Entry is one batch as it reaches a recorder: facts that one device handed
// over at one moment.
type Entry struct {
	Facility, Author, Device string
	Recorded                 time.Time      // when the recorder got it
	Facts                    []events.Draft // all or none; ids are UUIDs of version 7, thrown from the seed
}

// Entries yields the colony's history in the order in which it reached the
// recorders, two years up to until.
func Entries(seed uint64, until time.Time) iter.Seq[Entry] {
	return func(yield func(Entry) bool) {
		newColony(seed, until).run(yield)
	}
}

// factsADay is what a day of the whole colony comes to, counted over two years.
const factsADay = 387

// Size estimates the number of facts that Entries will yield.
func Size(_ uint64, until time.Time) int {
	first, last := span(until)
	return int(math.Round(last.Sub(first).Hours()/24)) * factsADay
}

// span gives the first and the last date of the history, as midnights UTC.
// Dates are those of the eastern facilities.
func span(until time.Time) (first, last time.Time) {
	y, m, d := until.In(zone("Europe/Dublin")).Date()
	last = time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	return last.AddDate(-2, 0, 0), last
}

// colony is the state of the whole history while it runs.
type colony struct {
	until      time.Time
	first      time.Time // date of day 0
	days       int
	facilities []*facility
	plan       Planted
}

func newColony(seed uint64, until time.Time) *colony {
	first, last := span(until)
	c := &colony{
		until: until.UTC().Truncate(time.Second),
		first: first,
		days:  1 + int(last.Sub(first).Hours()/24),
		plan:  Plan(until),
	}
	cast := newCast(newDice(seed, "cast"), c)
	for _, site := range sites {
		c.facilities = append(c.facilities, newFacility(seed, site, cast, c))
	}
	return c
}

// run lets the days pass, and tomorrow too, since fish for it is taken out
// today. What was done on the evening before a day comes with that day, so the
// batches of an evening wait for those of the next day to be put in order.
func (c *colony) run(yield func(Entry) bool) {
	var waiting []Entry
	for n := range c.days + 1 {
		for _, f := range c.facilities {
			waiting = append(waiting, f.live(n)...)
		}
		slices.SortStableFunc(waiting, byRecorded)
		evening, _ := slices.BinarySearchFunc(waiting, c.date(n).Add(eveningBegins), recordedBy)
		if n == c.days {
			evening = len(waiting)
		}
		for _, e := range waiting[:evening] {
			if !yield(e) {
				return
			}
		}
		waiting = waiting[evening:]
	}
}

// eveningBegins is before the first hour, in UTC, at which anything is done for
// the next day.
const eveningBegins = 17 * time.Hour

func recordedBy(e Entry, t time.Time) int { return e.Recorded.Compare(t) }

func byRecorded(a, b Entry) int {
	return cmp.Or(a.Recorded.Compare(b.Recorded), cmp.Compare(a.Facility, b.Facility))
}

// date is day n of the history.
func (c *colony) date(n int) time.Time { return c.first.AddDate(0, 0, n) }

// dayOf is the day of the history on which t falls, counted by whole days.
func (c *colony) dayOf(t time.Time) int { return int(math.Floor(t.Sub(c.first).Hours() / 24)) }
