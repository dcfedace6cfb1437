package growth

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// colony invents readings of animals from a pup of 25 kg to a bull of 260: each
// with its own growth, and most of a season that they share.
type colony struct {
	animals, days, every int
	season               float64 // share of the mass
	scale                string
}

var weekly = colony{animals: 8, days: 400, every: 5, season: 0.08, scale: "deck"}

func (c colony) readings(seed uint64) (out []Reading) {
	dice := rand.New(rand.NewPCG(seed, 9))
	for a := range c.animals {
		kg := 25 + 235*square(float64(a)/float64(c.animals))
		w := walk{
			days: c.days, every: c.every, start: kg, perDay: kg * (dice.Float64() - 0.3) / 2000, amplitude: kg * c.season,
			peak: 100 + 10*dice.NormFloat64(), sd: 0.006 * kg, alike: 0.4, from: dice.IntN(max(1, c.every)), scale: c.scale,
		}
		for _, one := range w.weighings(seed*100 + uint64(a)) {
			out = append(out, Reading{fmt.Sprintf("animal %d", a), one})
		}
	}
	return out
}

// from changes readings of one scale from a day on.
func from(readings []Reading, scale string, day int, change func(kg float64) float64) []Reading {
	for i, r := range readings {
		if r.Scale == scale && r.Day >= day {
			readings[i].Kg = math.Round(10*change(r.Kg)) / 10
		}
	}
	return readings
}

func scalesOf(t testing.TB, readings []Reading) []Scale {
	t.Helper()
	out, err := Scales(readings)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// planted is a step and how well it is to be found.
type planted struct {
	same    string // kg or percent
	size    float64
	every   int // days between weigh-ins
	atLeast float64
}

func (p planted) change(kg float64) float64 {
	if p.same == "kg" {
		return kg + p.size
	}
	return kg * (1 + p.size/100)
}

// tally is what became of planted steps.
type tally struct{ found, held, dated, named, other int }

func (c *tally) count(s Step, p planted, day int) {
	c.found++
	size := s.Kg
	if p.same == "percent" {
		size = s.Percent
	}
	if size.Lo <= p.size && p.size <= size.Hi {
		c.held++
	}
	if s.Between[0] <= day && day <= s.Between[1] {
		c.dated++
	}
	if s.Same == p.same {
		c.named++
	} else if s.Same != "" {
		c.other++
	}
}

// A scale that was knocked reads 1.5 kg more or less, one that was set anew 2 %
// more. They are found, with their day and their size, and which of the two it
// is: of eight animals from 25 to 205 kg whose weigh-ins scatter by 0.6 %.
func TestAPlantedStepIsFound(t *testing.T) {
	const tries, day = 40, 220
	for _, p := range []planted{{"kg", 1.5, 5, 0.9}, {"kg", -1.5, 5, 0.9}, {"percent", 2, 5, 0.8}, {"kg", 1.5, 2, 0.95}, {"percent", 2, 2, 0.95}} {
		var c tally
		for seed := range uint64(tries) {
			colony := weekly
			colony.every = p.every
			got := scalesOf(t, from(colony.readings(seed), "deck", day, p.change))[0]
			if len(got.Steps) != 1 || math.Abs(float64(got.Steps[0].Since-day)) > 10 {
				continue
			}
			s := got.Steps[0]
			if c.count(s, p, day); len(s.Of) < 6 || s.Weighings < 80 || !strings.Contains(s.Elsewhere, "none of them was weighed on another scale") {
				t.Errorf("seed %d: behind it %+v", seed, s)
			}
		}
		says := fmt.Sprintf("%+v: of %d %+v", p, tries, c)
		if t.Log(says); float64(c.found) < p.atLeast*tries || c.held < c.found*8/10 || c.dated < c.found*8/10 || c.other > 2 || c.named < c.found*8/10 {
			t.Error(says)
		}
	}
}

// Nothing is found where nothing steps: neither growth nor season nor chance in
// a year of days that are tried.
func TestNoStepIsFoundWhereNoneIs(t *testing.T) {
	fired := 0
	for seed := range uint64(100) {
		for _, c := range []colony{weekly, {animals: 12, days: 365, every: 1, season: 0.15, scale: "deck"}} {
			if seed >= 25 && c.every == 1 {
				continue
			}
			if got := scalesOf(t, c.readings(seed))[0]; len(got.Steps) > 0 {
				fired++
				t.Logf("seed %d: %+v", seed, got.Steps)
			} else if got.NotEnough != "" {
				t.Fatal(got.NotEnough)
			}
		}
	}
	if t.Logf("%d of 125 years fired", fired); fired > 2 {
		t.Errorf("%d of 125 years without a step have one", fired)
	}
}

// One animal that loses a tenth in a day, or three of eight, or two of three, are no scale.
func TestOneAnimalsOwnChangeIsNoStep(t *testing.T) {
	fired := 0
	for seed := range uint64(150) {
		for _, c := range []struct{ animals, change int }{{8, 1}, {8, 2}, {8, 3}, {3, 1}, {3, 2}} {
			few := weekly
			few.animals = c.animals
			readings := few.readings(seed)
			for i, r := range readings {
				if r.Day >= 220 && r.Animal > fmt.Sprintf("animal %d", few.animals-1-c.change) {
					readings[i].Kg *= 0.9
				}
			}
			if got := scalesOf(t, readings)[0]; len(got.Steps) > 0 {
				fired++
				t.Logf("seed %d, %d of %d: %+v", seed, c.change, c.animals, got.Steps)
			}
		}
	}
	if fired > 2 {
		t.Errorf("%d of 750 times an animal's own change was taken for the scale's", fired)
	}
}

// What they eat makes all of them heavier and lighter together, by a percent from
// week to week: that is no step of the scale.
func TestWhatAllShareIsNoStep(t *testing.T) {
	fired := 0
	for seed := range uint64(50) {
		readings, dice := weekly.readings(seed), rand.New(rand.NewPCG(seed, 5))
		wander := make([]float64, weekly.days+weekly.every)
		for i := range wander[1:] {
			wander[i+1] = 0.9*wander[i] + 0.0044*dice.NormFloat64()
		}
		for i, r := range readings {
			readings[i].Kg *= 1 + wander[r.Day]
		}
		if got := scalesOf(t, readings)[0]; len(got.Steps) > 0 {
			fired++
		}
	}
	if t.Logf("%d of 50 years fired", fired); fired > 2 {
		t.Errorf("%d of 50 years in which animals go together have a step", fired)
	}
}

// All animals turn into a fast on one day and lose 1.5 % of it a day, as northern
// fur seals do: that is a bend, and no step.
func TestAFastOfAllIsNoStep(t *testing.T) {
	fired := 0
	for seed := range uint64(30) {
		readings := weekly.readings(seed)
		for i, r := range readings {
			readings[i].Kg *= 1 - 0.01*float64(min(max(r.Day-220, 0), 30))
		}
		if got := scalesOf(t, readings)[0]; len(got.Steps) > 0 {
			fired++
			t.Logf("seed %d: %+v", seed, got.Steps)
		}
	}
	if fired > 1 {
		t.Errorf("%d of 30 fasts were taken for a step", fired)
	}
}

// Two scales: only the one that steps is named, and what all animals do on both
// is no scale's.
func TestTheOtherScaleTells(t *testing.T) {
	dock := weekly
	dock.scale = "dock"
	up := func(kg float64) float64 { return kg + 2 }
	one := from(append(weekly.readings(1), dock.readings(1)...), "deck", 220, up)
	got := scalesOf(t, one)
	if len(got) != 2 || got[0].Scale != "deck" || len(got[0].Steps) != 1 || len(got[1].Steps) != 0 {
		t.Fatalf("%+v", got)
	}
	if says := got[0].Steps[0].Elsewhere; !strings.Contains(says, "were weighed on other scales as well, and did not step there") {
		t.Errorf("%q", says)
	}
	for _, s := range scalesOf(t, from(from(append(weekly.readings(1), dock.readings(1)...), "deck", 220, up), "dock", 220, up)) {
		if len(s.Steps) > 0 {
			t.Errorf("all animals on both scales: %+v", s)
		}
	}
}

// Weighed wet from a day on, all of them weigh 3 % more; the scale is right.
func TestAWetCoatIsNoStep(t *testing.T) {
	readings := from(weekly.readings(2), "deck", 220, func(kg float64) float64 { return kg * 1.03 })
	for i, r := range readings {
		readings[i].Coat, readings[i].Method = "dry", "crate"
		if r.Day >= 220 {
			readings[i].Coat = "wet"
		}
	}
	if got := scalesOf(t, readings)[0]; len(got.Steps) > 0 {
		t.Errorf("%+v", got.Steps)
	}
	for i, r := range readings {
		readings[i].Coat = "dry"
		if r.Day >= 220 {
			readings[i].Method = "sling"
		}
	}
	if got := scalesOf(t, readings)[0]; len(got.Steps) > 0 {
		t.Errorf("by another method: %+v", got.Steps)
	}
	for i := range readings {
		readings[i].Method = "sling"
	}
	if got := scalesOf(t, readings)[0]; len(got.Steps) != 1 {
		t.Errorf("in one coat and way it is a step: %+v", got)
	}
}

// A scale that is set right again steps twice.
func TestAScaleThatIsSetRightAgain(t *testing.T) {
	up := from(weekly.readings(3), "deck", 150, func(kg float64) float64 { return kg + 2 })
	got := scalesOf(t, from(up, "deck", 300, func(kg float64) float64 { return kg - 2 }))[0]
	if len(got.Steps) != 2 || got.Steps[0].Kg.Value*got.Steps[1].Kg.Value > 0 {
		t.Errorf("%+v", got.Steps)
	}
}

func TestAScaleNeedsAnimalsAndWeighIns(t *testing.T) {
	two, short, unnamed := weekly, weekly, weekly
	two.animals, short.days, unnamed.scale = 2, 60, ""
	for situation, c := range map[string]colony{"two animals": two, "two months": short} {
		if got := scalesOf(t, c.readings(1)); len(got) != 1 || !strings.HasPrefix(got[0].NotEnough, "on no day 3 animals were weighed often enough before and after; each needs some 16 days") {
			t.Errorf("%s: %+v", situation, got)
		}
	}
	if got := scalesOf(t, unnamed.readings(1)); len(got) != 0 {
		t.Errorf("a scale without a name: %+v", got)
	}
	if _, err := Scales([]Reading{{"one", Weighing{Kg: -1, Scale: "deck"}}}); err == nil || !strings.Contains(err.Error(), "readings[0]: ") {
		t.Errorf("%v", err)
	}
}
