package projections

import (
	"cmp"
	"time"

	"haulout/events"
	"haulout/projections/energetics"
)

func (e *Energy) flags(of *energyOf, b energetics.Balance) {
	e.Flags = []EnergyFlag{}
	for _, flag := range b.Flags {
		what := "weigh-in"
		if flag.Weighing < 0 {
			what = "feeds"
		}
		e.Flags = append(e.Flags, EnergyFlag{of.days[flag.Day].Day, what, flag.Kg, flag.Reason})
	}
}

// figures takes over the numbers, where there are any.
func (e *Energy) figures(b energetics.Balance) {
	e.Reasons = append([]energetics.Constant{energetics.Basal(), energetics.Tissue()}, b.Reasons...)
	if b.NotEnough != "" {
		return
	}
	e.Factor, e.Prior, e.FromPrior, e.Tissue = &b.Factor, &b.Prior, &b.FromPrior, &b.Tissue
	mass, _ := b.MassNow()
	need, _ := b.Holds()
	e.Mass, e.Need, e.Balance, e.Week = &mass, &need, b.Today, b.Week
}

// take puts the days together that are to be shown.
func (e *Energy) take(of *energyOf, b energetics.Balance, shown int) {
	n := len(of.days)
	for i := n - 1; i >= 0; i-- {
		if i >= n-7 && of.days[i].Logged {
			e.LoggedIn7++
		}
		if e.LastWeigh == nil && len(of.days[i].Weighs) > 0 {
			day := of.days[i].Day
			e.LastWeigh = &day
		}
	}
	if n > 0 {
		e.Expected = append(e.Expected, energetics.Expected(of.series[n-1].Class, of.days[n-1].Day.Start(time.UTC).Month(), of.sinceBirth())...)
	}
	for i := n - shown; i < n; i++ {
		day := of.days[i]
		if at := i - b.First; b.NotEnough == "" && at >= 0 && at < len(b.States) {
			state := b.States[at]
			day.Used, day.Mass, day.Need, day.Likely = state.Used, &state.Mass, &state.Need, &state.Likely
		}
		e.Days = append(e.Days, day)
	}
}

// sinceBirth is how many days ago it last bore a pup; -1 where it did not.
func (e *energyOf) sinceBirth() int {
	n := len(e.series)
	for i := n - 1; i >= 0; i-- {
		if e.series[i].Births > 0 {
			return n - 1 - i
		}
	}
	return -1
}

// Forecast is mass to come, under a ration.
type Forecast struct {
	Animal    string               `json:"animal"`
	From      Day                  `json:"from"` // the last day of the record
	NotEnough string               `json:"not_enough,omitempty"`
	Ration    []RationPart         `json:"ration"`
	Kcal      *float64             `json:"kcal"`    // a day, as it is expected to be eaten
	Share     *float64             `json:"eaten"`   // the share of the ration that is expected to be eaten
	Says      string               `json:"assumes"` // what is taken for granted
	Mass      *energetics.Interval `json:"mass_kg"` // at the end of the last day of the record
	Days      []ForecastDay        `json:"forecast"`
}

// ForecastDay is a day to come.
type ForecastDay struct {
	Day Day     `json:"day"`
	Kg  float64 `json:"mass_kg"`
	Lo  float64 `json:"lo90"`
	Hi  float64 `json:"hi90"`
}

// RationPart is one food of a ration.
type RationPart struct {
	Facility string   `json:"facility"`
	Food     string   `json:"food"`
	Name     string   `json:"name"`
	Grams    float64  `json:"grams"`
	Kcal     *float64 `json:"kcal"` // metabolizable; nil where it is not known
	Basis    string   `json:"basis,omitempty"`
}

// horizon is how many days a forecast goes ahead.
const horizon = 60

// Forecast foretells an animal's mass. With no ration given it is the one in
// force, eaten to the share that it was eaten to lately; where none is in force,
// what it ate lately. It is nil where no such animal is known.
func (s *Store) Forecast(animal string, ration []RationPart, to, open Day, now, asOf time.Time) (*Forecast, error) {
	e, err := s.Energy(animal, to, to, open, asOf)
	if err != nil || e == nil {
		return nil, err
	}
	out := &Forecast{Animal: animal, From: to, NotEnough: e.NotEnough, Mass: e.Mass, Ration: ration, Days: []ForecastDay{}}
	err = s.at(asOf, func(v view) error { return out.plan(v, e, now) })
	if err != nil || out.NotEnough != "" {
		return out, err
	}
	classes := make([]energetics.Class, horizon)
	for i := range classes {
		classes[i] = e.series[len(e.series)-1].Class
		classes[i].Years += float64(i+1) / 365.25
	}
	bands, why := e.balance.Forecast(out.energy(), classes)
	if out.NotEnough = why; len(bands) > 0 && why != "" {
		out.NotEnough, out.Says = "", out.Says+"; "+why
	}
	for i, band := range bands {
		out.Days = append(out.Days, ForecastDay{to.Add(i + 1), band.Mean, band.Lo, band.Hi})
	}
	return out, nil
}

// lately is how many days tell how much of a ration is eaten, and which lots a
// food comes from.
const lately = 14

// plan works out what the ration comes to.
func (f *Forecast) plan(v view, e *Energy, now time.Time) error {
	ref := events.Ref{Sort: "animal", ID: f.Animal}
	recent, err := rows[dayRow](v, &days, ref, f.From.Add(-lately), f.From)
	if err != nil {
		return err
	}
	share := 1.0
	f.Says = "the ration as given, eaten whole"
	if f.Ration == nil {
		set, err := row[Rations](v, &rations, Scope{Ref: ref})
		if err != nil {
			return err
		}
		if ration := set.At(now); ration != nil {
			f.Ration, share = ration.parts(), eatenShare(recent)
			f.Says = "the ration in force since " + string(DayOf(ration.From, cmp.Or(v.zone(ration.Facility), time.UTC))) + ", eaten to the share of the last two weeks"
		}
	}
	if f.Ration == nil {
		f.Ration, f.Says = []RationPart{}, "it eats on as on the last days; no ration is set"
		return nil
	}
	return f.price(v, recent, share, now)
}

// price works out the energy of the ration, by the lots that were fed lately.
func (f *Forecast) price(v view, recent []dated[dayRow], share float64, now time.Time) error {
	total, l := 0.0, newPantry()
	for i := range f.Ration {
		part := &f.Ration[i]
		figures, food, err := v.figures(part.Facility, part.Food, lotOf(recent, part), now, l)
		if err != nil {
			return err
		}
		if food == nil {
			f.NotEnough = "the food " + part.Food + " is not described at " + part.Facility
			return nil
		}
		part.Name = food.Name
		kcal, basis, known := figures.metabolizable(food.Taxon)
		if !known {
			f.NotEnough = "the energy of " + food.Name + " is not known; give its composition or an assay"
			return nil
		}
		kcal *= part.Grams / 100
		part.Kcal, part.Basis = &kcal, basis
		total += kcal
	}
	total *= share
	f.Kcal, f.Share = &total, &share
	return nil
}

// energy is the plan as the balance takes it; nil where there is none.
func (f *Forecast) energy() *energetics.Plan {
	if f.Kcal == nil {
		return nil
	}
	return &energetics.Plan{Kcal: *f.Kcal, Spread: energetics.LevelError()}
}

func (r *Ration) parts() (out []RationPart) {
	for _, item := range r.Items {
		out = append(out, RationPart{Facility: r.Facility, Food: item.Food, Name: item.Food, Grams: grams(item.Mass.Milligrams())})
	}
	return out
}

func eatenShare(recent []dated[dayRow]) float64 {
	var offered, eaten int64
	for _, day := range recent {
		for _, item := range day.Row.Items {
			offered, eaten = offered+item.Offered, eaten+item.Eaten
		}
	}
	if offered == 0 {
		return 1
	}
	return float64(eaten) / float64(offered)
}

// lotOf is the lot that a food last came from.
func lotOf(recent []dated[dayRow], part *RationPart) (lot string) {
	for _, day := range recent {
		for _, item := range day.Row.Items {
			if item.Facility == part.Facility && item.Food == part.Food && item.Lot != "" {
				lot = item.Lot
			}
		}
	}
	return lot
}
