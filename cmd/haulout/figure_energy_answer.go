package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"haulout/projections"
	"haulout/projections/energetics"
)

// energyFigure is the answer. Its names are those of the interface.
type energyFigure struct {
	Through   projections.Day           `json:"through"` // the last day found in either file
	NotEnough string                    `json:"not_enough,omitempty"`
	Factor    *energetics.Interval      `json:"maintenance_factor"` // its own, times the basal rate
	Prior     *energetics.Interval      `json:"prior_factor"`       // of its class
	FromPrior *float64                  `json:"from_prior"`         // 0 to 1
	Tissue    *energetics.Interval      `json:"tissue_mj_per_kg"`
	Mass      *energetics.Interval      `json:"mass_kg"`
	Need      *energetics.Interval      `json:"need_kcal"`
	Balance   *energetics.Interval      `json:"balance_kcal"`        // of the last day
	Week      *energetics.Interval      `json:"balance_7_days_kcal"` // a day, over the last seven
	NoBalance string                    `json:"no_balance,omitempty"`
	Weighed   int                       `json:"weigh_ins"`
	LoggedIn7 int                       `json:"logged_in_7_days"`
	Class     projections.AnimalClass   `json:"class"`
	Fast      string                    `json:"fast_expected,omitempty"`
	Basis     string                    `json:"basis"`
	BasisNote string                    `json:"basis_note"`
	Ration    []energyPart              `json:"ration"`
	Kcal      *float64                  `json:"ration_kcal"`
	Assumes   string                    `json:"assumes"` // what the forecast takes for granted
	Ahead     []projections.ForecastDay `json:"forecast"`
	NoAhead   string                    `json:"no_forecast,omitempty"`
	Flags     []projections.EnergyFlag  `json:"set_aside"`
	Reasons   []energetics.Constant     `json:"assumptions"`
	Warnings  []string                  `json:"warnings"`
	Days      []energyDay               `json:"days"`
	Caution   string                    `json:"caution"`
}

func newEnergyFigure(o energyOptions, in *energyInput) (*energyFigure, error) {
	f := &energyFigure{
		Days: in.days, Through: in.last.day, Warnings: append([]string{}, in.warnings...), Caution: energyCaution,
		Ration: []energyPart{}, Ahead: []projections.ForecastDay{}, Flags: []projections.EnergyFlag{},
	}
	f.class(o, in)
	return f, f.work(o, in)
}

// work holds the days against each other.
func (f *energyFigure) work(o energyOptions, in *energyInput) error {
	plan, err := in.ration(o.ration)
	if err != nil {
		return err
	}
	f.Ration = append(f.Ration, plan...)
	f.basis(in)
	b := in.balance()
	for _, flag := range b.Flags {
		what := "weigh-in"
		if flag.Weighing < 0 {
			what = "feeds"
		}
		f.Flags = append(f.Flags, projections.EnergyFlag{Day: in.days[flag.Day].Day, What: what, Kg: flag.Kg, Reason: flag.Reason})
	}
	f.Reasons = append([]energetics.Constant{energetics.Basal(), energetics.Tissue()}, b.Reasons...)
	f.Reasons = append(f.Reasons, in.digestion()...)
	f.NotEnough = b.NotEnough
	if f.NotEnough != "" {
		return nil
	}
	f.figures(b)
	return f.forecast(o, in, b)
}

// figures takes over the numbers.
func (f *energyFigure) figures(b energetics.Balance) {
	f.Factor, f.Prior, f.FromPrior, f.Tissue, f.Weighed = &b.Factor, &b.Prior, &b.FromPrior, &b.Tissue, b.Weighed
	if b.Factor.Lo > b.Prior.Hi || b.Factor.Hi < b.Prior.Lo {
		f.Warnings = append(f.Warnings, "its factor lies outside the 9 in 10 of its class; look at units, foods and feeds that were not logged before it is believed")
	}
	mass, _ := b.MassNow()
	need, _ := b.Holds()
	mass = massive(mass)
	f.Mass, f.Need, f.Balance, f.Week, f.NoBalance = &mass, &need, b.Today, b.Week, b.Short
	for i := range b.States {
		state, day := b.States[i], &f.Days[b.First+i]
		mass := massive(state.Mass)
		day.Used, day.Mass, day.Need = state.Used, &mass, &state.Need
	}
	for _, day := range f.Days[max(0, len(f.Days)-7):] {
		if day.Logged {
			f.LoggedIn7++
		}
	}
}

// massive keeps a wide range from reaching below no mass at all.
func massive(m energetics.Interval) energetics.Interval {
	return energetics.Interval{Mean: max(m.Mean, 0), Lo: max(m.Lo, 0), Hi: max(m.Hi, 0)}
}

func (f *energyFigure) forecast(o energyOptions, in *energyInput, b energetics.Balance) error {
	var plan *energetics.Plan
	f.Assumes = "it eats on as on the last days; no ration is given"
	if len(f.Ration) > 0 {
		kg, kcal := 0.0, 0.0
		for _, part := range f.Ration {
			kg, kcal = kg+part.Grams/1000, kcal+part.Kcal
		}
		if why := energetics.CantEat(kg, f.Mass.Mean); why != "" {
			return useError{fmt.Errorf("--ration %s: %s", o.ration, why)}
		}
		f.Kcal, f.Assumes = &kcal, "the ration as given, eaten whole"
		plan = &energetics.Plan{Kcal: kcal, Spread: energetics.LevelError()}
	}
	classes := make([]energetics.Class, o.days)
	for i := range classes {
		classes[i] = in.series[len(in.series)-1].Class
		classes[i].Years += float64(i+1) / daysOfYear
	}
	bands, why := b.Forecast(plan, classes)
	f.NoAhead = why
	for i, band := range bands {
		band = massive(band)
		f.Ahead = append(f.Ahead, projections.ForecastDay{Day: f.Through.Add(i + 1), Kg: band.Mean, Lo: band.Lo, Hi: band.Hi})
	}
	return nil
}

// class says what the need is first taken from, and warns where that is little.
func (f *energyFigure) class(o energyOptions, in *energyInput) {
	_, known := energetics.TaxonOf(o.taxon)
	f.Class = projections.AnimalClass{Taxon: o.taxon, Known: known, Sex: o.sex}
	if !known {
		f.Warnings = append(f.Warnings, fmt.Sprintf("--taxon %q is not in the reference file; it is taken as a pinniped of a kind that is not known, so ranges are wide. Check the spelling", o.taxon))
	}
	if o.sex == "unknown" {
		f.Warnings = append(f.Warnings, "--sex is unknown; the wider figures of the two sexes are taken")
	}
	if len(in.series) == 0 {
		return
	}
	last := in.series[len(in.series)-1].Class
	if !math.IsNaN(last.Years) {
		f.Class.Years = &last.Years
	}
	if expected, why := energetics.FastExpected(last, f.Through.Start(time.UTC).Month()); expected {
		f.Fast = "a low intake is published for grown males in this month: " + why
	}
}

// basis says what the kilocalories count.
func (f *energyFigure) basis(in *energyInput) {
	bases, ways, foods := []string{}, []string{}, map[string][]string{}
	for _, food := range in.foods {
		if !food.used {
			continue
		}
		if !slices.Contains(bases, food.basis) {
			bases = append(bases, food.basis)
		}
		if foods[food.how] == nil {
			ways = append(ways, food.how)
		}
		foods[food.how] = append(foods[food.how], food.name)
	}
	f.Basis = cmp.Or(strings.Join(bases, "; "), "metabolizable_atwater")
	for _, how := range ways {
		f.BasisNote += strings.Join(foods[how], ", ") + ": " + how + ". "
	}
	f.BasisNote += "kcal is what goes into the balance; gross_kcal to net_kcal of the days follow the losses of the reference file"
}
