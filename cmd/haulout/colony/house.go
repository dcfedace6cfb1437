package colony

import (
	"time"

	"haulout/events"
)

// What the houses changed for themselves, and what they did not.
const (
	houseThawHours  = 18 // at Saltgarth, from the freezer to the animal; the law has 24
	houseLeanMonths = 9  // at Wrackline Bay, for lean fish
	fattyMonths     = 6  // what is usual for fatty fish; no house changed it
	monthsChanged   = 200
)

// setRules states on the first day what a house has always done.
func (d *day) setRules() {
	if d.code == d.c.plan.ThawOver.Facility {
		d.jot(d.office(), d.about(7.05, 2), "rule.set", events.RuleSet{
			Rule: "thaw_hours", Value: whole(houseThawHours, "h"),
			Reason: "the kitchen gets the sun from noon on; agreed with the veterinarian, stricter than the law",
		})
	}
}

// setWaterRules states within what bounds a house keeps its water. The figures
// are invented.
func (d *day) setWaterRules() {
	set := func(rule string, value events.Quantity) {
		at := d.wetAbout(7.08, 1)
		d.jotThrown(d.wet, d.office(), at, at, "rule.set", events.RuleSet{Rule: rule, Value: value, Reason: "agreed with the veterinarian; the law gives no figure"})
	}
	switch d.code {
	case "saltgarth":
		set("ph_least", events.Quantity{Value: "7.4", Unit: "[pH]"})
		set("ph_most", events.Quantity{Value: "8.4", Unit: "[pH]"})
	case "tern-sluice":
		set("ozone_most", events.Quantity{Value: "0.1", Unit: "mg/L"})
	}
}

// changeRules sets anew what a house has learnt.
func (d *day) changeRules() {
	if d.n == monthsChanged && d.code == d.c.plan.PastLimit.Facility {
		d.jot(d.office(), d.about(16.4, 5), "rule.set", events.RuleSet{
			Rule: "lean_months", Value: whole(houseLeanMonths, "mo"),
			Reason: "smelt of ten months smelt rancid and was left; the lead keeper and the veterinarian shortened the storage",
		})
	}
}

// guide bounds the shares of the foods of a facility in half a year.
type guide struct {
	months []string
	reason string
	items  []events.GuidedItem
}

func item(food string, least, most float64) events.GuidedItem {
	return events.GuidedItem{Food: food, Least: whole(least, "%"), Most: whole(most, "%")}
}

var (
	winterMonths = []string{"10", "11", "12", "01", "02", "03"}
	summerMonths = []string{"04", "05", "06", "07", "08", "09"}
)

const (
	agreedWinter = "fatty fish through the cold months; agreed by lead keeper, nutritionist and veterinarian"
	agreedSummer = "leaner and wetter, more squid, in the warm months; agreed by lead keeper, nutritionist and veterinarian"
)

// guides are those of the two facilities that have a nutritionist come. The
// shares are invented.
var guides = map[string][]guide{
	"saltgarth": {
		{winterMonths, agreedWinter, []events.GuidedItem{item("herring-atlantic", 40, 70), item("mackerel-atlantic", 10, 35), item("squid-mixed", 0, 25), item("smelt-rainbow", 5, 25)}},
		{summerMonths, agreedSummer, []events.GuidedItem{item("herring-atlantic", 25, 55), item("mackerel-atlantic", 10, 35), item("squid-mixed", 10, 40), item("smelt-rainbow", 5, 25)}},
	},
	"wrackline-bay": {
		{winterMonths, agreedWinter, []events.GuidedItem{item("herring-atlantic", 40, 70), item("capelin", 0, 20), item("squid-mixed", 0, 20), item("pollock-alaska", 0, 25), item("smelt-rainbow", 10, 30)}},
		{summerMonths, agreedSummer, []events.GuidedItem{item("herring-atlantic", 30, 60), item("capelin", 0, 20), item("squid-mixed", 5, 30), item("pollock-alaska", 0, 25), item("smelt-rainbow", 10, 30)}},
	},
}

// guided are the animals for whom it was agreed.
var guided = map[string]bool{"demo-quillon": true, "demo-sorrel": true, "demo-thrift": true, "demo-sedge": true, "demo-burnet": true, "demo-plover": true}

// guideDiets notes on the first morning what was agreed, before rations are set.
func (d *day) guideDiets() {
	if d.n > 0 {
		return
	}
	for _, a := range d.animals {
		if !guided[a.id] {
			continue
		}
		for i, g := range guides[d.code] {
			d.jot(d.office(), d.at(7.1).Add(time.Duration(i)*time.Minute), "diet.guided", events.DietGuided{
				Animal: a.id, Items: g.items, Months: g.months, Reason: g.reason,
			})
		}
	}
}
