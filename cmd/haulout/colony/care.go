package colony

import (
	"fmt"
	"slices"
	"time"

	"haulout/events"
)

// cure is a medication that runs on the veterinarian's order.
type cure struct {
	animal     *animal
	order      string
	medication string
	dose       events.Quantity
	route      string
	first      int
	last       int
	stops      int // day on which it is ended before its time, 0 where it is not
}

// treat gives what is ordered, and now and then lets the veterinarian come.
func (d *day) treat() {
	running := d.courses[:0:0]
	for _, c := range d.courses {
		if c.stops == d.n {
			d.jot(d.clinic(), d.about(8.2, 5), "order.ended", events.OrderEnded{Order: c.order, Animal: c.animal.id, Reason: "healed sooner; decided by the veterinarian"})
			continue
		}
		if c.last >= d.n && slices.Contains(d.animals, c.animal) {
			d.give(c)
			running = append(running, c)
		}
	}
	d.courses = running
	if d.n > 5 && d.chance(0.05) {
		d.visit(pick(d.dice, d.animals))
	}
}

var remedies = []struct {
	note, medication string
	dose             events.Quantity
	route            string
}{
	{"Looked at the eye. Drops twice a day for a week, then I look again.", "eye drops (house mix)", events.Quantity{Value: "0.2", Unit: "mL"}, "eye"},
	{"Small wound on the flipper, clean. Rinse twice a day.", "rinse (house mix)", events.Quantity{Value: "20", Unit: "mL"}, "skin"},
	{"Tablets with the first and the last fish for some days.", "tablets as ordered", events.Quantity{Value: "2", Unit: "{tablet}"}, "mouth"},
}

var visits = []string{
	"Routine look. Nothing that needs doing.", "Teeth looked at with open mouth trained. Next look in half a year.",
	"Blood drawn with trained presentation; results go to the file.", "Looked at gait on the deck. Walks freely. Keep as is.",
}

func (d *day) visit(a *animal) {
	at := d.about(11.9, 15)
	if d.chance(0.7) {
		d.jot(d.clinic(), at, "veterinary.noted", events.VeterinaryNoted{Animal: a.id, Veterinarian: veterinarian, Text: pick(d.dice, visits)})
		return
	}
	r := pick(d.dice, remedies)
	order := d.number("o", &d.series)
	d.jot(d.clinic(), at, "veterinary.noted", events.VeterinaryNoted{Animal: a.id, Veterinarian: veterinarian, Text: r.note, Order: order})
	c := cure{a, order, r.medication, r.dose, r.route, d.n + 1, d.n + 5 + d.IntN(5), 0}
	if d.chance(0.15) {
		c.stops = c.first + 3
	}
	given := events.OrderGiven{
		Order: order, Animal: a.id, Veterinarian: veterinarian, Medication: r.medication, Dose: r.dose, Route: r.route,
		Daily: dosesDaily, Until: instant(d.facility.midnight(c.last + 1).Add(-time.Second)),
	}
	d.jot(d.clinic(), at.Add(time.Minute), "order.given", given)
	d.courses = append(d.courses, c)
}

// dosesDaily is how often a day ordered medication is given.
const dosesDaily = 2

func (d *day) give(c cure) {
	for _, hour := range []float64{8.9, 16.8} {
		taken := []string{"all", "part", "none"}[d.draw([]float64{93, 5, 2})]
		d.jot(d.tablet(c.animal), d.about(hour, 6), "medication.given", events.MedicationGiven{
			Animal: c.animal.id, Medication: c.medication, Dose: c.dose, Route: c.route, Order: c.order, Taken: taken,
		})
	}
}

var remarks = []string{
	"Calm day.", "Strong wind from the sea wall; all stayed low.", "School class at the rail, no fuss.", "Gulls took part of the scatter feed.",
	"Pump cleaned.", "Fog until noon.", "New keeper walked the round.", "Tide over the lower step.",
}

// note keeps what has no form of its own.
func (d *day) note() {
	if !d.chance(0.8) {
		return
	}
	body := events.Note{Text: pick(d.dice, remarks)}
	if d.chance(0.4) {
		a := pick(d.dice, d.animals)
		body = events.Note{Text: fmt.Sprintf("%s %s.", a.name, pick(d.dice, manners)), Animals: []string{a.id}, Enclosure: a.home}
	}
	d.jot(pick(d.dice, d.tablets), d.about(17.9, 10), "note", body)
}

var manners = []string{"slept on the high stone", "played with a feather", "kept to the gate side", "was first at the deck", "called for a while in the morning", "swam on its own"}
