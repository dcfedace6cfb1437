package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"time"

	"golang.org/x/sync/errgroup"

	"haulout/events"
	"haulout/events/journal"
	"haulout/projections"
)

// archive lends the store to the journal under the names that the journal uses.
type archive struct{ *projections.Store }

func (a archive) Position(facility string) journal.Head {
	h := a.Head(facility)
	return journal.Head{Number: h.Number, Hash: h.Hash}
}

// node is one process's log and archive, kept together.
type node struct {
	journal *journal.Journal
	store   *projections.Store
	log     *slog.Logger
	work    *errgroup.Group
	stop    context.CancelFunc
}

type nodeConfig struct {
	Dir     string
	Reserve uint64
	Log     *slog.Logger
	Report  func(doing string, done, total uint64) // progress of long work
}

// openNode opens log and archive, fills the archive from the log, and lets the
// facilities take facts. What goes on after it returns is ended by close.
func openNode(ctx context.Context, cfg nodeConfig) (*node, error) {
	release, err := journal.Lock(cfg.Dir) // the clear refusal comes before Badger's own
	if err != nil {
		return nil, err
	}
	if err := release(); err != nil {
		return nil, err
	}
	store, err := projections.Open(filepath.Join(cfg.Dir, "archive"), projections.All(), cfg.Log)
	if err != nil {
		return nil, err
	}
	j, err := journal.Open(ctx, journal.Config{Dir: cfg.Dir, Start: time.Minute, Reserve: cfg.Reserve, Now: time.Now, Log: cfg.Log}, archive{store})
	if err != nil {
		return nil, errors.Join(err, store.Close())
	}
	store.Halted = j.ReadOnly
	n := &node{journal: j, store: store, log: cfg.Log}
	if err := n.fill(ctx, cfg.Report); err != nil {
		return nil, errors.Join(err, j.Close(), store.Close())
	}
	n.follow(ctx, cfg.Report)
	return n, nil
}

// fill takes into the archive what the log holds beyond it.
func (n *node) fill(ctx context.Context, report func(string, uint64, uint64)) error {
	for _, facility := range n.journal.Facilities() {
		if n.journal.ReadOnly(facility) == "" {
			if err := n.catchUp(ctx, facility, report); err != nil {
				return err
			}
		}
		if err := n.journal.Start(ctx, facility); err != nil {
			return fmt.Errorf("start %s: %w", facility, err)
		}
	}
	return nil
}

// catchUp fills the archive with one facility's log. A broken log makes the
// facility read-only; it does not stop the others.
func (n *node) catchUp(ctx context.Context, facility string, report func(string, uint64, uint64)) error {
	var done uint64
	head := n.store.Head(facility).Number
	err := n.store.Fill(ctx, n.journal.Pages(ctx, facility, head), func(records int) {
		done += uint64(records)
		report("fill the archive of "+facility, head+done, 0)
	})
	if errors.Is(err, projections.ErrChain) || errors.Is(err, journal.ErrDamage) || errors.Is(err, events.ErrUnknown) {
		n.journal.SetReadOnly(facility, err.Error())
		return nil
	}
	return err
}

// follow starts what goes on for as long as the node is open.
func (n *node) follow(ctx context.Context, report func(string, uint64, uint64)) {
	ctx, n.stop = context.WithCancel(context.WithoutCancel(ctx))
	n.work, ctx = errgroup.WithContext(ctx)
	n.work.Go(func() error { return n.applyLoop(ctx) })
	n.work.Go(func() error { return n.compareLoop(ctx) })
	n.work.Go(func() error {
		return n.store.Rebuild(ctx, func(name string, done, total uint64) { report("build "+name, done, total) })
	})
}

// applyLoop takes new pages into the archive as they come.
func (n *node) applyLoop(ctx context.Context) error {
	for ctx.Err() == nil {
		changed := n.journal.Changed()
		took, err := n.applyNew(ctx)
		if err != nil {
			return err
		}
		if took {
			continue
		}
		select {
		case <-changed:
		case <-ctx.Done():
		}
	}
	return nil
}

func (n *node) applyNew(ctx context.Context) (took bool, err error) {
	var pages []events.Page
	for _, facility := range n.journal.Facilities() {
		if n.journal.ReadOnly(facility) != "" {
			continue
		}
		more, ok := n.journal.Since(facility, n.store.Head(facility).Number)
		if !ok {
			if err := n.catchUp(ctx, facility, func(string, uint64, uint64) {}); err != nil {
				return false, err
			}
			took = true
		}
		pages = append(pages, more...)
	}
	if len(pages) == 0 {
		return took, nil
	}
	if err := n.store.Apply(pages...); err != nil {
		for _, page := range pages {
			n.journal.SetReadOnly(page.Facility, err.Error())
		}
		n.log.Error("archive new records", "err", err)
	}
	return true, nil
}

// compareLoop compares heads once an hour.
func (n *node) compareLoop(ctx context.Context) error {
	tick := time.NewTicker(time.Hour)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
		for _, facility := range n.journal.Facilities() {
			c, err := n.journal.Compare(ctx, facility)
			if err != nil {
				n.log.Error("compare log and archive", "facility", facility, "err", err)
			} else if c.Problem != "" && n.journal.ReadOnly(facility) == "" {
				n.journal.SetReadOnly(facility, c.Problem)
			}
		}
	}
}

// close ends the work, then the archive, then the log.
func (n *node) close() error {
	n.stop()
	err := n.work.Wait()
	if errors.Is(err, context.Canceled) {
		err = nil
	}
	return errors.Join(err, n.journal.Close(), n.store.Close())
}

// settled waits until a facility's rows hold a record; false when it takes
// longer than the wait.
func (n *node) settled(ctx context.Context, facility string, number uint64, wait time.Duration) bool {
	ctx, cancel := context.WithTimeout(ctx, wait)
	defer cancel()
	for {
		changed := n.store.Changed()
		if n.store.Head(facility).Number >= number {
			return true
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return false
		}
	}
}
