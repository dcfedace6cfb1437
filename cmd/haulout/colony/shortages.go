package colony

import (
	"time"

	"haulout/events"
)

const daysLeft = 4 // of the food that is planted to run short

// shortage says whether a food is the one that runs short, and how many days are
// left until the history ends.
func (d *day) shortage(food string) (left float64, planned bool) {
	plan := d.c.plan.ShortFood
	return float64(d.c.days - 1 - d.n), d.code == plan.Facility && food == plan.Food && d.midnight.After(plan.From)
}

// runs is for how many days a delivery is to last with what is there. Where
// the food is to run short, a small one comes about six days before the end and
// lasts until a few days after it.
func (d *day) runs(food string) float64 {
	left, planned := d.shortage(food)
	switch {
	case !planned:
		return longestRun
	case left > 9:
		return left - 6 + reorder
	}
	return left + daysLeft
}

// heldUp says that no delivery comes: the boat is late.
func (d *day) heldUp(food string) bool {
	left, planned := d.shortage(food)
	return planned && left < reorder-daysLeft+1
}

// plantStore lets the day's part of what is planted in the store happen.
func (d *day) plantStore() {
	plan := d.c.plan
	for _, p := range []Span{plan.NearLimit, plan.PastLimit} {
		if d.code == p.Facility && d.date.Equal(p.From.AddDate(0, 0, 40)) {
			d.receiveAside(p)
		}
	}
	if p := plan.ThawOver; d.code == p.Facility && d.holds(p.From) {
		d.jotOut(p.Lot, 2400, p.From)
	}
	if p := plan.ThawRunning; d.code == p.Facility && d.holds(p.From) {
		d.jotOut(d.takeSpare(9000).id, 9000, p.From)
	}
	d.plantThrough(plan.ThawThrough)
}

// receiveAside takes in a lot that stands behind the others ever after.
func (d *day) receiveAside(p Span) {
	l := &lot{id: p.Lot, grams: 40000, received: d.n}
	d.receive(l, p.Food, d.about(6.1, 3), p.From, p.From.Format(time.DateOnly), "At the back of the freezer; newer boxes stand before it.")
}

// takeSpare takes some more of a food that has lain here since yesterday or
// longer.
func (d *day) takeSpare(grams int) *lot {
	for _, s := range d.diet {
		for _, l := range d.store.lots[s.food] {
			if l.received < d.n && l.grams > grams {
				l.grams -= grams
				return l
			}
		}
	}
	panic("colony: " + d.code + " has nothing to spare")
}

func (d *day) jotOut(lot string, grams int, at time.Time) string {
	return d.jot(d.storeroom(), at, "lot.thawed", events.LotThawed{Lot: lot, Mass: kg(grams), How: "refrigerated"})
}

// plantThrough has fish taken out and seen to be thawed through later, maybe on
// the next day.
func (d *day) plantThrough(p Span) {
	if d.code != p.Facility {
		return
	}
	if d.holds(p.From) {
		l := d.takeSpare(6000)
		d.through = events.ThawCompleted{Lot: l.id, Thaw: d.jotOut(l.id, 6000, p.From), Text: "No ice left inside."}
	}
	if d.holds(p.To) {
		d.jot(d.storeroom(), p.To, "thaw.completed", d.through)
	}
}
