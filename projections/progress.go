package projections

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"time"

	"github.com/dgraph-io/badger/v4"

	"haulout/events"
)

// progress is how far one projection is. A projection that is ready moves with
// the archive; one that is not is being built anew beside its older rows.
type progress struct {
	Projection
	ready bool
	older int               // version whose rows serve until this one is ready
	done  map[string]uint64 // how far the building has come, by facility
}

// saved is progress as it is stored.
type saved struct {
	Version int               `json:"version"`
	Older   int               `json:"older,omitempty"`
	Ready   bool              `json:"ready"`
	Done    map[string]uint64 `json:"done,omitempty"`
}

func (s *Store) loadProgress(txn *badger.Txn, list []Projection) error {
	empty, err := isEmpty(txn)
	if err != nil {
		return err
	}
	for _, p := range list {
		raw, err := get(txn, key(keyVersion, p.Name))
		if err != nil {
			return err
		}
		was := saved{Ready: empty}
		if raw != nil {
			if err := json.Unmarshal(raw, &was); err != nil {
				return err
			}
		}
		now := p.resume(was)
		if err := now.save(txn); err != nil {
			return err
		}
		s.list = append(s.list, now)
	}
	if empty {
		s.scope.newest = map[refOf]Day{}
	}
	return nil
}

// isEmpty says that no record has come in yet, in order or out of it.
func isEmpty(txn *badger.Txn) (bool, error) {
	empty := true
	err := scan(txn, []byte{keyID}, func(_, _ []byte) error {
		empty = false
		return errStop
	})
	return empty, err
}

// resume decides from what was stored whether rows must be built.
func (p Projection) resume(was saved) *progress {
	switch {
	case was.Version == p.Version:
		return &progress{Projection: p, ready: was.Ready, older: was.Older, done: orEmpty(was.Done)}
	case was.Version == 0:
		return &progress{Projection: p, ready: was.Ready, done: map[string]uint64{}}
	case !was.Ready: // an unfinished build of another version: what served before it serves on
		return &progress{Projection: p, older: was.Older, done: map[string]uint64{}}
	}
	return &progress{Projection: p, older: was.Version, done: map[string]uint64{}}
}

func orEmpty(m map[string]uint64) map[string]uint64 {
	if m == nil {
		return map[string]uint64{}
	}
	return m
}

func (p *progress) save(txn *badger.Txn) error {
	raw, err := json.Marshal(saved{p.Version, p.older, p.ready, p.done})
	if err != nil {
		return err
	}
	return txn.Set(key(keyVersion, p.Name), raw)
}

// Rebuild builds the rows of every projection that is not ready, from the
// archive, in batches between which new records are taken in. It can be
// stopped and goes on where it was. Report is told how many records were read.
func (s *Store) Rebuild(ctx context.Context, report func(projection string, done, total uint64)) error {
	if err := s.settle(ctx); err != nil {
		return err
	}
	for _, p := range s.list {
		if err := s.build(ctx, p, report); err != nil {
			return fmt.Errorf("build %s: %w", p.Name, err)
		}
	}
	return nil
}

func (s *Store) build(ctx context.Context, p *progress, report func(string, uint64, uint64)) error {
	for !s.isReady(p) {
		if err := ctx.Err(); err != nil {
			return err
		}
		done, total, err := s.buildBatch(p)
		if err != nil {
			return err
		}
		report(p.Name, done, total)
	}
	return s.dropOthers(ctx, p)
}

func (s *Store) isReady(p *progress) bool {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return p.ready
}

// buildBatch folds what the next records of the facility that is furthest
// behind touch. Scopes are read from the archive, so that it does not matter
// what was folded before.
func (s *Store) buildBatch(p *progress) (done, total uint64, err error) {
	defer damaged(&err)
	s.apply.Lock()
	defer s.apply.Unlock()
	facility := ""
	for code, head := range s.heads {
		total += head.Number
		done += p.done[code]
		if p.done[code] < head.Number && (facility == "" || code < facility) {
			facility = code
		}
	}
	if facility == "" {
		return done, total, s.finish(p)
	}
	n, err := s.buildFrom(p, facility, p.done[facility]+1)
	return done + n, total, err
}

// buildFrom folds a batch, or as much of one as a transaction takes.
func (s *Store) buildFrom(p *progress, facility string, from uint64) (uint64, error) {
	list, at, err := s.chunksFrom(facility, from)
	if err != nil {
		return 0, err
	}
	for {
		n, err := s.buildList(p, facility, list, at)
		if len(list) < 2 || !errors.Is(err, badger.ErrTxnTooBig) {
			return n, err
		}
		list, at = list[:len(list)/2], at[:len(at)/2]
	}
}

func (s *Store) buildList(p *progress, facility string, list []arrival, at []location) (uint64, error) {
	txn, before := s.db.NewTransaction(true), s.db.NewTransaction(false)
	defer txn.Discard()
	defer before.Discard()
	b := s.newBatch(txn, before)
	defer b.close()
	b.deferring = true
	for i := range list {
		b.events.put(at[i], &list[i].ev)
		if err := b.markFor(p, list[i].ev); err != nil {
			return 0, err
		}
	}
	if err := b.fold(); err != nil {
		s.scope.clear()
		return 0, err
	}
	n := uint64(len(list))
	done := maps.Clone(p.done)
	done[facility] += n
	if err := (&progress{p.Projection, p.ready, p.older, done}).save(txn); err != nil {
		return 0, err
	}
	if err := b.commit(); err != nil {
		return 0, err
	}
	s.mu.Lock()
	p.done = done
	s.mu.Unlock()
	return n, nil
}

// markFor marks the scopes of one projection that an entry touches, whatever
// corrections there are.
func (b *batch) markFor(p *progress, ev events.Event) error {
	if ev.Target() != "" {
		return nil // its entry is in the archive, and marks what it touches
	}
	versions, _, err := b.family(ev)
	if err != nil {
		return err
	}
	for _, version := range versions {
		b.eachScope(version, b.zone(version.Facility), func(of *progress, sc Scope) {
			if of == p {
				b.touchedScope(p, sc).redo = true
			}
		})
	}
	return nil
}

func (s *Store) finish(p *progress) error {
	if err := s.settleOne(p); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	p.ready = true
	return s.db.Update(p.save)
}

// settle folds the scopes that a fast fill, or a new zone, put off.
func (s *Store) settle(ctx context.Context) error {
	s.apply.Lock()
	defer s.apply.Unlock()
	return s.settleAll(ctx)
}

func (s *Store) settleAll(ctx context.Context) error {
	for _, p := range s.list {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := s.settleOne(p); err != nil {
			return err
		}
	}
	return nil
}

func (s *Store) settleOne(p *progress) error {
	for {
		owed, err := s.owed(p)
		if err != nil || len(owed) == 0 {
			return err
		}
		for _, one := range owed {
			if err := s.settleScope(p, one); err != nil {
				return err
			}
		}
	}
}

// owing is a reference whose folds were put off, from a day on; "" is from the
// first.
type owing struct {
	ref  events.Ref
	from Day
}

func (s *Store) owed(p *progress) (out []owing, err error) {
	prefix := key(keyDirty, p.Name, strconv.Itoa(p.Version))
	err = s.db.View(func(txn *badger.Txn) error {
		return scan(txn, prefix, func(k, from []byte) error {
			out = append(out, owing{refIn(k[len(prefix):]), Day(from)})
			return nil
		})
	})
	return out, err
}

// settleScope folds what is owed of a reference, as many days at a time as go
// into a transaction.
func (s *Store) settleScope(p *progress, one owing) error {
	days := []Day{""}
	if p.shape != whole {
		var err error
		if days, err = s.daysOf(p, one); err != nil {
			return err
		}
	}
	size := settledDays
	for {
		n := min(size, len(days))
		err := s.settleDays(p, one.ref, days[:n], days[n:])
		switch {
		case errors.Is(err, badger.ErrTxnTooBig) && n > 1:
			size = n / 2
		case err != nil:
			return err
		case n == len(days):
			return nil
		default:
			days = days[n:]
		}
	}
}

// settledDays is how many days are folded in one transaction, if it takes them.
const settledDays = 500

// settleDays folds days, and writes down what is left, in one transaction.
func (s *Store) settleDays(p *progress, ref events.Ref, days, left []Day) (err error) {
	defer damaged(&err)
	txn, before := s.db.NewTransaction(true), s.db.NewTransaction(false)
	defer txn.Discard()
	defer before.Discard()
	b := s.newBatch(txn, before)
	defer b.close()
	b.settling = true
	for _, day := range days {
		b.touchedScope(p, Scope{ref, day}).redo = true
	}
	if err := b.fold(); err != nil {
		return err
	}
	if len(left) > 0 {
		err = txn.Set(dirtyKey(p, ref), []byte(left[0]))
	} else {
		err = txn.Delete(dirtyKey(p, ref))
	}
	if err != nil {
		return err
	}
	return b.commit()
}

// daysOf lists the days of a reference that have a row or records, as many as
// are owed.
func (s *Store) daysOf(p *progress, one owing) (days []Day, err error) {
	const last = "9999-12-31"
	first := max("0001-01-01", one.from)
	err = s.at(time.Time{}, func(v view) error {
		written, err := v.rowDays(&p.Projection, one.ref, first, last)
		if err != nil {
			return err
		}
		days, err = v.recordDays(&p.Projection, one.ref, first, last)
		days = append(days, written...)
		slices.Sort(days)
		days = slices.Compact(days)
		return err
	})
	return days, err
}

// dropOthers takes away the rows of all versions but this one, a few at a time.
func (s *Store) dropOthers(ctx context.Context, p *progress) error {
	for _, kind := range []byte{keyRow, keyDirty} {
		for left := true; left; {
			if err := ctx.Err(); err != nil {
				return err
			}
			var err error
			if left, err = s.dropSome(key(kind, p.Name), key(kind, p.Name, strconv.Itoa(p.Version))); err != nil {
				return err
			}
		}
	}
	if p.older == 0 {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	p.older = 0
	return s.db.Update(p.save)
}

// dropSome deletes keys with a prefix, but for those with the longer one.
func (s *Store) dropSome(prefix, keep []byte) (left bool, err error) {
	past := append(bytes.Clone(keep[:len(keep)-1]), 1)
	err = s.db.Update(func(txn *badger.Txn) error {
		var keys [][]byte
		it := txn.NewIterator(badger.IteratorOptions{Prefix: prefix})
		defer it.Close()
		for it.Seek(prefix); it.Valid() && len(keys) < batchRecords; {
			if k := it.Item().Key(); bytes.HasPrefix(k, keep) {
				it.Seek(past)
			} else {
				keys = append(keys, bytes.Clone(k))
				it.Next()
			}
		}
		left = it.Valid()
		for _, k := range keys {
			if err := txn.Delete(k); err != nil {
				return err
			}
		}
		return nil
	})
	return left, err
}
