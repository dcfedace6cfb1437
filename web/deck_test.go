package web_test

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"haulout/events"
)

// What was seen of an enclosure's company comes with the sheet, so that it can
// be put right beside the pool by whoever reads it there.
func TestTheSheetTellsTheCompanyOfAnEnclosure(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.record("saltgarth", "rhona", "watch.held", "2026-06-17T10:00:00Z", &events.WatchHeld{
		Watch: "w1", Enclosure: "long", Until: "2026-06-17T10:32:00Z", Method: "all_occurrences", Observer: "rhona",
		Animals: []string{"marl", "osier"}, Counts: []events.Tally{{Signal: "threat", Count: 3}, {Signal: "vocal", Count: 1}},
	})
	c.record("saltgarth", "rhona", "encounter.seen", "2026-06-17T10:05:00Z", &events.EncounterSeen{
		Winner: "marl", Loser: "osier", Signal: "bite", Place: "food", Cause: "coalition", Enclosure: "long", Watch: "w1", Injury: true,
	})
	c.record("saltgarth", "rhona", "encounter.seen", "2026-06-17T10:06:00Z", &events.EncounterSeen{Winner: "marl", Loser: "osier", Draw: true, Signal: "vocal", Enclosure: "long"})
	c.record("saltgarth", "rhona", "company.scanned", "2026-06-17T10:10:00Z", &events.CompanyScanned{
		Enclosure: "long", Groups: []events.Group{{Animals: []string{"marl", "osier"}}}, Rule: "within one body length",
	})
	c.record("saltgarth", "rhona", "company.scanned", "2026-06-17T10:20:00Z", &events.CompanyScanned{
		Enclosure: "long", Groups: []events.Group{{Animals: []string{"marl"}}, {Animals: []string{"osier"}}},
	})
	var sheet struct {
		Enclosures []struct {
			ID     string
			Recent []struct{ Text string }
		}
	}
	if err := json.Unmarshal([]byte(c.get("/deck/sheet.json", 200)), &sheet); err != nil {
		t.Fatal(err)
	}
	if len(sheet.Enclosures) != 1 || sheet.Enclosures[0].ID != "long" {
		t.Fatalf("the sheet has the enclosures %v, want the one where animals live", sheet.Enclosures)
	}
	var got []string
	for _, r := range sheet.Enclosures[0].Recent {
		got = append(got, r.Text)
	}
	want := []string{
		"Scan of Long Pool, 2 alone",
		"Scan of Long Pool, a group of 2",
		"Marl and Osier met, neither yielded, call",
		"Osier yielded to Marl over food, bite, a third animal in it, injury (tell the veterinarian)",
		"Watch of Long Pool, 32\u00a0min, 3\u00a0threat, 1\u00a0call",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("what is told of the Long Pool: %s", diff)
	}
}
