package main

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections/coat"
	"haulout/projections/energetics"
)

func coatColumns() []column {
	return slices.Concat(optional("animal"), needed("day"), optional("stage", "percent", "regions", "taxon", "sex", "born", "facility"))
}

// coatRegions are the parts of the body that a record of a score knows.
func coatRegions() []string {
	field, _ := reflect.TypeFor[events.CoatScored]().FieldByName("Regions")
	return strings.Split(field.Tag.Get("enum"), ",")
}

// coatInput is what the sheet holds.
type coatInput struct {
	animals    []*coatAnimal // by name
	facilities []string
	last       coat.Day
}

// coatAnimal is an animal, and the lines that say what of it does not change.
type coatAnimal struct {
	coat.Animal
	born string
	said map[string]int // column → the line that said it first
}

func readCoats(f *figureFile) (*coatInput, error) {
	s, err := f.lines(coatColumns(), "", time.UTC)
	if err != nil {
		return nil, err
	}
	if s.sheet.header["stage"] == "" && s.sheet.header["percent"] == "" {
		return nil, fmt.Errorf("%s: column \"percent\" is missing; head it stage or percent, or have both", f.path)
	}
	in, byName := &coatInput{}, map[string]*coatAnimal{}
	names, places := namesIn(s.sheet, "animal"), namesIn(s.sheet, "facility")
	for _, r := range s.sheet.rows {
		name := s.animal(r, names)
		if name == "" {
			name = "The animal"
		}
		if byName[name] == nil {
			byName[name] = &coatAnimal{Animal: coat.Animal{ID: name, Sex: "unknown"}, said: map[string]int{}}
		}
		s.describe(r, byName[name])
		score := s.score(r)
		score.Facility = places.called(r.cell("facility"))
		byName[name].Scores = append(byName[name].Scores, score)
		in.last, in.facilities = max(in.last, score.Day), append(in.facilities, score.Facility)
	}
	for _, name := range sortedKeys(byName) {
		in.animals = append(in.animals, byName[name].grown())
	}
	return in, s.refusal()
}

// score reads how much of a coat was new.
func (s *figureSheet) score(r *row) coat.Score {
	day, stage, percent := coat.Day(s.day(r, "day")), r.cell("stage"), (*float64)(nil)
	if text := strings.TrimSpace(strings.TrimSuffix(r.cell("percent"), "%")); text != "" {
		r.cells["percent"] = text
		n := s.amount(r, "percent", "")
		if percent = &n; n > 100 {
			s.problem(r, "percent", text, "is more than all of a coat; give the share of new coat from 0 to 100")
		}
	}
	scale, _ := coat.Stages()
	switch {
	case stage == "" && percent == nil && !r.bad:
		s.problem(r, "percent", "", "is empty, and so is the stage; give one of them, or leave the line out")
	case stage != "" && !slices.ContainsFunc(scale, func(s coat.Stage) bool { return s.Stage == stage }):
		s.problem(r, "stage", stage, "is not on the scale; give 0, none, to 5, all new")
	}
	if r.bad {
		return coat.Score{Day: day}
	}
	score, err := coat.NewScore(day, stage, percent)
	if err != nil {
		s.problem(r, "percent", r.cell("percent"), "%v", err)
	}
	score.Regions = s.regions(r)
	return score
}

func (s *figureSheet) regions(r *row) (out []string) {
	known := coatRegions()
	for _, region := range strings.FieldsFunc(word(r, "regions"), func(c rune) bool { return strings.ContainsRune(" ,;+&/", c) }) {
		if !slices.Contains(known, region) {
			s.problem(r, "regions", region, "is not known; use %s, several with a space between%s", strings.Join(known, ", "), meant(region, known))
		}
		out = append(out, region)
	}
	return out
}

// describe takes what a line says of an animal that no line may contradict.
func (s *figureSheet) describe(r *row, a *coatAnimal) {
	sex := s.known(r, "sex", "female", "male", "unknown")
	if s.same(r, a, "sex", sex, a.Sex) {
		a.Sex = sex
	}
	if taxon := taxonOf(r.cell("taxon")); s.same(r, a, "taxon", taxon, a.Taxon) {
		a.Taxon = taxon
	}
	text := r.cell("born")
	if !s.same(r, a, "born", text, a.born) {
		return
	}
	span, ok := events.ParseSpan(text)
	middle, known := span.Middle()
	if !ok || !known {
		s.problem(r, "born", text, "write a date as 2015-06-10, or a month or year as 2015-06 or 2015")
		return
	}
	day := coat.Day(middle.Unix() / (24 * 60 * 60))
	a.born, a.Born = text, &day
}

// same says whether a line says something, and that no other line said
// otherwise.
func (s *figureSheet) same(r *row, a *coatAnimal, column, says, before string) bool {
	if says == "" {
		return false
	}
	if line := a.said[column]; line > 0 && says != before {
		s.problem(r, column, r.cell(column), "is not what line %d says of %s, %s; correct one of the two", line, a.ID, before)
		return false
	}
	if a.said[column] == 0 {
		a.said[column] = r.line
	}
	return true
}

// grown adds from which age its kind and sex counts as grown, where that is
// known.
func (a *coatAnimal) grown() *coatAnimal {
	if taxon, known := energetics.TaxonOf(a.Taxon); known {
		a.Grown = taxon.Sex(a.Sex).GrownYears
	}
	return a
}
