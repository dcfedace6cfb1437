package colony

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

// stay is one animal's time at one facility.
type stay struct {
	facility    string
	first, last int // days of the history; last 0 is to its end
	how, from   string
	leaves, to  string
	tape        int
	pools       []pool
}

// pool is where an animal lives from a day on.
type pool struct {
	day       int
	enclosure string
	reason    string
}

// character is what the cast list says of an animal.
type character struct {
	name     string
	kind     *species
	sex      string
	age      float64 // years on day 0; below 0 for one that is born later
	build    float64 // mass as a share of the species' curve
	strength float64 // what decides encounters
	growing  float64 // strength gained by the last day
	dam      string
	sire     string
	stays    []stay
}

func at(facility, enclosure string, tape int, later ...pool) []stay {
	return []stay{{facility: facility, how: "arrival", from: "Cinder Quay (invented)", tape: tape, pools: append([]pool{{0, enclosure, "home"}}, later...)}}
}

func born(facility, enclosure string, tape int, later ...pool) []stay {
	out := at(facility, enclosure, tape, later...)
	out[0].how, out[0].from = "birth", ""
	return out
}

// castList names everyone. June is how old the young of last June are on day 0,
// and birth the day on which the one pup of the history is born.
func castList(june float64, birth int) []character {
	const sg, wb, ts = "saltgarth", "wrackline-bay", "tern-sluice"
	toMother := pool{birth - 20, "sg-cove", "quiet for the birth"}
	return []character{
		{"Quillon", californian, "male", 14 + june, 1.00, 9.5, 0, "", "", at(sg, "sg-long", 1)},
		{"Marl", californian, "male", 11 + june, 1.06, 8.6, 0, "", "", at(sg, "sg-stack", 6, pool{150, "sg-long", "company for Quillon"}, pool{330, "sg-stack", "back after the winter"})},
		{"Basalt", californian, "male", 10 + june, 1.04, 7.6, 0, "", "", at(sg, "sg-long", 2)},
		{"Osier", californian, "male", 4.6 + june, 1.05, 2.4, 5.6, "", "", born(sg, "sg-long", 3)},
		{"Sorrel", californian, "female", 12 + june, 1.10, 6.4, 0, "", "", at(sg, "sg-long", 4)},
		{"Thrift", californian, "female", 9 + june, 1.05, 5.2, 0, "", "", at(sg, "sg-cove", 6, pool{340, "sg-long", "her pup is weaned"})},
		{"Madder", californian, "female", 7 + june, 1.08, 4.6, 0, "", "", madder()},
		{"Lovage", californian, "female", 8 + june, 1.12, 5.6, 0, "", "", at(sg, "sg-long", 5, toMother, pool{birth + 340, "sg-long", "back to the group"})},
		{"Eyebright", californian, "female", 15 + june, 1.02, 5.9, 0, "", "", at(sg, "sg-stack", 3)},
		{"Teasel", californian, "female", 3 + june, 1.06, 2.6, 0.4, "Sorrel", "Quillon", born(sg, "sg-long", 7)},
		{"Withy", californian, "male", 2 + june, 0.98, 1.6, 1.2, "Eyebright", "Marl", born(sg, "sg-stack", 8, pool{210, "sg-long", "company of his age"})},
		{"Fescue", californian, "female", june, 1.06, 1.0, 0.6, "Thrift", "Quillon", born(sg, "sg-cove", 7, pool{420, "sg-stack", "weaned and grown"})},
		{"Tansy", californian, "female", -1, 1.05, 0.6, 0, "Lovage", "Quillon", tansy(birth)},

		{"Sedge", harbour, "male", 12 + june, 1.02, 7.0, 0, "", "", at(wb, "wb-lagoon", 1)},
		{"Campion", harbour, "male", 8 + june, 0.97, 6.1, 0, "", "", at(wb, "wb-skerry", 1)},
		{"Burnet", harbour, "female", 10 + june, 1.03, 5.3, 0, "", "", at(wb, "wb-lagoon", 2)},
		{"Yarrow", harbour, "female", 7 + june, 0.98, 4.5, 0, "", "", at(wb, "wb-lagoon", 3, pool{180, "wb-skerry", "works on the lagoon"}, pool{225, "wb-lagoon", "works are done"})},
		{"Plover", harbour, "female", 6 + june, 1.00, 4.2, 0, "", "", at(wb, "wb-skerry", 4)},
		{"Whimbrel", harbour, "male", 5 + june, 1.00, 3.7, 0, "", "", at(wb, "wb-lagoon", 5)},
		{"Slate", harbour, "male", 15 + june, 1.04, 5.2, 0, "", "", at(wb, "wb-skerry", 6)},
		{"Saxifrage", harbour, "female", 9 + june, 1.01, 2.9, 0, "", "", at(wb, "wb-lagoon", 7, pool{500, "wb-skerry", "company for Plover"})},
		{"Melick", harbour, "male", 1 + june, 0.98, 1.5, 0.8, "Burnet", "Sedge", born(wb, "wb-lagoon", 8)},

		{"Gorse", californian, "female", 10 + june, 1.04, 6.0, 0, "", "", at(ts, "ts-basin", 1)},
		{"Dunlin", californian, "female", 5 + june, 1.07, 4.5, 0, "", "", at(ts, "ts-lock", 2, pool{250, "ts-basin", "more room"})},
		{"Flint", californian, "male", 3.4 + june, 1.00, 3.2, 0.8, "", "", at(ts, "ts-basin", 3)},
		{"Bracken", californian, "male", 6 + june, 1.03, 6.9, 0, "", "", bracken()},
		{"Pumice", steller, "female", 6 + june, 0.99, 7.8, 0, "", "", at(ts, "ts-basin", 5)},
		{"Samphire", harbour, "female", 0.8, 0.72, 2.0, 0, "", "", samphire()},
	}
}

const movingDay = 410

// madder moves from one facility to another and keeps her id.
func madder() []stay {
	return []stay{
		{facility: "saltgarth", last: movingDay, how: "arrival", from: "Cinder Quay (invented)", leaves: "move", to: "tern-sluice", tape: 2,
			pools: []pool{{0, "sg-stack", "home"}}},
		{facility: "tern-sluice", first: movingDay, how: "arrival", from: "saltgarth", tape: 6,
			pools: []pool{{movingDay, "ts-pen", "quiet days after the journey"}, {movingDay + 21, "ts-basin", "settled"}}},
	}
}

func tansy(birth int) []stay {
	return []stay{{facility: "saltgarth", first: birth, how: "birth", tape: 8, pools: []pool{{birth, "sg-cove", "with her mother"}}}}
}

func bracken() []stay {
	return []stay{{facility: "tern-sluice", first: 60, how: "loan", from: "Cinder Quay (invented)", tape: 4,
		pools: []pool{{60, "ts-lock", "first days on loan"}, {160, "ts-basin", "joins the group"}}}}
}

// samphire is found weak, fed up and let go.
func samphire() []stay {
	return []stay{{facility: "tern-sluice", first: 150, last: 420, how: "rescue", from: "the strand north of the sluice", leaves: "release", to: "the strand north of the sluice", tape: 7,
		pools: []pool{{150, "ts-pen", "rescue"}, {190, "ts-lock", "stronger"}}}}
}

// newCast throws what the cast list leaves open.
func newCast(d dice, c *colony) []*animal {
	birth := c.dayOf(birthday(c.until))
	june := sinceJune(c.first)
	var cast []*animal
	for i, who := range castList(june, birth) {
		a := newAnimal(d, who, c)
		a.feeds = [...]int{3, 3, 2, 4, 3, 4}[i%6]
		a.code = fmt.Sprintf("998%012d", 7_000_000_101+17*i)
		cast = append(cast, a)
	}
	return cast
}

// sinceJune is the age in years of those born on the 12 June before a date.
func sinceJune(date time.Time) float64 {
	june := time.Date(date.Year(), time.June, 12, 0, 0, 0, 0, time.UTC)
	if june.After(date) {
		june = june.AddDate(-1, 0, 0)
	}
	return date.Sub(june).Hours() / 24 / 365.25
}

func newAnimal(d dice, who character, c *colony) *animal {
	a := &animal{character: who, id: idOf(who.name), c: c}
	a.born = c.first.Add(-time.Duration(who.age * 365.25 * 24 * float64(time.Hour))).Truncate(24 * time.Hour)
	if who.age < 0 {
		a.born = birthday(c.until)
	}
	a.factor = d.between(who.kind.upkeep[0], who.kind.upkeep[1])
	a.season = d.between(0.01, 0.06)
	a.tissue = d.between(leastTissue, mostTissue)
	a.body = dice{rand.New(rand.NewPCG(d.Uint64(), d.Uint64()))}
	a.moltDays = d.between(who.kind.moltDays[0], who.kind.moltDays[1])
	a.molts = a.throwMolts(d)
	a.weighs = d.between(0.28, 0.46)
	a.talent = math.Exp(d.normal(0, 0.3))
	a.shy = d.between(0, 1)
	a.mass = a.target(c.first.AddDate(0, 0, who.stays[0].first))
	return a
}

func idOf(name string) string { return "demo-" + fold(name) }
