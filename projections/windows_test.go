package projections

import (
	"testing"
	"time"

	"haulout/events"
)

// weighedDays are two ways to see on how many days of June Marl was weighed, one
// after the other from the first.
var weighedDays = map[string]func(view) (int, error){
	"shared": func(v view) (int, error) {
		list, err := shared[weighings](v, &weights, events.Ref{Sort: "animal", ID: "marl"}, "2026-06-01", "2026-06-30")
		return len(list), err
	},
	"latest": func(v view) (int, error) {
		last, err := latest[weighings](v, &weights, events.Ref{Sort: "animal", ID: "marl"}, "2026-06-30")
		if err != nil {
			return 0, err
		}
		return int(last.Day.number() - Day("2026-06-01").number() + 1), nil
	},
}

// A reading that began before a batch must not leave behind what later readings
// would take for new.
func TestAListReadFromAnOlderMomentIsNotKeptForLaterOnes(t *testing.T) {
	r := cared(t)
	s := filledStore(t, r)
	reading := func(within func(view)) {
		if err := s.at(time.Time{}, func(v view) error { within(v); return nil }); err != nil {
			t.Fatal(err)
		}
	}
	days := 9
	for name, count := range weighedDays {
		sees := func(v view, want int, when string) {
			if got, err := count(v); err != nil || got != want {
				t.Errorf("%s: a reading %s sees %d days, want %d: %v", name, when, got, want, err)
			}
		}
		reading(func(old view) {
			r.record("saltgarth", "weight.taken", Day("2026-06-01").Add(days).Start(time.UTC).Add(9*time.Hour).Format(time.RFC3339), weightBody("marl", "81.5"))
			n := len(r.books["saltgarth"].lines)
			mustApply(t, s, r.page("saltgarth", n, n))
			sees(old, days, "that began before")
			reading(func(now view) { sees(now, days+1, "that began after") })
			sees(old, days, "that began before, again,")
		})
		days++
		reading(func(now view) { sees(now, days, "in the end") })
	}
}
