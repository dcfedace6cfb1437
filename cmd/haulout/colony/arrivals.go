package colony

import (
	"fmt"
	"time"

	"haulout/events"
)

// open starts the facility's log: what it is, its pools, foods and supplements,
// and the rules of the house.
func (d *day) open() {
	d.jot(d.desk(), d.at(0), "facility.opened", events.FacilityOpened{Name: d.name, Zone: d.zone, Text: d.text})
	for i, p := range d.pools {
		d.jot(d.desk(), d.at(0.01+float64(i)*0.01), "enclosure.described", p)
	}
	d.describeFoods()
	d.describePills()
	d.setRules()
	d.setWaterRules()
}

// comeAndGo lets animals arrive, move between pools and leave, first thing in
// the morning.
func (d *day) comeAndGo() {
	d.animals = d.animals[:0:0]
	for _, a := range d.cast {
		for i := range a.stays {
			if s := &a.stays[i]; s.facility == d.code {
				d.follow(a, s)
			}
		}
	}
}

func (d *day) follow(a *animal, s *stay) {
	gone := s.last > 0 && d.n >= s.last
	if s.last > 0 && d.n == s.last {
		d.goodbye(a, s)
	}
	if d.n < s.first || gone {
		return
	}
	if d.n == s.first {
		d.welcome(a, s)
	}
	if s.how == "birth" && s.first > 0 && d.n == s.first+90 {
		d.identify(a, d.about(11.5, 10))
	}
	for _, p := range s.pools {
		if p.day == d.n && p.day > s.first {
			a.home = p.enclosure
			d.jot(d.office(), d.about(7.1, 4), "animal.placed", events.AnimalPlaced{Animal: a.id, Enclosure: p.enclosure, Reason: p.reason})
		}
	}
	d.animals = append(d.animals, a)
}

func (d *day) welcome(a *animal, s *stay) {
	hour := 0.1 + 0.01*float64(len(d.animals))
	if s.first > 0 {
		hour = 5.7
	}
	a.home, a.stay, a.rationDay = s.pools[0].enclosure, s, 0
	d.jot(d.desk(), d.at(hour), "animal.entered", events.AnimalEntered{
		Animal: a.id, Name: a.name, Taxon: a.kind.taxon, Sex: a.sex, Born: d.bornText(a),
		How: s.how, From: s.from, Dam: parent(a.dam), Sire: parent(a.sire), Tape: s.tape, Text: "Invented animal of a demo colony.",
	})
	d.jot(d.desk(), d.at(hour+0.002), "animal.placed", events.AnimalPlaced{Animal: a.id, Enclosure: a.home, Reason: s.pools[0].reason})
	if s.how != "birth" || s.first == 0 {
		d.identify(a, d.at(hour+0.004))
	}
	d.takeOver(a, s.from)
}

func parent(name string) string {
	if name == "" {
		return ""
	}
	return idOf(name)
}

// identify notes the transponder; its number is invented, in the range of
// manufacturers.
func (d *day) identify(a *animal, at time.Time) {
	d.jot(d.desk(), at, "animal.identified", events.AnimalIdentified{
		Animal: a.id, Scheme: "iso11784", Code: a.code, Where: "left shoulder", Reader: d.prefix + "-reader", Text: "invented number",
	})
}

// bornText is the birth as precisely as it would be known.
func (d *day) bornText(a *animal) string {
	switch {
	case a.how() == "birth":
		return a.born.Format(time.DateOnly)
	case a.how() == "rescue":
		return fmt.Sprintf("%d~", a.born.Year())
	case a.age > 8:
		return fmt.Sprintf("%d", a.born.Year())
	}
	return a.born.Format("2006-01")
}

func (d *day) goodbye(a *animal, s *stay) {
	d.jot(d.desk(), d.at(5.5), "animal.left", events.AnimalLeft{Animal: a.id, How: s.leaves, To: s.to, Text: "Planned with the veterinarian."})
}
