package colony

import (
	"slices"
	"time"

	"haulout/events"
)

// portion is one food of one meal, in grams.
type portion struct {
	food           string
	offered, eaten int
	lot            *lot
}

// meal is one feed of one animal.
type meal struct {
	animal *animal
	at     time.Time
	items  []portion
}

// feed runs the kitchen and the rounds: rations where they are due, the meals
// of everyone, what must be thawed for them, and what that does to mass.
func (d *day) feed() {
	d.describeSeason()
	var meals []meal
	for _, a := range d.animals {
		if a.nursing(d.date) {
			a.live(0, d.date)
			continue
		}
		d.setRation(a)
		meals = append(meals, d.meals(a)...)
	}
	out := d.thawFor(meals)
	eaten := map[*animal]float64{}
	for _, m := range meals {
		m.fill(out)
		d.serve(m)
		eaten[m.animal] += m.kcal()
	}
	for _, a := range d.animals {
		if !a.nursing(d.date) {
			a.live(eaten[a], d.date)
			d.supplement(a)
		}
	}
}

func (m meal) kcal() (sum float64) {
	for _, p := range m.items {
		sum += float64(p.eaten) / 100 * p.lot.kcal
	}
	return sum
}

// fill takes each food from the first lot of which enough is thawed, and from
// the last one otherwise.
func (m meal) fill(out map[string][]thawed) {
	for i := range m.items {
		p := &m.items[i]
		from := out[p.food]
		j := slices.IndexFunc(from, func(t thawed) bool { return t.grams >= p.offered })
		if j < 0 {
			j = len(from) - 1
		}
		p.lot = from[j].lot
		from[j].grams -= p.offered
	}
}

// thawFor takes out of the freezer what the meals need, food by food.
func (d *day) thawFor(meals []meal) map[string][]thawed {
	need := map[string]int{}
	for _, m := range meals {
		for _, p := range m.items {
			need[p.food] += p.offered
		}
	}
	out := map[string][]thawed{}
	for _, s := range d.diet {
		if need[s.food] > 0 {
			out[s.food] = d.thaw(s.food, need[s.food])
		}
	}
	return out
}

// appetiteToday is the part of its ration that an animal would like today.
func (d *day) appetiteToday(a *animal) float64 {
	a.mood = 0.75*a.mood + d.normal(0, 0.035)
	want := a.appetite(d.date) * (1 + a.mood) / a.rationKcal
	a.wanted += 0.2 * (want - a.wanted)
	return want
}

// meals plans the day's feeds of an animal and what it will take of them.
func (d *day) meals(a *animal) []meal {
	want := d.appetiteToday(a)
	offer := 1.0
	if want > 1.05 {
		offer = min(want, 1.22)
	}
	if want > 0.96 && want <= 1.05 {
		want = 1 // small differences go unnoticed
	}
	meals := make([]meal, a.feeds)
	for i, hour := range feedHours[a.feeds] {
		meals[i] = meal{animal: a, at: d.about(hour, 13)}
	}
	for _, item := range a.ration {
		grams := int(float64(item.Mass.Milligrams()) / 1000 * offer * d.normal(1, 0.02))
		d.spread(meals, item.Food, grams)
	}
	d.takeAway(meals, 1-want/offer)
	d.refuse(a, meals)
	return meals
}

var feedHours = [5][]float64{2: {8.75, 16.25}, 3: {8.75, 12.25, 16.5}, 4: {8.5, 11.5, 14.5, 16.75}}

// spread puts one food into most of the meals, in steps of ten grams.
func (d *day) spread(meals []meal, food string, grams int) {
	into := make([]float64, len(meals))
	sum := 0.0
	for i := range into {
		if d.chance(0.62) {
			into[i] = d.between(0.7, 1.3)
			sum += into[i]
		}
	}
	if sum == 0 {
		into[0], sum = 1, 1
	}
	for i, w := range into {
		if part := int(float64(grams)*w/sum) / 10 * 10; part >= 20 {
			meals[i].items = append(meals[i].items, portion{food: food, offered: part, eaten: part})
		}
	}
}

// takeAway leaves a share of the day uneaten, the last food of the last meal
// first.
func (d *day) takeAway(meals []meal, share float64) {
	total := 0
	for _, m := range meals {
		for _, p := range m.items {
			total += p.offered
		}
	}
	left := int(share * float64(total))
	for i := len(meals) - 1; i >= 0; i-- {
		for j := len(meals[i].items) - 1; j >= 0 && left > 0; j-- {
			p := &meals[i].items[j]
			less := min(p.eaten, left/10*10)
			p.eaten -= less
			left -= max(less, 10)
		}
	}
}

// refuse lets an animal turn down a meal or one of its foods now and then, and
// the one of the plan everything.
func (d *day) refuse(a *animal, meals []meal) {
	plan := d.c.plan.Refusal
	for i := range meals {
		all := d.chance(0.0015) || (a.id == plan.Animal && !meals[i].at.Before(plan.From))
		for j := range meals[i].items {
			if all || d.chance(0.003) {
				meals[i].items[j].eaten = 0
			}
		}
	}
}

// serve notes a meal, but those that were eaten and not written down.
func (d *day) serve(m meal) {
	if unlogged := d.c.plan.UnloggedFeeds; len(m.items) == 0 || (m.animal.id == unlogged.Animal && unlogged.covers(m.at)) {
		return
	}
	body := events.FeedGiven{Animal: m.animal.id, How: "hand", Items: make([]events.FeedItem, len(m.items))}
	if d.chance(0.12) {
		body.How = pick(d.dice, []string{"scatter", "bucket", "device"})
	}
	for i, p := range m.items {
		body.Items[i] = events.FeedItem{Food: p.food, Lot: p.lot.id, Offered: kg(p.offered), Eaten: kg(p.eaten)}
	}
	d.jotFeed(m, body)
}
