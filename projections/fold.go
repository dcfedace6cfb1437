package projections

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"iter"
	"maps"
	"slices"
	"strconv"
	"time"

	"github.com/dgraph-io/badger/v4"

	"haulout/events"
)

// touched is what a batch knows of one scope: the records it brings, and
// whether more than adding them is needed.
type touched struct {
	places []location
	recs   []Record
	redo   bool // a correction or a new zone: read the scope anew
}

// mark notes that a record is in a scope of a projection.
func (b *batch) mark(p *progress, ref events.Ref, ev events.Event, at location) {
	z := b.zone(ev.Facility)
	if z == nil && p.shape != whole {
		return // rezone marks it when the facility's zone is known
	}
	t := b.touchedScope(p, b.scopeIn(p, ref, ev.Time, z))
	t.places = append(t.places, at)
	t.recs = append(t.recs, Record{Event: ev, Zone: z})
}

func (b *batch) scopeIn(p *progress, ref events.Ref, at time.Time, z zone) Scope {
	if p.shape == whole {
		return Scope{Ref: ref}
	}
	return Scope{ref, DayOf(at, z)}
}

func (b *batch) touchedScope(p *progress, sc Scope) *touched {
	scopes := b.dirty[p]
	if scopes == nil {
		scopes = map[Scope]*touched{}
		b.dirty[p] = scopes
	}
	t := scopes[sc]
	if t == nil {
		t = &touched{}
		scopes[sc] = t
	}
	return t
}

// redo marks every scope that any of these versions touches to be read anew.
func (b *batch) redo(versions []events.Event) {
	for _, ev := range versions {
		b.eachScope(ev, b.zone(ev.Facility), func(p *progress, sc Scope) {
			b.touchedScope(p, sc).redo = true
			b.s.scope.scopes.drop(scopeOf{p, sc})
		})
	}
}

func (b *batch) eachScope(ev events.Event, z zone, visit func(*progress, Scope)) {
	b.eachReader(ev, func(p *progress, ref events.Ref) {
		if z != nil || p.shape == whole {
			visit(p, b.scopeIn(p, ref, ev.Time, z))
		}
	})
}

// eachReader visits the projections that read an event, by reference.
func (b *batch) eachReader(ev events.Event, visit func(*progress, events.Ref)) {
	kind := events.KindName(ev.Type)
	for _, ref := range refsOf(ev) {
		for _, p := range b.s.list {
			if p.sort == ref.Sort && p.reads(kind) {
				visit(p, ref)
			}
		}
	}
}

// rezone takes in a facility's zone. What was placed under another zone, or
// under none, is owed a fold: the days of years don't fit into one transaction.
func (b *batch) rezone(facility string) error {
	now, err := b.zoneNow(facility)
	if err != nil || sameZone(b.zone(facility), now) {
		return err
	}
	b.zones[facility] = now
	b.s.scope.rezoned()
	for ev, err := range b.everything(facility) {
		if err != nil {
			return err
		}
		versions, _, err := b.family(ev)
		if err != nil {
			return err
		}
		for _, version := range versions {
			b.eachReader(version, func(p *progress, ref events.Ref) { b.owed[string(dirtyKey(p, ref))] = true })
		}
	}
	return nil
}

func sameZone(a, b zone) bool {
	return a == b || (a != nil && b != nil && a.String() == b.String())
}

// opening is a projection in form only: it finds a facility's opening record.
var opening = Projection{shape: whole, sort: "facility", kinds: []string{"facility.opened"}}

func (v view) opened(facility string, places []location) (*events.FacilityOpened, error) {
	recs, err := v.records(&opening, Scope{Ref: events.Ref{Sort: "facility", ID: facility}}, places)
	if err != nil || len(recs) == 0 {
		return nil, err
	}
	return recs[len(recs)-1].Body.(*events.FacilityOpened), nil
}

func (b *batch) zoneNow(facility string) (zone, error) {
	var places []location
	for _, at := range b.placed {
		if _, opens := at.ev.Body.(*events.FacilityOpened); opens && at.ev.Facility == facility {
			places = append(places, at.at)
		}
	}
	body, err := b.opened(facility, places)
	if err != nil || body == nil {
		return nil, err
	}
	return time.LoadLocation(body.Zone)
}

func (s *Store) loadZones(txn *badger.Txn) error {
	v := newView(s, txn)
	defer v.close()
	prefix := key(keyIndex, "facility")
	return scan(txn, prefix, func(k, _ []byte) error {
		code, _, _ := bytes.Cut(k[len(prefix):], []byte{0})
		facility := string(code)
		if s.zones[facility] != nil {
			return nil
		}
		body, err := v.opened(facility, nil)
		if err != nil || body == nil {
			return err
		}
		s.zones[facility], err = time.LoadLocation(body.Zone)
		return err
	})
}

// everything visits all entries of a facility that are no corrections, in the
// archive and in the batch so far.
func (b *batch) everything(facility string) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		err := b.eachChunk(facility, 0, func(_ uint64, lines [][]byte) error {
			for _, line := range lines {
				ev, err := events.Decode(line)
				if err != nil {
					return err
				}
				if ev.Target() == "" && !yield(ev, nil) {
					return errStop
				}
			}
			return nil
		})
		if err != nil {
			yield(events.Event{}, err)
			return
		}
		for _, p := range b.placed {
			if p.ev.Facility == facility && p.ev.Target() == "" && !yield(p.ev, nil) {
				return
			}
		}
	}
}

// fold makes the rows of every scope that the batch touched.
func (b *batch) fold() error {
	for _, p := range b.s.list {
		scopes := b.dirty[p]
		if p.shape == running {
			if err := b.foldRunning(p, scopes); err != nil {
				return err
			}
			continue
		}
		// Day after day, since a day later than all before needs no look into the archive.
		byDay := func(a, b Scope) int { return cmp.Compare(a.Day, b.Day) }
		for _, sc := range slices.SortedFunc(maps.Keys(scopes), byDay) {
			if err := b.foldScope(p, sc, scopes[sc]); err != nil {
				return err
			}
		}
	}
	return nil
}

func (b *batch) foldScope(p *progress, sc Scope, t *touched) error {
	if b.deferring && p.shape == whole {
		b.s.scope.scopes.drop(scopeOf{p, sc})
		return b.txn.Set(dirtyKey(p, sc.Ref), nil)
	}
	recs, err := b.scoped(p, sc, t)
	if err != nil {
		return err
	}
	row, err := p.fold(nil, sc, recs)
	if err != nil {
		return fmt.Errorf("fold %s of %s %s: %w", p.Name, sc.Ref, sc.Day, err)
	}
	return b.writeRow(p, sc, row)
}

// scoped gives the records of a scope: from the cache where it is hot, from
// the batch alone where the scope is new, else from the archive.
func (b *batch) scoped(p *progress, sc Scope, t *touched) ([]Record, error) {
	c := &b.s.scope
	recs, hot := c.scopes.get(scopeOf{p, sc})
	fresh := c.isNew(p, sc)
	switch {
	case t.redo || (!hot && !fresh):
		var err error
		if recs, err = b.records(&p.Projection, sc, t.places); err != nil {
			return nil, err
		}
	default:
		for _, rec := range t.recs {
			recs = insert(recs, rec)
		}
	}
	if b.settling {
		c.scopes.drop(scopeOf{p, sc}) // years of days that nobody is writing to
	} else {
		c.scopes.put(scopeOf{p, sc}, recs)
	}
	return recs, nil
}

// isNew says that no earlier batch can have put a record into the scope, and
// remembers the day for the next question. Of running projections that is not
// known: a fast fill passes their days by.
func (c *scopeCache) isNew(p *progress, sc Scope) bool {
	if c.newest == nil || p.shape != daily {
		return false
	}
	of := refOf{p, sc.Ref}
	if sc.Day <= max(c.newest[of], c.coming[of]) {
		return false
	}
	c.coming[of] = sc.Day
	return true
}

// foldRunning runs each touched reference again from its earliest touched day.
// While the rows are being built that waits, since the days before have no
// state to start from yet; and it waits where more days follow than go into the
// batch's transaction.
func (b *batch) foldRunning(p *progress, scopes map[Scope]*touched) error {
	byRef := map[events.Ref][]Day{}
	for sc := range scopes {
		byRef[sc.Ref] = append(byRef[sc.Ref], sc.Day)
	}
	for ref, touched := range byRef {
		slices.Sort(touched)
		days, err := b.daysToRun(p, ref, touched)
		if err != nil {
			return err
		}
		if days == nil {
			err = b.oweRun(p, ref, touched)
		} else {
			err = b.rerun(p, ref, days, scopes)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// runDays is how many days of a reference are run again within a batch; a
// transaction holds many times as many rows of a dozen animals.
const runDays = 100

// daysToRun are the days that a batch runs again; nil where that is to wait.
func (b *batch) daysToRun(p *progress, ref events.Ref, touched []Day) ([]Day, error) {
	if b.settling {
		return touched, nil
	}
	if b.deferring || !p.ready {
		return nil, nil
	}
	days, err := b.daysFrom(p, ref, touched)
	if len(days) > b.runDays {
		b.late = true
		return nil, err
	}
	return days, err
}

// oweRun writes down that a reference is to be run again from a day on, or from
// the earlier day that is written down already.
func (b *batch) oweRun(p *progress, ref events.Ref, touched []Day) error {
	for _, day := range touched {
		b.s.scope.scopes.drop(scopeOf{p, Scope{ref, day}})
	}
	k, from := dirtyKey(p, ref), touched[0]
	item, err := b.txn.Get(k)
	if err == nil {
		err = item.Value(func(owed []byte) error {
			from = min(from, Day(owed))
			return nil
		})
	}
	if err != nil && !errors.Is(err, badger.ErrKeyNotFound) {
		return err
	}
	return b.txn.Set(k, []byte(from))
}

func (b *batch) rerun(p *progress, ref events.Ref, days []Day, scopes map[Scope]*touched) error {
	prev, err := b.rowBefore(p, ref, days[0])
	if err != nil {
		return err
	}
	for _, day := range days {
		sc := Scope{ref, day}
		t := scopes[sc]
		if t == nil {
			t = &touched{}
		}
		recs, err := b.scoped(p, sc, t)
		if err != nil {
			return err
		}
		if len(recs) == 0 {
			if err := b.writeRow(p, sc, nil); err != nil {
				return err
			}
			continue
		}
		row, err := p.fold(prev, sc, recs)
		if err != nil {
			return fmt.Errorf("fold %s of %s %s: %w", p.Name, ref, day, err)
		}
		if err := b.writeRow(p, sc, row); err != nil {
			return err
		}
		if row != nil {
			prev = row
		}
	}
	return nil
}

// daysFrom lists the days of a reference that had or have records from the first
// that is touched on, in order.
func (b *batch) daysFrom(p *progress, ref events.Ref, touched []Day) ([]Day, error) {
	from, days := touched[0], map[Day]bool{}
	for _, day := range touched {
		days[day] = true
	}
	for _, kind := range p.kinds {
		err := b.entries(ref, kind, from.number()-1, 1<<31-1, func(at location, when time.Time) error {
			if z := b.zone(at.facility); z != nil {
				if day := DayOf(when, z); day >= from {
					days[day] = true
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return slices.Sorted(maps.Keys(days)), nil
}

func (b *batch) rowBefore(p *progress, ref events.Ref, day Day) ([]byte, error) {
	it := b.view.txn.NewIterator(badger.IteratorOptions{Reverse: true, PrefetchValues: false})
	defer it.Close()
	prefix := rowPrefix(p.Name, p.Version, ref)
	for it.Seek(rowKey(p.Name, p.Version, Scope{ref, day})); it.ValidForPrefix(prefix); it.Next() {
		if bytes.Compare(it.Item().Key(), rowKey(p.Name, p.Version, Scope{ref, day})) >= 0 {
			continue
		}
		row, err := it.Item().ValueCopy(nil)
		if err != nil || len(row) > 0 {
			return row, err
		}
	}
	return nil, nil
}

// allRows is under what the rows of all references lie.
func allRows(name string, version int) []byte { return key(keyRow, name, strconv.Itoa(version)) }

func rowPrefix(name string, version int, ref events.Ref) []byte {
	return key(keyRow, name, strconv.Itoa(version), ref.Sort, ref.ID)
}

func rowKey(name string, version int, sc Scope) []byte {
	return append(rowPrefix(name, version, sc.Ref), sc.Day...)
}

func dirtyKey(p *progress, ref events.Ref) []byte {
	return key(keyDirty, p.Name, strconv.Itoa(p.Version), ref.Sort, ref.ID)
}

// writeRow stores a row, or takes it away. While rows of an older version still
// serve, an empty row says that there is none.
func (b *batch) writeRow(p *progress, sc Scope, row []byte) error {
	prefix := rowPrefix(p.Name, p.Version, sc.Ref)
	b.wrote[string(prefix)] = true
	if p.shape == whole {
		b.wrote[string(allRows(p.Name, p.Version))] = true
	}
	k := append(prefix, sc.Day...)
	if row == nil && p.ready {
		return b.txn.Delete(k)
	}
	return b.txn.Set(k, row)
}
