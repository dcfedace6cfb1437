package main

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"haulout/projections/growth"
)

// headsOfAge are the ways to head an age; a sheet has one of them.
var headsOfAge = []string{"age", "age_years", "age_months", "age_days"}

func growthColumns() []column {
	return slices.Concat(optional(headsOfAge...), massColumns(), optional("sex", "animal"))
}

// growthInput is what the sheet holds.
type growthInput struct {
	masses   []growth.Aged
	byAnimal map[string][]weighedIn // in the order of age, days counted from birth
	sexes    map[string]string      // of each animal
	warnings []string
}

func readGrowth(f *figureFile, o growthOptions) (*growthInput, error) {
	s, err := f.lines(growthColumns(), o.unit, nil)
	if err != nil {
		return nil, err
	}
	age, err := s.one(headsOfAge...)
	if err != nil {
		return nil, err
	}
	mass, err := s.massColumn(o.unit)
	if err != nil {
		return nil, err
	}
	in := &growthInput{byAnimal: map[string][]weighedIn{}, sexes: map[string]string{}}
	names, lines := namesIn(s.sheet, "animal"), map[string]int{}
	for _, r := range s.sheet.rows {
		m := growth.Aged{Animal: s.animal(r, names), Sex: s.sex(r, o.sex), Years: s.age(r, age), Kg: s.kilos(r, mass)}
		if before, known := in.sexes[m.Animal]; known && before != m.Sex && m.Animal != "" {
			s.problem(r, "sex", r.cell("sex"), "is %s, and %s is %s on line %d; correct one of the two", m.Sex, m.Animal, before, lines[m.Animal])
		}
		in.sexes[m.Animal], lines[m.Animal] = m.Sex, r.line
		in.masses = append(in.masses, m)
		day := int(math.Round(m.Years * daysOfYear))
		in.byAnimal[m.Animal] = append(in.byAnimal[m.Animal], weighedIn{growth.Reading{Animal: m.Animal, Weighing: growth.Weighing{Day: day, Kg: m.Kg}}, r.line})
	}
	for _, list := range in.byAnimal {
		slices.SortStableFunc(list, func(a, b weighedIn) int { return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Kg, b.Kg)) })
	}
	if in.warnings = s.warnings(); s.sheet.header["animal"] == "" {
		in.warnings = append(in.warnings, "no column names the animal, so all masses of a sex are taken as those of one animal")
	}
	return in, s.refusal()
}

func (s *figureSheet) sex(r *row, usual string) string {
	sex := s.known(r, "sex", "female", "male", "unknown")
	if sex != "" && sex != "unknown" && usual != "" && sex != usual {
		s.problem(r, "sex", r.cell("sex"), "does not go with --sex %s; leave --sex out, or the line", usual)
	}
	return cmp.Or(strings.TrimSuffix(sex, "unknown"), usual, "unknown")
}

// age reads an age in years.
func (s *figureSheet) age(r *row, column string) float64 {
	years := s.amount(r, column, "write the age, or leave the line out")
	switch column {
	case "age_months":
		years /= 12
	case "age_days":
		years /= daysOfYear
	}
	if years > mostYears {
		s.problem(r, column, r.cell(column), "is %.0f years, and none lives as long; head the column age_months or age_days where it is in these", years)
	}
	return years
}
