package web_test

import (
	"fmt"
	"strings"
	"testing"

	"haulout/events"
	"haulout/web"
)

func percent(value string) events.Quantity { return events.Quantity{Value: value, Unit: "g"} }

// fishes gives Saltgarth two rations at fixed times, lots to choose from and a
// thaw under way.
func (c *colony) fishes() {
	c.settle()
	at := "2026-06-01T08:00:00Z"
	c.record("saltgarth", "rhona", "food.described", at, &events.FoodDescribed{
		Food: "herring", Name: "Herring", Form: "fish", Source: "invented for this test", Portion: events.Quantity{Value: "120", Unit: "g"},
		Composition: events.Composition{Protein: percent("17.96"), Fat: percent("9.04")},
	})
	c.record("saltgarth", "rhona", "ration.set", at, &events.RationSet{Animal: "marl", Items: []events.RationItem{{Food: "herring", Mass: kg("4.5")}}, Times: []string{"08:30", "15:00"}})
	c.record("saltgarth", "rhona", "lot.received", at, &events.LotReceived{Lot: "H-2", Food: "herring", Mass: kg("12"), UseBy: "2026-06-20", Store: "freezer 2"})
	c.record("saltgarth", "rhona", "lot.received", at, &events.LotReceived{Lot: "H-3", Food: "herring", Mass: kg("7"), UseBy: "2026-06-10"})
	c.record("saltgarth", "rhona", "supplement.described", at, &events.SupplementDescribed{
		Supplement: "b1", Name: "Thiamine", Per: "{tablet}", Source: "label", Contents: []events.Content{{What: "thiamine", Amount: events.Quantity{Value: "25", Unit: "mg"}}},
	})
}

func TestTheFishRoomAnswersInOneSentence(t *testing.T) {
	c := newColony(t)
	c.fishes()
	page := c.page("/fishroom?facility=saltgarth&day=2026-06-18", 200)
	// 10 kg were taken out on Tuesday at 19:00 by Saltgarth's clock, and are past
	// by Thursday. 4.5 kg and 5 % are 4.725 kg, up to 4.8 kg.
	wants(t, page,
		"Fish room, Thursday 18 June 2026", "Thaw 4.8 kg for 1 animal from 1 lot; Herring runs out on",
		"H-2 Herring 4.8 kg 7.2 kg 20 Jun 2026 freezer 2",
		"Lot H-3, 7.0 kg of Herring, is past its last day, 10 Jun 2026",
		"Osier has no bucket: no ration is set.",
		"Marl 2340 × 19 2160 × 18 4.50 113 450",
		"113 mg 113 mg to 149 mg 4.5 × Thiamine (tablet)", "25 mg/kg by Geraci 1972", "100 IU/kg by Mazzaro et al., IAAAM abstract, which calls it accepted advice (to be verified)",
		"9 CFR 3.105(d), from memory (to be verified)", "the veterinarian and the nutritionist decide",
	)
}

func TestTheFishRoomShowsItsClocks(t *testing.T) {
	c := newColony(t)
	c.fishes()
	// 10 kg since Tuesday 18:00 UTC in the fridge: 24 h, until somebody sees it through.
	wants(t, c.page("/fishroom?facility=saltgarth", 200), "H-1 Herring 10.0 of 10.0 kg until 19:00 24 h after it left the freezer",
		"not yet seen thawed through", "Nothing more to take out: the 4.5 kg for 1 animal are thawed or fed")
	c.record("saltgarth", "rhona", "rule.set", "2026-06-02T08:00:00Z", &events.RuleSet{Rule: "thaw_hours", Value: events.Quantity{Value: "14", Unit: "h"}, Reason: "agreed with the veterinarian"})
	wants(t, c.page("/fishroom?facility=saltgarth", 200), "past since 09:00, discard", "the house's own rule",
		"10.0 kg of Herring, lot H-1, is past its thaw clock: discard it and write it down.")
}

func TestTheFishRoomOfADayThatIsOverOrFarAhead(t *testing.T) {
	c := newColony(t)
	c.fishes()
	wants(t, c.page("/fishroom?facility=saltgarth&day=2026-06-10", 200), "This day is over.", "Wednesday 10 June 2026")
	wants(t, c.page("/fishroom?day=tomorrow", 400), "The day can't be read", "write it as 2026-03-01")
	wants(t, c.page("/fishroom?day=2027-06-10", 400), "The day is too far ahead")
	wants(t, c.page("/fishroom?facility=nowhere", 404), "No facility has the code nowhere")
	wants(t, newColony(t).page("/fishroom", 200), "No facility is open yet.")
}

func TestOnlyThoseWhoRecordAreGivenForms(t *testing.T) {
	c := newColony(t)
	c.fishes()
	page := c.page("/fishroom?facility=saltgarth", 200)
	for _, part := range []string{`data-kind="haulout.lot.thawed.v1"`, `data-kind="haulout.lot.received.v1"`, `value="H-1 0198c0de`, `data-zone="Europe/Dublin"`} {
		if !strings.Contains(page, part) {
			t.Errorf("the page lacks %s", part)
		}
	}
	c.visitor = web.Visitor{Name: "Odo", SignedIn: true}
	if page := c.page("/fishroom?facility=saltgarth", 200); strings.Contains(page, "<form class=\"write-form\"") {
		t.Error("a reader is given forms")
	}
	c.visitor.Facilities = []string{"tern-sluice"}
	c.page("/fishroom?facility=saltgarth", 404)
	wants(t, c.page("/fishroom", 200), "No ration holds for 1 animal housed here")
}

// Animals that are fed at many times share columns by the order of their feeds,
// and what does not fit on one sheet goes on the next.
func TestBucketsOfManyFoodsAndFeeds(t *testing.T) {
	c := newColony(t)
	c.settle()
	var items []events.RationItem
	for i := range 4 {
		food := fmt.Sprintf("food-%d", i)
		c.record("saltgarth", "rhona", "food.described", "2026-06-01T08:00:00Z", &events.FoodDescribed{Food: food, Name: fmt.Sprintf("Food%d, whole", i), Source: "none"})
		items = append(items, events.RationItem{Food: food, Mass: kg("0.93")})
	}
	set := func(animal string, times ...string) {
		c.record("saltgarth", "rhona", "ration.set", "2026-06-01T08:00:00Z", &events.RationSet{Animal: animal, Items: items, Times: times})
	}
	set("marl", "08:00", "12:00", "16:00")
	set("osier", "09:00", "15:00")
	page := c.page("/fishroom?facility=saltgarth", 200)
	wants(t, page, "Feed 1 Feed 2 Feed 3", "at Food0 Food1 Food2 Food3 at Food0",
		"Marl 08:00 310 310 310 310 12:00 310 310 310 310 16:00 310 310 310 310 3.72", "Osier 09:00 470 470 470 470 15:00 460 460 460 460 3.72")
	if n := strings.Count(page, `class="sheet wide"`); n != 1 || strings.Contains(page, "sheet 1 of") {
		t.Errorf("%d sheets lie on their side", n)
	}
	set("marl", "08:00", "10:00", "12:00", "14:00")
	page = c.page("/fishroom?facility=saltgarth", 200)
	wants(t, page, "Saltgarth, sheet 1 of 2", "Saltgarth, sheet 2 of 2", "Marl 08:00 240 240 240 240 10:00 230 230 230 230 12:00 230 230 230 230 3.72", "Feed 4 at Food0 Food1 Food2 Food3 Marl 14:00 230 230 230 230 All, kg")
}
