package main

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strconv"
	"strings"
	"time"

	"github.com/dgraph-io/badger/v4"

	"haulout/events"
	"haulout/events/journal"
	"haulout/projections"
)

// benchReplay fills a log, and measures filling archive and rows from it
// against reading the same log and writing one key a record to bare Badger.
func benchReplay(ctx context.Context, o benchOptions, dir string, say func(string)) ([]measure, error) {
	data := filepath.Join(dir, "replay")
	small := min(100_000, o.records/2)
	if err := writeLog(ctx, data, 0, small, say); err != nil {
		return nil, err
	}
	say(fmt.Sprintf("replay of %d records", small))
	few, err := replay(ctx, data)
	if err != nil {
		return nil, err
	}
	if err := writeLog(ctx, data, small, o.records, say); err != nil {
		return nil, err
	}
	say("bare Badger, one key a record")
	bare, err := bareReplay(ctx, data, filepath.Join(dir, "bare-badger"))
	if err != nil {
		return nil, err
	}
	say(fmt.Sprintf("replay of %d records", o.records))
	many, err := replay(ctx, data)
	if err != nil {
		return nil, err
	}
	start := time.Now()
	n, err := openNode(ctx, quietNode(data))
	if err != nil {
		return nil, err
	}
	opened := time.Since(start)
	say("Today, with a fact in between")
	board, err := todayP99(ctx, n, o.records)
	if err := errors.Join(err, n.close()); err != nil {
		return nil, err
	}
	flat := measure{What: fmt.Sprintf("time a record at %s against %s", thousands(o.records), thousands(small)), Value: few.rate / many.rate, Unit: "times"}
	return []measure{
		measure{What: "replay into all rows, " + thousands(o.records) + " records", Value: many.rate, Unit: "/s"}.against("bare read and one key a record", bare).atLeast(0.5),
		flat.atMost(1.25),
		measure{What: "memory of its own while replaying, at most", Value: float64(many.own) / 1e6, Unit: "MB"}.atMost(400),
		{What: "the same with the pages of its mapped files", Value: float64(many.all) / 1e6, Unit: "MB"},
		measure{What: "start with " + thousands(o.records) + " records", Value: opened.Seconds(), Unit: "s"}.atMost(5),
		measure{What: fmt.Sprintf("Today of %d animals, p99", benchAnimals), Value: board.Seconds() * 1000, Unit: "ms"}.atMost(20),
	}, nil
}

func thousands(n int) string {
	if n%1_000_000 == 0 {
		return strconv.Itoa(n/1_000_000) + " million"
	}
	return strconv.Itoa(n/1000) + " thousand"
}

func quietNode(dir string) nodeConfig {
	return nodeConfig{Dir: dir, Log: slog.New(slog.DiscardHandler), Report: func(string, uint64, uint64) {}}
}

// writeLog records facts from … to through the ordinary recorder.
func writeLog(ctx context.Context, dir string, from, to int, say func(string)) (err error) {
	say(fmt.Sprintf("record %d facts", to-from))
	n, err := openNode(ctx, quietNode(dir))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, n.close()) }()
	if from == 0 {
		if err := n.recordDrafts(ctx, benchOpening()); err != nil {
			return err
		}
	}
	const step = 500
	for i := from; i < to; i += step {
		drafts := make([]events.Draft, 0, step)
		for k := i; k < min(i+step, to); k++ {
			drafts = append(drafts, benchFact(k))
		}
		if err := n.recordDrafts(ctx, drafts); err != nil {
			return err
		}
	}
	for !n.settled(ctx, "bench", uint64(to), time.Minute) {
	}
	return nil
}

func (n *node) recordDrafts(ctx context.Context, drafts []events.Draft) error {
	batch := events.Batch{Facility: drafts[0].Facility, Author: "rv", Device: "bench"}
	for _, d := range drafts {
		fact, err := d.Fact()
		if err != nil {
			return err
		}
		batch.Facts = append(batch.Facts, fact)
	}
	_, err := n.journal.Record(ctx, batch)
	return err
}

type replayRun struct {
	rate     float64
	own, all uint64 // bytes of memory at most, see memory
}

// replay throws the archive away and times how long it takes to have every row
// again.
func replay(ctx context.Context, dir string) (run replayRun, err error) {
	if err := os.RemoveAll(filepath.Join(dir, "archive")); err != nil {
		return run, err
	}
	debug.FreeOSMemory()
	m := watchMemory(ctx)
	defer m.stop()
	start := time.Now()
	n, err := openNode(ctx, quietNode(dir))
	if err != nil {
		return run, err
	}
	took := time.Since(start)
	m.stop()
	records := n.store.Head("bench").Number
	run = replayRun{float64(records) / took.Seconds(), m.own, m.all}
	return run, n.close()
}

// memory watches what this process holds. Own is memory of its own; all counts
// the pages of mapped files too, which the kernel drops when it needs room.
type memory struct {
	own, all uint64
	stop     func()
}

func watchMemory(ctx context.Context) *memory {
	ctx, cancel := context.WithCancel(ctx)
	m, ended := &memory{}, make(chan struct{})
	go func() {
		defer close(ended)
		for {
			own, all := memoryNow()
			m.own, m.all = max(m.own, own), max(m.all, all)
			select {
			case <-ctx.Done():
				return
			case <-time.After(20 * time.Millisecond):
			}
		}
	}()
	m.stop = func() {
		cancel()
		<-ended
	}
	return m
}

// memoryNow reads what the kernel counts; where it counts nothing, the Go
// runtime's own figure stands in.
func memoryNow() (own, all uint64) {
	raw, err := os.ReadFile("/proc/self/status")
	if err != nil {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.Sys, m.Sys
	}
	field := func(line, name string) uint64 {
		rest, ok := strings.CutPrefix(line, name)
		if !ok {
			return 0
		}
		kb, _ := strconv.ParseUint(strings.TrimSuffix(strings.TrimSpace(rest), " kB"), 10, 64)
		return kb * 1024
	}
	for line := range strings.Lines(string(raw)) {
		own, all = own+field(line, "RssAnon:"), all+field(line, "VmRSS:")
	}
	return own, all
}

// bareReplay reads the log and writes each record under its number, nothing else.
func bareReplay(ctx context.Context, dir, to string) (float64, error) {
	store, err := projections.Open(filepath.Join(dir, "archive"), nil, slog.New(slog.DiscardHandler))
	if err != nil {
		return 0, err
	}
	defer store.Close()
	j, err := journal.Open(ctx, journal.Config{Dir: dir, Start: time.Minute, Now: time.Now, Log: slog.New(slog.DiscardHandler)}, archive{store})
	if err != nil {
		return 0, err
	}
	defer j.Close()
	db, err := badger.Open(badger.DefaultOptions(to).WithLogger(nil).WithSyncWrites(false).WithDetectConflicts(false))
	if err != nil {
		return 0, err
	}
	defer db.Close()
	start, n := time.Now(), 0
	batch := db.NewWriteBatch()
	for page, err := range j.Pages(ctx, "bench", 0) {
		if err != nil {
			return 0, err
		}
		for i, line := range page.Lines {
			if err := batch.Set(binary.BigEndian.AppendUint64(nil, page.First+uint64(i)), line); err != nil {
				return 0, err
			}
			n++
		}
	}
	if err := batch.Flush(); err != nil {
		return 0, err
	}
	return float64(n) / time.Since(start).Seconds(), nil
}
