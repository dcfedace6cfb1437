package projections

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"maps"
	"runtime"
	"slices"

	"github.com/dgraph-io/badger/v4"
	"golang.org/x/sync/errgroup"

	"haulout/events"
)

// ErrChain says that a record does not follow the one before it: the log was
// altered, or numbers were used twice.
var ErrChain = errors.New("the chain of records is broken")

const (
	chunkRecords = 64      // records in one chunk of the archive
	batchRecords = 2000    // records in one transaction
	batchBytes   = 3 << 19 // bytes of records in one transaction
)

// arrival is a record on its way into the archive.
type arrival struct {
	ev    events.Event
	line  []byte
	hash  events.Hash
	ahead chunk // the chunk that starts with this record, where it was packed ahead
}

// chunk is a packed run of records.
type chunk struct {
	records int
	bytes   []byte
}

// Apply checks that the pages continue their facilities' chains, archives their
// records and folds what they touch. A page that was applied before changes
// nothing. After an error the archive is as it was.
func (s *Store) Apply(pages ...events.Page) error {
	s.apply.Lock()
	defer s.apply.Unlock()
	return s.applyPages(pages)
}

// Fill applies a long run of pages fast: folds over all records of a reference
// are put off to its end, and one batch is read, decoded and packed while the
// one before it is stored. Report is told how many records are in.
func (s *Store) Fill(ctx context.Context, pages iter.Seq2[events.Page, error], report func(records int)) error {
	g, within := errgroup.WithContext(ctx)
	batches := make(chan []arrival, 1)
	g.Go(func() error {
		defer close(batches)
		return s.readAhead(within, pages, batches)
	})
	g.Go(func() error {
		for list := range batches {
			if err := errors.Join(within.Err(), s.fillBatch(list)); err != nil {
				return err
			}
			report(len(list))
		}
		return nil
	})
	if err := g.Wait(); err != nil {
		return err
	}
	return s.settle(ctx)
}

// readAhead hands out batches of decoded records, their chunks packed.
func (s *Store) readAhead(ctx context.Context, pages iter.Seq2[events.Page, error], batches chan<- []arrival) error {
	var list []arrival
	next := s.expected()
	hand := func() error {
		for ready := range slices.Chunk(list, batchRecords) {
			if err := s.decodeAll(ready); err != nil {
				return err
			}
			s.packAll(ready)
			select {
			case batches <- ready:
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		list = nil
		return nil
	}
	for page, err := range pages {
		if err != nil {
			return err
		}
		list = next.take(list, page)
		if len(list) < batchRecords {
			continue
		}
		if err := hand(); err != nil {
			return err
		}
	}
	return hand()
}

func (s *Store) fillBatch(list []arrival) error {
	s.apply.Lock()
	defer s.apply.Unlock()
	s.filling = true
	defer func() { s.filling = false }()
	return s.applyList(list)
}

func (s *Store) applyPages(pages []events.Page) error {
	var list []arrival
	next := s.expected()
	for _, page := range pages {
		list = next.take(list, page)
	}
	if err := s.decodeAll(list); err != nil {
		return err
	}
	return s.applyList(list)
}

// expected is the number that each facility's next record has.
type expected struct {
	s    *Store
	next map[string]uint64
}

func (s *Store) expected() expected { return expected{s, map[string]uint64{}} }

// take adds the records of a page but for those that came before.
func (e expected) take(list []arrival, page events.Page) []arrival {
	if e.next[page.Facility] == 0 {
		e.next[page.Facility] = e.s.Head(page.Facility).Number + 1
	}
	for i, line := range page.Lines {
		if page.First+uint64(i) >= e.next[page.Facility] {
			list = append(list, arrival{line: line})
			e.next[page.Facility]++
		}
	}
	return list
}

// applyList applies decoded records but for those that are in already.
func (s *Store) applyList(list []arrival) error {
	list = slices.DeleteFunc(list, func(a arrival) bool { return a.ev.Number <= s.Head(a.ev.Facility).Number })
	for len(list) > 0 {
		n := batchEnd(list)
		if err := s.applySplit(list[:n]); err != nil {
			return err
		}
		list = list[n:]
	}
	return nil
}

// applySplit applies a batch, in halves where it is too large for a transaction,
// and at last without the days that its record makes run again: those are put off
// and run in pieces.
func (s *Store) applySplit(list []arrival) error {
	err := s.applyBatch(list, runDays)
	if !errors.Is(err, badger.ErrTxnTooBig) {
		return err
	}
	if len(list) == 1 {
		return s.applyBatch(list, 0)
	}
	if err := s.applySplit(list[:len(list)/2]); err != nil {
		return err
	}
	return s.applySplit(list[len(list)/2:])
}

func batchEnd(list []arrival) int {
	size := 0
	for i, a := range list {
		if size += len(a.line); i == batchRecords || size > batchBytes {
			return max(i, 1)
		}
	}
	return len(list)
}

// decodeAll decodes and hashes records, on all cores where there are many.
func (s *Store) decodeAll(list []arrival) error {
	if len(list) < 64 {
		return decodeEach(list)
	}
	var g errgroup.Group
	for part := range slices.Chunk(list, len(list)/runtime.GOMAXPROCS(0)+1) {
		g.Go(func() error { return decodeEach(part) })
	}
	return g.Wait()
}

func decodeEach(list []arrival) (err error) {
	for i := range list {
		a := &list[i]
		if a.ev, err = events.Decode(a.line); err != nil {
			return err
		}
		a.hash = events.LeafHash(a.line)
	}
	return nil
}

// packAll packs the chunks of a batch ahead of its storing.
func (s *Store) packAll(list []arrival) {
	for start := 0; start < len(list); {
		end := chunkEnd(list, start)
		list[start].ahead = chunk{end - start, s.pack(list[start:end])}
		start = end
	}
}

func (s *Store) pack(list []arrival) []byte {
	lines := make([][]byte, len(list))
	for i := range list {
		lines[i] = list[i].line
	}
	return s.packer.pack(lines)
}

// applyBatch verifies one batch against the heads, then stores it. Of a running
// projection at most so many days of a reference are run again with it.
func (s *Store) applyBatch(list []arrival, runDays int) error {
	heads := map[string]Head{}
	for _, a := range list {
		head, ok := heads[a.ev.Facility]
		if !ok {
			head = s.Head(a.ev.Facility)
		}
		if a.ev.Number != head.Number+1 {
			return fmt.Errorf("%w: %s has record %d after %d", ErrChain, a.ev.Facility, a.ev.Number, head.Number)
		}
		if a.ev.Previous != head.Hash {
			return fmt.Errorf("%w: record %d of %s does not carry the hash of record %d", ErrChain, a.ev.Number, a.ev.Facility, head.Number)
		}
		heads[a.ev.Facility] = Head{a.ev.Number, a.hash}
	}
	return s.ingest(list, heads, runDays)
}

// ingest stores records, indexes them, folds what they touch and moves the
// heads, in one transaction. It asks for no order: with nil heads, records may
// come in any order and again.
func (s *Store) ingest(list []arrival, heads map[string]Head, runDays int) (err error) {
	defer damaged(&err)
	txn := s.db.NewTransaction(true)
	defer txn.Discard()
	before := s.db.NewTransaction(false)
	defer before.Discard()
	b := s.newBatch(txn, before)
	defer b.close()
	b.deferring, b.runDays = s.filling, runDays
	if heads == nil {
		if list, err = b.unseen(list); err != nil {
			return err
		}
	}
	err = b.run(list, heads)
	if err == nil {
		err = b.commit()
	}
	if err != nil {
		s.scope.clear()
		return fmt.Errorf("archive a batch of %d: %w", len(list), err)
	}
	s.scope.keep()
	s.learn(b)
	if (len(b.owed) > 0 || b.late) && !s.filling {
		err = s.settleAll(context.Background())
	}
	s.publish(heads)
	return err
}

// learn takes in what folds must know of the committed batch.
func (s *Store) learn(b *batch) {
	s.mu.Lock()
	defer s.mu.Unlock()
	maps.Copy(s.zones, b.zones)
	for target, at := range b.fixed {
		s.fixed[target] = append(slices.Clip(s.fixed[target]), at...)
	}
	maps.Copy(s.orphans, b.orphans)
}

// publish tells readers that the rows hold everything up to these heads, what
// was put off included.
func (s *Store) publish(heads map[string]Head) {
	s.mu.Lock()
	defer s.mu.Unlock()
	maps.Copy(s.heads, heads)
	close(s.changed)
	s.changed = make(chan struct{})
}
