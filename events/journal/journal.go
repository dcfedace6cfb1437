package journal

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"log/slog"
	"maps"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"haulout/events"
)

// Head is the last record of a log.
type Head struct {
	Number uint64
	Hash   events.Hash
}

// Archive is the second copy of every record. The recorder judges new facts by
// it, and compares heads with it before it writes.
type Archive interface {
	Position(facility string) Head
	Find(id string) (*events.Event, error)
	Counts(facility string) (map[string]uint64, error)
	Defining(facility string) ([]events.Event, error)
	Apply(pages ...events.Page) error
}

// Config says where the log lives.
type Config struct {
	Dir     string // data folder
	Start   time.Duration
	Reserve uint64 // bytes to keep free on the disk; 0: 5 %, at least 512 MiB
	Now     func() time.Time
	Log     *slog.Logger
}

// Journal is the log of every facility of this node.
type Journal struct {
	cfg     Config
	archive Archive
	server  *embedded
	release func() error
	reserve uint64
	marker  *marker
	ctx     context.Context
	stop    context.CancelFunc
	loops   sync.WaitGroup
	spaceAt atomic.Int64 // when the disk was last measured
	full    atomic.Pointer[string]

	mu        sync.RWMutex
	recorders map[string]*recorder
	running   map[string]bool
	changed   chan struct{}
}

// Open locks the data folder, starts the log and compares every stream with the
// archive. A facility whose log and archive disagree is read-only. Facilities
// take facts only after Start.
func Open(ctx context.Context, cfg Config, archive Archive) (*Journal, error) {
	release, err := Lock(cfg.Dir)
	if err != nil {
		return nil, err
	}
	j, err := open(ctx, cfg, archive)
	if err != nil {
		return nil, errors.Join(err, release())
	}
	j.release = release
	return j, nil
}

func open(ctx context.Context, cfg Config, archive Archive) (*Journal, error) {
	space, err := spaceOf(cfg.Dir)
	if err != nil {
		return nil, err
	}
	marker, err := readMarker(cfg.Dir)
	if err != nil {
		return nil, err
	}
	server, err := startServer(filepath.Join(cfg.Dir, "log"), space, cfg.Start)
	if err != nil {
		return nil, err
	}
	j := &Journal{
		cfg: cfg, archive: archive, server: server, marker: marker, reserve: cfg.Reserve,
		recorders: map[string]*recorder{}, running: map[string]bool{}, changed: make(chan struct{}),
	}
	if j.reserve == 0 {
		j.reserve = reserveFor(space.Total)
	}
	j.ctx, j.stop = context.WithCancel(context.WithoutCancel(ctx))
	for _, facility := range marker.Facilities {
		if err := j.attach(ctx, facility); err != nil {
			j.stop()
			server.close()
			return nil, err
		}
	}
	return j, nil
}

// attach opens a marked facility's stream. Damage there makes the facility
// read-only; the archive goes on serving it.
func (j *Journal) attach(ctx context.Context, facility string) error {
	r := j.newRecorder(facility)
	stream, err := j.server.openStream(ctx, facility, true)
	if errors.Is(err, ErrDamage) {
		_ = r.fall(err)
	} else if err != nil {
		return err
	} else {
		r.stream = stream
		if err := r.compare(ctx); errors.Is(err, ErrDamage) {
			_ = r.fall(err)
		} else if err != nil {
			return err
		}
	}
	j.mu.Lock()
	j.recorders[facility] = r
	j.mu.Unlock()
	return nil
}

func (j *Journal) newRecorder(facility string) *recorder {
	return &recorder{
		facility: facility, js: j.server.js, archive: j.archive, now: j.cfg.Now, space: j.space, log: j.cfg.Log,
		changed: j.announce, queue: make(chan *request, 4096),
	}
}

// Close answers what waits, closes the log and gives the folder up.
func (j *Journal) Close() error {
	j.stop()
	j.loops.Wait()
	j.server.close()
	return j.release()
}

// Start lets a facility take facts. The archive must hold all of its log.
func (j *Journal) Start(ctx context.Context, facility string) error {
	r := j.recorder(facility)
	if r == nil {
		return fmt.Errorf("%w: %s", events.ErrNotOpen, facility)
	}
	if r.readOnly.Load() == nil {
		if err := r.load(ctx); err != nil {
			return err
		}
	}
	j.run(r)
	return nil
}

func (j *Journal) run(r *recorder) {
	j.mu.Lock()
	j.running[r.facility] = true
	j.mu.Unlock()
	j.loops.Go(func() { r.run(j.ctx) })
}

// Record records all facts of a batch or none, and returns when they are on
// disk. A facility comes into being with its facility.opened.
func (j *Journal) Record(ctx context.Context, batch events.Batch) ([]events.Receipt, error) {
	wait, err := j.Submit(ctx, batch)
	if err != nil {
		return nil, err
	}
	return wait()
}

// Submit puts a batch in the facility's queue and returns at once; wait gives
// the receipts. Batches of one caller keep their order, so a long history can
// be handed over without waiting for the disk at each step.
func (j *Journal) Submit(ctx context.Context, batch events.Batch) (wait func() ([]events.Receipt, error), err error) {
	if !events.ValidCode(batch.Author) || !events.ValidCode(batch.Device) {
		return nil, fmt.Errorf("author %q and device %q must be codes", batch.Author, batch.Device)
	}
	r, err := j.open(ctx, batch)
	if err != nil {
		return nil, err
	}
	q := &request{Batch: batch, ctx: ctx, reply: make(chan answer, 1)}
	select {
	case r.queue <- q:
	case <-ctx.Done():
		return nil, ctx.Err()
	case <-j.ctx.Done():
		return nil, events.ErrStopping
	}
	return func() ([]events.Receipt, error) {
		select {
		case a := <-q.reply:
			return a.receipts, a.err
		case <-j.ctx.Done():
			return nil, events.ErrStopping
		}
	}, nil
}

// open finds the recorder that a batch is for.
func (j *Journal) open(ctx context.Context, batch events.Batch) (*recorder, error) {
	j.mu.RLock()
	r, running := j.recorders[batch.Facility], j.running[batch.Facility]
	j.mu.RUnlock()
	switch {
	case r == nil:
		return j.begin(ctx, batch)
	case !running:
		return nil, events.ErrFilling
	}
	return r, nil
}

// begin makes the stream of a new facility, when the request opens it.
func (j *Journal) begin(ctx context.Context, req events.Batch) (*recorder, error) {
	if len(req.Facts) == 0 || events.KindName(req.Facts[0].Type) != "facility.opened" {
		return nil, fmt.Errorf("%w: %s; its facility.opened comes first", events.ErrNotOpen, req.Facility)
	}
	if !events.ValidFacility(req.Facility) {
		return nil, events.Refused{{ID: req.Facts[0].ID, Problem: events.Problem{Field: "facility", Detail: "use small letters, digits and dashes, at most 32"}}}
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	if r := j.recorders[req.Facility]; r != nil {
		return r, nil
	}
	if err := j.space(); err != nil {
		return nil, err
	}
	r := j.newRecorder(req.Facility)
	stream, err := j.server.openStream(ctx, req.Facility, false)
	if err != nil {
		return nil, err
	}
	if err := j.marker.add(req.Facility); err != nil {
		return nil, err
	}
	r.stream = stream
	if err := r.load(ctx); err != nil {
		return nil, err
	}
	j.recorders[req.Facility], j.running[req.Facility] = r, true
	j.loops.Go(func() { r.run(j.ctx) })
	return r, nil
}

func (j *Journal) recorder(facility string) *recorder {
	j.mu.RLock()
	defer j.mu.RUnlock()
	return j.recorders[facility]
}

// Facilities lists the facilities that the folder holds a log of, sorted.
func (j *Journal) Facilities() []string {
	j.mu.RLock()
	defer j.mu.RUnlock()
	return slices.Sorted(maps.Keys(j.recorders))
}

// ReadOnly says why a facility takes no facts; "" where it does.
func (j *Journal) ReadOnly(facility string) string {
	if r := j.recorder(facility); r != nil {
		if why := r.readOnly.Load(); why != nil {
			return *why
		}
	}
	return ""
}

// SetReadOnly stops a facility from taking facts, for a reason found elsewhere.
func (j *Journal) SetReadOnly(facility, why string) {
	if r := j.recorder(facility); r != nil {
		_ = r.fall(errors.New(why))
	}
}

// Pages reads a facility's log after a record, up to its end.
func (j *Journal) Pages(ctx context.Context, facility string, after uint64) iter.Seq2[events.Page, error] {
	r := j.recorder(facility)
	if r == nil || r.stream == nil {
		return func(func(events.Page, error) bool) {}
	}
	return r.pages(ctx, after)
}

// Since hands out the pages after a record that are still in memory; ok is
// false when Pages must be asked.
func (j *Journal) Since(facility string, after uint64) (pages []events.Page, ok bool) {
	return j.recorder(facility).since(after)
}

func (j *Journal) announce() {
	j.mu.Lock()
	defer j.mu.Unlock()
	close(j.changed)
	j.changed = make(chan struct{})
}

// Changed is closed when the next page is on disk.
func (j *Journal) Changed() <-chan struct{} {
	j.mu.RLock()
	defer j.mu.RUnlock()
	return j.changed
}

// space measures the disk at most once a second.
func (j *Journal) space() error {
	now := time.Now().UnixNano()
	if last := j.spaceAt.Load(); now-last > int64(time.Second) && j.spaceAt.CompareAndSwap(last, now) {
		space, err := spaceOf(j.cfg.Dir)
		if err != nil {
			return err
		}
		j.full.Store(nil)
		if space.Free < j.reserve {
			why := fmt.Sprintf("%d MiB are free, %d MiB must stay free", space.Free>>20, j.reserve>>20)
			j.full.Store(&why)
		}
	}
	if why := j.full.Load(); why != nil {
		return fmt.Errorf("%w: %s", events.ErrSpace, *why)
	}
	return nil
}
