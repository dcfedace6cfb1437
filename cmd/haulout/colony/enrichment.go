package colony

import (
	"time"

	"haulout/events"
)

var items = []struct{ item, sort string }{
	{"ice block with fish", "food"}, {"floating ring", "object"}, {"kelp strips", "sensory"}, {"ball with holes", "puzzle"},
	{"new basking stone", "space"}, {"sprinkler", "sensory"}, {"boomer ball", "object"}, {"fish in a tube", "puzzle"}, {"view through the gate", "social"},
}

// enrich offers something to each enclosure about daily, and choices to some
// animals.
func (d *day) enrich() {
	for i, p := range d.pools {
		group := d.company(p.Enclosure)
		if len(group) > 0 {
			for range d.count(1.3) {
				d.offer(group, d.tablets[i%len(d.tablets)])
			}
		}
	}
	for _, a := range d.animals {
		if !a.nursing(d.date) && d.chance(1.0/7) {
			d.letChoose(a)
		}
	}
}

func (d *day) offer(group []*animal, device string) {
	start := d.at(d.between(12.8, 15.5))
	end := start.Add(time.Duration(d.between(20, 120)) * time.Minute)
	thing := pick(d.dice, items)
	d.jotLater(device, start, end, "enrichment.offered", events.EnrichmentOffered{
		Animals: ids(group), Item: thing.item, Sort: thing.sort, Until: instant(end),
		Use: []string{"ignored", "brief", "long", "destroyed"}[d.draw([]float64{15, 45, 37, 3})],
	})
}

var toys = []string{"ring", "ball", "kelp", "ice", "tube", "brush"}

// letChoose is a short test of what an animal likes: it has its own order, and
// a slight lean to the left.
func (d *day) letChoose(a *animal) {
	series, at := d.number("c", &d.series), d.about(15.6, 20)
	for range 4 {
		offered := []string{toys[d.IntN(3)], toys[3+d.IntN(3)]}
		if d.chance(0.5) {
			offered[0], offered[1] = offered[1], offered[0]
		}
		body := events.ChoiceMade{Animal: a.id, Offered: offered, Series: series}
		if !d.chance(0.04) {
			body.Chosen = offered[d.draw([]float64{1.15 * a.likes(offered[0]), a.likes(offered[1])})]
		}
		d.jot(d.tablet(a), at, "choice.made", body)
		at = at.Add(40 * time.Second)
	}
}

// likes is how much an animal likes a toy, fixed by the two alone.
func (a *animal) likes(toy string) float64 {
	mix := 0
	for _, b := range []byte(a.id + toy) {
		mix = (mix*31 + int(b)) % 997
	}
	return 0.3 + float64(mix)/300
}
