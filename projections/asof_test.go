package projections

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"haulout/events"
)

// What an archive says that it believed at a moment is what an archive says
// that got no record after that moment.
func TestAnEarlierBeliefIsThatOfAnArchiveThatKnowsNoMore(t *testing.T) {
	types, base, n := bodyTypes(t), smallDir(t), 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		dir := filepath.Join(base, fmt.Sprint(n))
		defer os.RemoveAll(dir)
		r := colony(t, types, proven())
		known := rapid.IntRange(0, len(r.all)).Draw(t, "known")
		then := time.Date(2026, 11, 2, 8, known, 30, 0, time.UTC)

		full := openStore(t, filepath.Join(dir, "full"), proven())
		mustApply(t, full, r.pages()...)
		early := openStore(t, filepath.Join(dir, "early"), proven())
		mustApply(t, early, pagesUntil(r, known)...)

		want, got := everythingSaid(t, early, time.Time{}), everythingSaid(t, full, then)
		if diff := cmp.Diff(want, got, cmp.AllowUnexported(Listed{}, events.Event{})); diff != "" {
			t.Errorf("as of record %d (- wanted, + found):\n%s\nrecords:\n%s", known, diff, retold(r.all))
		}
		closeStore(t, full)
		closeStore(t, early)
	})
}

// pagesUntil is what had been recorded when the first so many records were in.
func pagesUntil(r *recorder, known int) (out []events.Page) {
	last := map[string]int{}
	for _, a := range r.all[:known] {
		last[a.ev.Facility] = int(a.ev.Number)
	}
	for _, facility := range sortedKeys(last) {
		out = append(out, r.page(facility, 1, last[facility]))
	}
	return out
}

// everythingSaid asks every reading function.
func everythingSaid(t *rapid.T, s *Store, asOf time.Time) map[string]any {
	out := map[string]any{}
	put := func(name string, said any, err error) {
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		out[name] = said
	}
	one := func(list any, err error) func(string) { return func(name string) { put(name, list, err) } }
	one(s.Facilities(asOf))("facilities")
	one(s.Enclosures("", asOf))("enclosures")
	one(s.Animals(asOf))("animals")
	one(s.Foods("", asOf))("foods")
	one(s.Lots("", asOf))("lots")
	one(s.Behaviours("", asOf))("behaviours")
	one(s.Supplements("", asOf))("supplements")
	for _, at := range []time.Time{time.Date(2026, 3, 29, 0, 30, 0, 0, time.UTC), time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)} {
		one(s.Roster("", at, asOf))("roster " + at.Format(time.DateOnly))
		for _, animal := range named["animal"] {
			one(s.Ration(animal, at, asOf))("ration " + animal + at.Format(time.DateOnly))
			one(s.Diet(animal, at, asOf))("diet " + animal + at.Format(time.DateOnly))
		}
		for _, facility := range []string{"saltgarth", "wrackline-bay"} {
			one(s.House(facility, at, asOf))("house " + facility + at.Format(time.DateOnly))
			one(s.FishRoom(facility, "2026-03-29", at, asOf))("fish room " + facility + at.Format(time.DateOnly))
		}
	}
	for _, animal := range named["animal"] {
		one(s.Animal(animal, asOf))("animal " + animal)
		one(s.Days(animal, "1969-01-01", "2027-01-01", asOf))("days " + animal)
		one(s.Days(animal, "2026-03-28", "2026-03-29", asOf))("two days " + animal)
		one(s.Weights(animal, "1969-01-01", "2027-01-01", asOf))("weights " + animal)
		list, _, err := s.Records(Query{Ref: events.Ref{Sort: "animal", ID: animal}, To: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC), AsOf: asOf, Limit: 1000})
		put("records "+animal, list, err)
		put("body "+animal, bodySaid(t, s, animal, asOf), nil)
	}
	for name, ref := range map[string]string{"witness-day": "", "witness-run": ""} {
		for _, animal := range named["animal"] {
			put(name+ref+animal, witnessed(t, s, name, animal, asOf), nil)
		}
	}
	return out
}

// witnessed reads a witness's rows of an animal as the typed functions would.
func witnessed(t *rapid.T, s *Store, name, animal string, asOf time.Time) (out []dated[any]) {
	p := s.named(name)
	err := s.at(asOf, func(v view) (err error) {
		out, err = rows[any](v, &p.Projection, events.Ref{Sort: "animal", ID: animal}, "1969-01-01", "2027-01-01")
		return err
	})
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return out
}
