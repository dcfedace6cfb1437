package energetics

import (
	"fmt"
	"strings"
)

// Composition is what 100 g of a food hold as fed, in grams.
type Composition struct {
	Water, Protein, Fat, Ash, Carbohydrate float64
}

// Check refuses a composition that can't be one: a part below 0, nothing that
// gives energy, or a full analysis that does not sum to between 95 and 105 g
// (the published tables of USDA SR run from 97.4 to 104.2).
func (c Composition) Check() error {
	for _, part := range []struct {
		name  string
		grams float64
	}{{"water", c.Water}, {"protein", c.Protein}, {"fat", c.Fat}, {"ash", c.Ash}, {"carbohydrate", c.Carbohydrate}} {
		if !(part.grams >= 0 && part.grams <= 100) {
			return fmt.Errorf("%s is %g g in 100 g; give 0 to 100", part.name, part.grams)
		}
	}
	if c.Protein+c.Fat+c.Carbohydrate == 0 {
		return fmt.Errorf("protein, fat and carbohydrate are all 0; give at least protein and fat")
	}
	sum := c.Water + c.Protein + c.Fat + c.Ash + c.Carbohydrate
	if full := c.Water > 0 && c.Ash > 0; sum > 105 || full && sum < 95 {
		return fmt.Errorf("water, protein, fat, ash and carbohydrate sum to %.1f g in 100 g; an analysis sums to between 95 and 105", sum)
	}
	return nil
}

// Gross is the energy of 100 g as burnt in a calorimeter, in kcal.
func (c Composition) Gross() float64 {
	return Gross().Kilocalories(c.Protein, c.Fat, c.Carbohydrate)
}

// Metabolizable is the energy of 100 g by Atwater factors, in kcal.
func (c Composition) Metabolizable(f Factors) float64 {
	return f.Kilocalories(c.Protein, c.Fat, c.Carbohydrate)
}

// MetabolicWater is what 100 g give when burnt, in grams.
func (c Composition) MetabolicWater() float64 {
	w := digestion.Water
	return w.Fat*c.Fat + w.Protein*c.Protein + w.Carbohydrate*c.Carbohydrate
}

// ProteinShare is the part of gross energy that is protein, 0 to 1.
func (c Composition) ProteinShare() float64 {
	gross := c.Gross()
	if gross == 0 {
		return 0
	}
	return Gross().Protein * c.Protein / gross
}

// Digested is the share of gross energy that is not lost in faeces, for a food
// by its scientific name and form.
func Digested(taxon, form string) Constant {
	for _, d := range digestion.Digested {
		if d.Food != "" && strings.HasPrefix(taxon, d.Food) {
			return d.Constant
		}
	}
	last := len(digestion.Digested) - 1
	for _, d := range digestion.Digested {
		if d.Food == "" && d.Form == form {
			return d.Constant
		}
	}
	return digestion.Digested[last].Constant
}

// Urinary is the share of gross energy lost in urine, rising with the share of
// protein in gross energy (0 to 1).
func Urinary(proteinShare float64) Constant {
	u := digestion.Urinary
	at := (proteinShare - u.FatProteinShare) / (u.LeanProteinShare - u.FatProteinShare)
	out := u.Constant
	out.Value = u.Fattest + min(max(at, 0), 1)*(u.Leanest-u.Fattest)
	return out
}

// Heat is the share of gross energy lost as heat of digestion.
func Heat() Constant { return digestion.Heat }

// Losses follows energy from the fish to what the body can use, in kcal.
type Losses struct {
	Gross         float64 `json:"gross_kcal"`
	Faecal        float64 `json:"faecal_kcal"`
	Digestible    float64 `json:"digestible_kcal"`
	Urinary       float64 `json:"urinary_kcal"`
	Metabolizable float64 `json:"metabolizable_kcal"`
	Heat          float64 `json:"heat_kcal"`
	Net           float64 `json:"net_kcal"`
}

// Chain takes from gross energy (kcal) what is lost in faeces (by the share
// digested), in urine and as heat of digestion (both shares of gross energy).
// Scheme: FAO Food and Nutrition Paper 77 (2003).
func Chain(gross, digested, urinary, heat float64) Losses {
	l := Losses{Gross: gross, Digestible: gross * digested, Urinary: gross * urinary, Heat: gross * heat}
	l.Faecal = l.Gross - l.Digestible
	l.Metabolizable = l.Digestible - l.Urinary
	l.Net = l.Metabolizable - l.Heat
	return l
}

// Add sums the losses of two foods.
func (l Losses) Add(m Losses) Losses {
	return Losses{
		l.Gross + m.Gross, l.Faecal + m.Faecal, l.Digestible + m.Digestible, l.Urinary + m.Urinary,
		l.Metabolizable + m.Metabolizable, l.Heat + m.Heat, l.Net + m.Net,
	}
}

// Times scales the losses.
func (l Losses) Times(n float64) Losses {
	return Losses{l.Gross * n, l.Faecal * n, l.Digestible * n, l.Urinary * n, l.Metabolizable * n, l.Heat * n, l.Net * n}
}

// LossesOf is the chain of 100 g of a food by the factors of the reference
// file.
func (c Composition) LossesOf(taxon, form string) Losses {
	return Chain(c.Gross(), Digested(taxon, form).Value, Urinary(c.ProteinShare()).Value, Heat().Value)
}

// ToMetabolizable brings the stated energy of 100 g to metabolizable energy, in
// kcal. Gross and digestible energy are cut by what the composition loses on
// its way by Atwater factors, or where there is none by the losses of the
// reference file. Atwater's own is taken as it is: it holds no faecal or urinary
// loss that could be taken off again.
func ToMetabolizable(kcal float64, basis string, c Composition, f Factors, taxon, form string) (float64, string) {
	if basis == "metabolizable_atwater" {
		return kcal, basis
	}
	known := c.Protein+c.Fat+c.Carbohydrate > 0
	digested := Digested(taxon, form).Value
	share := digested - Urinary(middleProteinShare).Value
	if known {
		share = c.Metabolizable(f) / c.Gross()
	}
	if basis == "digestible" {
		share /= digested
	}
	return kcal * min(share, 1), "metabolizable, from " + basis
}

// middleProteinShare stands for fish of which no composition is known: the
// middle of what the reference file spans.
var middleProteinShare = (digestion.Urinary.FatProteinShare + digestion.Urinary.LeanProteinShare) / 2

// FormOf guesses the form of a food from what people call it; "fish" where
// nothing speaks against it.
func FormOf(name string) string {
	name = strings.ToLower(name)
	for form, words := range map[string][]string{
		"cephalopod": {"squid", "octopus", "cuttlefish"},
		"shellfish":  {"shrimp", "krill", "prawn", "crab", "clam", "mussel"},
	} {
		for _, word := range words {
			if strings.Contains(name, word) {
				return form
			}
		}
	}
	return "fish"
}
