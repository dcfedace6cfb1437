package projections

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"haulout/events"
)

// chainOf is Saltgarth with ten records, of which the archive holds six.
func chainOf(t *testing.T) (*recorder, *Store) {
	r := saltgarth(t)
	for _, at := range []string{"2026-03-01T09:00:00Z", "2026-03-02T09:00:00Z", "2026-03-03T09:00:00Z", "2026-03-04T09:00:00Z", "2026-03-05T09:00:00Z", "2026-03-06T09:00:00Z"} {
		weigh(r, "marl", at)
	}
	s := openStore(t, t.TempDir(), All())
	t.Cleanup(func() { closeStore(t, s) })
	mustApply(t, s, r.page("saltgarth", 1, 6))
	return r, s
}

func TestAPageThatDoesNotContinueTheChainIsRefused(t *testing.T) {
	for situation, spoil := range map[string]func(r *recorder) events.Page{
		"a record is missing between archive and page": func(r *recorder) events.Page { return r.page("saltgarth", 8, 10) },
		"a record is missing within the page": func(r *recorder) events.Page {
			page := r.page("saltgarth", 7, 10)
			return events.Page{Facility: page.Facility, First: 7, Lines: [][]byte{page.Lines[0], page.Lines[2], page.Lines[3]}}
		},
		"the first record carries the wrong hash": func(r *recorder) events.Page {
			ev := r.all[6].ev
			ev.Previous[0] ^= 1
			return events.Page{Facility: "saltgarth", First: 7, Lines: [][]byte{ev.Encode()}}
		},
		"a record was altered after the next one was chained to it": func(r *recorder) events.Page {
			page := r.page("saltgarth", 7, 10)
			altered := bytes.Replace(page.Lines[1], []byte(`"81.5"`), []byte(`"71.5"`), 1)
			return events.Page{Facility: page.Facility, First: 7, Lines: [][]byte{page.Lines[0], altered, page.Lines[2], page.Lines[3]}}
		},
		"the author of a record was altered": func(r *recorder) events.Page {
			page := r.page("saltgarth", 7, 10)
			altered := bytes.Replace(page.Lines[2], []byte(`"author":"rv"`), []byte(`"author":"jo"`), 1)
			return events.Page{Facility: page.Facility, First: 7, Lines: [][]byte{page.Lines[0], page.Lines[1], altered, page.Lines[3]}}
		},
		"a number was used twice": func(r *recorder) events.Page {
			page := r.page("saltgarth", 7, 8)
			return events.Page{Facility: page.Facility, First: 7, Lines: [][]byte{page.Lines[0], page.Lines[0], page.Lines[1]}}
		},
	} {
		t.Run(situation, func(t *testing.T) {
			r, s := chainOf(t)
			before, head := everyKey(t, s), s.Head("saltgarth")
			if err := s.Apply(spoil(r)); !errors.Is(err, ErrChain) {
				t.Fatalf("got %v", err)
			}
			if diff := cmp.Diff(before, everyKey(t, s)); diff != "" || s.Head("saltgarth") != head {
				t.Errorf("the archive changed:\n%s", diff)
			}
			mustApply(t, s, r.page("saltgarth", 7, 10))
			if diff := cmp.Diff(naiveRows(t, records(r.all), All()), rowsOf(t, s)); diff != "" {
				t.Errorf("the right page gives other rows afterwards:\n%s", diff)
			}
		})
	}
}

func TestAPageThatWasAppliedBeforeChangesNothing(t *testing.T) {
	r, s := chainOf(t)
	before := everyKey(t, s)
	mustApply(t, s, r.page("saltgarth", 1, 6))
	mustApply(t, s, r.page("saltgarth", 3, 5), r.page("saltgarth", 6, 6))
	if diff := cmp.Diff(before, everyKey(t, s)); diff != "" {
		t.Errorf("the archive changed:\n%s", diff)
	}
	mustApply(t, s, r.page("saltgarth", 5, 10), r.page("saltgarth", 8, 10)) // the beginning is known
	if diff := cmp.Diff(naiveRows(t, records(r.all), All()), rowsOf(t, s)); diff != "" {
		t.Error(diff)
	}
}

func TestAKindOfANewerProgramStopsTheArchive(t *testing.T) {
	for situation, wire := range map[string]string{"a kind it has not heard of": "haulout.song.heard.v1", "a version above its own": "haulout.weight.taken.v9"} {
		t.Run(situation, func(t *testing.T) {
			r, s := chainOf(t)
			ev := r.all[6].ev
			ev.Type = wire
			before := everyKey(t, s)
			err := s.Apply(events.Page{Facility: "saltgarth", First: 7, Lines: [][]byte{ev.Encode()}})
			if !errors.Is(err, events.ErrUnknown) || !strings.Contains(err.Error(), wire) {
				t.Fatalf("got %v", err)
			}
			if diff := cmp.Diff(before, everyKey(t, s)); diff != "" {
				t.Errorf("the archive changed:\n%s", diff)
			}
		})
	}
}

// A correction of a correction can hold a body of a version above this
// program's. That is not passed over either.
func TestACorrectionOfANewerProgramStopsTheArchive(t *testing.T) {
	r, s := chainOf(t)
	fix := r.correct(r.all[9].ev, weightBody("marl", "82"))
	r.correct(fix, `{"entry":"`+r.all[9].ev.ID+`","data":{"animal":"marl"},"type":"haulout.weight.taken.v9","reason":"read anew"}`)
	if err := s.Apply(r.pages()...); !errors.Is(err, events.ErrUnknown) || !strings.Contains(err.Error(), "haulout.weight.taken.v9") {
		t.Errorf("got %v", err)
	}
}

// Records that are about very many things
// need more than one transaction.
func TestABatchLargerThanATransaction(t *testing.T) {
	r := newRecorder(t)
	r.record("saltgarth", "facility.opened", "2026-01-01T08:00:00Z", `{"name":"Saltgarth","zone":"Europe/Dublin"}`)
	var herd []string
	for i := range 150 {
		id := fmt.Sprintf("seal-%03d", i)
		r.record("saltgarth", "animal.entered", "2025-01-01T09:00:00Z", fmt.Sprintf(`{"animal":%q,"name":%q,"taxon":"Halichoerus grypus","sex":"female","how":"rescue"}`, id, id))
		herd = append(herd, strconv.Quote(id))
	}
	day := time.Date(2025, 3, 1, 12, 0, 0, 0, time.UTC)
	for i := range 300 {
		r.record("saltgarth", "note", day.AddDate(0, 0, i).Format(time.RFC3339), `{"text":"roll call","animals":[`+strings.Join(herd, ",")+`]}`)
	}
	s := openStore(t, t.TempDir(), All())
	defer func() { closeStore(t, s) }()
	mustApply(t, s, r.pages()...)
	for _, seal := range []string{"seal-000", "seal-149"} {
		if days, err := s.Days(seal, "2020-01-01", "2026-12-31", time.Time{}); err != nil || len(days) != 300 {
			t.Errorf("%d days of 300, %v", len(days), err)
		}
	}
}

// The zone of a facility is in every day of its years.
func TestAZoneThatIsCorrectedAfterYears(t *testing.T) {
	r := saltgarth(t)
	first := time.Date(2000, 1, 1, 23, 30, 0, 0, time.UTC)
	for i := range 12000 {
		weigh(r, []string{"marl", "osier"}[i%2], first.AddDate(0, 0, i).Format(time.RFC3339))
	}
	s := openStore(t, t.TempDir(), All())
	defer func() { closeStore(t, s) }()
	mustApply(t, s, r.pages()...)
	r.correct(r.all[0].ev, `{"name":"Saltgarth","zone":"Pacific/Kiritimati"}`)
	mustApply(t, s, r.pages()...)
	if diff := cmp.Diff(naiveRows(t, records(r.all), All()), rowsOf(t, s)); diff != "" {
		t.Error(diff[:min(len(diff), 2000)])
	}
}

// A day that had records and no row is another day in another zone, too.
func TestAZoneThatIsCorrectedWhereADayHasNoRow(t *testing.T) {
	pairs := []Projection{Daily("pairs", 1, "animal", []string{"weight.taken"}, func(_ Scope, recs []Record) *[]seen {
		if len(recs) < 2 {
			return nil
		}
		return show(recs)
	})}
	r := saltgarth(t)
	weigh(r, "marl", "2026-03-01T23:30:00Z") // 1 March in Dublin, 2 March on Kiritimati
	s := openStore(t, t.TempDir(), pairs)
	defer func() { closeStore(t, s) }()
	mustApply(t, s, r.pages()...)
	r.correct(r.all[0].ev, `{"name":"Saltgarth","zone":"Pacific/Kiritimati"}`)
	mustApply(t, s, r.pages()...)
	weigh(r, "marl", "2026-03-01T02:00:00Z") // 1 March there
	mustApply(t, s, r.pages()...)
	if diff := cmp.Diff(naiveRows(t, records(r.all), pairs), rowsOf(t, s)); diff != "" {
		t.Error(diff)
	}
}
