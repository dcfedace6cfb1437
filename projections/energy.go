package projections

import (
	"cmp"
	"math"
	"runtime"
	"time"

	"golang.org/x/sync/errgroup"

	"haulout/events"
	"haulout/projections/energetics"
)

// Energy is an animal's energy balance: what went in, what it needs, and what
// that does to its mass.
//
// It is worked out on reading, from the rows of days, weigh-ins, foods and lots.
// A stored balance would have to know of an assay that comes in months after
// the fish was eaten, and that is another reference's record; two years of an
// animal take a few milliseconds anew.
type Energy struct {
	Animal    string                `json:"animal"`
	Through   Day                   `json:"through"` // the last day that counts
	NotEnough string                `json:"not_enough,omitempty"`
	Factor    *energetics.Interval  `json:"maintenance_factor"` // its own, times the basal rate
	Prior     *energetics.Interval  `json:"prior_factor"`       // of its class
	FromPrior *float64              `json:"from_prior"`         // 0 to 1
	Tissue    *energetics.Interval  `json:"tissue_mj_per_kg"`
	Mass      *energetics.Interval  `json:"mass_kg"`
	Need      *energetics.Interval  `json:"need_kcal"`
	Balance   *energetics.Interval  `json:"balance_kcal"`         // of the last whole day
	Week      *energetics.Interval  `json:"balance_7_days_kcal"`  // a day, over the last seven
	Short     string                `json:"no_balance,omitempty"` // why there is no balance
	Weighed   int                   `json:"weigh_ins"`
	LastWeigh *Day                  `json:"last_weigh_in"`
	LoggedIn7 int                   `json:"logged_in_7_days"`
	Class     AnimalClass           `json:"class"`
	Expected  []string              `json:"expected"` // what is published of its intake or mass at this time
	Reasons   []energetics.Constant `json:"assumptions"`
	Flags     []EnergyFlag          `json:"set_aside"`
	Days      []EnergyDay           `json:"days"`

	balance energetics.Balance
	series  []energetics.Day
}

// AnimalClass is what its need is first taken from.
type AnimalClass struct {
	Taxon   string   `json:"taxon"`
	Known   bool     `json:"taxon_known"`
	Sex     string   `json:"sex"`
	Years   *float64 `json:"age_years"`
	Nursing bool     `json:"nursing"`
	Molting bool     `json:"molting"`
}

// EnergyFlag is a weigh-in or a day's feeds that was set aside.
type EnergyFlag struct {
	Day    Day     `json:"day"`
	What   string  `json:"what"` // weigh-in or feeds
	Kg     float64 `json:"kg"`
	Reason string  `json:"reason"`
}

// EnergyDay is one day of the balance. What nobody logged is null, never zero.
type EnergyDay struct {
	Day    Day                  `json:"day"`
	Logged bool                 `json:"logged"`
	Used   bool                 `json:"used"` // went into the balance
	Eaten  *Eaten               `json:"eaten"`
	Mass   *energetics.Interval `json:"mass_kg"`
	Need   *energetics.Interval `json:"need_kcal"`
	Likely *[2]float64          `json:"need_8_in_10_kcal"`
	Weighs []float64            `json:"weigh_ins_kg,omitempty"`
}

// Energy works out an animal's balance up to a day, with the days from … to.
// A day that is not over counts with its weigh-ins and not with its feeds: open
// is that day, "" where all are over. It is nil where no such animal is known.
func (s *Store) Energy(animal string, from, to, open Day, asOf time.Time) (out *Energy, err error) {
	err = s.at(asOf, func(v view) error {
		a, err := row[Animal](v, &animals, Scope{Ref: events.Ref{Sort: "animal", ID: animal}})
		if err != nil || a == nil {
			return err
		}
		out, err = v.energy(a, from, to, open)
		return err
	})
	return out, err
}

// energyOf is what a balance is made from.
type energyOf struct {
	animal *Animal
	zone   *time.Location
	born   time.Time // zero where it is not known
	pups   []Animal
	taxon  energetics.Taxon
	first  Day
	series []energetics.Day
	days   []EnergyDay
}

func (v view) energy(a *Animal, from, to, open Day) (*Energy, error) {
	e := &energyOf{animal: a}
	if err := v.gather(e, from, to, open); err != nil {
		return nil, err
	}
	shown := 0
	for i := range e.days {
		if e.days[i].Day >= from {
			shown++
		}
	}
	b := energetics.Run(e.series, shown)
	out := &Energy{Animal: a.ID, Through: to, NotEnough: b.NotEnough, balance: b, series: e.series, Weighed: b.Weighed, Short: b.Short}
	out.Class, out.Days, out.Expected = e.class(to), []EnergyDay{}, []string{}
	out.flags(e, b)
	out.figures(b)
	out.take(e, b, shown)
	return out, nil
}

// gather lays the days side by side, from the first record of food or weight to
// the last day asked for.
func (v view) gather(e *energyOf, from, to, open Day) error {
	ref := events.Ref{Sort: "animal", ID: e.animal.ID}
	fed, err := rows[dayRow](v, &days, ref, "0001-01-01", to)
	if err != nil {
		return err
	}
	weighed, err := rows[weighings](v, &weights, ref, "0001-01-01", to)
	if err != nil || len(fed)+len(weighed) == 0 {
		return err
	}
	e.taxon, _ = energetics.TaxonOf(e.animal.Taxon)
	e.zone = cmp.Or(v.zone(e.animal.Stays[len(e.animal.Stays)-1].Facility), time.UTC)
	if span, ok := events.ParseSpan(e.animal.Born); ok {
		e.born, _ = span.Middle()
	}
	if e.pups, err = v.pupsOf(e.animal.ID); err != nil {
		return err
	}
	e.first = to
	for _, list := range [][]Day{firstOf(fed), firstOf(weighed)} {
		for _, day := range list {
			e.first = min(e.first, day)
		}
	}
	if err := v.fill(e, fed, weighed, to, open); err != nil {
		return err
	}
	return v.dose(e, fed, from)
}

func firstOf[R any](list []dated[R]) (out []Day) {
	if len(list) > 0 {
		out = append(out, list[0].Day)
	}
	return out
}

// moltLasts is how long a coat score that shows old and new coat is taken to
// hold. Common practice, no source: coats in molt are scored weekly.
const moltLasts = 21

func (v view) fill(e *energyOf, fed []dated[dayRow], weighed []dated[weighings], to, open Day) error {
	l := newPantry()
	molted := int32(math.MinInt32)
	for day, n := e.first, e.first.number(); day <= to; day, n = day.Add(1), n+1 {
		d := energetics.Day{Open: day == open}
		shown := EnergyDay{Day: day}
		if len(fed) > 0 && fed[0].Day == day {
			if err := v.feed(&d, &shown, &fed[0].Row, l); err != nil {
				return err
			}
			if coat := fed[0].Row.Coat; coat != nil {
				molted = cmp.Or(moltingSince(coat, n), int32(math.MinInt32))
			}
			fed = fed[1:]
		}
		if len(weighed) > 0 && weighed[0].Day == day {
			for _, w := range weighed[0].Row.List {
				d.Weighings = append(d.Weighings, energetics.Weighing{Kg: w.Kg, Guess: w.Method == "estimated"})
				shown.Weighs = append(shown.Weighs, w.Kg)
			}
			weighed = weighed[1:]
		}
		d.Births = e.bornOn(day)
		d.Class = e.classOn(day, n-molted <= moltLasts && molted != math.MinInt32)
		e.series, e.days = append(e.series, d), append(e.days, shown)
	}
	return nil
}

// dose adds what vitamins go with the food of the days that are shown.
func (v view) dose(e *energyOf, fed []dated[dayRow], from Day) error {
	known := map[string]*medicine{}
	for i := range fed {
		day := fed[i].Day
		if day < from {
			continue
		}
		if eaten := e.days[day.number()-e.first.number()].Eaten; eaten != nil {
			if err := v.vitamins(day, eaten, &fed[i].Row, known); err != nil {
				return err
			}
		}
	}
	return nil
}

func (v view) feed(d *energetics.Day, shown *EnergyDay, r *dayRow, l pantry) error {
	if r.Feeds == 0 {
		return nil
	}
	eaten, err := v.eaten(shown.Day, r, l)
	if err != nil {
		return err
	}
	shown.Logged, shown.Eaten = true, &eaten
	d.Logged, d.EatenKg, d.Kcal, d.Unknown = true, (eaten.EatenG-eaten.AsWaterG)/1000, eaten.Kcal, len(eaten.Unknown) > 0
	return nil
}

// moltingSince is the day's number where a coat score shows a molt under way,
// else 0.
func moltingSince(c *CoatSeen, day int32) int32 {
	if c.Stage >= "1" && c.Stage <= "4" {
		return day
	}
	if share := c.NewCoat.Float("%"); c.Stage == "" && share > 0 && share < 100 {
		return day
	}
	return 0
}

func (e *energyOf) classOn(day Day, molting bool) energetics.Class {
	c := energetics.Class{Taxon: e.animal.Taxon, Sex: e.animal.Sex, Years: math.NaN(), Molting: molting}
	at := day.Start(time.UTC)
	if !e.born.IsZero() {
		c.Years = max(0, at.Sub(e.born).Hours()/24/365.25)
	}
	c.Suckling = e.animal.suckledOn(at, e.taxon.WeanedDays)
	for i := range e.pups {
		c.Nursing = c.Nursing || e.pups[i].suckledOn(at, e.taxon.WeanedDays)
	}
	return c
}

// bornOn counts the pups that it bore on a day.
func (e *energyOf) bornOn(day Day) (n int) {
	for _, pup := range e.pups {
		for _, stay := range pup.Stays {
			if stay.How == "birth" && DayOf(stay.From, e.zone) == day {
				n++
			}
		}
	}
	return n
}

// suckledOn says whether a pup that was born in care drinks milk: from its
// birth until the age at which its kind is weaned, while it stays.
func (a *Animal) suckledOn(at time.Time, weaned int) bool {
	born, known := time.Time{}, false
	if span, ok := events.ParseSpan(a.Born); ok {
		born, known = span.Middle()
	}
	if !known {
		return false
	}
	for _, stay := range a.Stays {
		left := stay.Until != nil && !at.Before(*stay.Until)
		if stay.How == "birth" && !left && !at.Before(born.Truncate(24*time.Hour)) && at.Before(born.AddDate(0, 0, weaned)) {
			return true
		}
	}
	return false
}

func (v view) pupsOf(dam string) (out []Animal, err error) {
	all, err := every[Animal](v, &animals)
	for _, a := range all {
		if a.Dam == dam {
			out = append(out, a)
		}
	}
	return out, err
}

func (e *energyOf) class(to Day) AnimalClass {
	_, known := energetics.TaxonOf(e.animal.Taxon)
	out := AnimalClass{Taxon: e.animal.Taxon, Known: known, Sex: e.animal.Sex}
	if len(e.series) == 0 {
		return out
	}
	last := e.series[len(e.series)-1].Class
	out.Nursing, out.Molting = last.Nursing, last.Molting
	if !math.IsNaN(last.Years) {
		out.Years = &last.Years
	}
	return out
}

// Energies works out the balances of many animals, several at a time.
func (s *Store) Energies(ids []string, from, to, open Day, asOf time.Time) ([]*Energy, error) {
	out := make([]*Energy, len(ids))
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i, id := range ids {
		g.Go(func() (err error) {
			out[i], err = s.Energy(id, from, to, open, asOf)
			return err
		})
	}
	return out, g.Wait()
}
