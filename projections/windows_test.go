package projections

import (
	"testing"
	"time"

	"haulout/events"
)

// A reading that began before a batch must not leave behind what later readings
// would take for new.
func TestAListReadFromAnOlderMomentIsNotKeptForLaterOnes(t *testing.T) {
	r := cared(t)
	s := filledStore(t, r)
	ref := events.Ref{Sort: "animal", ID: "marl"}
	lists := map[string]func(view) int{
		"shared": func(v view) int {
			list, err := shared[weighings](v, &weights, ref, "2026-06-01", "2026-06-30")
			if err != nil {
				t.Fatal(err)
			}
			return len(list)
		},
		"latest": func(v view) int {
			last, err := latest[weighings](v, &weights, ref, "2026-06-30")
			if err != nil {
				t.Fatal(err)
			}
			return int(last.Day.number() - Day("2026-06-01").number() + 1)
		},
	}
	reading := func(within func(view)) {
		if err := s.at(time.Time{}, func(v view) error { within(v); return nil }); err != nil {
			t.Fatal(err)
		}
	}
	want := 9
	for name, count := range lists {
		reading(func(old view) {
			want++
			r.record("saltgarth", "weight.taken", Day("2026-06-01").Add(want-1).Start(time.UTC).Add(9*time.Hour).Format(time.RFC3339), weightBody("marl", "81.5"))
			n := len(r.books["saltgarth"].lines)
			mustApply(t, s, r.page("saltgarth", n, n))
			if got := count(old); got != want-1 {
				t.Errorf("%s: a reading that began before sees %d days, want %d", name, got, want-1)
			}
			reading(func(now view) {
				if got := count(now); got != want {
					t.Errorf("%s: a reading that began after sees %d days, want %d", name, got, want)
				}
			})
			if got := count(old); got != want-1 {
				t.Errorf("%s: the older reading then sees %d days, want %d", name, got, want-1)
			}
		})
		reading(func(now view) {
			if got := count(now); got != want {
				t.Errorf("%s: in the end %d days, want %d", name, got, want)
			}
		})
	}
}
