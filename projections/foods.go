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
	Taxon    string    `json:"taxon,omitempty"`
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
	Portion     events.Quantity    `json:"portion,omitzero"`  // such as one fish; rations are cut in whole ones
	Source      string             `json:"source"`
	Assayed     bool               `json:"-"` // a lot's own; never in a row
}

var foods = Whole("foods", 2, "food", []string{"food.described"}, foldFood)

func foldFood(_ Scope, recs []Record) *Food {
	if len(recs) == 0 {
		return nil
	}
	last := recs[len(recs)-1].Body.(*events.FoodDescribed)
	out := &Food{Facility: recs[0].Facility, ID: last.Food, Name: last.Name, Taxon: last.Taxon}
	for _, rec := range recs {
		out.Figures = append(out.Figures, figuresOf(rec.Body.(*events.FoodDescribed), rec.Time))
	}
	return out
}

// figuresOf takes the energy that the source states, and works it out from the
// composition where it states none.
func figuresOf(b *events.FoodDescribed, from time.Time) Figures {
	f := Figures{From: from, Composition: b.Composition, Source: b.Source, Form: b.Form, Factors: b.Factors, Portion: b.Portion}
	f.state(b.Energy, b.Basis)
	return f
}

// state puts in the energy of 100 g.
func (f *Figures) state(energy events.Quantity, basis string) {
	if !energy.IsZero() && basis != "" {
		kcal := energy.Float("kcal")
		f.KcalPer100g, f.Basis, f.How = &kcal, basis, "stated by the source"
		return
	}
	_, protein, fat, _, carbohydrate := f.Composition.Parts()
	if protein+fat+carbohydrate == 0 {
		return
	}
	factors := energetics.FactorsFor(f.Form, f.Factors)
	kcal := factors.Kilocalories(protein, fat, carbohydrate)
	f.KcalPer100g, f.Basis, f.How = &kcal, factors.Basis, factors.Name
}

// assayed gives the figures of a lot by its own last assay.
func (f Figures) assayed(lot *Lot) Figures {
	a := lot.Assays[len(lot.Assays)-1]
	out := Figures{From: lot.Received, Composition: a.Composition, Form: f.Form, Factors: f.Factors, Portion: f.Portion, Assayed: true}
	out.Source = "assay of lot " + lot.ID
	if a.Laboratory != "" {
		out.Source += ", " + a.Laboratory
	}
	if a.Sampled != "" {
		out.Source += ", sampled " + a.Sampled
	}
	out.state(a.Energy, a.Basis)
	return out
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

// pantry remembers the foods and lots that a reading has met.
type pantry struct {
	foods map[string]*Food
	lots  map[string]*Lot

	worths map[worthKey]worth
}

func newPantry() pantry {
	return pantry{map[string]*Food{}, map[string]*Lot{}, map[worthKey]worth{}}
}

// figures gives what a food holds at a moment: by the assay of its own lot
// where there is one, else by what had been said of the food. The food is nil
// where nobody described it.
func (v view) figures(facility, food, lot string, at time.Time, l pantry) (f Figures, of *Food, err error) {
	of, err = remember(l.foods, Local("food", facility, food), func(ref events.Ref) (*Food, error) {
		return row[Food](v, &foods, Scope{Ref: ref})
	})
	if err != nil || of == nil {
		return f, of, err
	}
	f = of.At(at)
	if lot == "" {
		return f, of, nil
	}
	from, err := remember(l.lots, Local("lot", facility, lot), func(ref events.Ref) (*Lot, error) {
		return row[Lot](v, &lots, Scope{Ref: ref})
	})
	if err != nil || from == nil || len(from.Assays) == 0 || from.Food != food {
		return f, of, err
	}
	return f.assayed(from), of, nil
}

func remember[R any](known map[string]*R, ref events.Ref, read func(events.Ref) (*R, error)) (*R, error) {
	if r, ok := known[ref.ID]; ok {
		return r, nil
	}
	r, err := read(ref)
	known[ref.ID] = r
	return r, err
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
