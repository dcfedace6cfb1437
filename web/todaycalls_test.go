package web_test

import (
	"fmt"
	"strings"
	"testing"

	"haulout/events"
)

// yields records that one animal of the Long Pool yielded to another.
func (c *colony) yields(loser, winner, at string, more events.EncounterSeen) {
	c.t.Helper()
	more.Winner, more.Loser, more.Enclosure = winner, loser, "long"
	c.record("saltgarth", "rhona", "encounter.seen", at, &more)
}

func TestTodayTellsWhatIsNewInAPool(t *testing.T) {
	c := newColony(t)
	c.settle()
	if page := c.page("/today", 200); strings.Contains(page, "now wins over") {
		t.Error("Today names a pair although nobody met")
	}
	for day := range 5 {
		c.yields("osier", "marl", fmt.Sprintf("2026-05-%02dT10:00:00Z", 10+day), events.EncounterSeen{})
	}
	for day := range 3 {
		c.yields("marl", "osier", fmt.Sprintf("2026-06-%02dT10:00:00Z", 13+day), events.EncounterSeen{Signal: "displaced", Place: "deck"})
	}
	wants(t, c.page("/today", 200), "Look", "Long Pool", "Osier now wins over Marl", "3 of 3 since 21 May 2026; before that 0 of 5", "Mon 11:00: Marl yielded to Osier")
}

func TestTodayPutsWhatMayHurtFirst(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.yields("osier", "marl", "2026-06-16T10:00:00Z", events.EncounterSeen{Signal: "bite", Injury: true})
	c.record("saltgarth", "rhona", "company.judged", "2026-06-16T12:00:00Z", &events.CompanyJudged{Animals: []string{"marl", "osier"}, Verdict: "apart", Reason: "decided with the veterinarian"})
	page := c.page("/today", 200)
	wants(t, page, "Marl and Osier live together and are to be kept apart", "Decided Tue 13:00 by rhona: decided with the veterinarian",
		"Report to the veterinarian: an injury in an encounter of Marl and Osier", "seen by rhona")
	if !strings.Contains(page, `href="/colony/saltgarth/long"`) {
		t.Error("nothing leads to the pool's own page")
	}
	c.record("saltgarth", "rhona", "company.judged", "2026-06-17T10:00:00Z", &events.CompanyJudged{Animals: []string{"osier", "marl"}, Verdict: "watched", Reason: "calm since"})
	if strings.Contains(c.page("/today", 200), "are to be kept apart") {
		t.Error("a verdict that was taken back still calls")
	}
}
