package colony

import (
	"math"
	"slices"
	"time"

	"haulout/events"
)

// setRation sets a ration about monthly, and sooner where the animal's appetite
// has left it.
func (d *day) setRation(a *animal) {
	since := d.n - a.rationDay
	off := a.wanted < 0.82 || a.wanted > 1.15
	if a.ration != nil && since < 27 && !(off && since >= 8) {
		return
	}
	if a.ration != nil && since < 31 && !off && d.chance(0.7) {
		return
	}
	ahead := d.date.AddDate(0, 0, 14)
	slope := (a.target(ahead.AddDate(0, 0, 12)) - a.target(ahead.AddDate(0, 0, -12))) / 24
	upkeep := a.upkeep(d.date)
	wish := upkeep + min(max(guessedTissue*(slope+(a.target(d.date)-a.mass)/60), -0.7*upkeep), 0.8*upkeep)
	d.writeRation(a, wish)
}

// writeRation shares the energy among the foods of the diet, by the season and
// in whole fish; the first food makes up for what the others are rounded by.
func (d *day) writeRation(a *animal, kcal float64) {
	dense, total := 0.0, 0.0
	for _, s := range d.diet {
		dense += s.on(d.date) * knownAs(s.food, d.date).kcal / 100
		total += s.on(d.date)
	}
	grams := kcal / (dense / total)
	a.ration, a.rationKcal, a.rationDay, a.wanted = a.ration[:0:0], 0, d.n, 1
	for _, s := range d.diet[1:] {
		a.put(knownAs(s.food, d.date), grams*s.on(d.date)/total)
	}
	first := knownAs(d.diet[0].food, d.date)
	a.put(first, (kcal-a.rationKcal)/first.kcal*100)
	last := len(a.ration) - 1
	a.ration = slices.Concat(a.ration[last:], a.ration[:last])
	reason := "monthly ration"
	if a.grownMale(d.date) && summerHardness.at(d.date) > 0.5 {
		reason = "he eats less in the breeding months"
	}
	d.jot(d.office(), d.about(7.3, 5), "ration.set", events.RationSet{Animal: a.id, Items: a.ration, Times: clocks(feedHours[a.feeds]), Reason: reason})
}

// put adds a food to the ration, in whole fish and in steps of the kitchen scale.
func (a *animal) put(f food, grams float64) {
	step := f.portion
	if step%10 != 0 {
		step *= 2
	}
	whole := step * int(math.Round(grams/float64(step)))
	if whole <= 0 {
		return
	}
	a.ration = append(a.ration, events.RationItem{Food: f.described.Food, Mass: kg(whole)})
	a.rationKcal += float64(whole) / 100 * f.kcal
}

// clocks writes hours as a clock shows them.
func clocks(hours []float64) (out []string) {
	for _, h := range hours {
		out = append(out, time.Time{}.Add(time.Duration(h*float64(time.Hour))).Format("15:04"))
	}
	return out
}

func (a *animal) rationKilos() (sum float64) {
	for _, item := range a.ration {
		sum += float64(item.Mass.Milligrams()) / 1e6
	}
	return sum
}
