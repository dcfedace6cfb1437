package web_test

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"haulout/events"
)

func (c *colony) water(at, sample, repeat string, readings ...events.WaterReading) string {
	c.t.Helper()
	return c.record("saltgarth", "rhona", "water.tested", at, &events.WaterTested{Enclosure: "long", Sample: sample, Repeat: repeat, Readings: readings})
}

func counted(value, bound string) events.WaterReading {
	return events.WaterReading{What: "total_coliform", Value: events.Quantity{Value: value, Unit: "{MPN}/dL"}, Bound: bound}
}

func acid(value string) events.WaterReading {
	return events.WaterReading{What: "ph", Value: events.Quantity{Value: value, Unit: "[pH]"}}
}

type waterOnSheet struct {
	Waters []struct {
		ID, Name string
		Readings []struct {
			What, Time string
			Value      events.Quantity
			Bound      string
		}
		Samples []struct{ Sample, Due, Says string }
		Recent  []struct{ Text string }
	}
	Quantities []struct {
		What   string
		Units  []string
		Limits []struct {
			Side, Words, Only string
			Value             float64
		}
	}
}

// Every enclosure comes with the sheet, with the last reading of each quantity
// and the samples that wait for a repeat: not those that pass, and not those
// whose repeats are taken.
func TestTheSheetTellsTheWaterOfEveryEnclosure(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.record("saltgarth", "rhona", "enclosure.described", "2026-01-01T08:01:00Z", &events.EnclosureDescribed{Enclosure: "pen", Name: "Quiet Pen"})
	c.record("saltgarth", "rhona", "rule.set", "2026-02-01T08:00:00Z", &events.RuleSet{Rule: "ph_least", Value: events.Quantity{Value: "7.2", Unit: "[pH]"}, Reason: "decided by the veterinarian"})
	c.water("2026-05-28T08:00:00Z", "W-0", "", counted("1200", "")) // settled by the next series, which passes
	c.water("2026-06-05T08:00:00Z", "W-1", "", counted("1500", "")) // repeated twice
	c.water("2026-06-07T08:00:00Z", "W-2", "W-1", counted("400", ""))
	c.water("2026-06-09T08:00:00Z", "W-3", "W-1", counted("1", "below"))
	wrong := c.water("2026-06-16T07:00:00Z", "", "", acid("77"))
	c.water("2026-06-16T08:00:00Z", "W-4", "", counted("0", "above"), acid("7.8")) // too many to count
	c.water("2026-06-17T08:00:00Z", "", "", events.WaterReading{What: "temperature", Value: events.Quantity{Value: "-1.5", Unit: "Cel"}})
	gone := c.water("2026-06-17T09:00:00Z", "", "", acid("5.1"))
	right, _ := json.Marshal(&events.WaterTested{Enclosure: "long", Readings: []events.WaterReading{acid("7.7")}})
	c.record("saltgarth", "rhona", "entry.corrected", "2026-06-16T09:00:00Z", &events.EntryCorrected{Entry: wrong, Data: right, Reason: "slip of the hand"})
	c.record("saltgarth", "rhona", "entry.withdrawn", "2026-06-17T10:00:00Z", &events.EntryWithdrawn{Entry: gone, Reason: "wrong pool"})
	var got waterOnSheet
	c.sheetOf(&got)
	if len(got.Waters) != 2 || got.Waters[0].ID != "long" || got.Waters[1].Name != "Quiet Pen" {
		t.Fatalf("the sheet has the water of %+v, want every enclosure", got.Waters)
	}
	long := got.Waters[0]
	last := map[string]string{}
	for _, r := range long.Readings {
		last[r.What] = r.Bound + r.Value.Value + " at " + r.Time
	}
	want := map[string]string{"temperature": "-1.5 at 2026-06-17T08:00:00Z", "ph": "7.8 at 2026-06-16T08:00:00Z", "total_coliform": "above0 at 2026-06-16T08:00:00Z"}
	if diff := cmp.Diff(want, last); diff != "" {
		t.Errorf("the last readings: %s", diff)
	}
	if s := long.Samples; len(s) != 1 || s[0].Sample != "W-4" || s[0].Due != "2026-06-18T08:00:00Z" || s[0].Says != "total coliform too many to count" {
		t.Errorf("the samples to repeat are %+v", s)
	}
	if says := long.Recent[2].Text; says != "Water of Long Pool: total coliform too many to count, pH\u00a07.8, sample W-4" {
		t.Errorf("the test of W-4 is told as %q", says)
	}
}

// Limits are the law's and the house's own, with whose they are.
func TestTheSheetTellsTheLimitsOfWater(t *testing.T) {
	c := newColony(t)
	c.settle()
	set := func(rule, value, unit string) {
		c.record("saltgarth", "rhona", "rule.set", "2026-02-01T08:00:00Z", &events.RuleSet{Rule: rule, Value: events.Quantity{Value: value, Unit: unit}, Reason: "decided by the veterinarian"})
	}
	set("ph_least", "7.2", "[pH]")
	set("coliform_most", "500", "{MPN}/dL") // stricter than the law
	set("salinity_most", "60", "[ppth]")    // looser: does not count
	var got waterOnSheet
	c.sheetOf(&got)
	type limit struct {
		Side  string
		Value float64
		Words string
	}
	limits := map[string][]limit{}
	for _, q := range got.Quantities {
		if len(q.Units) == 0 {
			t.Errorf("%s has no unit", q.What)
		}
		for _, l := range q.Limits {
			limits[q.What] = append(limits[q.What], limit{l.Side, l.Value, l.Words})
		}
	}
	want := map[string][]limit{
		"ph":             {{"least", 7.2, "by the house’s own rule"}},
		"total_coliform": {{"most", 500, "by the house’s own rule"}},
		"salinity":       {{"least", 15, "by 9 CFR 3.106(c) (to be verified)"}, {"most", 36, "by 9 CFR 3.106(c) (to be verified)"}},
	}
	if diff := cmp.Diff(want, limits); diff != "" || len(got.Quantities) != 12 {
		t.Errorf("%d quantities, their limits: %s", len(got.Quantities), diff)
	}
}
