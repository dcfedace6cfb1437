package journal

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"sync"
	"sync/atomic"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"haulout/events"
)

const (
	pageRecords = 2048    // records on a page, unless one request has more
	pageBytes   = 1 << 20 // bytes of facts on a page, unless one request has more
	tailBytes   = 8 << 20 // bytes of pages kept in memory for the archive to take
	maxLag      = 50_000  // records that the archive may be behind before recording waits for it
)

// recorder is the one writer of a facility's log. All of its fields below the
// queue belong to its loop, but for those under mu.
type recorder struct {
	facility string
	js       jetstream.JetStream
	stream   jetstream.Stream
	archive  Archive
	now      func() time.Time
	space    func() error
	log      *slog.Logger
	changed  func()
	queue    chan *request
	readOnly atomic.Pointer[string]

	register *events.Register
	counts   map[string]uint64
	head     Head
	seq      uint64 // last sequence of the stream
	recent   map[string]known
	forgot   uint64 // up to which number of the archive, see forget

	mu    sync.Mutex
	tail  []events.Page
	bytes int
	last  Head
}

// known is a record that the archive may not hold yet.
type known struct {
	ev   events.Event
	hash events.Hash
}

type request struct {
	events.Batch
	ctx   context.Context
	reply chan answer
}

type answer struct {
	receipts []events.Receipt
	err      error
}

// judged is a request that can be recorded, and what is new in it.
type judged struct {
	req      *request
	receipts []events.Receipt
}

// draft is a page being put together.
type draft struct {
	lines   [][]byte
	records map[string]known
	head    Head
	counts  map[string]uint64
	waiting []judged
}

// load takes the facility's state from the archive, which must hold all of the log.
func (r *recorder) load(ctx context.Context) error {
	info, err := r.stream.Info(ctx)
	if err != nil {
		return fmt.Errorf("ask for the state of the log of %s: %w", r.facility, err)
	}
	defining, err := r.archive.Defining(r.facility)
	if err != nil {
		return fmt.Errorf("read what %s knows: %w", r.facility, err)
	}
	if r.counts, err = r.archive.Counts(r.facility); err != nil {
		return fmt.Errorf("read the counts of %s: %w", r.facility, err)
	}
	r.register = events.NewRegister()
	for _, ev := range defining {
		target, err := r.target(ev, nil)
		if err != nil {
			return err
		}
		r.register.Add(ev, target)
	}
	r.head, r.seq, r.recent = r.archive.Position(r.facility), info.State.LastSeq, map[string]known{}
	r.mu.Lock()
	r.last, r.tail, r.bytes = r.head, nil, 0
	r.mu.Unlock()
	return nil
}

// run is the recorder's loop. It ends with its context; what waits then is
// answered with the reason.
func (r *recorder) run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			r.drain(ctx.Err())
			return
		case first := <-r.queue:
			r.record(ctx, r.gather(first))
		}
	}
}

func (r *recorder) drain(err error) {
	for {
		select {
		case req := <-r.queue:
			req.reply <- answer{err: fmt.Errorf("%w: %w", events.ErrStopping, err)}
		default:
			return
		}
	}
}

// gather takes everything that waits, up to a page.
func (r *recorder) gather(first *request) []*request {
	out, records, size := []*request{first}, len(first.Facts), first.size()
	for records < pageRecords && size < pageBytes {
		select {
		case req := <-r.queue:
			out, records, size = append(out, req), records+len(req.Facts), size+req.size()
		default:
			return out
		}
	}
	return out
}

func (q *request) size() (n int) {
	for _, ev := range q.Facts {
		n += len(ev.Data) + 500
	}
	return n
}

// record puts the waiting requests on one page, flushes it and answers.
func (r *recorder) record(ctx context.Context, waiting []*request) {
	if err := r.mayRecord(ctx); err != nil {
		for _, req := range waiting {
			req.reply <- answer{err: err}
		}
		return
	}
	r.forget()
	d := &draft{records: map[string]known{}, head: r.head, counts: map[string]uint64{}}
	for _, req := range waiting {
		receipts, err := r.judge(d, req)
		if err != nil {
			req.reply <- answer{err: err}
			continue
		}
		d.waiting = append(d.waiting, judged{req, receipts})
	}
	err := r.publish(ctx, d)
	if err != nil {
		err = errors.Join(err, r.recover(ctx))
	}
	for _, j := range d.waiting {
		j.req.reply <- answer{receipts: j.receipts, err: err}
	}
}

func (r *recorder) mayRecord(ctx context.Context) error {
	if why := r.readOnly.Load(); why != nil {
		return fmt.Errorf("%w: %s", events.ErrReadOnly, *why)
	}
	if err := r.space(); err != nil {
		return err
	}
	for r.head.Number > r.archive.Position(r.facility).Number+maxLag {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(time.Millisecond):
		}
	}
	return nil
}

// forget drops what the archive has taken in, as soon as that is half of what is
// kept: going through all of it with each page would cost the more the further
// the archive is behind.
func (r *recorder) forget() {
	done := r.archive.Position(r.facility).Number
	if len(r.recent) < 1000 || done-r.forgot < uint64(len(r.recent))/2 {
		return
	}
	r.forgot = done
	maps.DeleteFunc(r.recent, func(_ string, k known) bool { return k.ev.Number <= done })
}

// judge checks a request against everything before it, numbers and chains what
// is new, and adds it to the draft. On an error the draft is as it was.
func (r *recorder) judge(d *draft, req *request) ([]events.Receipt, error) {
	if err := req.ctx.Err(); err != nil {
		return nil, err
	}
	recorded := req.Recorded
	if recorded.IsZero() {
		recorded = r.now()
	}
	j := &judgement{r: r, d: d, register: r.register.Child(), fresh: map[string]*events.Event{}, recorded: recorded.UTC().Truncate(time.Millisecond)}
	for i, ev := range req.Facts {
		ev.Author, ev.Device, ev.Recorded = req.Author, req.Device, j.recorded
		if err := j.take(i, ev); err != nil {
			return nil, err
		}
	}
	if len(j.refused) > 0 {
		return nil, j.refused
	}
	j.register.Merge()
	return j.chain(), nil
}

// judgement is the work on one request.
type judgement struct {
	r        *recorder
	d        *draft
	register *events.Register
	recorded time.Time
	order    []*events.Event
	repeats  []*events.Receipt // a receipt for each fact that was there before, nil for new ones
	fresh    map[string]*events.Event
	about    [][]string // animals that each new fact counts for
	refused  events.Refused
}

func (j *judgement) take(i int, ev events.Event) error {
	prior, err := j.r.lookup(j.d, ev.ID)
	if err != nil {
		return err
	}
	if twin := j.fresh[ev.ID]; twin != nil {
		prior = &known{ev: *twin}
	}
	if prior != nil {
		if !prior.ev.SameFact(ev) {
			return &events.Conflict{Index: i, ID: ev.ID, Facility: prior.ev.Facility, Number: prior.ev.Number}
		}
		j.order = append(j.order, nil)
		j.repeats = append(j.repeats, &events.Receipt{ID: ev.ID, Facility: ev.Facility, Number: prior.ev.Number, Hash: prior.hash, Repeated: true})
		j.about = append(j.about, nil)
		return nil
	}
	return j.takeNew(i, ev)
}

func (j *judgement) takeNew(i int, ev events.Event) error {
	target, err := j.r.target(ev, j)
	if err != nil {
		return err
	}
	if ev.Time.After(j.recorded.Add(events.Skew)) {
		j.refused = append(j.refused, events.EntryProblem{Index: i, ID: ev.ID, Problem: events.Problem{Field: "time", Detail: fmt.Sprintf(
			"is %s ahead of the server; set the clock of the device right", ev.Time.Sub(j.recorded).Round(time.Second))}})
	}
	problems, err := j.check(ev, target)
	if err != nil {
		return err
	}
	for _, p := range problems {
		j.refused = append(j.refused, events.EntryProblem{Index: i, ID: ev.ID, Problem: p})
	}
	if len(problems) == 0 {
		j.register.Add(ev, target)
	}
	animals := ev.Animals()
	if target != nil {
		animals = target.Animals()
	}
	j.order, j.repeats, j.about = append(j.order, &ev), append(j.repeats, nil), append(j.about, animals)
	j.fresh[ev.ID] = &ev
	return nil
}

// check holds a fact against what the facility knows. A correction of a
// correction must leave one that its own entry can take.
func (j *judgement) check(ev events.Event, target *events.Event) (events.Problems, error) {
	if err := j.register.Check(ev, target); err != nil {
		problems, ok := errors.AsType[events.Problems](err)
		if !ok {
			return nil, err
		}
		return problems, nil
	}
	by, corrects := ev.Body.(*events.EntryCorrected)
	if !corrects || target.Target() == "" {
		return nil, nil
	}
	fixed, err := target.Corrected(by)
	if err != nil {
		return nil, err
	}
	if fixed.Target() != target.Target() {
		return events.Problems{{Field: "data.data.entry", Detail: "names another entry than the correction it corrects"}}, nil
	}
	root, err := j.r.target(fixed, j)
	if err != nil {
		return nil, err
	}
	return j.check(fixed, root)
}

// chain numbers the new facts, one after the other.
func (j *judgement) chain() []events.Receipt {
	out := make([]events.Receipt, len(j.order))
	d := j.d
	for i, ev := range j.order {
		if ev == nil {
			out[i] = *j.repeats[i]
			if out[i].Number == 0 { // repeated within this very request
				twin := d.records[out[i].ID]
				out[i].Number, out[i].Hash = twin.ev.Number, twin.hash
			}
			continue
		}
		ev.Number, ev.Previous = d.head.Number+1, d.head.Hash
		for _, animal := range j.about[i] {
			if _, begun := d.counts[animal]; !begun {
				d.counts[animal] = j.r.counts[animal]
			}
			d.counts[animal]++
			ev.Counts = append(ev.Counts, events.Count{Animal: animal, N: d.counts[animal]})
		}
		line := ev.Encode()
		hash := events.LeafHash(line)
		d.lines = append(d.lines, line)
		d.records[ev.ID] = known{*ev, hash}
		d.head = Head{ev.Number, hash}
		out[i] = events.Receipt{ID: ev.ID, Facility: ev.Facility, Number: ev.Number, Hash: hash}
	}
	return out
}

// lookup finds a record by id: on this page, among those on their way into the
// archive, or there.
func (r *recorder) lookup(d *draft, id string) (*known, error) {
	if k, ok := d.records[id]; ok {
		return &k, nil
	}
	if k, ok := r.recent[id]; ok {
		return &k, nil
	}
	ev, err := r.archive.Find(id)
	if err != nil || ev == nil {
		return nil, err
	}
	return &known{*ev, events.LeafHash(ev.Encode())}, nil
}

// target finds the entry that a fact corrects or withdraws, in this facility.
func (r *recorder) target(ev events.Event, j *judgement) (*events.Event, error) {
	id := ev.Target()
	if id == "" {
		return nil, nil
	}
	d := &draft{}
	if j != nil {
		if own := j.fresh[id]; own != nil {
			return own, nil
		}
		d = j.d
	}
	k, err := r.lookup(d, id)
	if err != nil || k == nil || k.ev.Facility != r.facility {
		return nil, err
	}
	return &k.ev, nil
}

// publish flushes the page. The expected sequence lets one of two recorders win.
func (r *recorder) publish(ctx context.Context, d *draft) error {
	if len(d.lines) == 0 {
		return nil
	}
	page := events.Page{Facility: r.facility, First: r.head.Number + 1, Lines: d.lines}
	msg := &nats.Msg{Subject: subject(r.facility), Data: page.Encode(), Header: nats.Header{
		firstHeader: {fmt.Sprint(page.First)}, "Content-Type": {events.PageType},
	}}
	if len(msg.Data) > maxPayload-4096 {
		return fmt.Errorf("a page of %d bytes is larger than the log takes; send fewer facts at once", len(msg.Data))
	}
	ack, err := r.js.PublishMsg(ctx, msg, jetstream.WithExpectLastSequencePerSubject(r.seq), jetstream.WithRetryAttempts(1))
	if err != nil {
		return fmt.Errorf("%w: write a page of %s: %w", events.ErrNotWritten, r.facility, err)
	}
	r.commit(d, page, ack.Sequence, len(msg.Data))
	r.hurry(page)
	r.changed()
	return nil
}

// alone is the most records of a page that one or two callers wait for.
const alone = 4

// hurry takes a small page into the archive at once when nobody else waits:
// its caller has his rows without another goroutine being woken for them. In
// company the archive's own loop takes several pages together while the next
// one is being flushed. The loop meets an error of this again, and deals with it.
func (r *recorder) hurry(page events.Page) {
	if len(page.Lines) <= alone && len(r.queue) == 0 && r.archive.Position(r.facility).Number+1 == page.First {
		_ = r.archive.Apply(page)
	}
}

func (r *recorder) commit(d *draft, page events.Page, seq uint64, size int) {
	r.head, r.seq = d.head, seq
	maps.Copy(r.counts, d.counts)
	maps.Copy(r.recent, d.records)
	r.mu.Lock()
	r.tail, r.bytes, r.last = append(r.tail, page), r.bytes+size, d.head
	for len(r.tail) > 1 && r.bytes > tailBytes {
		for _, line := range r.tail[0].Lines {
			r.bytes -= len(line) + 2
		}
		r.tail = r.tail[1:]
	}
	r.mu.Unlock()
}

// recover finds out, after a page that was not acknowledged, what the log holds.
// A page that got there all the same is taken into the archive from the log; its
// facts are answered as repeats when they are sent again.
func (r *recorder) recover(ctx context.Context) error {
	if ctx.Err() != nil {
		return nil
	}
	for page, err := range r.pages(ctx, r.archive.Position(r.facility).Number) {
		if err != nil {
			return r.fall(err)
		}
		if err := r.archive.Apply(page); err != nil {
			return r.fall(err)
		}
	}
	if err := r.load(ctx); err != nil {
		return r.fall(err)
	}
	return nil
}

// fall makes the facility read-only and says why.
func (r *recorder) fall(err error) error {
	why := err.Error()
	r.readOnly.Store(&why)
	r.log.Error("facility is read-only", "facility", r.facility, "why", why)
	return err
}

// since hands out the pages after a record from memory; ok is false when memory
// does not reach back that far.
func (r *recorder) since(after uint64) (pages []events.Page, ok bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.last.Number <= after {
		return nil, true
	}
	if len(r.tail) == 0 || r.tail[0].First > after+1 {
		return nil, false
	}
	for i, page := range r.tail {
		if page.Last() > after {
			return append(pages, r.tail[i:]...), true
		}
	}
	return nil, true
}
