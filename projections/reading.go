package projections

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"errors"
	"maps"
	"slices"
	"strconv"
	"time"

	"github.com/dgraph-io/badger/v4"

	"haulout/events"
)

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

// at runs a reading of the archive as it is, or as it was believed at a moment.
func (s *Store) at(asOf time.Time, read func(view) error) (err error) {
	defer damaged(&err)
	begun := s.windows.begin()
	return s.db.View(func(txn *badger.Txn) error {
		v := newView(s, txn)
		defer v.close()
		v.asOf, v.begun = asOf, begun
		if asOf.IsZero() {
			return read(v)
		}
		v.chunks.size = believedChunks
		var err error
		if v.zones, err = v.zonesThen(); err != nil {
			return err
		}
		return read(v)
	})
}

// believedChunks is how many unpacked chunks one generation keeps while
// everything is folded anew from records, which lie in the same chunks again and
// again: some tens of megabytes.
const believedChunks = 512

// zonesThen gives the zones that the facilities were believed to be in.
func (v view) zonesThen() (map[string]zone, error) {
	v.s.mu.RLock()
	codes := sortedKeys(v.s.zones)
	v.s.mu.RUnlock()
	out := map[string]zone{}
	for _, code := range codes {
		body, err := v.opened(code, nil)
		if err != nil {
			return nil, err
		}
		if body == nil {
			continue
		}
		if out[code], err = time.LoadLocation(body.Zone); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func (s *Store) named(name string) *progress {
	for _, p := range s.list {
		if p.Name == name {
			return p
		}
	}
	return nil
}

// versions lists under which versions rows are to be looked for, newest first.
func (s *Store) versions(p *Projection) []int {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if now := s.named(p.Name); now != nil && !now.ready && now.older != 0 {
		return []int{p.Version, now.older}
	}
	return []int{p.Version}
}

// row reads one row; nil where there is none.
func row[R any](v view, p *Projection, sc Scope) (*R, error) {
	if !v.asOf.IsZero() {
		return believed[R](v, p, sc)
	}
	for _, version := range v.s.versions(p) {
		item, err := v.txn.Get(rowKey(p.Name, version, sc))
		if errors.Is(err, badger.ErrKeyNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		return copied(decoded[R](v.s.decoded, item))
	}
	return nil, nil
}

// believed folds a scope over the records received up to a moment.
func believed[R any](v view, p *Projection, sc Scope) (*R, error) {
	if p.shape != whole {
		list, err := believedRows[R](v, p, sc.Ref, sc.Day, sc.Day)
		if len(list) == 0 || err != nil {
			return nil, err
		}
		return &list[0].Row, nil
	}
	recs, err := v.records(p, sc, nil)
	if len(recs) == 0 || err != nil {
		return nil, err
	}
	said, err := p.fold(nil, sc, recs)
	if err != nil {
		return nil, err
	}
	return decodeRow[R](said)
}

// believedRows folds the days of a reference over the records received up to a
// moment, in one pass. A state that is carried on begins with the first record:
// there are no states of back then to start from.
func believedRows[R any](v view, p *Projection, ref events.Ref, from, to Day) (out []dated[R], err error) {
	start := from
	if p.shape == running {
		start = "0001-01-01"
	}
	byDay, err := v.recordsByDay(p, ref, start, to)
	if err != nil {
		return nil, err
	}
	var state []byte
	for _, day := range slices.Sorted(maps.Keys(byDay)) {
		said, err := p.fold(state, Scope{ref, day}, byDay[day])
		if err != nil {
			return nil, err
		}
		if said != nil && p.shape == running {
			state = said
		}
		row, err := decodeRow[R](said)
		if err != nil {
			return nil, err
		}
		if row != nil && day >= from {
			out = append(out, dated[R]{day, *row})
		}
	}
	return out, nil
}

// recordsByDay loads everything that counts of a reference over days from … to,
// corrected, each day in order of time and id.
func (v view) recordsByDay(p *Projection, ref events.Ref, from, to Day) (map[Day][]Record, error) {
	places := map[location]bool{}
	for _, kind := range p.kinds {
		err := v.entries(ref, kind, from.number()-1, to.number()+1, func(at location, _ time.Time) error {
			places[at] = true
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	out := map[Day][]Record{}
	for _, at := range slices.SortedFunc(maps.Keys(places), compareLocations) { // so that a chunk is unpacked once
		rec, err := v.counted(p, ref, at)
		if err != nil {
			return nil, err
		}
		if rec == nil || rec.Zone == nil {
			continue
		}
		if day := DayOf(rec.Time, rec.Zone); day >= from && day <= to {
			out[day] = append(out[day], *rec)
		}
	}
	for _, recs := range out {
		slices.SortFunc(recs, compareRecords)
	}
	return out, nil
}

// dated is the row of one day.
type dated[R any] struct {
	Day Day
	Row R
}

// rows reads the rows of a reference over days from … to, in order of day.
func rows[R any](v view, p *Projection, ref events.Ref, from, to Day) ([]dated[R], error) {
	if !v.asOf.IsZero() {
		return believedRows[R](v, p, ref, from, to)
	}
	if versions := v.s.versions(p); len(versions) == 1 {
		return adjacent[R](v, rowPrefix(p.Name, versions[0], ref), from, to)
	}
	days, err := v.rowDays(p, ref, from, to)
	if err != nil {
		return nil, err
	}
	var out []dated[R]
	for _, day := range days {
		r, err := row[R](v, p, Scope{ref, day})
		if err != nil {
			return nil, err
		}
		if r != nil {
			out = append(out, dated[R]{day, *r})
		}
	}
	return out, nil
}

// adjacent reads rows that lie side by side in one pass: years of days are many.
func adjacent[R any](v view, prefix []byte, from, to Day) (out []dated[R], err error) {
	err = scanFrom(v.txn, prefix, append(bytes.Clone(prefix), from...), func(k, raw []byte) error {
		day := Day(k[len(prefix):])
		if day > to {
			return errStop
		}
		r, err := decodeRow[R](raw)
		if r != nil {
			out = append(out, dated[R]{day, *r})
		}
		return err
	})
	return out, err
}

// latest is the last row of a reference up to a day; nil where there is none.
func latest[R any](v view, p *Projection, ref events.Ref, to Day) (*dated[R], error) {
	versions := v.s.versions(p)
	if !v.asOf.IsZero() || len(versions) != 1 {
		list, err := rows[R](v, p, ref, "0001-01-01", to)
		if len(list) == 0 || err != nil {
			return nil, err
		}
		return &list[len(list)-1], nil
	}
	prefix := rowPrefix(p.Name, versions[0], ref)
	last, err := keptList(v, window{string(prefix), "", to, "last"}, func() ([]dated[R], error) { return lastRow[R](v, prefix, to) })
	if len(last) == 0 || err != nil {
		return nil, err
	}
	return &dated[R]{last[0].Day, last[0].Row}, nil
}

// lastRow is the last row under a prefix up to a day, none where there is none.
func lastRow[R any](v view, prefix []byte, to Day) ([]dated[R], error) {
	it := v.txn.NewIterator(badger.IteratorOptions{Reverse: true, PrefetchValues: false})
	defer it.Close()
	if it.Seek(append(bytes.Clone(prefix), to...)); !it.ValidForPrefix(prefix) {
		return nil, nil
	}
	day := Day(it.Item().Key()[len(prefix):])
	r, err := decoded[R](v.s.decoded, it.Item())
	if r == nil || err != nil {
		return nil, err
	}
	return []dated[R]{{day, *r}}, nil
}

// rowDays lists the days of a reference that have, or may have had, a row.
func (v view) rowDays(p *Projection, ref events.Ref, from, to Day) ([]Day, error) {
	days := map[Day]bool{}
	for _, version := range v.s.versions(p) {
		prefix := rowPrefix(p.Name, version, ref)
		err := scanFrom(v.txn, prefix, append(bytes.Clone(prefix), from...), func(k, _ []byte) error {
			day := Day(k[len(prefix):])
			if day > to {
				return errStop
			}
			days[day] = true
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return slices.Sorted(maps.Keys(days)), nil
}

func (v view) recordDays(p *Projection, ref events.Ref, from, to Day) ([]Day, error) {
	days := map[Day]bool{}
	for _, kind := range p.kinds {
		err := v.entries(ref, kind, from.number()-1, to.number()+1, func(at location, when time.Time) error {
			if z := v.zone(at.facility); z != nil {
				if day := DayOf(when, z); day >= from && day <= to {
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

// refsWith lists the references that a projection has rows of, or may have had.
func (v view) refsWith(p *Projection) ([]events.Ref, error) {
	if !v.asOf.IsZero() {
		return v.refsIndexed(p.sort), nil
	}
	seen := map[events.Ref]bool{}
	for _, version := range v.s.versions(p) {
		prefix := key(keyRow, p.Name, strconv.Itoa(version))
		err := scan(v.txn, prefix, func(k, _ []byte) error {
			seen[refIn(k[len(prefix):])] = true
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return slices.SortedFunc(maps.Keys(seen), func(a, b events.Ref) int {
		return cmp.Or(cmp.Compare(a.Sort, b.Sort), cmp.Compare(a.ID, b.ID))
	}), nil
}

// refsIndexed lists the references of a sort that any record makes.
func (v view) refsIndexed(sort string) (out []events.Ref) {
	prefix := key(keyIndex, sort)
	it := v.txn.NewIterator(badger.IteratorOptions{Prefix: prefix})
	defer it.Close()
	for it.Seek(prefix); it.Valid(); {
		ref := refIn(it.Item().Key()[1:])
		out = append(out, ref)
		past := key(keyIndex, ref.Sort, ref.ID)
		past[len(past)-1] = 1
		it.Seek(past)
	}
	return out
}

// refIn reads a reference at the start of what is left of a key.
func refIn(rest []byte) events.Ref {
	sort, rest, _ := bytes.Cut(rest, []byte{0})
	id, _, _ := bytes.Cut(rest, []byte{0})
	return events.Ref{Sort: string(sort), ID: string(id)}
}

// every reads all rows of a whole projection.
func every[R any](v view, p *Projection) (out []R, err error) {
	versions := v.s.versions(p)
	if !v.asOf.IsZero() || len(versions) != 1 {
		return everyOne[R](v, p)
	}
	prefix := allRows(p.Name, versions[0])
	list, err := keptList(v, window{prefix: string(prefix)}, func() ([]*R, error) { return decodedAll[R](v, prefix) })
	for _, r := range list {
		out = append(out, *r)
	}
	return out, err
}

func decodedAll[R any](v view, prefix []byte) (out []*R, err error) {
	it := v.txn.NewIterator(badger.IteratorOptions{PrefetchValues: false, Prefix: prefix})
	defer it.Close()
	for it.Rewind(); it.Valid(); it.Next() {
		r, err := decoded[R](v.s.decoded, it.Item())
		if err != nil {
			return nil, err
		}
		if r != nil {
			out = append(out, r)
		}
	}
	return out, nil
}

// everyOne reads them one by one, as they were believed or while two versions
// serve.
func everyOne[R any](v view, p *Projection) (out []R, err error) {
	refs, err := v.refsWith(p)
	if err != nil {
		return nil, err
	}
	for _, ref := range refs {
		r, err := row[R](v, p, Scope{Ref: ref})
		if err != nil {
			return nil, err
		}
		if r != nil {
			out = append(out, *r)
		}
	}
	return out, nil
}

// eachChunk visits the chunks of a facility that hold records from a number on.
func (v view) eachChunk(facility string, from uint64, visit func(first uint64, lines [][]byte) error) error {
	prefix := key(keyChunk, facility)
	start := chunkKey(facility, from)
	if first, ok := v.chunkOf(facility, from); ok {
		start = chunkKey(facility, first)
	}
	return scanFrom(v.txn, prefix, start, func(k, chunk []byte) error {
		lines, err := v.s.packer.unpack(chunk)
		if err != nil {
			return err
		}
		return visit(binary.BigEndian.Uint64(k[len(prefix):]), lines)
	})
}

// chunkOf finds the first number of the chunk that would hold a record.
func (v view) chunkOf(facility string, number uint64) (uint64, bool) {
	it := v.txn.NewIterator(badger.IteratorOptions{Reverse: true, PrefetchValues: false})
	defer it.Close()
	prefix := key(keyChunk, facility)
	if it.Seek(chunkKey(facility, number)); !it.ValidForPrefix(prefix) {
		return 0, false
	}
	return binary.BigEndian.Uint64(it.Item().Key()[len(prefix):]), true
}

// chunksFrom reads and decodes the next records of a facility, a batch of them.
func (s *Store) chunksFrom(facility string, from uint64) (list []arrival, at []location, err error) {
	err = s.at(time.Time{}, func(v view) error {
		return v.eachChunk(facility, from, func(first uint64, lines [][]byte) error {
			for i, line := range lines {
				if first+uint64(i) >= from {
					list = append(list, arrival{line: line})
					at = append(at, location{facility, first, uint16(i)})
				}
			}
			if len(list) >= batchRecords {
				return errStop
			}
			return nil
		})
	})
	if err != nil {
		return nil, nil, err
	}
	return list, at, s.decodeAll(list)
}

// Lines reads up to limit stored records of a facility after a number, as
// their canonical bytes.
func (s *Store) Lines(facility string, after uint64, limit int) (out [][]byte, err error) {
	err = s.at(time.Time{}, func(v view) error {
		return v.eachChunk(facility, after+1, func(first uint64, lines [][]byte) error {
			for i, line := range lines {
				if first+uint64(i) > after && len(out) < limit {
					out = append(out, line)
				}
			}
			if len(out) >= limit {
				return errStop
			}
			return nil
		})
	})
	return out, err
}

// Find looks a record up by its id; nil where there is none.
func (s *Store) Find(id string) (ev *events.Event, err error) {
	err = s.at(time.Time{}, func(v view) error {
		ev, _, err = v.find(id)
		return err
	})
	return ev, err
}

// Counts gives how many records each animal has at a facility.
func (s *Store) Counts(facility string) (map[string]uint64, error) {
	out := map[string]uint64{}
	prefix := key(keyCount, facility)
	err := s.at(time.Time{}, func(v view) error {
		return scan(v.txn, prefix, func(k, n []byte) error {
			out[string(k[len(prefix):len(k)-1])] = binary.BigEndian.Uint64(n)
			return nil
		})
	})
	return out, err
}

// Defining lists, in order of number, the records of a facility that its
// register is made from, and the corrections of those.
func (s *Store) Defining(facility string) (out []events.Event, err error) {
	ref := events.Ref{Sort: "facility", ID: facility}
	err = s.at(time.Time{}, func(v view) error {
		seen := map[location]bool{}
		for _, wire := range events.Kinds() {
			err := v.entries(ref, events.KindName(wire), -1<<31, 1<<31-1, func(at location, _ time.Time) error {
				if seen[at] {
					return nil
				}
				seen[at] = true
				ev, err := v.load(at)
				out = append(out, ev)
				return err
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
	slices.SortFunc(out, func(a, b events.Event) int { return cmp.Compare(a.Number, b.Number) })
	return out, err
}
