package main

import (
	"fmt"
	"math"
	"slices"
	"time"

	"haulout/projections"
	"haulout/projections/energetics"
)

// daysOfYear turns days into years of age.
const daysOfYear = 365.25

// mostYears is how many years of records are believed of one animal. Longer
// than any pinniped is known to have lived; common practice, no source.
const mostYears = 60

// energyDay is one day of the record. What is not known is null, never zero.
type energyDay struct {
	Day           projections.Day      `json:"day"`
	Logged        bool                 `json:"logged"`
	Used          bool                 `json:"used"` // its feeds went into the balance
	EatenKg       *float64             `json:"eaten_kg"`
	Kcal          *float64             `json:"kcal"` // metabolizable, by Atwater factors
	Gross         *float64             `json:"gross_kcal"`
	Digestible    *float64             `json:"digestible_kcal"`
	Metabolizable *float64             `json:"metabolizable_kcal"`
	Net           *float64             `json:"net_kcal"`
	Need          *energetics.Interval `json:"need_kcal"`
	Mass          *energetics.Interval `json:"mass_kg"`
	Water         *energyWater         `json:"water_g"`
	Weighs        []float64            `json:"weigh_ins_kg,omitempty"`
}

// energyWater is what came with food. The animal may have drunk besides.
type energyWater struct {
	Preformed  float64 `json:"preformed"`
	Metabolic  float64 `json:"metabolic"`
	LowerBound bool    `json:"lower_bound"` // always true
}

// fedDay is what was eaten on a day.
type fedDay struct {
	kg, kcal             float64
	losses               energetics.Losses
	preformed, metabolic float64
	short                bool // of a food whose composition is not known
}

// energyInput is what the files hold.
type energyInput struct {
	foods       []*energyFood
	fed         map[projections.Day]*fedDay
	weighed     map[projections.Day][]energetics.Weighing
	first, last energyEdge
	warnings    []string
	series      []energetics.Day
	days        []energyDay
}

// energyEdge is the first or last day, and where it stands.
type energyEdge struct {
	day projections.Day
	at  string
}

func (in *energyInput) dayOf(at time.Time, s *figureSheet, r *row) projections.Day {
	edge := energyEdge{projections.DayOf(at, s.where), fmt.Sprintf("%s line %d", s.sum.File, r.line)}
	if in.first.day == "" || edge.day < in.first.day {
		in.first = edge
	}
	if edge.day > in.last.day {
		in.last = edge
	}
	return edge.day
}

func (in *energyInput) eat(day projections.Day, f *energyFood, kg float64) {
	d := in.fed[day]
	f.used = true
	if d == nil {
		d = &fedDay{}
		in.fed[day] = d
	}
	hundreds := kg * 10
	d.kg, d.kcal = d.kg+kg, d.kcal+hundreds*f.kcal
	d.losses = d.losses.Add(f.losses.Times(hundreds))
	d.preformed, d.metabolic = d.preformed+hundreds*f.composition.Water, d.metabolic+hundreds*f.composition.MetabolicWater()
	d.short = d.short || !f.composed && kg > 0
}

// fill lays the days side by side, from the first found in either file to the
// last.
func (in *energyInput) fill(o energyOptions) error {
	in.days = []energyDay{}
	if in.first.day == "" {
		return nil
	}
	if in.first.day < projections.DayOf(o.birth.First, time.UTC) {
		return fmt.Errorf("%s, time: %s is before the birth, --born %s; correct one of the two", in.first.at, in.first.day, o.born)
	}
	born, known := o.birth.Middle()
	from := in.first.day.Start(time.UTC)
	if known && born.Before(from) {
		from = born
	}
	if years := in.last.day.Start(time.UTC).Sub(from).Hours() / 24 / daysOfYear; years > mostYears {
		return fmt.Errorf("%s, time: %s is %.0f years after the birth or the first record (%s, %s), and none lives as long; check the years", in.last.at, in.last.day, years, in.first.at, in.first.day)
	}
	for day := in.first.day; day <= in.last.day; day = day.Add(1) {
		years := math.NaN()
		if known {
			years = max(0, day.Start(time.UTC).Sub(born).Hours()/24/daysOfYear)
		}
		d := energetics.Day{Class: energetics.Class{Taxon: o.taxon, Sex: o.sex, Years: years}, Weighings: in.weighed[day]}
		shown := energyDay{Day: day}
		if fed := in.fed[day]; fed != nil {
			d.Logged, d.EatenKg, d.Kcal = true, fed.kg, fed.kcal
			shown.take(fed)
		}
		for _, w := range d.Weighings {
			shown.Weighs = append(shown.Weighs, w.Kg)
		}
		in.series, in.days = append(in.series, d), append(in.days, shown)
	}
	return nil
}

func (d *energyDay) take(fed *fedDay) {
	d.Logged, d.EatenKg, d.Kcal = true, &fed.kg, &fed.kcal
	if fed.short {
		return
	}
	l := &fed.losses
	d.Gross, d.Digestible, d.Metabolizable, d.Net = &l.Gross, &l.Digestible, &l.Metabolizable, &l.Net
	d.Water = &energyWater{fed.preformed, fed.metabolic, true}
}

// digestion lists what the way from gross to net energy rests on.
func (in *energyInput) digestion() (out []energetics.Constant) {
	for _, f := range in.foods {
		if !f.composed || !f.used {
			continue
		}
		for _, c := range []energetics.Constant{
			shareNamed(energetics.Digested("", f.form), "share of gross energy digested, "+f.form),
			shareNamed(energetics.Urinary(f.composition.ProteinShare()), "share of gross energy lost in urine, "+f.name),
		} {
			if !slices.Contains(out, c) {
				out = append(out, c)
			}
		}
	}
	if len(out) > 0 {
		out = append(out, shareNamed(energetics.Heat(), "share of gross energy lost as heat of digestion"))
	}
	return out
}

func shareNamed(c energetics.Constant, name string) energetics.Constant {
	c.Name, c.Unit = name, "1"
	return c
}

// balance runs the days.
func (in *energyInput) balance() energetics.Balance {
	b := energetics.Run(in.series, len(in.series))
	if b.NotEnough == "" && len(in.fed) == 0 {
		b.NotEnough = "no feed is logged; log what it eats to see its balance"
	}
	return b
}
