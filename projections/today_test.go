package projections

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"haulout/projections/board"
)

// boardOf is the board of Saltgarth at a moment.
func boardOf(t *testing.T, s *Store, at string) *Board {
	t.Helper()
	now, err := time.Parse(time.RFC3339, at)
	if err != nil {
		t.Fatal(err)
	}
	b, err := s.Today("saltgarth", now, time.Time{})
	if err != nil || b == nil {
		t.Fatalf("%+v %v", b, err)
	}
	return b
}

func idsOf(calls []BoardCall) (out []string) {
	for _, c := range calls {
		out = append(out, c.ID)
	}
	return out
}

// cared is Saltgarth with Marl, who is fed, weighed and looked over until 9 June.
func cared(t *testing.T) *recorder {
	r := longPool(t)
	r.lives("marl", "female", "2015", "arrival", "2026-05-01T09:00:00Z")
	r.record("saltgarth", "food.described", "2026-05-01T10:00:00Z", herringBody)
	r.record("saltgarth", "lot.received", "2026-05-01T10:30:00Z", `{"lot":"H-1","food":"herring","mass":{"value":"900","unit":"kg"},"caught":"2026-04"}`)
	r.record("saltgarth", "ration.set", "2026-05-01T11:00:00Z", `{"animal":"marl","items":[{"food":"herring","mass":{"value":"4.5","unit":"kg"}}]}`)
	for day := 1; day <= 9; day++ {
		at := fmt.Sprintf("2026-06-%02dT", day)
		r.record("saltgarth", "feed.given", at+"09:00:00Z", feedBody("marl", "herring", "4.5", "4.5"))
		r.record("saltgarth", "check.made", at+"08:00:00Z", `{"animal":"marl"}`)
		r.record("saltgarth", "weight.taken", at+"08:30:00Z", weightBody("marl", "81.5"))
		r.record("saltgarth", "coat.scored", at+"08:40:00Z", `{"animal":"marl","stage":"0"}`)
	}
	return r
}

// The recorder's clock stands on 2 November, so nobody is silent.
func TestTheBoardIsEmptyWhereAllIsDone(t *testing.T) {
	b := boardOf(t, filledStore(t, cared(t)), "2026-06-09T15:00:00Z")
	if len(b.Calls)+len(b.PutOff) != 0 || b.Silent {
		t.Errorf("calls %v, put off %v", idsOf(b.Calls), idsOf(b.PutOff))
	}
}

func TestTheBoardNamesWhatIsNotDone(t *testing.T) {
	r := cared(t)
	check := r.record("saltgarth", "check.made", "2026-06-10T08:00:00Z", `{"animal":"marl","findings":[{"region":"skin","word":"scratch"}]}`)
	r.record("saltgarth", "feed.given", "2026-06-10T09:00:00Z", feedBody("marl", "herring", "4.5", "0"))
	r.record("saltgarth", "weight.taken", "2026-06-10T09:30:00Z", weightBody("marl", "76.0"))
	s := filledStore(t, r)
	b := boardOf(t, s, "2026-06-11T12:00:00Z")
	if want := []string{"refusal.marl", "mass-down.marl", "finding.marl"}; !slices.Equal(idsOf(b.Calls), want) {
		t.Errorf("calls %v; wanted %v", idsOf(b.Calls), want)
	}
	r.record("saltgarth", "finding.closed", "2026-06-11T12:30:00Z", fmt.Sprintf(`{"animal":"marl","check":%q,"region":"skin","outcome":"healed"}`, check.ID))
	r.record("saltgarth", "feed.given", "2026-06-11T12:40:00Z", feedBody("marl", "herring", "4.5", "4.5"))
	after := boardOf(t, filledStore(t, r), "2026-06-11T13:00:00Z")
	if want := []string{"ration.marl", "mass-down.marl"}; !slices.Equal(idsOf(after.Calls), want) {
		t.Errorf("after doing the thing: %v", idsOf(after.Calls))
	}
}

func TestWhatIsPutOffComesBack(t *testing.T) {
	r := cared(t)
	for day := 10; day <= 30; day++ {
		at := fmt.Sprintf("2026-06-%02dT", day)
		r.record("saltgarth", "feed.given", at+"09:00:00Z", feedBody("marl", "herring", "4.5", "4.5"))
		r.record("saltgarth", "check.made", at+"08:00:00Z", `{"animal":"marl"}`)
		r.record("saltgarth", "coat.scored", at+"08:40:00Z", `{"animal":"marl","stage":"0"}`)
	}
	r.record("saltgarth", "call.answered", "2026-06-20T10:00:00Z", `{"call":"weigh-due.marl","answer":"put_off","until":"2026-06-22T10:00:00Z","reason":"the scale is away"}`)
	r.record("saltgarth", "call.answered", "2026-06-23T10:00:00Z", `{"call":"weigh-due.marl","answer":"taken"}`)
	s := filledStore(t, r)
	for at, want := range map[string]struct{ calls, off int }{
		"2026-06-16T12:00:00Z": {0, 0}, "2026-06-19T12:00:00Z": {1, 0}, "2026-06-21T12:00:00Z": {0, 1}, "2026-06-22T12:00:00Z": {1, 0}, "2026-06-23T12:00:00Z": {1, 0},
	} {
		b := boardOf(t, s, at)
		if len(b.Calls) != want.calls || len(b.PutOff) != want.off {
			t.Errorf("%s: calls %v, put off %v", at, idsOf(b.Calls), idsOf(b.PutOff))
		}
		if at == "2026-06-23T12:00:00Z" && (b.Calls[0].Answer == nil || b.Calls[0].Answer.Answer != "taken") {
			t.Errorf("nobody is said to have taken it: %+v", b.Calls[0])
		}
	}
}

func TestNobodyKnowsTheBoardOfAFacilityThatIsNotOpen(t *testing.T) {
	if b, err := filledStore(t, cared(t)).Today("nowhere", time.Now(), time.Time{}); b != nil || err != nil {
		t.Errorf("%+v %v", b, err)
	}
}

func TestTheBoardSaysThatNothingCanBeRecorded(t *testing.T) {
	s := filledStore(t, cared(t))
	s.Halted = func(facility string) string { return map[string]string{"saltgarth": "the log is damaged"}[facility] }
	b := boardOf(t, s, "2026-06-09T15:00:00Z")
	if len(b.Calls) != 1 || b.Calls[0].ID != "halted.saltgarth" || b.Calls[0].Harm != 1 || b.Calls[0].Sort != "facility" {
		t.Errorf("%+v", b.Calls)
	}
}

// A house sets every limit of the board for itself, in the limit's unit.
func TestEveryLimitOfTheBoardCanBeSet(t *testing.T) {
	r := cared(t)
	for _, limit := range board.Rules() {
		r.record("saltgarth", "rule.set", "2026-05-02T09:00:00Z", fmt.Sprintf(`{"rule":%q,"value":{"value":"%g","unit":%q},"reason":"agreed with the veterinarian"}`, limit.Name, limit.Least, limit.Unit))
	}
	s := filledStore(t, r)
	set, err := s.House("saltgarth", time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC), time.Time{})
	if err != nil || len(set) != len(board.Rules()) {
		t.Errorf("%d of %d limits are set: %v", len(set), len(board.Rules()), err)
	}
	boardOf(t, s, "2026-06-09T15:00:00Z")
}
