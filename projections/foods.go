package projections

import (
	"slices"
	"time"

	"haulout/events"
	"haulout/projections/energetics"
)

// Food is a food of one facility and what was said of it over time.
type Food struct {
	Facility string    `json:"facility"`
	ID       string    `json:"food"`
	Name     string    `json:"name"`
	Figures  []Figures `json:"figures"`
}

// Figures is what a food holds from a moment on.
type Figures struct {
	From        time.Time          `json:"from"`
	Composition events.Composition `json:"composition,omitzero"`
	KcalPer100g *float64           `json:"kcal_per_100g"` // nil where neither energy nor composition is known
	Basis       string             `json:"basis,omitempty"`
	How         string             `json:"how,omitempty"` // stated, or the factors it was worked out with
	Form        string             `json:"form,omitempty"`
	Factors     string             `json:"factors,omitempty"` // as asked for
	Source      string             `json:"source"`
}

var foods = Whole("foods", 1, "food", []string{"food.described"}, foldFood)

func foldFood(_ Scope, recs []Record) *Food {
	if len(recs) == 0 {
		return nil
	}
	last := recs[len(recs)-1].Body.(*events.FoodDescribed)
	out := &Food{Facility: recs[0].Facility, ID: last.Food, Name: last.Name}
	for _, rec := range recs {
		out.Figures = append(out.Figures, figuresOf(rec.Body.(*events.FoodDescribed), rec.Time))
	}
	return out
}

// figuresOf takes the energy that the source states, and works it out from the
// composition where it states none.
func figuresOf(b *events.FoodDescribed, from time.Time) Figures {
	f := Figures{From: from, Composition: b.Composition, Source: b.Source, Form: b.Form, Factors: b.Factors}
	if !b.Energy.IsZero() {
		kcal := b.Energy.Float("kcal")
		f.KcalPer100g, f.Basis, f.How = &kcal, b.Basis, "stated by the source"
		return f
	}
	_, protein, fat, _, carbohydrate := b.Composition.Parts()
	if protein+fat+carbohydrate == 0 {
		return f
	}
	factors := energetics.FactorsFor(b.Form, b.Factors)
	kcal := factors.Kilocalories(protein, fat, carbohydrate)
	f.KcalPer100g, f.Basis, f.How = &kcal, "metabolizable_atwater", factors.Name
	return f
}

// At gives the figures in force at a moment: the last ones said by then, or the
// first ones where nothing had been said yet.
func (f *Food) At(at time.Time) Figures {
	for _, figures := range slices.Backward(f.Figures) {
		if !figures.From.After(at) {
			return figures
		}
	}
	return f.Figures[0]
}

// Foods lists the foods of a facility, or of all with "".
func (s *Store) Foods(facility string, asOf time.Time) (out []Food, err error) {
	err = s.at(asOf, func(v view) error {
		all, err := every[Food](v, &foods)
		for _, f := range all {
			if facility == "" || f.Facility == facility {
				out = append(out, f)
			}
		}
		return err
	})
	return out, err
}
