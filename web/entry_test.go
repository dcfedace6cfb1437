package web

import (
	"testing"

	"haulout/events"
)

// What is said of houses, stores and diets reads as a sentence would.
func TestWordsOfHouseRulesDietsAndSupplements(t *testing.T) {
	n := names{}
	percent := func(v string) events.Quantity { return events.Quantity{Value: v, Unit: "%"} }
	cases := map[string]events.Body{
		"House rule, thaw hours: 18\u00a0h, the deck is warm": &events.RuleSet{Rule: "thaw_hours", Value: events.Quantity{Value: "18", Unit: "h"}, Reason: "the deck is warm"},
		"Thawed through, lot HER-1, no ice left":              &events.ThawCompleted{Lot: "HER-1", Text: "no ice left"},
		"Diet in October and November: herring 40 to 70\u00a0%, squid at most 25\u00a0%, capelin at least 5\u00a0%, smelt": &events.DietGuided{
			Months: []string{"10", "11"},
			Items:  []events.GuidedItem{{Food: "herring", Least: percent("40"), Most: percent("70")}, {Food: "squid", Most: percent("25")}, {Food: "capelin", Least: percent("5")}, {Food: "smelt"}},
		},
		"Diet all year: herring": &events.DietGuided{Items: []events.GuidedItem{{Food: "herring"}}},
		"Multi, in one tablet: vitamin e 125\u00a0IU, the label": &events.SupplementDescribed{
			Name: "Multi", Per: "{tablet}", Source: "the label", Contents: []events.Content{{What: "vitamin_e", Amount: events.Quantity{Value: "125", Unit: "[iU]"}}},
		},
		"Ration herring 3.00\u00a0kg a day, at 08:45 and 16:15": &events.RationSet{
			Items: []events.RationItem{{Food: "herring", Mass: events.Quantity{Value: "3.00", Unit: "kg"}}}, Times: []string{"08:45", "16:15"},
		},
	}
	for want, body := range cases {
		if got := n.words(events.Event{Facility: "saltgarth", Body: body}); got != want {
			t.Errorf("it reads %q, want %q", got, want)
		}
	}
}
