package colony

import (
	"fmt"
	"math"
	"strings"
	"time"

	"haulout/events"
)

// Days of need: what is left when more is ordered, and what then comes.
const (
	reorder    = 9
	longestRun = 33 + reorder // days that a delivery lasts with what was there
)

// deliver takes in about a month's need.
func (d *day) deliver(food string, taken int) {
	need := max(d.runs(food)*d.store.need[food]-float64(d.store.grams(food)), 2*float64(taken))
	d.store.numbers[food]++
	l := &lot{id: fmt.Sprintf("%s-%s-%03d", d.prefix, short(food), d.store.numbers[food]), grams: int(math.Ceil(need/10000)) * 10000, received: d.n}
	d.analyse(l, knownAs(food, d.date))
	d.store.lots[food] = append(d.store.lots[food], l)
	caught := d.date.AddDate(0, 0, -int(d.between(20, 60)))
	d.receive(l, food, d.about(6.1, 3), caught, caught.Format("2006-01"), "")
	if d.chance(0.4) {
		d.assay(l, knownAs(food, d.date))
	}
}

// receive notes a delivery.
func (d *day) receive(l *lot, food string, at, caught time.Time, written, text string) {
	d.jot(d.storeroom(), at, "lot.received", events.LotReceived{
		Lot: l.id, Food: food, Mass: whole(float64(l.grams)/1000, "kg"), Caught: written, Supplier: "Cinder Quay Fish (invented)",
		UseBy: caught.AddDate(0, 9, 0).Format(time.DateOnly), Store: d.prefix + " freezer " + pick(d.dice, []string{"A", "B"}),
		Cost: d.price(food), Text: text,
	})
}

// price is what a kilogram costs that day: invented, a little dearer each year.
func (d *day) price(food string) events.Quantity {
	base := foodOf(food).price
	return decimal(base*(1+0.04*float64(d.n)/365)*d.normal(1, 0.05), 2, "1")
}

// short is the code of a food on a box.
func short(food string) string {
	first, second, _ := strings.Cut(food, "-")
	return first[:3] + second[:min(3, len(second))]
}

// analyse gives a lot its true composition: fat differs from lot to lot and a
// little by the season, protein hardly.
func (d *day) analyse(l *lot, f food) {
	l.fat = f.fat * (1 + 0.05*(2*winter(d.date)-1) + d.normal(0, 0.05))
	l.protein = f.protein * d.normal(1, 0.015)
	l.kcal = f.energy(l.protein, l.fat, f.carb)
}

func (d *day) assay(l *lot, f food) {
	g := func(v float64) events.Quantity { return events.Quantity{Value: fmt.Sprintf("%.2f", v), Unit: "g"} }
	water := f.water - (l.fat - f.fat) - (l.protein - f.protein)
	body := events.LotAssayed{
		Lot: l.id, Sampled: d.date.Format(time.DateOnly), Laboratory: "Cinder Quay Laboratory (invented)",
		Composition: events.Composition{Water: g(water), Protein: g(l.protein), Fat: g(l.fat), Ash: g(f.ash)},
	}
	if f.carb > 0 {
		body.Composition.Carbohydrate = g(f.carb)
	}
	d.jot(d.desk(), d.about(15.2, 20), "lot.assayed", body)
}
