package web_test

import (
	"encoding/json"
	"fmt"
	"html"
	"strings"
	"testing"
	"time"

	"haulout/events"
	"haulout/web"
)

// tested records one reading of an enclosure of Saltgarth, as it is written.
func (c *colony) tested(enclosure, at, what, result, unit string, more events.WaterTested) {
	c.t.Helper()
	r := events.WaterReading{What: what, Value: events.Quantity{Value: strings.TrimLeft(result, "<>"), Unit: unit}}
	switch {
	case result == "TNTC":
		r.Bound, r.Value.Value = "above", "0"
	case result[0] == '<':
		r.Bound = "below"
	case result[0] == '>':
		r.Bound = "above"
	}
	more.Enclosure, more.Readings = enclosure, []events.WaterReading{r}
	c.record("saltgarth", "rhona", "water.tested", at, &more)
}

func (c *colony) counted(enclosure, at, result, sample, repeats string) {
	c.t.Helper()
	c.tested(enclosure, at, "total_coliform", result, "{MPN}/dL", events.WaterTested{Sample: sample, Repeat: repeats})
}

// measured describes an enclosure of Saltgarth with all that rules ask for.
func (c *colony) measured(id, name, dry string, added ...string) {
	size := func(value, unit string) events.Quantity { return events.Quantity{Value: value, Unit: unit} }
	c.record("saltgarth", "rhona", "enclosure.described", "2026-01-01T09:00:00Z", &events.EnclosureDescribed{
		Enclosure: id, Name: name, Salt: "sea", Added: added, WaterArea: size("90", "m2"), WaterDepth: size("2", "m"), Width: size("6", "m"), DryArea: size(dry, "m2"),
	})
}

// pools is Saltgarth with three pools: Cove fails by the mean of its counts, Long
// Pool does well, and nobody lives in Stack Pool.
func (c *colony) pools() {
	c.settle()
	c.measured("long", "Long Pool", "30", "none")
	c.measured("cove", "Cove", "4", "none")
	c.measured("stack", "Stack Pool", "30", "none")
	c.record("saltgarth", "rhona", "animal.placed", "2026-03-01T09:00:00Z", &events.AnimalPlaced{Animal: "osier", Enclosure: "cove"})
	c.record("saltgarth", "rhona", "rule.set", "2026-03-01T09:00:00Z", &events.RuleSet{Rule: "ph_most", Value: events.Quantity{Value: "8.2", Unit: "[pH]"}, Reason: "agreed with the veterinarian"})
	for week := range 8 {
		at := time.Date(2026, 4, 23+7*week, 8, 0, 0, 0, time.UTC)
		c.counted("long", at.Format(time.RFC3339), []string{"<1", "30", "210", "12"}[week%4], fmt.Sprintf("L-%d", week), "")
		c.tested("long", at.Add(time.Hour).Format(time.RFC3339), "ph", []string{"7.9", "8.0", "8.4", "7.8"}[week%4], "[pH]", events.WaterTested{})
	}
	c.counted("cove", "2026-06-10T08:00:00Z", "1600", "C-1", "")
	c.counted("cove", "2026-06-12T08:00:00Z", "900", "C-2", "C-1")
	c.counted("cove", "2026-06-14T08:00:00Z", "700", "C-3", "C-1")
}

const (
	longWater = "/water/saltgarth/long"
	coveWater = "/water/saltgarth/cove"
)

func TestTheEnclosureThatFailsStandsFirst(t *testing.T) {
	c := newColony(t)
	c.pools()
	page := c.page("/water", 200)
	wants(t, page, "3 enclosures: 1 failing, 2 with nothing to do.", "Fails Cove, Saltgarth . Coliforms by the mean of their samples. Cove has less space than the rule asks for those who live there.",
		"Long Pool Saltgarth, 1 animal Passes", "Stack Pool Saltgarth, empty", "not tested", "nobody lives here", "Too small", "Local law and permits come first")
	if rows := between(t, page, "<tbody>", "</tbody>"); strings.Index(rows, "Cove") > strings.Index(rows, "Long Pool") || strings.Index(rows, "Long Pool") > strings.Index(rows, "Stack Pool") {
		t.Errorf("the order of the rows: %s", rows)
	}
	today := c.page("/today", 200)
	wants(t, today, "Coliforms fail: the water is unsatisfactory", "Less space than the rule asks for those who live here", "9 CFR 3.106(b)(1), from memory (to be verified)")
	if !strings.Contains(today, `href="/water/saltgarth/cove"`) {
		t.Error("nothing leads from Today to the water of Cove")
	}
}

// 1,600, 900 and 700 average 1,066.67: 9 CFR 3.106(b)(1), from memory.
func TestTheWaterOfAnEnclosureThatFails(t *testing.T) {
	c := newColony(t)
	c.pools()
	page := c.page(coveWater, 200)
	wants(t, page, "Water of Cove", "Cove of Saltgarth: natural sea water, nothing added.", "Fails Coliforms by the mean of their samples.",
		"10 June 2026, sample C-1: 1600, 900, 700. The mean of 3 samples, 1066.67 MPN in 100 mL, is not below 1000", "10 June 2026 C-1 1600, 900, 700 mean 1066.67 Fails",
		"Coliforms, MPN in 100 mL", "at most 1000, law", "Natural sea water is free of tests of pH", "Too small Cove has less space", "Dry area 6.125 m² 4 m²", "outside a limit by itself")
	chart := between(t, page, `aria-labelledby="water-total-coliform-desk-t`, "</svg>")
	if strings.Count(chart, `class="off"`) != 1 || strings.Count(chart, `class="dot"`) != 2 || strings.Count(chart, `class="limit"`) != 1 {
		t.Errorf("the chart of counts: %s", chart)
	}
}

func TestTheWaterOfAnEnclosureThatDoesWell(t *testing.T) {
	c := newColony(t)
	c.pools()
	page := c.page(longWater, 200)
	wants(t, page, "All that was measured keeps to its limits.", "Coliforms Thu 09:00, rhona 12 MPN in 100 mL", "pH Thu 10:00, rhona 7.8", "keeps to at most 8.2, the house's own rule", "Coliforms last tested Thu 11 June 2026 Thu 18 June 2026",
		"8 results from 7.8 to 8.4, 2 outside its limit by itself.", "at most 8.2, house", "a bound such as <1", "Numbers behind these charts", "8.4 outside", "Of coliforms, 8 counts in these days; all passed alone.", "The scale starts at 7.", "Enough Long Pool has the space that the rule asks for those who live there.")
	counts := between(t, page, `aria-labelledby="water-total-coliform-desk-t`, "</svg>")
	if strings.Count(counts, `class="bounds"`) != 2 || strings.Count(counts, `class="open"`) != 2 || !strings.Contains(counts, "8 results from 12 to 210, 2 of them bounds; at most 1000; 0 outside by themselves.") {
		t.Errorf("the chart of counts: %s", counts)
	}
	if ph := between(t, page, `aria-labelledby="water-ph-desk-t`, "</svg>"); strings.Count(ph, `class="off"`) != 2 {
		t.Errorf("the chart of pH: %s", ph)
	}
	then := c.page(longWater+"?from=2026-05-01&to=2026-05-10&as_of=2026-05-12", 200)
	wants(t, then, "This is what was believed at the end of Tue 12 May 2026.", "1 May to 10 May 2026", "8.4 outside")
	if strings.Contains(then, `class="ask write-form`) {
		t.Error("something can be recorded in the past")
	}
}

func TestAnOpenCountSaysWhenItsSamplesAreDue(t *testing.T) {
	c := newColony(t)
	c.pools()
	c.counted("long", "2026-06-17T08:00:00Z", "1400", "L-8", "")
	page := c.page(longWater, 200)
	wants(t, page, "Exceeds A count of coliforms is over the limit, and its repeats are not in.", "Samples due: Fri 19 June 09:00 ; Sun 21 June 09:00 . Name the first sample with each.", "Coliforms, repeat", "L-8, 1400")
	wants(t, c.page("/water", 200), "1 over a limit with repeats to come", "1400 09:00")
	wants(t, c.page("/today", 200), "Coliforms over the limit: the next sample is due Fri 19 June 09:00")
	c.counted("stack", "2026-06-17T08:00:00Z", "TNTC", "S-1", "")
	stack := c.page("/water/saltgarth/stack", 200)
	wants(t, stack, "TNTC MPN in 100 mL", "too many to count can't say", "no animal lives there")
	if chart := between(t, stack, `aria-labelledby="water-total-coliform-phone-t`, "</svg>"); strings.Count(chart, `class="bounds"`) != 1 {
		t.Errorf("the chart: %s", chart)
	}
}

func TestWhetherANewcomerFits(t *testing.T) {
	c := newColony(t)
	c.pools()
	if page := c.page(longWater, 200); !strings.Contains(page, `name="with" value="osier"`) || strings.Contains(page, `value="marl"`) {
		t.Error("who lives elsewhere is not offered, or who lives here is")
	}
	page := c.page(longWater+"?with=osier", 200)
	wants(t, page, "Long Pool has the space that the rule asks for those who live there and the newcomers.", "Marl and Osier (newcomer)")
	wants(t, c.page(longWater+"?with=gorse", 400), "Give with the id of an animal in care at Saltgarth")
}

// What a keeper writes into the form is a fact that the server takes.
func TestTheFormOfWaterMakesAFact(t *testing.T) {
	c := newColony(t)
	c.pools()
	page := c.page(longWater, 200)
	form := between(t, page, `<form class="ask write-form"`, "</form>")
	var body map[string]any
	if err := json.Unmarshal([]byte(html.UnescapeString(between(t, form, `data-body="`, `"`))), &body); err != nil {
		t.Fatal(err)
	}
	var readings []map[string]any
	for part := range strings.SplitSeq(form, `data-reading="`) {
		what, rest, found := strings.Cut(part, `" data-unit="`)
		unit, _, _ := strings.Cut(rest, `"`)
		if found && !strings.Contains(what, "<") {
			readings = append(readings, map[string]any{"what": what, "value": map[string]string{"value": "1", "unit": unit}})
		}
	}
	body["readings"] = readings
	raw, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	draft := events.Draft{ID: "0198c0de-0000-7000-8000-00000000ffff", Type: between(t, form, `data-kind="`, `"`), Time: "2026-06-17T12:00:00Z", Facility: "saltgarth", Data: raw}
	if _, err := draft.Fact(); err != nil || len(readings) != 12 || body["enclosure"] != "long" {
		t.Errorf("%d readings, %s: %v", len(readings), raw, err)
	}
	c.visitor.Records = false
	if page := c.page(longWater, 200); strings.Contains(page, `class="ask write-form`) {
		t.Error("who may not record is asked to")
	}
}

func TestWaterThatCantBeShown(t *testing.T) {
	c := newColony(t)
	wants(t, c.page("/water", 200), "No enclosure is described yet.")
	c.settle()
	wants(t, c.page(longWater, 200), "Not enough is known: no test of its water in the last 35 days is on record.", "Nothing was measured in these days.", "Overdue", "never tested", "whether anything is added is not on record")
	for query, say := range map[string]string{"from=x": "from", "to=2026-02-30": "to", "to=2027-01-01": "Give to a day up to 2026-06-17", "from=2026-06-02&to=2026-06-01": "Give from a day up to 2026-06-01", "as_of=2027-01-01": "as_of", "with=nobody": "with"} {
		wants(t, c.page(longWater+"?"+query, 400), say)
	}
	wants(t, c.page("/water/saltgarth/moon", 404), "No enclosure has the id moon")
	c.visitor = web.Visitor{Name: "Odo", SignedIn: true, Facilities: []string{"tern-sluice"}}
	wants(t, c.page(longWater, 404), "No facility has the code saltgarth")
	if page := c.page("/water", 200); strings.Contains(page, "Long Pool") {
		t.Error("a visitor sees another facility's water")
	}
}

func TestNamesOfPoolsAreText(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.measured("odd", `<b id="x">Cove & "gate"`, "30")
	c.record("saltgarth", "rhona", "water.tested", "2026-06-17T08:00:00Z", &events.WaterTested{
		Enclosure: "odd", Sample: "X-1", Method: "<i>", Readings: []events.WaterReading{{What: "salinity", Value: events.Quantity{Value: "3.3", Unit: "%"}}},
	})
	wants(t, c.page("/water", 200), `<b id="x">Cove & "gate"`, "3.3 %")
	wants(t, c.page("/water/saltgarth/odd", 200), `Water of <b id="x">Cove & "gate"`, "3.3 %")
}
