package colony

import (
	"cmp"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"haulout/events"
)

// day is one day of one facility.
type day struct {
	*facility
	n        int
	date     time.Time // the date, as midnight UTC
	midnight time.Time // where it begins here
}

// jot is one fact on a device.
type jot struct {
	device string
	done   time.Time // when it could be written down
	n      int       // the how-manieth of the day
	draft  events.Draft
}

// live lets a day pass and returns the batches that the devices handed over.
func (f *facility) live(n int) []Entry {
	d := &day{facility: f, n: n, date: f.c.date(n), midnight: f.midnight(n)}
	if n == 0 {
		d.open()
	}
	d.comeAndGo()
	d.decideCompany()
	d.changeRules()
	d.guideDiets()
	d.feed()
	d.plantStore()
	for _, a := range d.animals {
		d.lookAfter(a)
		d.train(a)
	}
	d.keepCompany()
	d.enrich()
	d.testWater()
	d.closeFindings()
	d.treat()
	d.answerCalls()
	d.reportDevices()
	d.note()
	d.repair()
	return d.handOver()
}

// at is an hour of the day on the wall clock, with decimals.
func (d *day) at(hour float64) time.Time {
	y, m, day := d.date.Date()
	return time.Date(y, m, day, 0, 0, int(hour*3600), 0, d.loc)
}

// about is an hour with a jitter of some minutes either way.
func (d *day) about(hour, minutes float64) time.Time {
	return d.at(hour + d.between(-minutes, minutes)/60)
}

// jot notes what happened at a time on a device, and returns the fact's id.
func (d *day) jot(device string, at time.Time, kind string, body events.Body) string {
	return d.jotLater(device, at, at, kind, body)
}

// jotLater notes it when it was done, for what takes its time.
func (d *day) jotLater(device string, at, done time.Time, kind string, body events.Body) string {
	return d.jotThrown(d.dice, device, at, done, kind, body)
}

// jotThrown takes the id from dice of its own, for what is not to disturb the
// rest of the history.
func (d *day) jotThrown(dice dice, device string, at, done time.Time, kind string, body events.Body) string {
	data, err := json.Marshal(body)
	if err != nil {
		panic("colony: " + kind + " can't be written: " + err.Error())
	}
	id := dice.id(done)
	draft := events.Draft{ID: id, Type: events.TypeOf(kind), Time: instant(at), Facility: d.code, Data: data}
	d.jots = append(d.jots, jot{device, done, len(d.jots), draft})
	return id
}

// holds says whether a time lies on this day.
func (d *day) holds(t time.Time) bool {
	return !t.Before(d.midnight) && t.Before(d.facility.midnight(d.n+1))
}

func instant(t time.Time) string { return t.UTC().Format(time.RFC3339) }

const (
	pause   = 24 * time.Minute // a tablet that rests so long has handed over
	largest = 80               // facts in a batch of an ordinary day
)

// handOver cuts the day's jots into batches, device by device.
func (d *day) handOver() []Entry {
	d.putAside()
	order := d.inOrder()
	var out []Entry
	for len(order) > 0 {
		n := batch(order)
		out = append(out, d.entry(order[:n]))
		order = order[n:]
	}
	out = append(out, d.lateEntries()...)
	d.jots = d.jots[:0]
	return slices.DeleteFunc(out, d.unheard)
}

// inOrder sorts pointers, since jots are large: by device, then by the time at
// which they were done, then as they were noted.
func (d *day) inOrder() []*jot {
	order := make([]*jot, len(d.jots))
	for i := range d.jots {
		order[i] = &d.jots[i]
	}
	slices.SortFunc(order, func(a, b *jot) int {
		return cmp.Or(strings.Compare(a.device, b.device), a.done.Compare(b.done), cmp.Compare(a.n, b.n))
	})
	return order
}

func batch(jots []*jot) int {
	n := 1
	for n < len(jots) && n < largest && jots[n].device == jots[0].device && jots[n].done.Sub(jots[n-1].done) < pause {
		n++
	}
	return n
}

func (d *day) entry(jots []*jot) Entry {
	device := jots[0].device
	e := Entry{Facility: d.code, Author: d.author(device, d.n), Device: device}
	e.Recorded = jots[len(jots)-1].done.Add(time.Duration(d.between(8, 95)) * time.Second).UTC()
	e.Facts = make([]events.Draft, 0, len(jots))
	for _, j := range jots {
		if !j.done.After(d.c.until) {
			e.Facts = append(e.Facts, j.draft)
		}
	}
	if e.Recorded.After(d.c.until) {
		e.Recorded = d.c.until
	}
	return e
}

// unheard are batches that have not come by the end: empty ones, and those of
// the silent tablets.
func (d *day) unheard(e Entry) bool {
	silent := d.c.plan.SilentTablets
	return len(e.Facts) == 0 || e.Recorded.After(d.c.until) || (e.Facility == silent.Facility && e.Recorded.After(silent.From))
}

// putAside keeps back what the late tablet holds.
func (d *day) putAside() {
	late := d.c.plan.LateTablet
	if d.code != late.Facility {
		return
	}
	d.jots = slices.DeleteFunc(d.jots, func(j jot) bool {
		held := j.device == late.Device && late.covers(j.done)
		if held {
			d.late = append(d.late, &j)
		}
		return held
	})
}

const lateBatch = 64 // a tablet that comes back sends much at once

// lateEntries hands over what the late tablet held, on the day it came back.
func (d *day) lateEntries() (out []Entry) {
	back := d.c.plan.LateRecorded
	if len(d.late) == 0 || !d.holds(back) {
		return nil
	}
	slices.SortStableFunc(d.late, func(a, b *jot) int { return a.done.Compare(b.done) })
	for jots := range slices.Chunk(d.late, lateBatch) {
		e := d.entry(jots)
		e.Recorded = back.Add(time.Duration(len(out)*3) * time.Second)
		out = append(out, e)
	}
	d.late = nil
	return out
}
