package main

import (
	"fmt"
	"slices"
	"strings"

	"haulout/events"
	"haulout/projections/energetics"
)

// energyFood is a food of the file, all energy of 100 g.
type energyFood struct {
	name, form  string
	composition energetics.Composition
	composed    bool // its composition is known
	used        bool // it was fed, or is in the ration
	stated      float64
	says        string // what the stated energy counts; "" where none is stated

	kcal   float64 // metabolizable
	basis  string
	how    string // where kcal comes from
	losses energetics.Losses
}

// work works out what 100 g are worth: by what its source states, else by its
// composition.
func (f *energyFood) work() {
	factors := energetics.FactorsFor(f.form, "")
	f.kcal, f.basis = f.composition.Metabolizable(factors), factors.Basis
	f.how = fmt.Sprintf("%s, protein %g, fat %g, carbohydrate %g kcal/g (%s)", factors.Name, factors.Protein, factors.Fat, factors.Carbohydrate, factors.Source)
	if f.says != "" {
		f.kcal, f.basis = energetics.ToMetabolizable(f.stated, f.says, f.composition, factors, "", f.form)
		f.how = fmt.Sprintf("%g kcal in 100 g as stated, %s", f.stated, f.says)
	}
	f.losses = f.composition.LossesOf("", f.form)
}

// byComposition is the energy of the basis that is stated, as the composition
// gives it.
func (f *energyFood) byComposition() float64 {
	switch f.says {
	case "gross":
		return f.composition.Gross()
	case "digestible":
		return f.composition.LossesOf("", f.form).Digestible
	}
	return f.composition.Metabolizable(energetics.FactorsFor(f.form, ""))
}

func (in *energyInput) readFoods(s *figureSheet) {
	for _, r := range s.sheet.rows {
		f := &energyFood{name: r.cell("food"), form: word(r, "form")}
		in.checkName(s, r)
		s.readForm(r, f)
		s.readComposition(r, f)
		s.readEnergyOf(r, f)
		f.work()
		in.foods = append(in.foods, f) // bad ones too: a feed of it is no second mistake
	}
}

func (in *energyInput) checkName(s *figureSheet, r *row) {
	name := r.cell("food")
	if name == "" {
		s.problem(r, "food", "", "is empty; give the name of the food")
	}
	for _, other := range in.foods {
		if events.NameFold(other.name) == events.NameFold(name) {
			s.problem(r, "food", name, "is described twice; leave one of the lines out")
		}
	}
}

func (s *figureSheet) readForm(r *row, f *energyFood) {
	forms := []string{"fish", "shellfish", "cephalopod", "other"}
	if f.form == "" {
		f.form = energetics.FormOf(f.name)
	}
	if !slices.Contains(forms, f.form) {
		s.problem(r, "form", f.form, "is not known; use one of %s%s", strings.Join(forms, ", "), meant(f.form, forms))
	}
}

// readComposition reads all five parts, or none where the energy is stated.
func (s *figureSheet) readComposition(r *row, f *energyFood) {
	given := func(name string) bool { return r.cell(name) != "" }
	names := []string{"water", "protein", "fat", "ash", "carbohydrate"}
	switch {
	case slices.ContainsFunc(names, given):
	case given("kcal"):
		return
	default:
		s.problem(r, "food", f.name, "has no composition; give water_g, protein_g, fat_g, ash_g and carbohydrate_g, or kcal with its basis")
		return
	}
	c, all := &f.composition, true
	for i, to := range []*float64{&c.Water, &c.Protein, &c.Fat, &c.Ash, &c.Carbohydrate} {
		*to = s.amount(r, names[i], "give all five parts, 0 for what it does not hold")
		all = all && given(names[i])
	}
	if f.composed = all && !r.bad; !f.composed {
		return
	}
	if err := c.Check(); err != nil {
		s.problem(r, "food", f.name, "%v; check each part and the place of its decimal point", err)
	}
}

// readEnergyOf reads the energy that the source states for 100 g.
func (s *figureSheet) readEnergyOf(r *row, f *energyFood) {
	bases := []string{"gross", "digestible", "metabolizable_atwater"}
	basis := word(r, "basis")
	if r.cell("kcal") == "" {
		if basis != "" {
			s.problem(r, "kcal", "", "is empty; give what 100 g hold, or leave the basis out")
		}
		return
	}
	f.stated, f.says = s.amount(r, "kcal", ""), basis
	if !slices.Contains(bases, basis) {
		s.problem(r, "basis", basis, "says not what the %s kcal count; use one of %s%s", r.cell("kcal"), strings.Join(bases, ", "), meant(basis, bases))
	}
	if most := 100 * energetics.Gross().Fat; f.stated > most {
		s.problem(r, "kcal", r.cell("kcal"), "is more than the %.0f kcal that 100 g of pure fat hold; kcal are of 100 g, 1 kcal is 4.184 kJ", most)
	}
	if r.bad || !f.composed {
		return
	}
	if by := f.byComposition(); apartBy(f.stated, by) {
		s.problem(r, "kcal", r.cell("kcal"), "does not go with the composition, which comes to %.0f kcal in 100 g; check the unit and the decimal point", by)
	}
}

// food finds a food by name, or says why there is none.
func (in *energyInput) food(name string) (f *energyFood, why string) {
	names := []string{}
	for _, f := range in.foods {
		if events.NameFold(f.name) == events.NameFold(name) {
			return f, ""
		}
		names = append(names, f.name)
	}
	if name == "" {
		return nil, "is empty; give the name of the food"
	}
	return nil, "is not in the file of foods; add its composition there" + meant(name, names)
}

// unlike is by how much two figures of one food may differ before one of them
// is a slip. Common practice, no source.
const unlike = 2

func apartBy(a, b float64) bool { return a > unlike*b || b > unlike*a }
