package web_test

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"haulout/events"
	"haulout/projections"
)

// season gives Marl ninety days of feeds and weigh-ins up to yesterday.
func (c *colony) season(eaten string, mass func(day int) string) {
	first := time.Date(2026, 3, 19, 9, 0, 0, 0, time.UTC)
	for day := range 90 {
		at := first.AddDate(0, 0, day)
		c.feed("marl", at.Format(time.RFC3339), "4.6", eaten)
		if day%3 == 0 {
			c.record("saltgarth", "rhona", "weight.taken", at.Add(time.Hour).Format(time.RFC3339), &events.WeightTaken{Animal: "marl", Mass: kg(mass(day)), Coat: "dry"})
		}
	}
}

func level(int) string { return "88.0" }

func TestAnAnimalsPageSaysHowItsEnergyStands(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.season("3.5", level)
	page := c.page("/animals/marl", 200)
	wants(t, page, "Is Marl eating what it needs?", "Whether it gains or loses cannot be told.", "9 in 10", "What this rests on", "Kleiber",
		"Veterinarian and nutritionist decide", "By 16", "on the ration in force, eaten as in the last two weeks")
	if band := between(t, page, `aria-labelledby="ribbon-desk-t`, "</svg>"); strings.Count(band, `class="band"`) != 1 || strings.Count(band, `class="dot"`) < 30 {
		t.Errorf("the ribbon: %s", band)
	}
	if fan := between(t, page, `aria-labelledby="mass-desk-t`, "</svg>"); !strings.Contains(fan, `class="band fan"`) {
		t.Errorf("no fan: %s", fan)
	}
}

func TestADeficitIsSaidAndAWrongWeightIsSetAside(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.season("2.4", func(day int) string {
		if day == 60 {
			return "68.0"
		}
		return []string{"88.0", "86.5", "85.0", "83.5", "82.0", "80.5", "79.0", "77.5", "76.0", "74.5"}[day/9]
	})
	page := c.page("/animals/marl", 200)
	wants(t, page, "In deficit, by about", "Set aside, newest first", "68.0 kg is", "it was not counted")
}

// What is not known is said to be not known; there is no number and no fan.
func TestEnergyWithoutEnoughData(t *testing.T) {
	c := newColony(t)
	c.settle()
	page := c.page("/animals/marl", 200)
	wants(t, page, "Not enough data.", "No weigh-in; weigh it to see its need.")
	if strings.Contains(page, "ribbon-desk") || strings.Contains(page, "Its own factor") {
		t.Error("a chart or a factor of an animal that was never weighed")
	}
	c.week()
	wants(t, c.page("/animals/marl", 200), "9 in 10", "Not logged: ")
	wants(t, c.page("/animals/marl/ration", 200), "holds its mass")
}

func TestARationIsProposed(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.season("3.5", level)
	page := c.page("/animals/marl/ration?kg=92&by=2026-09-01&times=08:30,15:30", 200)
	wants(t, page, "Ration of Marl", "kg a week", "08:30, g", "15:30, g", "In stock, kg", "Set this ration", projections.Caution, "Herring")
	body := between(t, page, `data-body="`, `"`)
	wants(t, strings.ReplaceAll(body, "&#34;", `"`), `"animal":"marl"`, `"times":["08:30","15:30"]`, `"unit":"g"`)
	c.visitor.Records = false
	if page := c.page("/animals/marl/ration", 200); strings.Contains(page, "Set this ration") {
		t.Error("who may not record is asked to")
	}
}

func TestARationThatCantBeAskedFor(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.season("3.5", level)
	for query, say := range map[string]string{
		"kg=92":                  "needs a day to reach it by",
		"kg=heavy&by=2026-09-01": "write kilograms",
		"kg=92&by=2026-01-01":    "give a later day",
		"kcal=none":              "write a number of kilocalories",
		"times=noon":             "write times as 08:30",
	} {
		v, _ := url.ParseQuery(query)
		wants(t, c.page("/animals/marl/ration?"+v.Encode(), 422), say)
	}
	wants(t, c.page("/animals/osier/ration", 200), "No proposal", "Not enough data.")
	c.page("/animals/nobody/ration", 404)
}

// An animal that refuses everything for over a day goes to the veterinarian, a
// grown male in his fast as well.
func TestARefusalOfAllFoodIsOnToday(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.record("saltgarth", "rhona", "animal.entered", "2026-01-03T09:00:00Z", &events.AnimalEntered{
		Animal: "skerry", Name: "Skerry", Taxon: "Zalophus californianus", Sex: "male", Born: "2014-06-01", How: "birth", Tape: 5,
	})
	c.feed("skerry", "2026-06-15T16:00:00Z", "4.0", "0.5")
	c.feed("skerry", "2026-06-16T09:00:00Z", "4.0", "0")
	c.feed("marl", "2026-06-16T16:00:00Z", "4.0", "1.0")
	c.feed("marl", "2026-06-17T08:00:00Z", "4.0", "0")
	if page := c.page("/today", 200); !strings.Contains(page, "Report to the veterinarian") || strings.Count(page, "Report to the veterinarian") != 1 {
		t.Error("Skerry alone refused for over a day")
	}
	page := c.page("/today", 200)
	call := between(t, page, `<ol class="calls">`, "</ol>")
	wants(t, call, "Skerry", "no food taken for", "1 whole feed refused", "9 CFR 3.105(c)")
	wants(t, c.page("/animals/skerry", 200), "Not enough data.", "intake of males from 4 to 7 years on falls from May to August", "still goes to the veterinarian")
}
