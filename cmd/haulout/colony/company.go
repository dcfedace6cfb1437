package colony

import (
	"math"
	"slices"
	"time"

	"haulout/events"
)

// keepCompany lets the animals of each enclosure meet.
func (d *day) keepCompany() {
	for i, p := range d.pools {
		group := d.group(p.Enclosure)
		if len(group) < 2 {
			continue
		}
		watch := d.watch(p.Enclosure, group, i)
		for range d.count(d.meetings(group)) {
			d.meet(p.Enclosure, group, "", d.mealOrDay())
		}
		if watch {
			d.scan(p.Enclosure, group, i)
		}
	}
}

// group are those of an enclosure that meet others on their own; a pup with
// its mother is not yet among them.
func (d *day) group(enclosure string) []*animal {
	return slices.DeleteFunc(d.company(enclosure), func(a *animal) bool { return a.years(d.date) < 0.5 })
}

// meetings is how many encounters a day keepers come to see in a group. Grown
// males defend in the breeding months.
func (d *day) meetings(group []*animal) float64 {
	mean := 0.62 * float64(len(group))
	for _, a := range group {
		if a.grownMale(d.date) {
			mean += 1.4 * summerHardness.at(d.date)
		}
	}
	return mean
}

// mealOrDay is when it happens: often around food.
func (d *day) mealOrDay() time.Time {
	if d.chance(0.5) {
		return d.about(pick(d.dice, []float64{8.6, 12.3, 16.6}), 25)
	}
	return d.at(d.between(7.7, 17.8))
}

// meet is one encounter. Near-equals meet most, and a grown male in summer
// more than others.
func (d *day) meet(enclosure string, group []*animal, watch string, at time.Time) {
	a, b := d.pair(group)
	edge := 1.5 * (a.power(d.n, d.date) - b.power(d.n, d.date))
	if !d.chance(1 / (1 + math.Exp(-edge))) {
		a, b = b, a
	}
	body := events.EncounterSeen{
		Winner: a.id, Loser: b.id, Enclosure: enclosure, Watch: watch,
		Draw:      d.chance(0.06),
		Signal:    []string{"displaced", "threat", "supplant", "vocal", "lunge", "chase", "bite", "other"}[d.draw([]float64{40, 20, 14, 12, 6, 5, 2, 1})],
		Intensity: []string{"low", "medium", "high"}[d.draw([]float64{70, 25, 5})],
		Place:     []string{"deck", "food", "pool", "gate"}[d.draw([]float64{40, 28, 24, 8})],
	}
	if d.chance(0.05) {
		body.Cause = []string{"keeper", "gate", "coalition"}[d.draw([]float64{5, 4, 1})]
	}
	body.Injury = body.Signal == "bite" && d.chance(0.06)
	d.jotEncounter(d.tablet(a), at, body)
}

func (d *day) pair(group []*animal) (a, b *animal) {
	weights := make([]float64, len(group))
	for i, g := range group {
		weights[i] = 1
		if g.grownMale(d.date) {
			weights[i] += 2 * summerHardness.at(d.date)
		}
	}
	a = group[d.draw(weights)]
	for i, g := range group {
		gap := g.power(d.n, d.date) - a.power(d.n, d.date)
		weights[i] = math.Exp(-gap * gap / 18)
		if g == a {
			weights[i] = 0
		}
	}
	return a, group[d.draw(weights)]
}

// watch is held once a week for each enclosure, with encounters noted as they
// happen.
func (d *day) watch(enclosure string, group []*animal, i int) bool {
	if (d.n+2*i)%7 != 2 {
		return false
	}
	start := d.about(13.2, 12)
	end := start.Add(time.Duration(d.between(28, 42)) * time.Minute)
	id, device := d.number("w", &d.watches), d.tablets[i%len(d.tablets)]
	for range d.count(0.35 * d.meetings(group)) {
		share := d.between(0.02, 0.98)
		d.meet(enclosure, group, id, start.Add(time.Duration(share*float64(end.Sub(start)))).Truncate(time.Second))
	}
	d.jotLater(device, start, end, "watch.held", events.WatchHeld{
		Watch: id, Enclosure: enclosure, Until: instant(end), Method: "all_occurrences",
		Observer: d.author(device, d.n), Animals: ids(group),
	})
	return true
}

// scan looks several times at who lies beside whom.
func (d *day) scan(enclosure string, group []*animal, i int) {
	id, device := d.number("w", &d.watches), d.tablets[i%len(d.tablets)]
	start := d.about(14.2, 6)
	const looks = 8
	for look := range looks {
		at := start.Add(time.Duration(look*4) * time.Minute)
		d.jot(device, at, "company.scanned", events.CompanyScanned{
			Enclosure: enclosure, Groups: d.huddles(group), Watch: id, Rule: "within one body length",
		})
	}
	end := start.Add(looks * 4 * time.Minute)
	d.jotLater(device, start, end, "watch.held", events.WatchHeld{
		Watch: id, Enclosure: enclosure, Until: instant(end), Method: "scan", Observer: d.author(device, d.n), Animals: ids(group),
	})
}

// huddles puts each animal beside one that was placed before, or by itself;
// neighbours on the cast list like each other.
func (d *day) huddles(group []*animal) (out []events.Group) {
	for i, a := range group {
		if i > 0 && d.chance(0.55) && !(a.grownMale(d.date) && d.chance(0.6)) {
			j := len(out) - 1
			if d.chance(0.3) {
				j = d.IntN(len(out))
			}
			out[j].Animals = append(out[j].Animals, a.id)
			continue
		}
		out = append(out, events.Group{Animals: []string{a.id}})
	}
	return out
}
