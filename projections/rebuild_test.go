package projections

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/dgraph-io/badger/v4"
	"github.com/google/go-cmp/cmp"

	"haulout/events"
)

// tally is a row that says which version of its projection made it.
type tally struct{ Version, Weighings int }

func tallies(version int) []Projection {
	fold := func(_ Scope, recs []Record) *tally {
		if len(recs) == 0 {
			return nil
		}
		return &tally{version, len(recs)}
	}
	return []Projection{Daily("tally", version, "animal", []string{"weight.taken"}, fold)}
}

// sums runs a count of weigh-ins on from day to day.
func sums(version int) []Projection {
	step := func(before *tally, _ Scope, recs []Record) *tally {
		if before == nil {
			before = &tally{}
		}
		return &tally{version, before.Weighings + len(recs)}
	}
	return []Projection{Running("sum", version, "animal", []string{"weight.taken"}, step)}
}

// tallied reads what rows there are of an animal in March 2026.
func tallied(t *testing.T, s *Store, animal string) map[Day]tally {
	t.Helper()
	out := map[Day]tally{}
	err := s.at(time.Time{}, func(v view) error {
		list, err := rows[tally](v, &s.list[0].Projection, events.Ref{Sort: "animal", ID: animal}, "2026-03-01", "2026-03-31")
		for _, d := range list {
			out[d.Day] = d.Row
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func rebuild(t *testing.T, s *Store) {
	t.Helper()
	if err := s.Rebuild(t.Context(), func(string, uint64, uint64) {}); err != nil {
		t.Fatal(err)
	}
}

// storedVersions counts the rows in the archive by version of the projection.
func storedVersions(t *testing.T, s *Store, name string) map[string]int {
	t.Helper()
	out := map[string]int{}
	prefix := key(keyRow, name)
	err := s.db.View(func(txn *badger.Txn) error {
		return scan(txn, prefix, func(k, _ []byte) error {
			version, _, _ := strings.Cut(string(k[len(prefix):]), "\x00")
			out[version]++
			return nil
		})
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func weigh(r *recorder, animal, at string) events.Event {
	return r.record("saltgarth", "weight.taken", at, weightBody(animal, "81.5"))
}

func TestOldRowsServeUntilTheNewVersionIsBuilt(t *testing.T) {
	r, dir := saltgarth(t), t.TempDir()
	weigh(r, "marl", "2026-03-01T09:00:00Z")
	weigh(r, "marl", "2026-03-02T09:00:00Z")
	mistake := weigh(r, "osier", "2026-03-01T09:00:00Z")
	s := openStore(t, dir, tallies(1))
	mustApply(t, s, r.pages()...)
	closeStore(t, s)

	s = openStore(t, dir, tallies(2))
	defer func() { closeStore(t, s) }()
	if diff := cmp.Diff(map[Day]tally{"2026-03-01": {1, 1}, "2026-03-02": {1, 1}}, tallied(t, s, "marl")); diff != "" {
		t.Errorf("before the build:\n%s", diff)
	}
	weigh(r, "marl", "2026-03-02T15:00:00Z")
	r.withdraw(mistake)
	mustApply(t, s, r.pages()...)
	if diff := cmp.Diff(map[Day]tally{"2026-03-01": {1, 1}, "2026-03-02": {2, 2}}, tallied(t, s, "marl")); diff != "" {
		t.Errorf("a touched day is new, the other old:\n%s", diff)
	}
	if got := tallied(t, s, "osier"); len(got) != 0 {
		t.Errorf("a day whose only entry was withdrawn still shows %v", got)
	}
	if got := s.Standings()[0]; got.Ready || got.Version != 2 || got.Positions["saltgarth"] != 0 {
		t.Errorf("before the build it stands at %+v", got)
	}

	rebuild(t, s)
	if diff := cmp.Diff(map[Day]tally{"2026-03-01": {2, 1}, "2026-03-02": {2, 2}}, tallied(t, s, "marl")); diff != "" {
		t.Errorf("after the build:\n%s", diff)
	}
	if got := s.Standings()[0]; !got.Ready || got.Positions["saltgarth"] != r.size() {
		t.Errorf("after the build it stands at %+v, %d records", got, r.size())
	}
	if got := storedVersions(t, s, "tally"); got["1"] != 0 || got["2"] == 0 {
		t.Errorf("rows by version: %v", got)
	}
}

func TestARunningProjectionServesItsOldRowsUntilItIsBuilt(t *testing.T) {
	r, dir := saltgarth(t), t.TempDir()
	weigh(r, "marl", "2026-03-01T09:00:00Z")
	weigh(r, "marl", "2026-03-02T09:00:00Z")
	s := openStore(t, dir, sums(1))
	mustApply(t, s, r.pages()...)
	closeStore(t, s)

	s = openStore(t, dir, sums(2))
	defer func() { closeStore(t, s) }()
	weigh(r, "marl", "2026-03-02T15:00:00Z")
	mustApply(t, s, r.pages()...)
	if diff := cmp.Diff(map[Day]tally{"2026-03-01": {1, 1}, "2026-03-02": {1, 2}}, tallied(t, s, "marl")); diff != "" {
		t.Errorf("a sum that starts in the middle was shown:\n%s", diff)
	}
	rebuild(t, s)
	if diff := cmp.Diff(map[Day]tally{"2026-03-01": {2, 1}, "2026-03-02": {2, 3}}, tallied(t, s, "marl")); diff != "" {
		t.Errorf("after the build:\n%s", diff)
	}
}

func TestAProjectionThatIsAddedLaterIsBuilt(t *testing.T) {
	r, dir := saltgarth(t), t.TempDir()
	weigh(r, "marl", "2026-03-01T09:00:00Z")
	s := openStore(t, dir, nil)
	mustApply(t, s, r.pages()...)
	closeStore(t, s)

	s = openStore(t, dir, tallies(1))
	defer func() { closeStore(t, s) }()
	if got := s.Standings()[0]; got.Ready {
		t.Errorf("it stands at %+v", got)
	}
	rebuild(t, s)
	if diff := cmp.Diff(map[Day]tally{"2026-03-01": {1, 1}}, tallied(t, s, "marl")); diff != "" {
		t.Error(diff)
	}
}

func TestABuildThatWasStoppedGoesOn(t *testing.T) {
	r, dir := saltgarth(t), t.TempDir()
	first := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	for i := range batchRecords + 1000 {
		weigh(r, "marl", first.Add(time.Duration(i)*8*time.Minute).Format(time.RFC3339))
	}
	s := openStore(t, dir, tallies(1))
	mustApply(t, s, r.pages()...)
	want := tallied(t, s, "marl")
	closeStore(t, s)

	s = openStore(t, dir, tallies(2))
	ctx, stop := context.WithCancel(t.Context())
	var before uint64
	err := s.Rebuild(ctx, func(_ string, done, total uint64) {
		if total != r.size() {
			t.Errorf("%d records in all were reported, there are %d", total, r.size())
		}
		before = done
		stop()
	})
	if !errors.Is(err, context.Canceled) || before < batchRecords || before >= r.size() {
		t.Fatalf("stopped with %v after %d of %d", err, before, r.size())
	}
	closeStore(t, s)

	s = openStore(t, dir, tallies(2))
	defer func() { closeStore(t, s) }()
	if got := s.Standings()[0]; got.Ready || got.Positions["saltgarth"] != before {
		t.Errorf("reopened it stands at %+v, was at %d", got, before)
	}
	var after []uint64
	if err := s.Rebuild(t.Context(), func(_ string, done, _ uint64) { after = append(after, done) }); err != nil {
		t.Fatal(err)
	}
	if after[0] != r.size() {
		t.Errorf("went on with %v", after)
	}
	for day, row := range want {
		want[day] = tally{2, row.Weighings}
	}
	if diff := cmp.Diff(want, tallied(t, s, "marl")); diff != "" {
		t.Error(diff)
	}
}

func TestGoingBackFromAnUnfinishedVersion(t *testing.T) {
	r, dir := saltgarth(t), t.TempDir()
	weigh(r, "marl", "2026-03-01T09:00:00Z")
	mistake := weigh(r, "osier", "2026-03-01T09:00:00Z")
	s := openStore(t, dir, tallies(1))
	mustApply(t, s, r.pages()...)
	closeStore(t, s)

	s = openStore(t, dir, tallies(2)) // never built
	weigh(r, "marl", "2026-03-01T15:00:00Z")
	r.withdraw(mistake)
	mustApply(t, s, r.pages()...)
	closeStore(t, s)

	s = openStore(t, dir, tallies(1))
	defer func() { closeStore(t, s) }()
	rebuild(t, s)
	if diff := cmp.Diff(map[Day]tally{"2026-03-01": {1, 2}}, tallied(t, s, "marl")); diff != "" {
		t.Error(diff)
	}
	if got := tallied(t, s, "osier"); len(got) != 0 {
		t.Errorf("a day whose only entry was withdrawn shows %v", got)
	}
	if got := storedVersions(t, s, "tally"); got["2"] != 0 {
		t.Errorf("rows by version: %v", got)
	}
}

func TestAVersionThatWasNeverFinishedLeavesNothing(t *testing.T) {
	r, dir := saltgarth(t), t.TempDir()
	for version := 1; version <= 3; version++ {
		s := openStore(t, dir, tallies(version))
		weigh(r, "marl", fmt.Sprintf("2026-03-0%dT09:00:00Z", version))
		mustApply(t, s, r.pages()...)
		closeStore(t, s)
	}
	s := openStore(t, dir, tallies(3))
	defer func() { closeStore(t, s) }()
	rebuild(t, s)
	if diff := cmp.Diff(map[string]int{"3": 3}, storedVersions(t, s, "tally")); diff != "" {
		t.Error(diff)
	}
}

// Who reads while records come in gets the rows of before or after, no error.
func TestReadingWhileRecordsComeIn(t *testing.T) {
	r := saltgarth(t)
	weigh(r, "marl", "2026-03-01T09:00:00Z")
	s := filledStore(t, r)
	done := make(chan struct{})
	var readers sync.WaitGroup
	read := func(what string, ask func() error) {
		readers.Go(func() {
			for {
				select {
				case <-done:
					return
				default:
				}
				if err := ask(); err != nil {
					t.Errorf("%s: %v", what, err)
					return
				}
			}
		})
	}
	march := time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)
	read("a listing", func() error {
		_, _, err := s.Records(Query{Ref: events.Ref{Sort: "animal", ID: "marl"}, To: march, Limit: 50})
		return err
	})
	read("days as they were believed", func() error {
		_, err := s.Days("marl", "2026-03-01", "2026-03-02", time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC))
		return err
	})
	read("days", func() error { _, err := s.Days("marl", "2026-03-01", "2026-03-02", time.Time{}); return err })
	for range 150 {
		ev := weigh(r, "marl", "2026-03-01T10:00:00Z")
		mustApply(t, s, r.pages()...)
		r.correct(ev, weightBody("marl", "82.0"))
		mustApply(t, s, r.pages()...)
	}
	close(done)
	readers.Wait()
}
