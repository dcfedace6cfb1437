package projections

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"

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
	empty := len(s.heads) == 0
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
	return s.dropOlder(ctx, p)
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

func (s *Store) buildFrom(p *progress, facility string, from uint64) (uint64, error) {
	list, at, err := s.chunksFrom(facility, from)
	if err != nil {
		return 0, err
	}
	txn, before := s.db.NewTransaction(true), s.db.NewTransaction(false)
	defer txn.Discard()
	defer before.Discard()
	b := s.newBatch(txn, before)
	b.deferring = true
	for i, a := range list {
		b.events.put(at[i], a.ev)
		if err := b.markFor(p, a.ev); err != nil {
			return 0, err
		}
	}
	if err := b.fold(); err != nil {
		s.scope.clear()
		return 0, err
	}
	s.mu.Lock()
	p.done[facility] += uint64(len(list))
	err = p.save(txn)
	s.mu.Unlock()
	if err != nil {
		return 0, err
	}
	return uint64(len(list)), txn.Commit()
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

// settle folds the scopes that a fast fill put off.
func (s *Store) settle(ctx context.Context) error {
	s.apply.Lock()
	defer s.apply.Unlock()
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
		for _, ref := range owed {
			if err := s.settleScope(p, ref); err != nil {
				return err
			}
		}
	}
}

func (s *Store) owed(p *progress) (refs []events.Ref, err error) {
	prefix := key(keyDirty, p.Name, strconv.Itoa(p.Version))
	err = s.db.View(func(txn *badger.Txn) error {
		return scan(txn, prefix, func(k, _ []byte) error {
			refs = append(refs, refIn(k[len(prefix):]))
			return nil
		})
	})
	return refs, err
}

func (s *Store) settleScope(p *progress, ref events.Ref) error {
	txn, before := s.db.NewTransaction(true), s.db.NewTransaction(false)
	defer txn.Discard()
	defer before.Discard()
	b := s.newBatch(txn, before)
	sc := Scope{Ref: ref}
	if p.shape == running {
		sc.Day = "0001-01-01"
	}
	b.touchedScope(p, sc).redo = true
	if err := b.fold(); err != nil {
		return err
	}
	if err := txn.Delete(dirtyKey(p, ref)); err != nil {
		return err
	}
	return txn.Commit()
}

// dropOlder takes the rows of the version before away, a few at a time.
func (s *Store) dropOlder(ctx context.Context, p *progress) error {
	for p.older != 0 {
		if err := ctx.Err(); err != nil {
			return err
		}
		left, err := s.dropSome(key(keyRow, p.Name, strconv.Itoa(p.older)))
		if err != nil {
			return err
		}
		if left {
			continue
		}
		s.mu.Lock()
		p.older = 0
		err = s.db.Update(p.save)
		s.mu.Unlock()
		if err != nil {
			return err
		}
	}
	return nil
}

func (s *Store) dropSome(prefix []byte) (left bool, err error) {
	err = s.db.Update(func(txn *badger.Txn) error {
		var keys [][]byte
		err := scan(txn, prefix, func(k, _ []byte) error {
			if len(keys) == batchRecords {
				left = true
				return errStop
			}
			keys = append(keys, append([]byte(nil), k...))
			return nil
		})
		for _, k := range keys {
			if err == nil {
				err = txn.Delete(k)
			}
		}
		return err
	})
	return left, err
}
