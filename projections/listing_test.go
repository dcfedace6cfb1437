package projections

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"haulout/events"
)

var (
	aboutMarl = events.Ref{Sort: "animal", ID: "marl"}
	laterOn   = time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)
)

// listing reads every page of a listing.
func listing(t rapid.TB, s *Store, q Query) (out []Listed) {
	t.Helper()
	for range 1000 {
		list, next, err := s.Records(q)
		if err != nil {
			t.Fatalf("list: %v", err)
		}
		if len(list) > q.Limit || (next != "" && len(list) != q.Limit) {
			t.Fatalf("a page of %d with limit %d, next %q", len(list), q.Limit, next)
		}
		out = append(out, list...)
		if next == "" {
			return out
		}
		q.Cursor = next
	}
	t.Fatalf("the listing does not end")
	return nil
}

func ids(list []Listed) (out []string) {
	for _, l := range list {
		out = append(out, l.Event().ID)
	}
	return out
}

func TestAListingRunsFromTheNewestBack(t *testing.T) {
	r := saltgarth(t)
	morning := weigh(r, "marl", "2026-03-01T09:00:00Z")
	years := weigh(r, "marl", "2019-03-01T09:00:00Z")
	evening := weigh(r, "marl", "2026-03-01T19:00:00Z")
	weigh(r, "osier", "2026-03-01T12:00:00Z")
	feed := r.record("saltgarth", "feed.given", "2026-03-01T12:00:00Z", feedBody("marl", "herring", "1.0", "0.8"))
	s := filledStore(t, r)
	entered := "00000000-1000-7000-8000-000000000002"

	for situation, c := range map[string]struct {
		q    Query
		want []string
	}{
		"everything":     {Query{}, []string{evening.ID, feed.ID, morning.ID, entered, years.ID}},
		"of one kind":    {Query{Kinds: []string{"weight.taken"}}, []string{evening.ID, morning.ID, years.ID}},
		"of two kinds":   {Query{Kinds: []string{"feed.given", "animal.entered"}}, []string{feed.ID, entered}},
		"from a moment":  {Query{From: feed.Time}, []string{evening.ID, feed.ID}},
		"to a moment":    {Query{To: morning.Time}, []string{morning.ID, entered, years.ID}},
		"between":        {Query{From: morning.Time, To: feed.Time}, []string{feed.ID, morning.ID}},
		"as of the past": {Query{AsOf: morning.Recorded}, []string{morning.ID, entered}},
	} {
		t.Run(situation, func(t *testing.T) {
			c.q.Ref = aboutMarl
			if c.q.To.IsZero() {
				c.q.To = laterOn
			}
			for c.q.Limit = 1; c.q.Limit < 7; c.q.Limit++ {
				if diff := cmp.Diff(c.want, ids(listing(t, s, c.q))); diff != "" {
					t.Errorf("pages of %d:\n%s", c.q.Limit, diff)
				}
			}
		})
	}
}

func TestAListingShowsWhatBecameOfAnEntry(t *testing.T) {
	r := saltgarth(t)
	weighed := weigh(r, "marl", "2026-03-01T09:00:00Z")
	moved := weigh(r, "marl", "2026-03-02T09:00:00Z")
	mistake := weigh(r, "marl", "2026-03-03T09:00:00Z")
	restored := weigh(r, "marl", "2026-03-04T09:00:00Z")
	before := r.clock
	fixed := r.correct(weighed, weightBody("marl", "82.0"))
	movedBy := r.correctTime(moved, "2026-02-28T09:00:00Z")
	gone := r.withdraw(mistake)
	undone := r.withdraw(restored)
	undo := r.withdraw(undone)
	s := filledStore(t, r)

	list := map[string]Listed{}
	for _, l := range listing(t, s, Query{Ref: aboutMarl, To: laterOn, Limit: 2}) {
		if _, twice := list[l.Event().ID]; twice {
			t.Errorf("%s is listed twice", l.Event().ID)
		}
		list[l.Event().ID] = l
	}
	if len(list) != 10 { // entered, four weigh-ins and five corrections of them
		t.Errorf("%d records are listed", len(list))
	}
	for _, want := range []struct {
		ev    events.Event
		state string
		now   string
		at    string
		fixes []string
	}{
		{weighed, "corrected", `{"animal":"marl","mass":{"unit":"kg","value":"82.0"}}`, "2026-03-01T09:00:00Z", []string{fixed.ID}},
		{moved, "corrected", string(moved.Data), "2026-02-28T09:00:00Z", []string{movedBy.ID}},
		{mistake, "withdrawn", "", "", []string{gone.ID}},
		{restored, "counts", "", "", []string{undone.ID}},
		{undone, "withdrawn", "", "", []string{undo.ID}},
		{fixed, "counts", "", "", nil},
	} {
		got := list[want.ev.ID]
		at := ""
		if got.NowTime != nil {
			at = got.NowTime.Format(time.RFC3339)
		}
		if string(got.Record) != string(want.ev.Encode()) {
			t.Errorf("%s is shown as\n%s\nwas recorded as\n%s", want.ev.ID, got.Record, want.ev.Encode())
		}
		if got.State != want.state || string(got.Now) != want.now || at != want.at || !slices.Equal(got.Fixes, want.fixes) {
			t.Errorf("%s is %s, now %s at %s, fixed by %v; want %+v", want.ev.ID, got.State, got.Now, at, got.Fixes, want)
		}
	}
	for _, l := range listing(t, s, Query{Ref: aboutMarl, To: laterOn, AsOf: before, Limit: 3}) {
		if l.State != "counts" || l.Fixes != nil {
			t.Errorf("before the corrections %s was %s, fixed by %v", l.Event().ID, l.State, l.Fixes)
		}
	}
}

func TestAnEntryIsListedUnderWhatItIsAboutNow(t *testing.T) {
	r := saltgarth(t)
	for _, id := range []string{"harbour", "gull"} {
		r.record("saltgarth", "enclosure.described", "2026-01-01T11:00:00Z", fmt.Sprintf(`{"enclosure":%q,"name":%q}`, id, id))
	}
	placed := r.record("saltgarth", "animal.placed", "2026-03-01T09:00:00Z", `{"animal":"marl","enclosure":"harbour"}`)
	r.record("saltgarth", "entry.corrected", "2026-03-02T09:00:00Z", fmt.Sprintf(
		`{"entry":%q,"data":{"animal":"marl","enclosure":"gull"},"time":"2026-02-01T09:00:00Z","reason":"the other pool, and earlier"}`, placed.ID))
	s := filledStore(t, r)
	for _, id := range []string{"harbour", "gull"} {
		q := Query{Ref: Local("enclosure", "saltgarth", id), Kinds: []string{"animal.placed"}, To: laterOn, Limit: 10}
		if got := ids(listing(t, s, q)); !slices.Equal(got, []string{placed.ID}) {
			t.Errorf("%s lists %v", id, got)
		}
	}
}

func TestACursorThatNoListingGave(t *testing.T) {
	s := filledStore(t, saltgarth(t))
	for _, cursor := range []string{"x", "12", "12.saltgarth", "a.saltgarth.3"} {
		if _, _, err := s.Records(Query{Ref: aboutMarl, To: laterOn, Limit: 3, Cursor: cursor}); err == nil {
			t.Errorf("cursor %q was taken", cursor)
		}
	}
}

// Whatever was recorded, corrected and withdrawn, pages of any size give every
// record about an animal once, the newest first.
func TestPagesGiveEveryRecordOnce(t *testing.T) {
	types, base, n := bodyTypes(t), smallDir(t), 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		r := colony(t, types, proven())
		s := openStore(t, fmt.Sprintf("%s/%d", base, n), nil)
		defer closeStore(t, s)
		mustApply(t, s, r.pages()...)
		list := listing(t, s, Query{Ref: aboutMarl, To: laterOn, Limit: rapid.IntRange(1, 9).Draw(t, "limit")})
		seen := map[string]bool{}
		for i, l := range list {
			if i > 0 && l.ev.Time.UnixMilli() > list[i-1].ev.Time.UnixMilli() {
				t.Errorf("%s comes after %s", l.ev.Time, list[i-1].ev.Time)
			}
			if seen[l.ev.ID] {
				t.Errorf("%s is listed twice", l.ev.ID)
			}
			seen[l.ev.ID] = true
			if state := stateOf(r, l.ev); l.State != state {
				t.Errorf("%s is shown as %s, it is %s", l.ev.ID, l.State, state)
			}
		}
		for _, a := range r.all {
			if concerns(r, a.ev, "marl") != seen[a.ev.ID] {
				t.Errorf("record %d of %s, %s: listed is %v\n%s", a.ev.Number, a.ev.Facility, a.ev.ID, seen[a.ev.ID], retold(r.all))
			}
		}
	})
}

// concerns says that a record, or the entry that it corrects, is about an animal.
func concerns(r *recorder, ev events.Event, animal string) bool {
	for ev.Target() != "" {
		ev = r.byID[ev.Target()]
	}
	return slices.Contains(ev.Animals(), animal)
}

// stateOf works out by the naive rule what became of an entry.
func stateOf(r *recorder, ev events.Event) string {
	n := naive{fixes: map[string][]events.Event{}}
	for _, a := range r.all {
		if a.ev.Target() != "" {
			n.fixes[a.ev.Target()] = append(n.fixes[a.ev.Target()], a.ev)
		}
	}
	now := n.counts(ev)
	switch {
	case now == nil:
		return "withdrawn"
	case string(now.Data) != string(ev.Data) || !now.Time.Equal(ev.Time):
		return "corrected"
	}
	return "counts"
}

func TestEveryKindHasItsOwnIndexCode(t *testing.T) {
	seen := map[[2]byte]string{}
	for _, wire := range events.Kinds() {
		kind := events.KindName(wire)
		if other, taken := seen[kindCode(kind)]; taken {
			t.Errorf("%s and %s share a code, so a listing of one shows the other", kind, other)
		}
		seen[kindCode(kind)] = kind
	}
}

func TestTheRegisterIsMadeFromWhatTheArchiveLists(t *testing.T) {
	r := saltgarth(t)
	weigh(r, "marl", "2026-03-01T09:00:00Z")
	food := r.all[3].ev
	r.correct(food, herringBody)
	s := filledStore(t, r)
	list, err := s.Defining("saltgarth")
	if err != nil {
		t.Fatal(err)
	}
	var numbers []uint64
	for _, ev := range list {
		numbers = append(numbers, ev.Number)
	}
	if diff := cmp.Diff([]uint64{1, 2, 3, 4, 6}, numbers); diff != "" {
		t.Error(diff)
	}
	counts, err := s.Counts("saltgarth")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(map[string]uint64{"marl": 2, "osier": 1}, counts); diff != "" {
		t.Error(diff)
	}
	var lines []json.RawMessage
	for after := uint64(0); ; {
		more, err := s.Lines("saltgarth", after, 4)
		if err != nil {
			t.Fatal(err)
		}
		if len(more) == 0 {
			break
		}
		for _, line := range more {
			lines = append(lines, line)
		}
		after += uint64(len(more))
	}
	for i, a := range r.all {
		if i >= len(lines) || string(lines[i]) != string(a.line) {
			t.Fatalf("%d lines came back, of %d; or number %d is another", len(lines), len(r.all), i+1)
		}
	}
}
