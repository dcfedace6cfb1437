package colony

import (
	"time"

	"haulout/events"
)

// lot is one delivery with what is left of it.
type lot struct {
	id       string
	grams    int // in the freezer
	kcal     float64
	protein  float64
	fat      float64
	received int // day
}

// thawed is what was taken of a lot for a day, with what is not yet offered.
type thawed struct {
	lot   *lot
	grams int
}

// store is a facility's freezer: lots by food, the oldest first.
type store struct {
	lots    map[string][]*lot
	need    map[string]float64 // grams a day, lately
	numbers map[string]int
}

func newStore(diet []share) store {
	s := store{lots: map[string][]*lot{}, need: map[string]float64{}, numbers: map[string]int{}}
	for _, d := range diet {
		s.lots[d.food] = nil
	}
	return s
}

func (s store) grams(food string) (sum int) {
	for _, l := range s.lots[food] {
		sum += l.grams
	}
	return sum
}

func (s store) follow(food string, grams int) {
	if s.need[food] == 0 {
		s.need[food] = float64(grams)
	}
	s.need[food] += 0.2 * (float64(grams) - s.need[food])
}

// surplus is what is taken out beyond the day's need: now and then too much,
// and otherwise no more than the scale's round numbers ask for.
func (d *day) surplus(grams int) int {
	if d.chance(0.35) {
		return (grams/25 + 200) / 10 * 10
	}
	return (100 - grams%100) % 100
}

// leastDiscarded is the leftover, in grams, below which nobody writes it down.
const leastDiscarded = 150

// thaw takes out what the day needs of a food, the oldest lot first.
func (d *day) thaw(food string, grams int) []thawed {
	over := d.surplus(grams)
	taken := grams + over
	d.store.follow(food, grams)
	if d.n == 0 || d.store.grams(food) < taken {
		d.deliver(food, taken)
	}
	out := d.takeOut(food, taken)
	if d.store.grams(food) < int(reorder*d.store.need[food]) && !d.heldUp(food) {
		d.deliver(food, taken)
	}
	if over >= leastDiscarded {
		last := &out[len(out)-1]
		over = min(over, last.grams)
		d.discard(last.lot, over, true, d.about(18.1, 4), "thawed and not used today")
		last.grams -= over
	}
	return out
}

// takeOut goes through the lots of a food. The rest of one that is empty but
// for a little is put out of use.
func (d *day) takeOut(food string, grams int) (out []thawed) {
	for grams > 0 {
		l := d.store.lots[food][0]
		part := min(grams, l.grams)
		l.grams -= part
		grams -= part
		out = append(out, thawed{l, part})
		d.jotThaw(l, part)
		if l.grams >= leastKept || (l.grams > 0 && len(d.store.lots[food]) == 1) {
			continue
		}
		if l.grams > 0 {
			d.discard(l, l.grams, false, d.about(6.9, 3), "broken and dry bottom of the last box")
		}
		d.store.lots[food] = d.store.lots[food][1:]
	}
	return out
}

const leastKept = 1000 // g of a lot

// discard puts part of a lot out of use.
func (d *day) discard(l *lot, grams int, thawed bool, at time.Time, reason string) {
	d.jot(d.storeroom(), at, "lot.discarded", events.LotDiscarded{Lot: l.id, Mass: kg(grams), Thawed: thawed, Reason: reason})
}

// thawing is a facility's own way of thawing.
type thawing struct {
	out     float64 // hour at which fish is taken out, 0 being the midnight before
	seen    float64 // hour at which it is seen to be thawed through
	evening bool    // noted at once, and seen to be through in the morning; otherwise all is noted in the morning
}

// jotThaw notes what was taken out before the day; what came only today thaws
// in water.
func (d *day) jotThaw(l *lot, grams int) {
	out, seen := d.about(d.thawing.out, 3), d.about(d.thawing.seen, 4)
	body := events.LotThawed{Lot: l.id, Mass: kg(grams), How: "refrigerated"}
	switch {
	case l.received == d.n:
		body.How = "water"
		d.jot(d.storeroom(), d.about(6.7, 4), "lot.thawed", body)
	case d.thawing.evening:
		entry := d.jot(d.storeroom(), out, "lot.thawed", body)
		d.jot(d.storeroom(), seen, "thaw.completed", events.ThawCompleted{Lot: l.id, Thaw: entry})
	default:
		body.Complete = instant(seen)
		d.jotLater(d.storeroom(), out, seen, "lot.thawed", body)
	}
}
