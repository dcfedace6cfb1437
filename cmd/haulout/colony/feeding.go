package colony

import (
	"math"
	"time"

	"haulout/events"
)

// portion is one food of one meal, in grams.
type portion struct {
	food           string
	offered, eaten int
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
	lots := d.thawFor(meals)
	eaten := map[*animal]float64{}
	for _, m := range meals {
		d.serve(m, lots)
		eaten[m.animal] += m.kcal(lots)
	}
	for _, a := range d.animals {
		if !a.nursing(d.date) {
			a.live(eaten[a], d.date)
			d.supplement(a)
		}
	}
}

func (m meal) kcal(lots map[string]*lot) (sum float64) {
	for _, p := range m.items {
		sum += float64(p.eaten) / 100 * lots[p.food].kcal
	}
	return sum
}

// thawFor takes out of the freezer what the meals need, food by food.
func (d *day) thawFor(meals []meal) map[string]*lot {
	need := map[string]int{}
	for _, m := range meals {
		for _, p := range m.items {
			need[p.food] += p.offered
		}
	}
	lots := map[string]*lot{}
	for _, s := range d.diet {
		if need[s.food] > 0 {
			lots[s.food] = d.thaw(s.food, need[s.food])
		}
	}
	return lots
}

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
	wish := upkeep + min(max(tissue*(slope+(a.target(d.date)-a.mass)/60), -0.7*upkeep), 0.8*upkeep)
	d.writeRation(a, wish)
}

// writeRation shares the energy among the foods of the diet, by the season.
func (d *day) writeRation(a *animal, kcal float64) {
	dense, total := 0.0, 0.0
	for _, s := range d.diet {
		dense += s.on(d.date) * knownAs(s.food, d.date).kcal / 100
		total += s.on(d.date)
	}
	grams := kcal / (dense / total)
	a.ration, a.rationKcal, a.rationDay, a.wanted = a.ration[:0:0], 0, d.n, 1
	for _, s := range d.diet {
		tenths := int(math.Round(grams * s.on(d.date) / total / 100))
		if tenths == 0 {
			continue
		}
		a.ration = append(a.ration, events.RationItem{Food: s.food, Mass: kg(tenths * 100)})
		a.rationKcal += float64(tenths) * knownAs(s.food, d.date).kcal
	}
	reason := "monthly ration"
	if a.grownMale(d.date) && summerHardness.at(d.date) > 0.5 {
		reason = "he eats less in the breeding months"
	}
	d.jot(d.office(), d.about(7.3, 5), "ration.set", events.RationSet{Animal: a.id, Items: a.ration, Reason: reason})
}

func (a *animal) rationKilos() (sum float64) {
	for _, item := range a.ration {
		sum += float64(item.Mass.Milligrams()) / 1e6
	}
	return sum
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

var feedHours = [5][]float64{2: {8.7, 16.2}, 3: {8.7, 12.3, 16.6}, 4: {8.6, 11.5, 14.4, 16.9}}

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
			meals[i].items = append(meals[i].items, portion{food, part, part})
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

func (d *day) serve(m meal, lots map[string]*lot) {
	if len(m.items) == 0 {
		return
	}
	body := events.FeedGiven{Animal: m.animal.id, How: "hand", Items: make([]events.FeedItem, len(m.items))}
	if d.chance(0.12) {
		body.How = pick(d.dice, []string{"scatter", "bucket", "device"})
	}
	for i, p := range m.items {
		body.Items[i] = events.FeedItem{Food: p.food, Lot: lots[p.food].id, Offered: kg(p.offered), Eaten: kg(p.eaten)}
	}
	d.jotFeed(m, body)
}

// supplement gives vitamins with the first feed: thiamine most days, vitamin E
// every fourth, both by the mass of fish in the ration.
func (d *day) supplement(a *animal) {
	at, fish := d.about(8.5, 10), a.rationKilos()
	if d.chance(0.62) {
		dose := max(50, 25*math.Round(fish))
		d.jot(d.tablet(a), at, "supplement.given", events.SupplementGiven{
			Animal: a.id, Supplement: "thiamine", Dose: whole(dose, "mg"), Basis: "25 mg per kg of thawed fish, in the first fish",
		})
	}
	if (d.n+int(a.factor*100))%4 == 0 {
		d.jot(d.tablet(a), at.Add(20*time.Second), "supplement.given", events.SupplementGiven{
			Animal: a.id, Supplement: "vitamin E", Dose: whole(max(100, 100*math.Round(fish)), "[iU]"), Basis: "100 IU per kg of fish",
		})
	}
}
