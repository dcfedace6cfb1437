package projections

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

// tended is Saltgarth with Marl in the Long Pool, both seen to until 9 June: of
// natural sea water with nothing added, with room for her.
func tended(t *testing.T) *recorder {
	r := cared(t)
	r.roomy(`,"salt":"sea","added":["none"]` + measures)
	r.counts("2026-06-03T08:00:00Z", "30", "W-1", "")
	return r
}

func TestTodayTellsOfWater(t *testing.T) {
	for name, c := range map[string]struct {
		more func(*recorder)
		want string // ids and harms
		says string
	}{
		"all is well":          {func(*recorder) {}, "", ""},
		"a count that exceeds": {func(r *recorder) { r.counts("2026-06-08T08:00:00Z", "1400", "W-2", "") }, "coliform-exceeds.long 3", "next sample is due Wed 10 June 09:00"},
		"whose sample is late": {func(r *recorder) { r.counts("2026-06-06T08:00:00Z", "1400", "W-2", "") }, "coliform-exceeds.long 2", "was due Mon 8 June 09:00"},
		"a series that fails": {func(r *recorder) {
			r.counts("2026-06-05T08:00:00Z", "1600", "W-2", "")
			r.counts("2026-06-07T08:00:00Z", "1500", "W-3", "W-2")
		}, "coliform-fails.long 2", "unsatisfactory"},
		"a series that passes": {func(r *recorder) {
			r.counts("2026-06-04T08:00:00Z", "1400", "W-2", "")
			r.counts("2026-06-06T08:00:00Z", "900", "W-3", "W-2")
			r.counts("2026-06-08T08:00:00Z", "650", "W-4", "W-2")
		}, "", ""},
		"water with ozone that nobody tested": {func(r *recorder) { r.roomy(`,"salt":"sea","added":["ozone"]` + measures) }, "water-due.long 2", "2 water tests overdue: pH (never tested), ozone (never tested)"},
		"salt that fails by the house": {func(r *recorder) {
			r.record("saltgarth", "rule.set", "2026-06-01T08:00:00Z", `{"rule":"salinity_least","value":{"value":"25","unit":"[ppth]"},"reason":"agreed with the veterinarian"}`)
			r.tests("2026-06-07T08:00:00Z", "salinity", "33", "[ppth]", "")
			r.tests("2026-06-08T08:00:00Z", "salinity", "24", "[ppth]", "")
			r.tests("2026-06-09T08:00:00Z", "salinity", "23", "[ppth]", "")
		}, "water-fails.long.salinity 2", "Salinity is outside its limit"},
		"too little space": {func(r *recorder) {
			r.roomy(`,"salt":"sea","added":["none"]` + strings.Replace(measures, `"value":"9"`, `"value":"6"`, 1))
		}, "space.long 3", "Less space"},
	} {
		r := tended(t)
		c.more(r)
		b := boardOf(t, filledStore(t, r), "2026-06-09T15:00:00Z")
		var got []string
		for _, call := range b.Calls {
			got = append(got, fmt.Sprintf("%s %d", call.ID, call.Harm))
			if call.Sort != "water" || call.Place != "long" || call.Name != "Long Pool" || !strings.Contains(call.What, c.says) || call.Cited == "" {
				t.Errorf("%s: %+v", name, call)
			}
		}
		if strings.Join(got, ", ") != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
}

func TestAWaterTestThatIsOverdueIsDoneByDoing(t *testing.T) {
	r := tended(t)
	r.record("saltgarth", "call.answered", "2026-06-11T10:00:00Z", `{"call":"water-due.long","answer":"taken"}`)
	s := filledStore(t, r)
	due := func(s *Store, at string) *BoardCall {
		b := boardOf(t, s, at)
		if i := slices.IndexFunc(b.Calls, func(c BoardCall) bool { return c.Rule == "water-due" }); i >= 0 {
			return &b.Calls[i]
		}
		return nil
	}
	if c := due(s, "2026-06-10T15:00:00Z"); c != nil {
		t.Errorf("on its last day: %+v", c)
	}
	c := due(s, "2026-06-11T15:00:00Z")
	if c == nil || c.Answer == nil || c.Answer.Answer != "taken" || !c.Since.Equal(time.Date(2026, 6, 10, 23, 0, 0, 0, time.UTC)) || !strings.Contains(c.Cited, "9 CFR 3.106(b)") {
		t.Fatalf("a day later: %+v", c)
	}
	r.counts("2026-06-11T16:00:00Z", "40", "W-2", "")
	if c := due(filledStore(t, r), "2026-06-11T17:00:00Z"); c != nil {
		t.Errorf("once it is done: %+v", c)
	}
}

// A failed reading is one line from its first day on, so that what was answered
// to it holds while it lasts.
func TestAFailureIsAsOldAsItsFirstReading(t *testing.T) {
	r := tended(t)
	r.record("saltgarth", "rule.set", "2026-06-01T08:00:00Z", `{"rule":"ph_most","value":{"value":"8.2","unit":"[pH]"},"reason":"agreed with the veterinarian"}`)
	for day, ph := range []string{"8.9", "8.0", "8.5", "8.4", "8.3"} {
		r.tests(fmt.Sprintf("2026-06-%02dT08:00:00Z", 3+day), "ph", ph, "[pH]", "")
	}
	b := boardOf(t, filledStore(t, r), "2026-06-09T15:00:00Z")
	if len(b.Calls) != 1 || b.Calls[0].ID != "water-fails.long.ph" || !b.Calls[0].Since.Equal(time.Date(2026, 6, 5, 8, 0, 0, 0, time.UTC)) {
		t.Errorf("%+v", b.Calls)
	}
}

// A pool in which nobody lives is owed no test.
func TestAnEmptyPoolCallsNobody(t *testing.T) {
	r := tended(t)
	r.record("saltgarth", "enclosure.described", "2026-01-02T08:10:00Z", `{"enclosure":"cove","name":"Cove","salt":"made","water_area":{"value":"1","unit":"m2"}}`)
	r.record("saltgarth", "water.tested", "2026-06-09T08:00:00Z", `{"enclosure":"cove","readings":[{"what":"total_coliform","value":{"value":"9000","unit":"{MPN}/dL"}}]}`)
	if b := boardOf(t, filledStore(t, r), "2026-06-09T15:00:00Z"); len(b.Calls) != 0 {
		t.Errorf("%v", idsOf(b.Calls))
	}
}
