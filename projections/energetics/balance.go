package energetics

import (
	"fmt"
	"math"
)

// Weighing is one weigh-in of a day, in kg.
type Weighing struct {
	Kg    float64
	Guess bool // estimated by eye
}

// Day is one local day of an animal. Days follow each other without a gap: one
// that nobody logged stands in the list with Logged false.
type Day struct {
	Class     Class
	Logged    bool
	Open      bool    // the day is not over: its feeds do not count yet
	EatenKg   float64 // of all foods
	Kcal      float64 // metabolizable energy of what was eaten, by Atwater factors
	Unknown   bool    // something eaten has no known energy, so Kcal is short
	Births    int     // pups that it bore on the day
	Weighings []Weighing
}

// State is what is believed of an animal at the end of a day.
type State struct {
	Mass   Interval   // kg
	Need   Interval   // kcal a day
	Likely [2]float64 // kcal a day: need lies within in 8 of 10 cases
	Used   bool       // the day's log went into the balance
}

// Flag is a weigh-in or a day's log that was set aside, with the reason.
type Flag struct {
	Day      int // place in the list of days
	Weighing int // place in the day's weigh-ins; -1 for the day's feeds
	Kg       float64
	Reason   string
}

// Balance is what an animal's record says of its energy.
type Balance struct {
	NotEnough string // why there are no numbers; empty where there are
	First     int    // the day that States begin on
	States    []State
	Flags     []Flag
	Weighed   int // weigh-ins that count
	Span      int // days from the first of them to the last

	Prior     Interval   // factor of the class, times the basal rate, before the animal's own record
	Factor    Interval   // its own
	FromPrior float64    // 0 to 1: how far the factor still is the prior's
	Tissue    Interval   // MJ/kg of mass gained or lost
	Reasons   []Constant // what the prior rests on

	Today *Interval // eaten less needed on the last day, in kcal; nil where too little is logged
	Week  *Interval // the same a day, over the last seven
	Short string    // why there is no Today

	last   Day
	models []model
	lately float64 // kcal a day, of the last logged days
	wander float64 // how much the level of intake changes, a day, as a variance of its logarithm
}

// filter runs the days through the models.
type filter struct {
	Balance
	days    []Day
	at      int
	aside   map[int]bool // days whose feeds were set aside
	pending []suspect
	weighed []int   // the days of the weigh-ins that count
	scale   float64 // the last of them, in kg
}

type suspect struct {
	day int
	kg  float64
}

// Run works out the balance of an animal over its days, and what was believed
// at the end of each of the last ones, as many as are to be shown.
func Run(days []Day, shown int) Balance {
	f := &filter{days: days, aside: map[int]bool{}}
	for f.at = range days {
		f.live(&days[f.at], f.at >= len(days)-shown)
	}
	f.conclude()
	return f.Balance
}

func (f *filter) live(d *Day, shown bool) {
	if d.Class.Suckling {
		f.suckle(d)
		return
	}
	if f.models != nil {
		f.pass(d)
		f.bear(d)
	}
	for i, w := range d.Weighings {
		f.weigh(i, w, d)
	}
	if f.models == nil || !shown {
		return
	}
	if f.States == nil {
		f.First = f.at
	}
	f.States = append(f.States, f.state(d))
}

// suckle passes a pup's day. Milk is not logged, so nothing can be learnt from
// its mass yet; the last weight before it is weaned is where the models start.
func (f *filter) suckle(d *Day) {
	for i, w := range d.Weighings {
		if !f.impossible(i, w, d) {
			f.start(w, d)
		}
	}
}

// bear takes a pup and what is born with it off the mother's mass.
func (f *filter) bear(d *Day) {
	if d.Births == 0 {
		return
	}
	taxon, _ := TaxonOf(d.Class.Taxon)
	c := needs.Constants["birth_loss"]
	loss, sd := c.Value*taxon.BirthKg*float64(d.Births), (c.High-c.Low)/(2*ninety)*taxon.BirthKg
	for i := range f.models {
		m := &f.models[i]
		m.mass, m.pMM = max(m.mass-loss, m.mass/2), m.pMM+sd*sd
	}
}

// pass lets the models live through the day's food. A day that nobody logged,
// or whose log can't be, counts as one on which the animal ate about as lately.
func (f *filter) pass(d *Day) {
	class := d.Class.factor()
	kcal, sd := d.Kcal, needs.Constants["day_error"].Value*d.Kcal
	switch {
	case !f.believes(f.at, mixtureOf(f.models, massOf).mean()):
		if kcal = f.lately; kcal == 0 {
			kcal = mixtureOf(f.models, func(m *model) (float64, float64) { return m.need(class), 1 }).mean()
		}
		// What is supposed for one gap is as wrong for the next: k of them are off
		// by k times as much, not by the root of it.
		k := float64(f.gapsLately())
		sd = needs.Constants["gap_error"].Value * kcal * math.Sqrt(2*k-1)
	case f.lately == 0:
		f.lately = d.Kcal
	default:
		f.lately += (d.Kcal - f.lately) / 7
	}
	drift, own := needs.Constants["mass_drift"].Value, needs.Constants["factor_drift"].Value
	for i := range f.models {
		f.models[i].day(kcal, sd, class, drift*drift, own*own)
	}
}

// gapMemory is over how many days gaps in the log are taken for one.
const gapMemory = 14

// gapsLately counts the days up to now without a log that can be used.
func (f *filter) gapsLately() (n int) {
	for i := max(0, f.at-gapMemory+1); i <= f.at; i++ {
		if !f.uses(i) {
			n++
		}
	}
	return n
}

// uses says whether a day's feeds are all there, known and believed.
func (f *filter) uses(day int) bool { return f.days[day].counts() && !f.aside[day] }

// believes says whether a day's log can be used against a mass, and sets it
// aside where no animal could have eaten it.
func (f *filter) believes(day int, mass float64) bool {
	d := &f.days[day]
	if !d.counts() {
		return false
	}
	why := CantEat(d.EatenKg, mass)
	if why != "" {
		f.aside[day] = true
		f.Flags = append(f.Flags, Flag{day, -1, d.EatenKg, why})
	}
	return why == ""
}

// CantEat says why an animal of a mass can't eat so much in a day, both in kg;
// "" where it can.
func CantEat(kg, mass float64) string {
	ceiling := needs.Constants["ceiling"].Value
	if kg <= ceiling*mass {
		return ""
	}
	return fmt.Sprintf("%.1f kg eaten is %.0f %% of body mass, and no more than %.0f %% can be digested in a day; check the unit and the decimal point", kg, 100*kg/mass, 100*ceiling)
}

// far is how many standard deviations off a weigh-in is set aside.
const far = 4

func (f *filter) weigh(i int, w Weighing, d *Day) {
	if f.impossible(i, w, d) {
		return
	}
	if f.models == nil {
		f.start(w, d)
		return
	}
	foretold := mixtureOf(f.models, func(m *model) (float64, float64) { return m.mass, m.pMM + m.variance(w) })
	mean, sd := foretold.mean(), math.Sqrt(foretold.variance())
	if math.Abs(w.Kg-mean) <= far*sd {
		f.take(w)
		return
	}
	f.flag(i, w, fmt.Sprintf("%.1f kg is %.1f kg from the %.1f kg expected; it was not counted. Weigh again, and look at the scale", w.Kg, math.Abs(w.Kg-mean), mean))
	f.pending = append(f.pending, suspect{f.at, w.Kg})
	f.settle(w)
}

// impossible flags a weigh-in that no animal of its kind can have.
func (f *filter) impossible(i int, w Weighing, d *Day) bool {
	taxon, _ := TaxonOf(d.Class.Taxon)
	heaviest := taxon.Sex(d.Class.Sex).HeaviestKg
	if w.Kg <= 1.5*heaviest && w.Kg >= 0.5*taxon.BirthKg {
		return false
	}
	f.flag(i, w, fmt.Sprintf("%.1f kg can't be: the heaviest on record weighed %.0f kg, the newborn weigh %.0f kg; check the unit and the decimal point", w.Kg, heaviest, taxon.BirthKg))
	return true
}

func (f *filter) flag(i int, w Weighing, reason string) {
	f.Flags = append(f.Flags, Flag{f.at, i, w.Kg, reason})
}

func (f *filter) take(w Weighing) {
	for i := range f.models {
		f.models[i].weigh(w.Kg, f.models[i].variance(w))
	}
	f.counts(w)
}

func (f *filter) counts(w Weighing) {
	f.scale = w.Kg
	f.weighed = append(f.weighed, f.at)
	f.pending = f.pending[:0]
}

func (f *filter) start(w Weighing, d *Day) {
	f.weighed = f.weighed[:0]
	f.counts(w)
	for day := max(0, f.at-gapMemory); day <= f.at; day++ { // eaten before there was a mass to hold it against
		f.believes(day, w.Kg)
	}
	prior := NeedOf(d.Class)
	prior.Spread = math.Hypot(prior.Spread, needs.Constants["table_error"].Value)
	f.models = newModels(prior)
	for i := range f.models {
		m := &f.models[i]
		m.restart(w.Kg, m.variance(w))
	}
}

// Weigh-ins that were set aside and agree with each other, four of them over a
// week or more, are no slip: the mass has moved, and the models go there.
const (
	agreeing     = 4
	agreeingDays = 7
)

func (f *filter) settle(w Weighing) {
	n := len(f.pending)
	if n < agreeing || apart(w.Kg, f.scale) {
		return
	}
	last := f.pending[n-agreeing:]
	for _, s := range last {
		if math.Abs(s.kg-w.Kg) > far*math.Sqrt(2*f.models[0].variance(w))/f.models[0].noise {
			return
		}
	}
	if f.at-last[0].day < agreeingDays {
		return
	}
	for i := range f.models {
		m := &f.models[i]
		m.restart(w.Kg, 4*m.variance(w))
	}
	f.counts(w)
}

// unlike is by how much two masses of one animal may differ before one of them
// is a slip. Common practice, no source.
const unlike = 2

func apart(a, b float64) bool { return a > unlike*b || b > unlike*a }

// state reads the models at the end of a day.
func (f *filter) state(d *Day) State {
	need := mixtureOf(f.models, logNeed(d.Class.factor()))
	return State{
		Mass: mixtureOf(f.models, massOf).interval(), Need: need.exponential(),
		Likely: [2]float64{math.Exp(need.quantile(0.1)), math.Exp(need.quantile(0.9))},
		Used:   f.uses(f.at),
	}
}

// counts says whether a day's feeds are all there and their energy known.
func (d *Day) counts() bool { return d.Logged && !d.Unknown && !d.Open }
