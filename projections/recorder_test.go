package projections

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/dgraph-io/badger/v4"
	"pgregory.net/rapid"

	"haulout/events"
)

// recorder numbers, chains and counts facts, and refuses what a facility's
// recorder refuses. Its clock goes on by a minute with each record.
type recorder struct {
	t     rapid.TB
	clock time.Time
	books map[string]*book
	all   []arrival // in the order in which they were recorded
	byID  map[string]events.Event
	ids   uint64
}

// book is the log of one facility.
type book struct {
	register *events.Register
	counts   map[string]uint64
	head     Head
	lines    [][]byte
}

func newRecorder(t rapid.TB) *recorder {
	return &recorder{t: t, clock: time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC), books: map[string]*book{}, byID: map[string]events.Event{}}
}

// id makes a new id. The first digits decide how facts of the same moment are
// ordered.
func (r *recorder) id(first uint32) string {
	r.ids++
	return fmt.Sprintf("%08x-1000-7000-8000-%012x", first, r.ids)
}

func (r *recorder) book(facility string) *book {
	b := r.books[facility]
	if b == nil {
		b = &book{register: events.NewRegister(), counts: map[string]uint64{}}
		r.books[facility] = b
	}
	return b
}

// try records a draft, or says why a recorder would not take it.
func (r *recorder) try(d events.Draft, author string) (events.Event, error) {
	ev, err := d.Fact()
	if err != nil {
		return ev, err
	}
	b := r.book(ev.Facility)
	var target *events.Event
	if known, ok := r.byID[ev.Target()]; ok && known.Facility == ev.Facility {
		target = &known
	}
	if err := b.register.Check(ev, target); err != nil {
		return ev, err
	}
	b.register.Add(ev, target)
	r.clock = r.clock.Add(time.Minute)
	ev.Author, ev.Device, ev.Recorded = author, "deck-1", r.clock
	ev.Number, ev.Previous = b.head.Number+1, b.head.Hash
	about := ev.Animals()
	if target != nil {
		about = target.Animals()
	}
	for _, animal := range about {
		b.counts[animal]++
		ev.Counts = append(ev.Counts, events.Count{Animal: animal, N: b.counts[animal]})
	}
	line := ev.Encode()
	if ev, err = events.Decode(line); err != nil {
		r.t.Fatalf("a record that can't be read again: %v\n%s", err, line)
	}
	b.lines, b.head = append(b.lines, line), Head{ev.Number, events.LeafHash(line)}
	r.all = append(r.all, arrival{ev: ev, line: line, hash: events.LeafHash(line)})
	r.byID[ev.ID] = ev
	return ev, nil
}

// record records what must be sound, and gives its id.
func (r *recorder) record(facility, kind, at, body string) events.Event {
	r.t.Helper()
	ev, err := r.try(events.Draft{ID: r.id(0), Type: events.TypeOf(kind), Time: at, Facility: facility, Data: json.RawMessage(body)}, "rv")
	if err != nil {
		r.t.Fatalf("record %s %s: %v", kind, body, err)
	}
	return ev
}

func (r *recorder) correct(of events.Event, body string) events.Event {
	r.t.Helper()
	return r.record(of.Facility, "entry.corrected", "2026-11-01T12:00:00Z", fmt.Sprintf(`{"entry":%q,"data":%s,"reason":"slip of the hand"}`, of.ID, body))
}

func (r *recorder) correctTime(of events.Event, at string) events.Event {
	r.t.Helper()
	return r.record(of.Facility, "entry.corrected", "2026-11-01T12:00:00Z", fmt.Sprintf(`{"entry":%q,"data":%s,"time":%q,"reason":"the clock was wrong"}`, of.ID, of.Data, at))
}

func (r *recorder) withdraw(of events.Event) events.Event {
	r.t.Helper()
	return r.record(of.Facility, "entry.withdrawn", "2026-11-01T12:00:00Z", fmt.Sprintf(`{"entry":%q,"reason":"the wrong animal"}`, of.ID))
}

// page cuts records from … to out of a facility's log, counted from 1.
func (r *recorder) page(facility string, from, to int) events.Page {
	return events.Page{Facility: facility, First: uint64(from), Lines: r.books[facility].lines[from-1 : to]}
}

// pages is everything recorded so far, one page a facility.
func (r *recorder) pages() (out []events.Page) {
	for _, facility := range sortedKeys(r.books) {
		out = append(out, r.page(facility, 1, len(r.books[facility].lines)))
	}
	return out
}

func (r *recorder) size() (n uint64) { return uint64(len(r.all)) }

// saltgarth is a recorder with Saltgarth open, and what its stories need.
func saltgarth(t rapid.TB) *recorder {
	r := newRecorder(t)
	r.record("saltgarth", "facility.opened", "2026-01-01T08:00:00Z", `{"name":"Saltgarth","zone":"Europe/Dublin"}`)
	for _, animal := range []string{"marl", "osier"} {
		r.record("saltgarth", "animal.entered", "2026-01-01T09:00:00Z", fmt.Sprintf(
			`{"animal":%q,"name":%q,"taxon":"Zalophus californianus","sex":"female","how":"birth"}`, animal, strings.ToUpper(animal[:1])+animal[1:]))
	}
	r.record("saltgarth", "food.described", "2026-01-01T10:00:00Z", herringBody)
	return r
}

// USDA SR, NDB 15039, herring, Atlantic, raw.
const herringBody = `{"food":"herring","name":"Herring","form":"fish","composition":{"protein":{"value":"17.96","unit":"g"},"fat":{"value":"9.04","unit":"g"}},"source":"USDA SR, NDB 15039"}`

func feedBody(animal, food, offered, eaten string) string {
	return fmt.Sprintf(`{"animal":%q,"items":[{"food":%q,"offered":{"value":%q,"unit":"kg"},"eaten":{"value":%q,"unit":"kg"}}]}`, animal, food, offered, eaten)
}

func weightBody(animal, kg string) string {
	return fmt.Sprintf(`{"animal":%q,"mass":{"value":%q,"unit":"kg"}}`, animal, kg)
}

// openStore opens an archive for a test. Where there is memory to write to,
// many small archives are opened there.
func openStore(t rapid.TB, dir string, list []Projection) *Store {
	t.Helper()
	s, err := Open(dir, list, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatalf("%v", err)
	}
	return s
}

func closeStore(t rapid.TB, s *Store) {
	t.Helper()
	if err := s.Close(); err != nil {
		t.Fatalf("close: %v", err)
	}
}

// filledStore is an open store that holds everything recorded so far.
func filledStore(t *testing.T, r *recorder) *Store {
	t.Helper()
	s := openStore(t, t.TempDir(), All())
	t.Cleanup(func() { closeStore(t, s) })
	mustApply(t, s, r.pages()...)
	return s
}

func mustApply(t rapid.TB, s *Store, pages ...events.Page) {
	t.Helper()
	if err := s.Apply(pages...); err != nil {
		t.Fatalf("apply: %v", err)
	}
}

// rowsOf is every row of the current versions, by projection, reference and day.
func rowsOf(t rapid.TB, s *Store) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := s.db.View(func(txn *badger.Txn) error {
		for _, p := range s.list {
			prefix := key(keyRow, p.Name, strconv.Itoa(p.Version))
			err := scan(txn, prefix, func(k, row []byte) error {
				if len(row) > 0 {
					out[p.Name+" "+strings.ReplaceAll(string(k[len(prefix):]), "\x00", " ")] = string(row)
				}
				return nil
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatalf("read the rows: %v", err)
	}
	return out
}

// everyKey is the whole content of the archive.
func everyKey(t rapid.TB, s *Store) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := s.db.View(func(txn *badger.Txn) error {
		return scan(txn, nil, func(k, v []byte) error {
			out[string(k)] = string(v)
			return nil
		})
	})
	if err != nil {
		t.Fatalf("read the archive: %v", err)
	}
	return out
}
