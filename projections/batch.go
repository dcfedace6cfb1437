package projections

import (
	"encoding/binary"

	"github.com/dgraph-io/badger/v4"

	"haulout/events"
)

// block is an index key with its entries, blockOf what they have in common.
type block struct{ key, entries []byte }

type blockOf struct {
	ref      events.Ref
	kind     string
	facility string
	day      int32
}

// batch is one transaction's work. It reads the archive as it was before the
// batch, and adds its own records from memory.
type batch struct {
	view
	s       *Store
	txn     *badger.Txn
	index   map[blockOf]*block
	dirty   map[*progress]map[Scope]*touched
	counts  map[string]uint64
	zones   map[string]zone
	fixed   map[string][]location
	orphans map[string]bool
	arrived map[string]location // ids of this batch
	own     map[location]*events.Event
	placed  []located // what of it is indexed
	// deferring puts off folds over all records of a reference until a fast
	// fill is done; what is owed is written down in the same transaction.
	deferring bool
	settling  bool            // this batch folds what is owed
	owed      map[string]bool // keys of the folds that this batch puts off
	runDays   int             // how many days of a reference it runs again at most
	late      bool            // it puts off folds since they are more
	wrote     map[string]bool // prefixes of the rows that this batch writes
}

func (s *Store) newBatch(txn, before *badger.Txn) *batch {
	b := &batch{
		s: s, txn: txn, index: map[blockOf]*block{}, dirty: map[*progress]map[Scope]*touched{},
		counts: map[string]uint64{}, zones: map[string]zone{}, fixed: map[string][]location{}, orphans: map[string]bool{}, owed: map[string]bool{}, wrote: map[string]bool{},
	}
	b.view = newView(s, before)
	b.view.batch, b.view.events = b, s.scope.events
	return b
}

// commit ends the batch, and tells those who keep rows what it wrote.
func (b *batch) commit() error {
	if err := b.txn.Commit(); err != nil {
		return err
	}
	b.s.windows.changed(b.wrote)
	return nil
}

// unseen leaves out records that are in the archive or twice in the list.
func (b *batch) unseen(list []arrival) ([]arrival, error) {
	seen := map[string]bool{}
	var out []arrival
	for _, a := range list {
		have, err := get(b.txn, key(keyID, a.ev.ID))
		if err != nil {
			return nil, err
		}
		if have == nil && !seen[a.ev.ID] {
			seen[a.ev.ID] = true
			out = append(out, a)
		}
	}
	return out, nil
}

func (b *batch) run(list []arrival, heads map[string]Head) error {
	at, err := b.store(list)
	if err != nil {
		return err
	}
	for _, corrections := range []bool{false, true} { // entries first: what corrects one finds it placed
		for i, a := range list {
			if (a.ev.Target() != "") != corrections {
				continue
			}
			b.placed = append(b.placed, located{a.ev, at[i]})
			if err := b.place(a.ev, at[i]); err != nil {
				return err
			}
		}
	}
	if err := b.fold(); err != nil {
		return err
	}
	for _, block := range b.index {
		if err := b.txn.Set(block.key, block.entries); err != nil {
			return err
		}
	}
	for k := range b.owed {
		if err := b.txn.Set([]byte(k), nil); err != nil {
			return err
		}
	}
	return b.writeHeads(heads)
}

func (b *batch) writeHeads(heads map[string]Head) error {
	for facility, head := range heads {
		if err := b.txn.Set(key(keyHead, facility), head.encode()); err != nil {
			return err
		}
	}
	for k, n := range b.counts {
		if err := b.txn.Set([]byte(k), binary.BigEndian.AppendUint64(nil, n)); err != nil {
			return err
		}
	}
	return nil
}

// store writes the records in chunks and their ids, and says where each lies.
func (b *batch) store(list []arrival) ([]location, error) {
	at := make([]location, len(list))
	b.arrived, b.own = make(map[string]location, len(list)), make(map[location]*events.Event, len(list))
	for start := 0; start < len(list); {
		end := chunkEnd(list, start)
		for i := start; i < end; i++ {
			ev := &list[i].ev
			at[i] = location{ev.Facility, list[start].ev.Number, uint16(i - start)}
			b.arrived[ev.ID], b.own[at[i]] = at[i], ev
			b.events.put(at[i], ev)
			if err := b.txn.Set(key(keyID, ev.ID), at[i].encode()); err != nil {
				return nil, err
			}
			for _, c := range ev.Counts {
				k := string(key(keyCount, ev.Facility, c.Animal))
				b.counts[k] = max(b.counts[k], c.N)
			}
		}
		if err := b.txn.Set(chunkKey(list[start].ev.Facility, list[start].ev.Number), b.s.packed(list[start:end])); err != nil {
			return nil, err
		}
		start = end
	}
	return at, nil
}

// packed is a chunk, packed ahead or now. A chunk that lost its beginning or
// its end on the way is another one.
func (s *Store) packed(list []arrival) []byte {
	if ahead := list[0].ahead; ahead.records == len(list) {
		return ahead.bytes
	}
	return s.pack(list)
}

// chunkEnd finds how far consecutive records of one facility run. A chunk that
// was packed ahead begins a new one.
func chunkEnd(list []arrival, start int) int {
	end := start + 1
	for end < len(list) && end-start < chunkRecords && list[end].ahead.records == 0 &&
		list[end].ev.Facility == list[start].ev.Facility && list[end].ev.Number == list[end-1].ev.Number+1 {
		end++
	}
	return end
}

// place indexes one record and marks what it touches. A correction touches what
// its entry touched before and what it touches now.
func (b *batch) place(ev events.Event, at location) error {
	if target := ev.Target(); target != "" {
		return b.placeCorrection(ev, at, target)
	}
	if b.orphaned(ev.ID) {
		return b.placeFamily(ev, at, ev.Number)
	}
	b.touch(ev, at, ev.Number, true)
	if _, opens := ev.Body.(*events.FacilityOpened); opens {
		return b.rezone(ev.Facility)
	}
	return nil
}

func (b *batch) orphaned(id string) bool {
	if waiting, ok := b.orphans[id]; ok {
		return waiting
	}
	b.s.mu.RLock()
	defer b.s.mu.RUnlock()
	return b.s.orphans[id]
}

func (b *batch) placeCorrection(ev events.Event, at location, target string) error {
	b.fixed[target] = append(b.fixed[target], at)
	k := binary.BigEndian.AppendUint64(key(keyCorrection, target, ev.Facility), ev.Number)
	if err := b.txn.Set(k, at.encode()); err != nil {
		return err
	}
	b.touch(ev, at, ev.Number, false)
	root, where, err := b.root(target)
	if err != nil {
		return err
	}
	if root == nil {
		b.orphans[target] = true
		return nil
	}
	return b.placeFamily(*root, where, ev.Number)
}

// root climbs from a correction of a correction to the entry at its start. It
// is nil where the archive does not hold it yet.
func (b *batch) root(id string) (*events.Event, location, error) {
	ev, at, err := b.find(id)
	if err != nil || ev == nil {
		return nil, at, err
	}
	if target := ev.Target(); target != "" {
		return b.root(target)
	}
	return ev, at, nil
}

// placeFamily indexes an entry under everything that any of its versions
// touches, and the corrections beside it, and marks all of it to be folded.
func (b *batch) placeFamily(root events.Event, at location, number uint64) error {
	b.orphans[root.ID] = false
	versions, members, err := b.family(root)
	if err != nil {
		return err
	}
	for _, version := range versions {
		b.touch(version, at, number, true)
		version.Time = root.Time // what it is about now lists it at the time it was recorded with
		b.touch(version, at, number, false)
	}
	for _, member := range members {
		b.orphans[member.ev.ID] = false
		b.indexBeside(root, member, number)
	}
	b.redo(versions)
	if _, opens := root.Body.(*events.FacilityOpened); opens {
		return b.rezone(root.Facility)
	}
	return nil
}

// touch indexes a record under its references and marks the scopes it is in.
func (b *batch) touch(ev events.Event, at location, number uint64, counts bool) {
	kind := events.KindName(ev.Type)
	for _, ref := range refsOf(ev) {
		b.addIndex(ref, kind, at, ev, number)
		if !counts {
			continue
		}
		for _, p := range b.s.list {
			if p.sort == ref.Sort && p.reads(kind) {
				b.mark(p, ref, ev, at)
			}
		}
	}
}

// indexBeside puts a correction with the entry it corrects, for those who list
// what was written about an animal.
func (b *batch) indexBeside(root events.Event, c located, number uint64) {
	for _, ref := range refsOf(root) {
		if ref.Sort != "staff" && ref.Sort != "device" {
			b.addIndex(ref, events.KindName(c.ev.Type), c.at, c.ev, number)
		}
	}
}

func (b *batch) addIndex(ref events.Ref, kind string, at location, ev events.Event, number uint64) {
	day := utcDay(ev.Time)
	of := blockOf{ref, kind, at.facility, day}
	in := b.index[of]
	if in == nil {
		in = &block{key: indexKey(indexPrefix(ref, kind), day, at.facility, number)}
		b.index[of] = in
	}
	in.entries = appendEntry(in.entries, entry{ev.Time, at.first, at.offset})
}
