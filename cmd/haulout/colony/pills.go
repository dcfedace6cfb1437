package colony

import (
	"math"
	"time"

	"haulout/events"
)

// pill is a supplement as its label has it, and how a facility gives it.
type pill struct {
	described events.SupplementDescribed
	dose      func(kilos float64) events.Quantity // by the fish in the ration
	basis     string
}

// pills are what a facility gives: one on most days, one every fourth.
type pills struct{ often, fourth pill }

// labelled describes a tablet or capsule.
func labelled(id, name, source string, holds ...events.Content) events.SupplementDescribed {
	return events.SupplementDescribed{Supplement: id, Name: name, Per: "{tablet}", Contents: holds, Source: source + " of an invented product"}
}

func content(what string, amount float64, unit string) events.Content {
	return events.Content{What: what, Amount: whole(amount, unit)}
}

// each is some amount for each kilogram, in steps, and one step at least.
func each(perKilo, step float64, unit string) func(float64) events.Quantity {
	return func(kilos float64) events.Quantity {
		return whole(step*max(1, math.Round(perKilo*kilos/step)), unit)
	}
}

// Three ways to give the same: 25 mg of thiamine and 100 IU of vitamin E for a
// kilogram of thawed fish. Labels are invented.
var (
	capsule = labelled("vitamin-e-400", "vitamin E capsule", "label", content("vitamin_e", 400, "[iU]"))

	singly = pills{
		pill{labelled("thiamine-25", "thiamine", "label", content("thiamine", 25, "mg")), each(25, 25, "mg"), "25 mg per kg of thawed fish, in the first fish"},
		pill{labelled("vitamin-e-100", "vitamin E", "label", content("vitamin_e", 100, "[iU]")), each(100, 100, "[iU]"), "100 IU per kg of fish"},
	}
	tablets = pills{
		pill{labelled("thiamine-50", "thiamine tablet", "label", content("thiamine", 50, "mg")), each(0.5, 1, "{tablet}"), "a tablet for 2 kg of thawed fish, in the first fish"},
		pill{capsule, each(0.25, 1, "{tablet}"), "a capsule for 4 kg of fish"},
	}
	multi = pills{
		pill{labelled("strandline-multi", "Strandline multivitamin", "label, as of the spring before the first delivery,",
			content("thiamine", 60, "mg"), content("vitamin_e", 125, "[iU]"), content("vitamin_a", 1500, "[iU]"), content("vitamin_c", 40, "mg")),
			each(0.4, 1, "{tablet}"), "a tablet for 2.5 kg of thawed fish, as the label says"},
		pill{capsule, each(0.25, 1, "{tablet}"), "a capsule for 4 kg of fish"},
	}
)

func (d *day) describePills() {
	for i, p := range []pill{d.pills.often, d.pills.fourth} {
		d.jot(d.desk(), d.at(0.08+0.002*float64(i)), "supplement.described", p.described)
	}
}

// supplement gives vitamins with the first feed: thiamine most days, vitamin E
// every fourth, both by the mass of fish in the ration.
func (d *day) supplement(a *animal) {
	at, fish := d.about(8.5, 10), a.rationKilos()
	if d.chance(0.62) {
		d.givePill(a, d.pills.often, fish, at)
	}
	if (d.n+int(a.factor*100))%4 == 0 {
		d.givePill(a, d.pills.fourth, fish, at.Add(20*time.Second))
	}
}

func (d *day) givePill(a *animal, p pill, fish float64, at time.Time) {
	d.jot(d.tablet(a), at, "supplement.given", events.SupplementGiven{
		Animal: a.id, Supplement: p.described.Name, Dose: p.dose(fish), Basis: p.basis,
	})
}
