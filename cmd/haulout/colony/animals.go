package colony

import (
	"math"
	"strings"
	"time"

	"haulout/events"
)

// animal is one animal with its state on the running day.
type animal struct {
	character
	id, code string
	c        *colony
	born     time.Time
	factor   float64 // upkeep as a multiple of the basal rate
	season   float64 // share by which upkeep is above that in January and below it in July
	drift    float64 // share by which upkeep is off lately, for whatever reason
	tissue   float64 // kcal in a kilogram of its mass, gained or lost
	body     dice    // what its body does, wherever it lives
	mass     float64 // kg, this morning
	mood     float64 // appetite above or below its usual, changing slowly
	feeds    int     // a day
	weighs   float64 // weigh-ins a day
	talent   float64 // for training
	shy      float64 // of touch, 0 to 1
	molts    []molt
	moltDays float64

	home       string // the enclosure it lives in
	stay       *stay
	ration     []events.RationItem
	rationKcal float64
	rationDay  int
	wanted     float64 // how much of the ration it has wanted lately, 1 is all
	schooling  schooling
}

func fold(name string) string { return strings.ToLower(name) }

func (a *animal) years(date time.Time) float64 { return date.Sub(a.born).Hours() / 24 / 365.25 }

// grownMale says whether it fasts and defends in summer.
func (a *animal) grownMale(date time.Time) bool {
	return a.sex == "male" && a.kind != harbour && a.years(date) >= a.kind.grownMaleYears
}

// nursing says that it lives on milk.
func (a *animal) nursing(date time.Time) bool {
	return a.how() == "birth" && a.kind == californian && a.years(date) < 0.85
}

func (a *animal) how() string { return a.stays[0].how }

// course is the yearly course of mass that it follows.
func (a *animal) course(date time.Time) year {
	switch years := a.years(date); {
	case years < a.kind.grown:
		return massImmature
	case a.kind == harbour:
		return massGrownSeal
	case a.sex == "female":
		return massFemale
	case years < a.kind.grownMaleYears:
		return massYoungMale
	}
	return massGrownMale
}

// target is the mass that it would have on a date if all went as usual.
func (a *animal) target(date time.Time) float64 {
	kg := a.kind.mass(a.sex, a.years(date)) * a.build * a.course(date).at(date)
	return kg*a.recovery(date) + a.unborn(date)
}

// recovery lets a rescued animal come in thin and grow to its full mass.
func (a *animal) recovery(date time.Time) float64 {
	if a.how() != "rescue" {
		return 1
	}
	return min(1/a.build, 1+float64(a.c.dayOf(date)-a.stays[0].first)*0.0022)
}

// unborn is the mass that a pup adds to its mother in the last four months.
func (a *animal) unborn(date time.Time) float64 {
	if a.id != a.c.plan.BirthFast.Animal {
		return 0
	}
	before := a.c.plan.Birth.From.Sub(date).Hours() / 24
	if before < 0 || before > 120 {
		return 0
	}
	return birthLoss * (1 - before/120)
}

const birthLoss = 9 // kg, the pup and what comes with it

// upkeep is what it burns on a usual day about this date, in kcal.
func (a *animal) upkeep(date time.Time) float64 {
	kcal := a.factor * resting(a.mass) * (1 + a.season*(2*winter(date)-1) + a.drift)
	if a.milking(date) {
		kcal *= 1.3
	}
	return kcal
}

func (a *animal) milking(date time.Time) bool {
	days := date.Sub(a.c.plan.Birth.From).Hours() / 24
	return a.id == a.c.plan.BirthFast.Animal && days >= 1 && days < 300
}

// appetite is what it would like to eat in a day, in kcal: its upkeep, and what
// leads it back to the mass that the season gives it.
func (a *animal) appetite(date time.Time) float64 {
	slope := (a.target(date.AddDate(0, 0, 8)) - a.target(date.AddDate(0, 0, -6))) / 14
	upkeep := a.upkeep(date)
	extra := a.tissue * (slope + (a.target(date)-a.mass)/40)
	extra = min(max(extra, -0.75*upkeep), 0.9*upkeep)
	return (upkeep + extra) * a.nearBirth(date)
}

// nearBirth is the share of its appetite that a mother has around the birth:
// it falls about three days before, is nil on the day after, and comes back
// (Kastelein et al. 2000, Zoo Biology 19:143).
func (a *animal) nearBirth(date time.Time) float64 {
	if a.id != a.c.plan.BirthFast.Animal {
		return 1
	}
	days := int(math.Round(date.Sub(a.c.plan.Birth.From).Hours() / 24))
	if share, near := map[int]float64{-3: 0.7, -2: 0.5, -1: 0.35, 0: 0.15, 1: 0, 2: 0.55, 3: 0.85}[days]; near {
		return share
	}
	return 1
}

// live turns what was eaten into mass.
func (a *animal) live(kcal float64, date time.Time) {
	if a.nursing(date) {
		a.mass = a.target(date)
		return
	}
	burnt := a.upkeep(date) * a.body.normal(1, 0.05)
	a.mass += (kcal - burnt) / a.tissue
	a.drift += -a.drift/driftDays + a.body.normal(0, driftSize*math.Sqrt(2./driftDays))
	if a.id == a.c.plan.BirthFast.Animal && a.c.plan.Birth.From.Equal(date) {
		a.mass -= birthLoss
	}
}

// How upkeep drifts: by three per cent either way, over about two months. No
// source; published upkeep differs by more between animals.
const (
	driftDays = 60
	driftSize = 0.03
)

// power is its strength on a day; the young grow, and grown males defend in
// the breeding months.
func (a *animal) power(n int, date time.Time) float64 {
	grown := a.growing / (1 + math.Exp(-12*(float64(n)/float64(a.c.days)-0.5)))
	if a.grownMale(date) {
		grown += summerHardness.at(date)
	}
	return a.strength + grown
}

// molt is one change of coat.
type molt struct{ from, to time.Time }

// throwMolts gives each year its molt: the animal has its own habit, and each
// year differs by a few days.
func (a *animal) throwMolts(d dice) (out []molt) {
	habit := d.normal(0, 5)
	for y := a.c.first.Year() - 1; y <= a.c.until.Year(); y++ {
		day := a.onsetDay(y) + habit + d.normal(0, 3)
		from := time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(day * 24 * float64(time.Hour)))
		to := from.Add(time.Duration((a.moltDays + d.normal(0, 3)) * 24 * float64(time.Hour)))
		out = append(out, molt{from, to})
	}
	return out
}

func (a *animal) onsetDay(y int) float64 {
	years := a.years(time.Date(y, time.August, 1, 0, 0, 0, 0, time.UTC))
	switch {
	case years < a.kind.grown && (a.kind != californian || a.sex == "female"):
		return a.kind.onset.young
	case a.sex == "female":
		return a.kind.onset.female
	}
	return a.kind.onset.male
}

// newCoat is the share of new coat in per cent, and whether it is in molt.
// Two months after the end the coat counts as the old one of the next molt.
func (a *animal) newCoat(date time.Time) (share float64, molting bool) {
	for _, m := range a.molts {
		if date.Before(m.from) || date.After(m.to.AddDate(0, 0, 60)) {
			continue
		}
		if date.After(m.to) {
			return 100, false
		}
		x := date.Sub(m.from).Hours() / m.to.Sub(m.from).Hours()
		return 100 * x * x * (3 - 2*x), true
	}
	return 0, false
}
