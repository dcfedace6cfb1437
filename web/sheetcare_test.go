package web_test

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"haulout/events"
)

// sheetOf reads what the Deck's sheet says, as far as out asks.
func (c *colony) sheetOf(out any) {
	c.t.Helper()
	if err := json.Unmarshal([]byte(c.get("/deck/sheet.json", 200)), out); err != nil {
		c.t.Fatal(err)
	}
}

func (c *colony) dose(order, at, taken string) {
	c.t.Helper()
	c.record("saltgarth", "rhona", "medication.given", at, &events.MedicationGiven{
		Animal: "marl", Medication: "eye drops", Dose: events.Quantity{Value: "0.2", Unit: "mL"}, Route: "eye", Order: order, Taken: taken,
	})
}

func (c *colony) order(id, at, until string, daily int) {
	c.t.Helper()
	c.record("saltgarth", "vetch", "order.given", at, &events.OrderGiven{
		Order: id, Animal: "marl", Veterinarian: "A. Vetch", Medication: "eye drops", Dose: events.Quantity{Value: "0.2", Unit: "mL"}, Route: "eye", Daily: daily, Until: until,
	})
}

type careOnSheet struct {
	Animals []struct {
		ID       string
		Findings []struct {
			Check, Since, By, Region, Word string
			Urgent                         bool
		}
		Orders  []map[string]any
		Checked *struct{ Time, By string }
		Recent  []struct{ Text string }
	}
}

// caredFor gives Marl findings, orders and doses, and the id of the first check.
func (c *colony) caredFor() (first string) {
	c.t.Helper()
	first = c.record("saltgarth", "rhona", "check.made", "2026-06-01T07:00:00Z", &events.CheckMade{Animal: "marl", Findings: []events.Finding{
		{Region: "eyes", Word: "watery"}, {Region: "eyes", Word: "half shut", Urgent: true}, {Region: "skin", Word: "scratch"},
	}})
	c.record("saltgarth", "odo", "check.made", "2026-06-16T07:00:00Z", &events.CheckMade{Animal: "marl"})
	c.record("saltgarth", "odo", "finding.closed", "2026-06-16T15:00:00Z", &events.FindingClosed{Animal: "marl", Check: first, Region: "skin", Outcome: "healed"})
	c.order("o-1", "2026-06-16T08:00:00Z", "2026-06-20T20:00:00Z", 2)
	c.order("o-2", "2026-06-10T08:00:00Z", "2026-06-16T20:00:00Z", 1) // is over
	c.order("o-3", "2026-06-17T08:00:00Z", "", 0)                     // once, given today
	c.order("o-4", "2026-06-15T08:00:00Z", "", 0)                     // once, given yesterday: nothing is due of it
	c.dose("o-1", "2026-06-16T15:00:00Z", "all")
	c.dose("o-1", "2026-06-17T08:30:00Z", "all")
	c.dose("o-1", "2026-06-17T09:00:00Z", "none")
	c.dose("o-3", "2026-06-17T09:10:00Z", "part")
	c.dose("o-4", "2026-06-16T09:10:00Z", "all")
	return first
}

// What stands open, what is ordered and when somebody looked come with the
// sheet, so that a phone with no line can go on from there.
func TestTheSheetTellsTheCareOfAnAnimal(t *testing.T) {
	c := newColony(t)
	c.settle()
	first := c.caredFor()
	var got careOnSheet
	c.sheetOf(&got)
	marl := got.Animals[0]
	if marl.ID != "marl" || len(marl.Findings) != 1 {
		t.Fatalf("%s has the open findings %v, want the eyes alone", marl.ID, marl.Findings)
	}
	if f := marl.Findings[0]; f.Check != first || f.Region != "eyes" || f.Word != "half shut; watery" || !f.Urgent || f.By != "rhona" || f.Since != "2026-06-01T07:00:00Z" {
		t.Errorf("the finding is %+v", f)
	}
	if marl.Checked == nil || marl.Checked.By != "odo" || marl.Checked.Time != "2026-06-16T07:00:00Z" {
		t.Errorf("the last check is %+v", marl.Checked)
	}
	counts := map[string]any{}
	for _, o := range marl.Orders {
		counts[o["order"].(string)] = []any{o["given"], o["last"]}
	}
	want := map[string]any{"o-1": []any{1.0, "2026-06-17T08:30:00Z"}, "o-3": []any{1.0, "2026-06-17T09:10:00Z"}}
	if diff := cmp.Diff(want, counts); diff != "" {
		t.Errorf("the orders that hold, what is given of them and when last: %s", diff)
	}
	var texts []string
	for _, r := range marl.Recent {
		texts = append(texts, r.Text)
	}
	wantTexts := []string{
		"Medication eye drops, 0.2\u00a0mL, part taken", "Medication eye drops, 0.2\u00a0mL, not taken", "Medication eye drops, 0.2\u00a0mL, all taken",
		"Medication eye drops, 0.2\u00a0mL, all taken", "Closed, skin: healed",
	}
	if diff := cmp.Diff(wantTexts, texts); diff != "" {
		t.Errorf("the last entries: %s", diff)
	}
}
