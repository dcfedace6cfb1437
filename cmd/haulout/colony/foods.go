package colony

import (
	"fmt"
	"slices"
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
	price                               float64 // of a kilogram, invented
	portion                             int     // grams of one fish, invented
	proteinKcal, fatKcal, carbohydrates float64 // energy factors per gram
}

const table = "USDA National Nutrient Database for Standard Reference, release of 8,463 foods, NDB %s; edible portion"

// madeUp stands behind each source: what one fish weighs is in none of them.
const madeUp = "; the mass of one fish is invented"

// sold gives a food the mass of one fish and its price, both invented.
func (f food) sold(portion int, price float64) food {
	f.portion, f.price = portion, price
	f.described.Portion = whole(float64(portion), "g")
	f.described.Source += madeUp
	return f
}

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
	published("herring-atlantic", "Herring, Atlantic", "Clupea harengus", "fish", "specific", "15039", "72.05", "17.96", "9.04", "1.46", "0", "158").sold(150, 1.60),
	published("herring-pacific", "Herring, Pacific", "Clupea pallasii", "fish", "specific", "15043", "71.52", "16.39", "13.88", "2.37", "0", "195").sold(130, 1.75),
	published("mackerel-atlantic", "Mackerel, Atlantic", "Scomber scombrus", "fish", "specific", "15046", "63.55", "18.60", "13.89", "1.35", "0", "205").sold(300, 2.10),
	published("squid-mixed", "Squid, mixed species", "", "cephalopod", "specific", "15175", "78.55", "15.58", "1.38", "1.41", "3.08", "92").sold(60, 3.40),
	published("smelt-rainbow", "Smelt, rainbow", "Osmerus mordax", "fish", "specific", "15099", "78.77", "17.63", "2.42", "1.40", "0", "97").sold(40, 2.30),
	published("pollock-alaska", "Pollock, Alaska, untreated", "Gadus chalcogrammus", "fish", "general", "15266", "81.99", "17.17", "0.19", "1.34", "0", "70").sold(250, 2.90),
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
	return f.read().sold(25, 1.35)
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
