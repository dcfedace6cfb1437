package main

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"haulout/events"
	"haulout/projections/growth"
)

// massColumns are the ways to head a mass; a sheet has one of them.
func massColumns() []column {
	units := []string{"kg", "g", "lb"}
	return append([]column{{name: "mass", units: units}, {name: "weight", units: units}}, optional("kg", "unit")...)
}

func weightColumns() []column {
	return slices.Concat(optional("time", "day"), massColumns(), optional("animal", "scale", "method", "coat"))
}

// weighedIn is a weigh-in and the line that it stands on.
type weighedIn struct {
	growth.Reading
	line int
}

// weightsInput is what the sheet holds.
type weightsInput struct {
	file     string
	weighed  map[string][]weighedIn // by animal, in the order of days
	counted  bool                   // days are counted from some day, and are no dates
	warnings []string
}

func readWeights(f *figureFile, o weightsOptions) (*weightsInput, error) {
	s, err := f.lines(weightColumns(), o.unit, o.where)
	if err != nil {
		return nil, err
	}
	when, err := s.one("time", "day")
	if err != nil {
		return nil, err
	}
	mass, err := s.massColumn(o.unit)
	if err != nil {
		return nil, err
	}
	in := &weightsInput{file: f.path, weighed: map[string][]weighedIn{}, counted: s.counts(when)}
	names, scales := namesIn(s.sheet, "animal"), namesIn(s.sheet, "scale")
	for _, r := range s.sheet.rows {
		w := weighedIn{growth.Reading{Animal: s.animal(r, names)}, r.line}
		w.Day, w.Kg, w.Scale = s.dayOrCount(r, when, in.counted), s.kilos(r, mass), scales.called(r.cell("scale"))
		w.Method = s.known(r, "method", "voluntary", "crate", "sling", "carried", "estimated")
		w.Coat = s.known(r, "coat", "dry", "wet")
		in.weighed[w.Animal] = append(in.weighed[w.Animal], w)
	}
	in.inOrder(s)
	in.warnings = s.warnings()
	return in, s.refusal()
}

// inOrder puts each animal's weigh-ins in the order of days, which may not span
// more than a life.
func (in *weightsInput) inOrder(s *figureSheet) {
	for _, list := range in.weighed {
		slices.SortStableFunc(list, func(a, b weighedIn) int {
			return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Kg, b.Kg), cmp.Compare(a.line, b.line))
		})
		first, last := list[0], list[len(list)-1]
		if years := float64(last.Day-first.Day) / daysOfYear; years > mostYears && len(s.bad) == 0 {
			s.problem(&row{line: last.line}, "", "", "is %.0f years after line %d of the same animal, and none lives as long; check the years", years, first.line)
		}
	}
}

// warnings are what had to be assumed of the sheet.
func (s *figureSheet) warnings() []string {
	out := append([]string{}, s.sum.Notes...)
	if s.sum.twice > 0 {
		out = append(out, counted(s.sum.twice, "time was", "times were")+" twice when the clocks were put back, taken as the first")
	}
	return out
}

// counts says whether a column counts days, as all of its first cell are digits.
func (s *figureSheet) counts(column string) bool {
	return column == "day" && allDigits(s.sheet.rows[0].cell(column))
}

func (s *figureSheet) dayOrCount(r *row, column string, counts bool) int {
	if !counts {
		return s.day(r, column)
	}
	n, err := strconv.Atoi(r.cell(column))
	if err != nil || !allDigits(r.cell(column)) || n > mostYears*366 {
		s.problem(r, column, r.cell(column), "is no count of days as on line %d; write all days of a file alike, as 17 or as 2026-03-01", s.sheet.rows[0].line)
	}
	return n
}

// massColumn is the column of masses, whose unit must go with that of the
// command.
func (s *figureSheet) massColumn(unit string) (string, error) {
	mass, err := s.one("mass", "weight", "kg")
	if err == nil && mass == "kg" && unit != "" && unit != "kg" {
		return "", useError{fmt.Errorf("%s: the column kg says kg and --unit says %s; leave --unit out", s.sum.File, unit)}
	}
	return mass, err
}

// kilos reads a mass in its unit: that of the column unit, else of the header,
// else of --unit.
func (s *figureSheet) kilos(r *row, column string) float64 {
	value := s.amount(r, column, "write the mass, or leave the line out")
	unit, own := cmp.Or(s.sheet.unit[column], "kg"), word(r, "unit")
	if _, known := massUnits[own]; !known && own != "" {
		s.problem(r, "unit", r.cell("unit"), "is not known; use kg, g or lb")
		return 0
	}
	if says := unitOf(s.sheet.header[column], column); says != "" && own != "" && own != says {
		s.problem(r, "unit", r.cell("unit"), "does not go with the header %s; correct one of the two", s.sheet.header[column])
	}
	if value == 0 && !r.bad {
		s.problem(r, column, r.cell(column), "is 0; write the mass, or leave the line out")
	}
	return events.Quantity{Value: figure(value), Unit: massUnits[cmp.Or(own, unit)]}.Float("kg")
}

// unitOf is the unit that a header ends in, "" where it says none.
func unitOf(header, column string) string {
	if column == "kg" {
		return "kg"
	}
	return strings.TrimPrefix(strings.TrimPrefix(strings.ReplaceAll(strings.ToLower(header), " ", "_"), column), "_")
}

// on writes a day as the sheet does.
func (in *weightsInput) on(day int) string {
	if in.counted {
		return fmt.Sprintf("day %d", day)
	}
	return dayText(day)
}

// readings are all weigh-ins of an animal.
func readings(list []weighedIn) (out []growth.Weighing) {
	for _, w := range list {
		out = append(out, w.Weighing)
	}
	return out
}

// weighedQuestion is what a weigh-in is asked about. It is kept all the same.
type weighedQuestion struct {
	Line int    `json:"line"`
	On   string `json:"on"`
	Ask  string `json:"ask"`
}

// asked looks through an animal's weigh-ins as if each were new: against those
// of the weeks before it.
func asked(list []weighedIn, on func(day int) string) (out []weighedQuestion, err error) {
	before, all := int(growth.Assumed("history_days").Value), readings(list)
	from := 0
	for i, w := range list {
		if w.Method == "estimated" {
			continue
		}
		for list[from].Day < w.Day-before {
			from++
		}
		q, err := growth.Asked(all[from:i], w.Weighing)
		if err != nil {
			return nil, err
		}
		if q.Ask != "" {
			out = append(out, weighedQuestion{w.line, on(w.Day), q.Ask})
		}
	}
	return out, nil
}
