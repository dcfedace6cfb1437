package main

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"haulout/projections"
	"haulout/projections/energetics"
)

func kiloColumn(name string, required bool) column {
	return column{name: name, required: required, units: []string{"kg"}}
}

func intakeColumns() []column {
	return append(needed("time", "food"), kiloColumn("eaten", true), kiloColumn("offered", false))
}

func weighColumns() []column {
	return slices.Concat(needed("time"), []column{kiloColumn("mass", true)}, optional("method"))
}

func foodColumns() []column {
	return slices.Concat(needed("food"), []column{part("water"), part("protein"), part("fat"), part("ash"), part("carbohydrate")}, optional("form", "kcal", "basis"))
}

// figureSheet is a sheet that figures are worked out from. It is read as the
// importer reads sheets; nothing is recorded.
type figureSheet struct {
	importer
	decimal string // the mark of the first decimal in the file
	first   int    // and its line
}

func openFigureSheet(path string, columns []column, where *time.Location) (*figureSheet, error) {
	f, err := openFigure(path)
	if err != nil {
		return nil, err
	}
	return f.sheet(columns, "", where)
}

// refusal says what is wrong with the sheet, nil where nothing is.
func (s *figureSheet) refusal() error {
	if len(s.bad) == 0 {
		return nil
	}
	lines := []string{}
	for i, b := range s.bad {
		if i == told {
			lines = append(lines, fmt.Sprintf("%s: … and %d more problems", s.sum.File, len(s.bad)-told))
			break
		}
		lines = append(lines, s.sum.File+" "+b.String())
	}
	return errors.New(strings.Join(lines, "\n"))
}

// numberOf reads a number of 0 or more, or says how to write it.
func numberOf(text string) (n float64, bad string) {
	n, err := strconv.ParseFloat(text, 64)
	switch {
	case !plainNumber(text) || err != nil:
		return 0, "is no number as it is read here; write digits with one decimal mark, such as 3.4, and nothing between thousands"
	case n < 0 || strings.HasPrefix(text, "-"):
		return 0, "is below 0; check the sign"
	}
	return n, ""
}

// amount reads a number of 0 or more. Points and commas may not both stand in
// one file: there 1.500 may be one and a half or fifteen hundred.
func (s *figureSheet) amount(r *row, column, empty string) float64 {
	text, before := r.cell(column), len(s.bad)
	if text == "" {
		s.problem(r, column, "", "is empty; %s", empty)
		return 0
	}
	if mark := strings.Trim(text, "-0123456789"); mark == "." || mark == "," {
		if s.decimal == "" {
			s.decimal, s.first = mark, r.line
		}
		if mark != s.decimal {
			s.problem(r, column, text, "has %q for a decimal mark and line %d has %q; write all numbers of a file alike, with nothing between thousands", mark, s.first, s.decimal)
		}
	}
	n, bad := numberOf(s.number(r, column))
	if bad != "" && len(s.bad) == before {
		s.problem(r, column, text, "%s", bad)
	}
	return n
}

// readEnergy reads the three files and lays their days side by side. All that
// is wrong with them is told at once.
func readEnergy(o energyOptions) (*energyInput, error) {
	in := &energyInput{fed: map[projections.Day]*fedDay{}, weighed: map[projections.Day][]energetics.Weighing{}}
	var wrong []error
	for _, file := range []struct {
		path    string
		columns []column
		read    func(*figureSheet)
	}{{o.foods, foodColumns(), in.readFoods}, {o.intake, intakeColumns(), in.readIntake}, {o.weights, weighColumns(), in.readWeighIns}} {
		s, err := openFigureSheet(file.path, file.columns, o.where)
		if err != nil {
			wrong = append(wrong, err)
			continue
		}
		file.read(s)
		if s.sum.twice > 0 {
			in.warnings = append(in.warnings, fmt.Sprintf("%s of %s was twice when the clocks were put back, taken as the first", counted(s.sum.twice, "time", "times"), file.path))
		}
		wrong = append(wrong, s.refusal())
	}
	if err := errors.Join(wrong...); err != nil {
		return nil, err
	}
	return in, in.fill(o)
}

func (in *energyInput) readIntake(s *figureSheet) {
	for _, r := range s.sheet.rows {
		at := s.moment(r)
		eaten := s.amount(r, "eaten", "write 0 where it took nothing, and leave the line out where nobody logged it")
		if r.cell("offered") != "" {
			if offered := s.amount(r, "offered", ""); !r.bad && eaten > offered {
				s.problem(r, "eaten", r.cell("eaten"), "is more than the %s kg offered; correct one of the two", r.cell("offered"))
			}
		}
		food, why := in.food(r.cell("food"))
		if why != "" {
			s.problem(r, "food", r.cell("food"), "%s", why)
		}
		if !r.bad {
			in.eat(in.dayOf(at, s, r), food, eaten)
		}
	}
}

func (in *energyInput) readWeighIns(s *figureSheet) {
	methods := []string{"voluntary", "crate", "sling", "carried", "estimated"}
	for _, r := range s.sheet.rows {
		at := s.moment(r)
		kg := s.amount(r, "mass", "write the mass, or leave the line out")
		if kg == 0 && !r.bad {
			s.problem(r, "mass", r.cell("mass"), "is 0; write the mass, or leave the line out")
		}
		method := word(r, "method")
		if method != "" && !slices.Contains(methods, method) {
			s.problem(r, "method", method, "is not known; use one of %s%s", strings.Join(methods, ", "), meant(method, methods))
		}
		if !r.bad {
			day := in.dayOf(at, s, r)
			in.weighed[day] = append(in.weighed[day], energetics.Weighing{Kg: kg, Guess: method == "estimated"})
		}
	}
}

// ration reads the ration of the command; nil where none is given.
func (in *energyInput) ration(text string) (out []energyPart, err error) {
	if text == "" {
		return nil, nil
	}
	names := map[string]bool{}
	for one := range strings.SplitSeq(text, ",") {
		name, kilos, _ := strings.Cut(one, "=")
		name, kilos = strings.TrimSpace(name), strings.TrimSpace(kilos)
		kg, bad := numberOf(kilos)
		if name == "" || bad != "" {
			return nil, useError{fmt.Errorf("--ration %q at %q: write food=kilograms with a decimal point, such as herring=2.0,capelin=1.5", text, one)}
		}
		food, why := in.food(name)
		if why != "" {
			return nil, useError{fmt.Errorf("--ration %q at %q: %s", text, one, why)}
		}
		if names[food.name] {
			return nil, useError{fmt.Errorf("--ration %q names %s twice; give each food once", text, food.name)}
		}
		names[food.name], food.used = true, true
		out = append(out, energyPart{food.name, kg * 1000, kg * 10 * food.kcal, food.basis})
	}
	return out, nil
}

// energyPart is one food of a ration.
type energyPart struct {
	Food  string  `json:"food"`
	Grams float64 `json:"grams"`
	Kcal  float64 `json:"kcal"` // metabolizable
	Basis string  `json:"basis"`
}
