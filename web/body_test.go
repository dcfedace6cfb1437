package web_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"haulout/events"
)

// weigh records a weight on the deck scale, in a dry coat.
func (c *colony) weigh(animal string, at time.Time, mass float64) {
	c.record("saltgarth", "rhona", "weight.taken", at.Format(time.RFC3339), &events.WeightTaken{Animal: animal, Mass: kg(fmt.Sprintf("%.1f", mass)), Scale: "deck", Coat: "dry", Method: "voluntary"})
}

// molts records a molt of ten weeks with a score a week, from eight weeks before.
func (c *colony) molts(animal string, onset time.Time, upTo int) {
	for week := -8; week <= upTo; week++ {
		at := onset.AddDate(0, 0, 7*week)
		share := events.Quantity{Value: fmt.Sprint(min(max(10*week, 0), 100)), Unit: "%"}
		c.record("saltgarth", "rhona", "coat.scored", at.Format(time.RFC3339), &events.CoatScored{Animal: animal, NewCoat: share})
	}
}

func TestAnAnimalsPageSaysWhereItsMassIsHeading(t *testing.T) {
	c := newColony(t)
	c.settle()
	for day := 2 * 410; day > 0; day -= 6 {
		at := noon.AddDate(0, 0, -day)
		c.weigh("marl", at, 100+8*math.Cos(2*math.Pi*float64(at.YearDay()-30)/365)+0.3*float64(day%5-2))
	}
	page := c.page("/animals/marl", 200)
	wants(t, page, "the median of the 7 days before and", "Over the last 90 days it lost about", "In a year heaviest about", "January (", "16.0 kg lighter half a year on",
		"days with a weight of the last weeks against trend and season of the years before: nothing that chance does not bring.",
		"7 days", "−5 %", "Published:", "it shows what some weighed, and is no norm", "No curve of growth:", "to be verified")
	desk := between(t, page, `aria-labelledby="course-desk-t`, "</svg>")
	for _, part := range []string{`class="band" d="M`, `class="middle" d="M`, `class="going" d="M`, "9\u00a0in\u00a010"} {
		if !strings.Contains(desk, part) {
			t.Errorf("the chart lacks %s", part)
		}
	}
	if dots := strings.Count(desk, `class="dot"`); dots < 115 || dots > 125 {
		t.Errorf("%d weights of two years are drawn", dots)
	}
	if table := between(t, page, `<details class="data" id="course-numbers"`, "</details>"); strings.Count(table, "<tr>") < 20 {
		t.Errorf("the months behind the chart: %s", table)
	}
	then := c.page("/animals/marl?as_of=2026-05-01", 200)
	if strings.Contains(between(t, then, `aria-labelledby="mass"`, "</section>"), "June 2026") {
		t.Error("the mass of May knows of June")
	}
}

// A grown herd gives a curve, and a scale that steps stands above it all.
func TestAScaleThatStepsIsNamedOnTheAnimalsPage(t *testing.T) {
	c := newColony(t)
	c.settle()
	for n, id := range []string{"marl", "osier", "thrift", "teasel", "madder"} {
		if n > 1 {
			c.enter(id, "Sea lion "+id, 1, fmt.Sprint(2012+2*n), "2026-01-02T09:00:00Z")
		}
		for day := 150 - n; day > 0; day -= 3 {
			mass := 80 + 7*float64(n) + 0.2*float64(day*7%5-2)
			if day <= 24 {
				mass *= 0.91
			}
			c.weigh(id, noon.AddDate(0, 0, -day), mass)
		}
	}
	page := c.page("/animals/marl", 200)
	wants(t, page, "Scale deck reads about", "% less since 2", "for all animals weighed on it", "Put a known mass on it.", "by 5 animals and", "a scale that steps explains")
	if !strings.Contains(between(t, page, `aria-labelledby="course-desk-t`, "</svg>"), "scale deck steps") {
		t.Error("the chart does not mark the step")
	}
	wants(t, c.page("/today?facility=saltgarth", 200), "Reads about 9.0 % less for all animals weighed on it")
	if strings.Contains(c.page("/today?facility=saltgarth", 200), "under the median") {
		t.Error("an animal is said to have lost what the scale lost")
	}
}

func TestACoatRingShowsEachMoltAndTheNext(t *testing.T) {
	c := newColony(t)
	c.settle()
	for year := 2023; year <= 2025; year++ {
		c.molts("marl", time.Date(year, 8, 4+year%3, 8, 0, 0, 0, time.UTC), 14)
	}
	c.record("saltgarth", "rhona", "coat.scored", "2026-06-10T08:00:00Z", &events.CoatScored{Animal: "marl", Stage: "0"})
	page := c.page("/animals/marl", 200)
	wants(t, page, "As expected. Not begun; expected 9 in 10 between", "The next molt is expected to begin", "from 3 molts on record", "Said of all kinds alike: females molt from August", "common practice, no source",
		"2025 5 to 11 Aug 7 to 13 Oct 56 to 70 23", "human care, California", "page of a training college")
	desk := between(t, page, `aria-labelledby="ring-desk-t`, "</svg>")
	if molts, edges := strings.Count(desk, `class="molt"`), strings.Count(desk, `class="edge"`); molts != 3 || edges != 6 {
		t.Errorf("%d molts with %d ends", molts, edges)
	}
	if strings.Count(desk, `class="next"`) != 1 || !strings.Contains(desk, "Coat ring, 2023 to 2026") || !strings.Contains(desk, "Coat year 2025: began") || !strings.Contains(desk, `class="unchecked"`) {
		t.Errorf("the ring: %s", desk)
	}
}

func TestALateMoltIsToBeLookedAt(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.enter("thrift", "Thrift", 3, "2012-06-10", "2026-01-02T09:00:00Z")
	for year := 2022; year <= 2025; year++ {
		c.molts("thrift", time.Date(year, 4, 4, 8, 0, 0, 0, time.UTC), 14)
	}
	for day := 90; day > 0; day -= 7 {
		c.record("saltgarth", "rhona", "coat.scored", noon.AddDate(0, 0, -day).Format(time.RFC3339), &events.CoatScored{Animal: "thrift", Stage: "0"})
	}
	wants(t, c.page("/animals/thrift", 200), "It was expected to begin", "Late. No new coat on", "is for the veterinarian to say")
	wants(t, c.page("/today?facility=saltgarth", 200), "Coat late", "show it to the veterinarian")
}

func TestACoatThatNobodyScoredHasNoRing(t *testing.T) {
	c := newColony(t)
	c.settle()
	page := c.page("/animals/gorse", 200)
	wants(t, page, "Its coat was never scored.", "Nothing is published of the molt of its kind", "Never weighed. The first weight begins this.", "No course of the year yet")
	if strings.Contains(page, `class="ring"`) || strings.Contains(page, `id="course-desk-t"`) {
		t.Error("a drawing of nothing")
	}
}
