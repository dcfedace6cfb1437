package projections

import (
	"cmp"
	"time"

	"haulout/events"
	"haulout/projections/energetics"
	"haulout/projections/rules"
)

// Eaten is what an animal took in on a day, with what that is worth.
type Eaten struct {
	OfferedG float64           `json:"offered_g"`
	EatenG   float64           `json:"eaten_g"`
	AsWaterG float64           `json:"as_water_g,omitempty"` // of that, ice and the like, which count as water
	Kcal     float64           `json:"kcal"`                 // metabolizable
	Bases    []string          `json:"bases"`                // what the figures of the foods count, each named once
	Unknown  []string          `json:"unknown,omitempty"`    // foods without known energy: kcal is short of them
	Losses   energetics.Losses `json:"losses"`               // of the foods whose composition is known
	NoLosses []string          `json:"no_losses,omitempty"`  // foods whose composition is not
	Water    Water             `json:"water"`
	Vitamins []VitaminOwed     `json:"vitamins,omitempty"` // that go with so much fish, and what was given
}

// Water is what came with food. The animal may have drunk besides, so it is
// the least that it took in.
type Water struct {
	PreformedG float64 `json:"preformed_g"`
	MetabolicG float64 `json:"metabolic_g"`
	LowerBound bool    `json:"lower_bound"` // always true
}

// eaten works out a day's food.
func (v view) eaten(day Day, r *dayRow, l pantry) (Eaten, error) {
	out := Eaten{Bases: []string{}, Water: Water{LowerBound: true}}
	for _, item := range r.Items {
		at := day.End(cmp.Or(v.zone(item.Facility), time.UTC)).Add(-1)
		f, food, err := v.figures(item.Facility, item.Food, item.Lot, at, l)
		if err != nil {
			return out, err
		}
		out.OfferedG += grams(item.Offered)
		out.EatenG += grams(item.Eaten)
		out.take(grams(item.Eaten), l.worth(food, item.Food, f))
	}
	return out, nil
}

// worth is what a gram of a food comes to by one set of figures.
type worth struct {
	name      string
	kcal      float64
	basis     string
	known     bool // its energy is
	composed  bool // its composition is
	water     bool // it counts as water
	losses    energetics.Losses
	preformed float64
	metabolic float64
}

// worthKey tells sets of figures apart: a food is said anew, and lots differ.
type worthKey struct {
	food   *Food
	from   time.Time
	source string
}

// worth works a set of figures out once: years of days eat of few of them.
func (l pantry) worth(food *Food, id string, f Figures) worth {
	if food == nil {
		return worth{name: id}
	}
	k := worthKey{food, f.From, f.Source}
	if w, ok := l.worths[k]; ok {
		return w
	}
	w := worthOf(food, f)
	l.worths[k] = w
	return w
}

func worthOf(food *Food, f Figures) worth {
	w := worth{name: food.Name}
	var kcal float64
	w.water = f.isWater()
	kcal, w.basis, w.known = f.metabolizable(food.Taxon)
	w.kcal = kcal / 100
	c := compositionOf(f.Composition)
	w.preformed = c.Water / 100
	if w.composed = c.Protein+c.Fat+c.Carbohydrate > 0; w.composed {
		w.losses = c.LossesOf(food.Taxon, f.Form).Times(0.01)
		w.metabolic = c.MetabolicWater() / 100
	}
	return w
}

func (e *Eaten) take(g float64, w worth) {
	if !w.known {
		if g > 0 {
			e.Unknown = addOnce(e.Unknown, w.name)
		}
		return
	}
	if w.water {
		e.AsWaterG += g
		e.Water.PreformedG += g * w.preformed
		return
	}
	e.Kcal += g * w.kcal
	e.Bases = addOnce(e.Bases, w.basis)
	if !w.composed {
		e.NoLosses = addOnce(e.NoLosses, w.name)
		return
	}
	e.Losses = e.Losses.Add(w.losses.Times(g))
	e.Water.PreformedG += g * w.preformed
	e.Water.MetabolicG += g * w.metabolic
}

// metabolizable is the energy of 100 g in kcal, and what it counts.
func (f Figures) metabolizable(taxon string) (kcal float64, basis string, known bool) {
	if f.isWater() {
		return 0, "counts as water", true
	}
	if f.KcalPer100g == nil {
		return 0, "", false
	}
	kcal, basis = energetics.ToMetabolizable(*f.KcalPer100g, f.Basis, compositionOf(f.Composition), energetics.FactorsFor(f.Form, f.Factors), taxon, f.Form)
	return kcal, basis + ", " + f.from(), true
}

// isWater says that a food counts as water, as ice and sugar-free gelatin do.
func (f Figures) isWater() bool {
	return f.Composition.Water.Float("g") >= rules.House{}.Setting("water_from").InForce
}

// from says in two words whose figures these are.
func (f Figures) from() string {
	if f.Assayed {
		return "lot assay"
	}
	return "food table"
}

func compositionOf(c events.Composition) energetics.Composition {
	water, protein, fat, ash, carbohydrate := c.Parts()
	return energetics.Composition{Water: water, Protein: protein, Fat: fat, Ash: ash, Carbohydrate: carbohydrate}
}

// medicine is what a house gives by: its own rules and its supplements' labels.
type medicine struct {
	house rules.House
	pills []Supplement
}

// vitamins works out what goes with the fish that was eaten on a day, by the
// rules of the house that fed it, and what was given there.
func (v view) vitamins(day Day, e *Eaten, r *dayRow, known map[string]*medicine) error {
	if len(r.Items) == 0 {
		return nil
	}
	m, err := v.medicineOf(r.Items[0].Facility, day, known)
	if err != nil {
		return err
	}
	for _, owed := range rules.VitaminsFor((e.EatenG-e.AsWaterG)/1000, m.house) {
		one := VitaminOwed{Owed: owed}
		one.give(m.pills, r.Doses)
		e.Vitamins = append(e.Vitamins, one)
	}
	return nil
}

func (v view) medicineOf(facility string, day Day, known map[string]*medicine) (*medicine, error) {
	if m, ok := known[facility]; ok {
		return m, nil
	}
	set, err := v.houseValues(facility, day.End(cmp.Or(v.zone(facility), time.UTC)))
	if err != nil {
		return nil, err
	}
	m := &medicine{house: set}
	m.pills, err = v.supplements(facility)
	known[facility] = m
	return m, err
}
