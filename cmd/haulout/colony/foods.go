package colony

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"haulout/events"
)

// share is one food's part of the diet's mass in the middle of January and in
// the middle of July.
type share struct {
	food           string
	winter, summer float64
}

// on is the share on a date.
func (s share) on(date time.Time) float64 {
	w := winter(date)
	return s.winter*w + s.summer*(1-w)
}

// food is what the simulation knows of a food, per 100 g as fed.
type food struct {
	described                           events.FoodDescribed
	water, protein, fat, ash, carb      float64
	kcal                                float64
	proteinKcal, fatKcal, carbohydrates float64 // energy factors per gram
}

const table = "USDA National Nutrient Database for Standard Reference, release of 8,463 foods, NDB %s; edible portion"

// published makes a food of a row of the table: grams and kcal in 100 g.
func published(id, name, taxon, form, factors, ndb string, water, protein, fat, ash, carb, kcal string) food {
	g := func(v string) events.Quantity { return events.Quantity{Value: v, Unit: "g"} }
	f := food{described: events.FoodDescribed{
		Food: id, Name: name, Taxon: taxon, Form: form, Factors: factors,
		Composition: events.Composition{Water: g(water), Protein: g(protein), Fat: g(fat), Ash: g(ash), Carbohydrate: g(carb)},
		Energy:      events.Quantity{Value: kcal, Unit: "kcal"}, Basis: "metabolizable_atwater",
		Source: fmt.Sprintf(table, ndb),
	}}
	return f.read()
}

// read takes the numbers out of the description, with the energy factors that
// the table names: general 4, 9, 4; specific for fish 4.27, 9.02, 3.87, and
// 4.11 for the carbohydrate of squid.
func (f food) read() food {
	f.water, f.protein, f.fat, f.ash, f.carb = f.described.Composition.Parts()
	f.proteinKcal, f.fatKcal, f.carbohydrates = 4.27, 9.02, 3.87
	if f.described.Form == "cephalopod" {
		f.carbohydrates = 4.11
	}
	if f.described.Factors == "general" {
		f.proteinKcal, f.fatKcal, f.carbohydrates = 4, 9, 4
	}
	f.kcal = f.energy(f.protein, f.fat, f.carb)
	return f
}

func (f food) energy(protein, fat, carb float64) float64 {
	return f.proteinKcal*protein + f.fatKcal*fat + f.carbohydrates*carb
}

// foods are rows of the published table, and capelin, which it does not have.
var foods = []food{
	published("herring-atlantic", "Herring, Atlantic", "Clupea harengus", "fish", "specific", "15039", "72.05", "17.96", "9.04", "1.46", "0", "158"),
	published("herring-pacific", "Herring, Pacific", "Clupea pallasii", "fish", "specific", "15043", "71.52", "16.39", "13.88", "2.37", "0", "195"),
	published("mackerel-atlantic", "Mackerel, Atlantic", "Scomber scombrus", "fish", "specific", "15046", "63.55", "18.60", "13.89", "1.35", "0", "205"),
	published("squid-mixed", "Squid, mixed species", "", "cephalopod", "specific", "15175", "78.55", "15.58", "1.38", "1.41", "3.08", "92"),
	published("smelt-rainbow", "Smelt, rainbow", "Osmerus mordax", "fish", "specific", "15099", "78.77", "17.63", "2.42", "1.40", "0", "97"),
	published("pollock-alaska", "Pollock, Alaska, untreated", "Gadus chalcogrammus", "fish", "general", "15266", "81.99", "17.17", "0.19", "1.34", "0", "70"),
	capelin(time.January),
}

// capelin has its fat by season: 18 % in December, 3 % in June. It is said
// anew each June and December.
func capelin(month time.Month) food {
	g := func(v string) events.Quantity { return events.Quantity{Value: v, Unit: "g"} }
	water, fat, season := "66.5", "18", "18 % as stated for December"
	if month >= time.June && month < time.December {
		water, fat, season = "81.5", "3", "3 % as stated for June"
	}
	f := food{described: events.FoodDescribed{
		Food: "capelin", Name: "Capelin", Taxon: "Mallotus villosus", Form: "fish", Factors: "specific",
		Composition: events.Composition{Water: g(water), Protein: g("13.5"), Fat: g(fat), Ash: g("2")},
		Source: "protein 13.5 %, the middle of the constant 13 to 14 % of wet mass (Montevecchi & Piatt 1984, Comp Biochem Physiol A 78:15); " +
			"fat " + season + " off Newfoundland, quoted second-hand in a survey of dolphin diets; ash 2 % assumed, water by difference; not in the USDA table",
	}}
	return f.read()
}

func foodOf(id string) food {
	return foods[slices.IndexFunc(foods, func(f food) bool { return f.described.Food == id })]
}

// knownAs is the food as described on a date.
func knownAs(id string, date time.Time) food {
	if id == "capelin" {
		return capelin(date.Month())
	}
	return foodOf(id)
}

func (d *day) describeFoods() {
	for i, s := range d.diet {
		d.jot(d.desk(), d.at(0.06+0.002*float64(i)), "food.described", knownAs(s.food, d.date).described)
	}
}

// describeSeason says capelin anew when its season changes.
func (d *day) describeSeason() {
	feedsCapelin := slices.ContainsFunc(d.diet, func(s share) bool { return s.food == "capelin" })
	if d.n > 0 && feedsCapelin && d.date.Day() == 1 && (d.date.Month() == time.June || d.date.Month() == time.December) {
		d.jot(d.desk(), d.at(5.4), "food.described", capelin(d.date.Month()).described)
	}
}

// lot is one delivery with what is left of it.
type lot struct {
	id       string
	grams    int // in the freezer
	kcal     float64
	protein  float64
	fat      float64
	received int // day
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

// thaw takes out what the day needs of a food and says from which lot it comes.
// Lots too small for the day are put out of use.
func (d *day) thaw(food string, grams int) *lot {
	taken := grams + grams/25 + 200
	d.store.follow(food, grams)
	if d.n == 0 || d.store.grams(food) < taken {
		d.deliver(food, taken)
	}
	for d.store.lots[food][0].grams < taken {
		d.discardRest(food)
		if len(d.store.lots[food]) == 0 {
			d.deliver(food, taken)
		}
	}
	l := d.store.lots[food][0]
	l.grams -= taken
	d.jotThaw(l, taken)
	if d.store.grams(food) < int(9*d.store.need[food]) {
		d.deliver(food, taken)
	}
	d.discardLeftover(l, taken-grams)
	return l
}

func (s store) follow(food string, grams int) {
	if s.need[food] == 0 {
		s.need[food] = float64(grams)
	}
	s.need[food] += 0.1 * (float64(grams) - s.need[food])
}

// jotThaw notes in the morning what was taken out in the evening before; what
// came only today thaws in water.
func (d *day) jotThaw(l *lot, grams int) {
	seen := d.about(6.7, 4)
	body := events.LotThawed{Lot: l.id, Mass: kg(grams), How: "refrigerated", Complete: instant(seen)}
	at := d.at(-5.4)
	if l.received == d.n {
		at, body.How, body.Complete = seen, "water", ""
	}
	d.jotLater(d.storeroom(), at, seen, "lot.thawed", body)
}

// deliver takes in about a month's need.
func (d *day) deliver(food string, taken int) {
	boxes := math.Ceil(max(33*d.store.need[food], 2*float64(taken)) / 10000)
	d.store.numbers[food]++
	l := &lot{id: fmt.Sprintf("%s-%s-%03d", d.prefix, short(food), d.store.numbers[food]), grams: int(boxes) * 10000, received: d.n}
	d.analyse(l, knownAs(food, d.date))
	d.store.lots[food] = append(d.store.lots[food], l)
	caught := d.date.AddDate(0, 0, -int(d.between(20, 110)))
	d.jot(d.storeroom(), d.about(6.1, 3), "lot.received", events.LotReceived{
		Lot: l.id, Food: food, Mass: events.Quantity{Value: fmt.Sprintf("%d", l.grams/1000), Unit: "kg"},
		Caught: caught.Format("2006-01"), Supplier: "Cinder Quay Fish (invented)",
		UseBy: caught.AddDate(0, 9, 0).Format(time.DateOnly), Store: d.prefix + " freezer " + pick(d.dice, []string{"A", "B"}),
	})
	if d.chance(0.4) {
		d.assay(l, knownAs(food, d.date))
	}
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

// discardRest puts what is too little for a day out of use.
func (d *day) discardRest(food string) {
	l := d.store.lots[food][0]
	d.store.lots[food] = d.store.lots[food][1:]
	if l.grams > 200 {
		d.jot(d.storeroom(), d.about(6.4, 3), "lot.discarded", events.LotDiscarded{Lot: l.id, Mass: kg(l.grams), Reason: "rest of the lot, too little for a day"})
	}
}

// discardLeftover throws away in the evening what was thawed and not offered.
func (d *day) discardLeftover(l *lot, grams int) {
	if grams >= 150 && d.chance(0.35) {
		d.jot(d.storeroom(), d.about(18.1, 4), "lot.discarded", events.LotDiscarded{Lot: l.id, Mass: kg(grams), Reason: "thawed and not used today"})
	}
}
