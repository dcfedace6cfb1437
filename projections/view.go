package projections

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/dgraph-io/badger/v4"

	"haulout/events"
)

// view reads the archive at one moment: as it is, as it is with a batch on its
// way in, or as it was believed on an earlier day.
type view struct {
	s      *Store
	txn    *badger.Txn
	batch  *batch          // nil outside a batch
	events *eventCache     // nil outside a batch
	begun  uint64          // see windowCache.begin
	asOf   time.Time       // records received later are left out; zero is now
	zones  map[string]zone // as they were believed to be; nil but for asOf
	chunks *twoGenerations[location, [][]byte]
	index  *cursor
}

func newView(s *Store, txn *badger.Txn) view {
	return view{s: s, txn: txn, chunks: &twoGenerations[location, [][]byte]{size: 8}, index: &cursor{txn: txn}}
}

// close gives up what the view holds of the database.
func (v view) close() { v.index.close() }

// cursor is one iterator that serves every look into the index: making one
// costs far more than moving it, and a cold scope asks for many kinds.
type cursor struct {
	txn *badger.Txn
	it  *badger.Iterator
}

// seek moves the iterator to a key.
func (c *cursor) seek(k []byte) *badger.Iterator {
	if c.it == nil {
		c.it = c.txn.NewIterator(badger.IteratorOptions{Prefix: []byte{keyIndex}})
	}
	c.it.Seek(k)
	return c.it
}

func (c *cursor) close() {
	if c.it != nil {
		c.it.Close()
		c.it = nil
	}
}

// located is a record and where it lies.
type located struct {
	ev events.Event
	at location
}

func (v view) load(at location) (events.Event, error) {
	if v.batch != nil {
		if ev := v.batch.own[at]; ev != nil {
			return *ev, nil // not in the archive yet
		}
	}
	if v.events != nil {
		if ev, ok := v.events.get(at); ok {
			return *ev, nil
		}
	}
	line, err := v.line(at)
	if err != nil {
		return events.Event{}, err
	}
	// An event holds on to the bytes it was decoded from, and must not hold on to
	// its whole chunk.
	ev, err := events.Decode(bytes.Clone(line))
	if err == nil && v.events != nil {
		v.events.put(at, &ev)
	}
	return ev, err
}

// line reads one record's bytes from its chunk.
func (v view) line(at location) ([]byte, error) {
	lines, err := v.chunk(at.facility, at.first)
	if err != nil {
		return nil, fmt.Errorf("record %d of %s: %w", at.number(), at.facility, err)
	}
	if int(at.offset) >= len(lines) {
		return nil, fmt.Errorf("%w: record %d of %s is not in its chunk", ErrFiles, at.number(), at.facility)
	}
	return lines[at.offset], nil
}

// chunk unpacks a chunk, and keeps the last few: records that are read one
// after the other mostly lie in the same ones.
func (v view) chunk(facility string, first uint64) (lines [][]byte, err error) {
	of := location{facility: facility, first: first}
	if lines, ok := v.chunks.get(of); ok {
		return lines, nil
	}
	item, err := v.txn.Get(chunkKey(facility, first))
	if err != nil {
		return nil, fmt.Errorf("read a chunk of records: %w", err)
	}
	err = item.Value(func(chunk []byte) (err error) {
		lines, err = v.s.packer.unpack(chunk)
		return err
	})
	v.chunks.put(of, lines)
	return lines, err
}

// find looks a record up by its id; nil where the archive does not hold it.
func (v view) find(id string) (*events.Event, location, error) {
	at, ok := location{}, false
	if v.batch != nil {
		at, ok = v.batch.arrived[id]
	}
	if !ok {
		raw, err := get(v.txn, key(keyID, id))
		if err != nil || raw == nil {
			return nil, at, err
		}
		if at, err = decodeLocation(raw); err != nil {
			return nil, at, err
		}
	}
	ev, err := v.load(at)
	return &ev, at, err
}

// corrections lists what corrects or withdraws an entry, in order of number.
// Only the facility that wrote an entry can correct it.
func (v view) corrections(of events.Event) ([]located, error) {
	var out []located
	for _, at := range v.fixes(of.ID) {
		ev, err := v.load(at)
		if errors.Is(err, badger.ErrKeyNotFound) && v.batch == nil {
			continue // it came in after this reading began
		}
		if err != nil {
			return nil, err
		}
		if ev.Facility == of.Facility && v.holds(ev) {
			out = append(out, located{ev, at})
		}
	}
	slices.SortFunc(out, func(a, b located) int { return cmp.Compare(a.ev.Number, b.ev.Number) })
	return out, nil
}

// fixes says where corrections of an entry lie.
func (v view) fixes(id string) []location {
	v.s.mu.RLock()
	places := v.s.fixed[id]
	v.s.mu.RUnlock()
	if v.batch != nil {
		places = append(slices.Clip(places), v.batch.fixed[id]...)
	}
	return places
}

func (v view) holds(ev events.Event) bool { return v.asOf.IsZero() || !ev.Recorded.After(v.asOf) }

// effective gives an entry as it counts: corrected by the latest correction
// that itself counts. It is nil where the entry was withdrawn.
func (v view) effective(ev events.Event) (*events.Event, error) {
	fixes, err := v.corrections(ev)
	if err != nil {
		return nil, err
	}
	for _, fix := range slices.Backward(fixes) {
		now, err := v.effective(fix.ev)
		if err != nil {
			return nil, err
		}
		if now == nil {
			continue // this correction was itself withdrawn
		}
		by, corrects := now.Body.(*events.EntryCorrected)
		if !corrects {
			return nil, nil
		}
		fixed, err := corrected(ev, by)
		if fixed != nil || err != nil {
			return fixed, err
		}
	}
	return &ev, nil
}

// corrected is an entry as a correction says, nil where that makes no sound
// entry. Recorders see to it, but for corrections of corrections, of which they
// judge the form alone; such a one does not count. What a newer program wrote
// is an error.
func corrected(ev events.Event, by *events.EntryCorrected) (*events.Event, error) {
	fixed, err := ev.Corrected(by)
	if errors.Is(err, events.ErrUnknown) {
		return nil, fmt.Errorf("correct %s: %w", ev.ID, err)
	}
	if err != nil {
		return nil, nil
	}
	return &fixed, nil
}

// family lists every version that an entry ever had, itself first, and every
// correction in its tree.
func (v view) family(root events.Event) (versions []events.Event, members []located, err error) {
	versions = []events.Event{root}
	fixes, err := v.corrections(root)
	if err != nil {
		return nil, nil, err
	}
	for _, fix := range fixes {
		ways, below, err := v.family(fix.ev)
		if err != nil {
			return nil, nil, err
		}
		members = append(append(members, fix), below...)
		for _, way := range ways {
			by, corrects := way.Body.(*events.EntryCorrected)
			if !corrects {
				continue
			}
			version, err := corrected(root, by)
			if err != nil {
				return nil, nil, err
			}
			if version != nil {
				versions = append(versions, *version)
			}
		}
	}
	return versions, members, nil
}

// records loads a scope: everything that counts, corrected, in order of time
// and id. Places are candidates beyond what the index holds.
func (v view) records(p *Projection, sc Scope, places []location) ([]Record, error) {
	found, err := v.places(p, sc)
	if err != nil {
		return nil, err
	}
	var out []Record
	seen := map[location]bool{}
	for _, at := range append(found, places...) {
		if seen[at] {
			continue
		}
		seen[at] = true
		rec, err := v.member(p, sc, at)
		if err != nil {
			return nil, err
		}
		if rec != nil {
			out = append(out, *rec)
		}
	}
	slices.SortFunc(out, compareRecords)
	return out, nil
}

func compareRecords(a, b Record) int {
	return cmp.Or(a.Time.Compare(b.Time), cmp.Compare(a.ID, b.ID))
}

// member is the record at a place as the scope sees it, nil where it is not in it.
func (v view) member(p *Projection, sc Scope, at location) (*Record, error) {
	rec, err := v.counted(p, sc.Ref, at)
	if rec == nil || err != nil || !p.on(sc.Day, rec.Time, rec.Zone) {
		return nil, err
	}
	return rec, nil
}

// counted is the record at a place as it counts for a reference, corrected; nil
// where it does not.
func (v view) counted(p *Projection, ref events.Ref, at location) (*Record, error) {
	original, err := v.load(at)
	if err != nil || !v.holds(original) {
		return nil, err
	}
	now, err := v.effective(original)
	if err != nil || now == nil || !p.reads(events.KindName(now.Type)) {
		return nil, err
	}
	// An entry that was never corrected is about what it is indexed by.
	plain := now.Target() == "" && len(v.fixes(now.ID)) == 0
	if !plain && !slices.Contains(refsOf(*now), ref) {
		return nil, nil
	}
	rec := Record{Event: *now, Zone: v.zone(now.Facility)}
	if !bytes.Equal(now.Data, original.Data) || !now.Time.Equal(original.Time) {
		rec.Original = &original
	}
	return &rec, nil
}

// on says whether a moment falls on a scope's day.
func (p *Projection) on(day Day, at time.Time, z zone) bool {
	return p.shape == whole || (z != nil && DayOf(at, z) == day)
}

func (v view) zone(facility string) zone {
	if v.zones != nil {
		return v.zones[facility]
	}
	if v.batch != nil {
		if z, ok := v.batch.zones[facility]; ok {
			return z
		}
	}
	v.s.mu.RLock()
	defer v.s.mu.RUnlock()
	return v.s.zones[facility]
}

// places reads the index for a scope. A local day lies within three UTC days.
func (v view) places(p *Projection, sc Scope) (out []location, err error) {
	from, to := int32(-1<<31), int32(1<<31-1)
	if p.shape != whole {
		from, to = sc.Day.number()-1, sc.Day.number()+1
	}
	for _, kind := range p.kinds {
		err := v.entries(sc.Ref, kind, from, to, func(at location, when time.Time) error {
			out = append(out, at)
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// entries visits the index of one reference and kind over UTC days from … to.
func (v view) entries(ref events.Ref, kind string, from, to int32, visit func(location, time.Time) error) error {
	prefix := indexPrefix(ref, kind)
	end := appendDay(bytes.Clone(prefix), to)
	it := v.index.seek(appendDay(bytes.Clone(prefix), from))
	for ; it.ValidForPrefix(prefix); it.Next() {
		k := it.Item().Key()
		if bytes.Compare(k[:len(end)], end) > 0 {
			return nil
		}
		facility, _, _ := bytes.Cut(k[len(end):], []byte{0})
		err := it.Item().Value(func(block []byte) error {
			return eachEntry(string(facility), block, visit)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func eachEntry(facility string, block []byte, visit func(location, time.Time) error) error {
	for ; len(block) >= entrySize; block = block[entrySize:] {
		e := decodeEntry(block)
		if err := visit(location{facility, e.first, e.offset}, e.at); err != nil {
			return err
		}
	}
	return nil
}
