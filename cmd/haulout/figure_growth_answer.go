package main

import (
	"fmt"

	"haulout/projections/growth"
)

// growthFigure is the answer.
type growthFigure struct {
	Groups   []growthGroup     `json:"groups"` // by sex, females first
	Places   []growthPlace     `json:"places"` // of each animal's last mass, by name
	Asked    []weighedQuestion `json:"asked"`
	Warnings []string          `json:"warnings"`
	Caution  string            `json:"caution"`
}

// growthGroup is the curves of one sex.
type growthGroup struct {
	Sex       string        `json:"sex"`
	Animals   int           `json:"animals"`
	Weighed   int           `json:"weigh_ins"`
	Points    int           `json:"points"` // medians of stretches of one animal's life
	Best      *growth.Form  `json:"best"`   // null where none can be estimated
	Curves    []growthCurve `json:"curves"`
	NotEnough string        `json:"not_enough,omitempty"`

	chosen growth.Curve
}

type growthCurve struct {
	Form         growth.Form   `json:"form"`
	Params       []growthParam `json:"params"` // the final mass first; empty where it can't be estimated
	SD           *float64      `json:"sd_kg"`
	RSS          *float64      `json:"rss"`
	AIC          *float64      `json:"aic"`
	AICc         *float64      `json:"aicc"`
	Weight       *float64      `json:"weight"` // share of belief among the forms, 0 to 1
	NotEstimable string        `json:"not_estimable,omitempty"`
}

type growthParam struct {
	Name string `json:"name"`
	Unit string `json:"unit"`
	figureRange
	SE *float64 `json:"se"`
}

// growthPlace is where an animal's last mass stands.
type growthPlace struct {
	Animal    string       `json:"animal"`
	Sex       string       `json:"sex"`
	Years     float64      `json:"age_years"`
	Kg        float64      `json:"kg"`
	Curve     *figureRange `json:"curve_kg"` // by the chosen curve at its age; null without one
	Published *float64     `json:"published_kg"`
	Band      *[2]float64  `json:"published_band_kg"` // lightest and heaviest
	Percent   *float64     `json:"percent"`           // of the published mass
	Ages      *[2]float64  `json:"published_ages"`
	Animals   int          `json:"published_masses"`
	Source    string       `json:"source,omitempty"`
	Caveat    string       `json:"caveat,omitempty"`
	Verified  bool         `json:"verified"`
	NotEnough string       `json:"not_enough,omitempty"`
}

func newGrowthFigure(in *growthInput, o growthOptions) (*growthFigure, error) {
	f := &growthFigure{Groups: []growthGroup{}, Places: []growthPlace{}, Asked: []weighedQuestion{}, Warnings: append([]string{}, in.warnings...), Caution: growthCaution}
	groups, err := growth.BySex(in.masses)
	if err != nil {
		return nil, err
	}
	for _, g := range groups {
		f.Groups = append(f.Groups, groupOf(g))
	}
	for _, animal := range sortedKeys(in.byAnimal) {
		list := in.byAnimal[animal]
		questions, err := asked(list, func(day int) string { return fmt.Sprintf("%.2f years", float64(day)/daysOfYear) })
		if err != nil {
			return nil, err
		}
		f.Asked = append(f.Asked, questions...)
	}
	return f, f.place(in, o.taxon)
}

func groupOf(g growth.Growth) growthGroup {
	out := growthGroup{Sex: g.Sex, Animals: g.Animals, Weighed: g.Weighings, Points: g.Points, NotEnough: g.NotEnough}
	if chosen, ok := g.Chosen(); ok {
		out.Best, out.chosen = &g.Best, chosen
	}
	for _, c := range g.Curves {
		one := growthCurve{Form: c.Form, Params: []growthParam{}, NotEstimable: c.NotEstimable}
		if c.NotEstimable == "" {
			one.SD, one.RSS, one.AIC, one.AICc, one.Weight = finite(c.SD), finite(c.RSS), finite(c.AIC), finite(c.AICc), finite(c.Weight)
		}
		for _, p := range c.Params {
			one.Params = append(one.Params, growthParam{p.Name, p.Unit, *rangeOf(p.Interval), finite(p.SE)})
		}
		out.Curves = append(out.Curves, one)
	}
	return out
}

// place puts the last mass of each animal beside its curve, and beside what is
// published.
func (f *growthFigure) place(in *growthInput, taxon string) error {
	last := map[string]growth.Aged{}
	for _, m := range in.masses {
		if before, known := last[m.Animal+"\n"+m.Sex]; !known || m.Years > before.Years || m.Years == before.Years && m.Kg > before.Kg {
			last[m.Animal+"\n"+m.Sex] = m
		}
	}
	for _, key := range sortedKeys(last) {
		m := last[key]
		out := growthPlace{Animal: m.Animal, Sex: m.Sex, Years: m.Years, Kg: m.Kg}
		for _, g := range f.Groups {
			if kg, ok := g.chosen.At(m.Years); ok && g.Sex == m.Sex && g.Best != nil {
				out.Curve = rangeOf(kg)
			}
		}
		if err := out.beside(taxon); err != nil {
			return err
		}
		f.Places = append(f.Places, out)
	}
	return nil
}

func (p *growthPlace) beside(taxon string) error {
	if taxon == "" {
		p.NotEnough = "as no --taxon is given"
		return nil
	}
	at, err := growth.PlaceOf(taxon, p.Sex, p.Years, p.Kg)
	if err != nil {
		return err
	}
	p.Source, p.Caveat, p.Verified, p.NotEnough = at.Source, at.Caveat, at.Verified, at.NotEnough
	if at.NotEnough == "" {
		p.Published, p.Band, p.Percent, p.Ages, p.Animals = &at.Published, at.Band, &at.Percent, &at.Ages, at.Animals
	}
	return nil
}
