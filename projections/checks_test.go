package projections

import (
	"testing"
	"time"

	"haulout/events"
)

func TestAFindingIsClosedInTheMinuteOfItsCheck(t *testing.T) {
	at := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	recs := []Record{ // in order of time and id: the closing happens to come first
		{Event: events.Event{ID: "a", Time: at, Facility: "saltgarth", Body: &events.FindingClosed{Animal: "marl", Check: "b", Region: "eyes", Outcome: "mistaken"}}},
		{Event: events.Event{ID: "b", Time: at, Facility: "saltgarth", Body: &events.CheckMade{Animal: "marl", Findings: []events.Finding{{Region: "eyes", Word: "sand"}, {Region: "skin", Word: "scratch"}}}}},
	}
	got := stepChecks(nil, Scope{}, recs)
	if len(got.Open) != 1 || got.Open[0].Region != "skin" || len(got.Closed) != 1 || len(got.Checks) != 1 {
		t.Errorf("%+v", got)
	}
}

func TestADoseThatIsNotTakenIsDueStill(t *testing.T) {
	r := cared(t)
	r.record("saltgarth", "order.given", "2026-06-08T12:00:00Z", `{"order":"o-1","animal":"marl","veterinarian":"the veterinarian","medication":"drops","dose":{"value":"1","unit":"mL"},"daily":2}`)
	r.record("saltgarth", "order.given", "2026-06-08T13:00:00Z", `{"order":"o-2","animal":"marl","veterinarian":"the veterinarian","medication":"tablet","dose":{"value":"1","unit":"{tablet}"}}`)
	dose := func(at, order, taken string) {
		r.record("saltgarth", "medication.given", at, `{"animal":"marl","medication":"it","dose":{"value":"1","unit":"mL"},"order":"`+order+`","taken":"`+taken+`"}`)
	}
	dose("2026-06-08T15:00:00Z", "o-1", "all")
	dose("2026-06-08T16:00:00Z", "o-1", "all")
	dose("2026-06-08T16:30:00Z", "o-2", "none")
	for _, c := range []struct{ at, what string }{
		{"2026-06-08T18:00:00Z", "tablet: 0 of 1 dose given today"},
		{"2026-06-09T12:00:00Z", "tablet: 0 of 1 dose on record for yesterday"},
	} {
		b := boardOf(t, filledStore(t, r), c.at)
		if len(b.Calls) != 2 || b.Calls[0].What != c.what || b.Calls[1].Rule != "order-news" {
			t.Errorf("%s: %+v", c.at, b.Calls)
		}
	}
	dose("2026-06-09T09:00:00Z", "o-1", "all")
	dose("2026-06-09T10:00:00Z", "o-1", "part")
	dose("2026-06-09T11:00:00Z", "o-2", "all")
	if b := boardOf(t, filledStore(t, r), "2026-06-09T18:00:00Z"); len(b.Calls) != 0 { // a day after the order it is no news
		t.Errorf("all is given: %+v", b.Calls)
	}
}
