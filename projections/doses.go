package projections

import (
	"math"

	"haulout/events"
	"haulout/projections/rules"
)

// VitaminOwed is a vitamin that goes with a day's fish, and what was given.
type VitaminOwed struct {
	rules.Owed
	Given   float64  `json:"given"`             // on the day, in the same unit, by the labels
	Unknown []string `json:"unknown,omitempty"` // doses of which no label says what they hold
	As      []DoseAs `json:"as,omitempty"`
}

// DoseAs is the amount owed in units of a supplement that the house keeps.
type DoseAs struct {
	Supplement string  `json:"supplement"`
	Name       string  `json:"name"`
	Count      float64 `json:"count"`
	Per        string  `json:"per"`
	Gives      float64 `json:"gives"` // of the vitamin
}

// vitamins works out what goes with the food of a bucket, by its mass as fed.
func (f *fishDay) vitamins(b *Bucket) []VitaminOwed {
	out := []VitaminOwed{}
	for _, owed := range rules.VitaminsFor(b.FoodG/1000, f.house) {
		v := VitaminOwed{Owed: owed, As: f.asUnits(owed)}
		v.give(f.pills, b.Doses)
		out = append(out, v)
	}
	return out
}

// give adds up what doses held of the vitamin, by the labels.
func (v *VitaminOwed) give(pills []Supplement, doses []Dose) {
	for _, dose := range doses {
		amount, known := holdsOf(pills, dose, v.Owed)
		if !known {
			v.Unknown = append(v.Unknown, dose.Supplement)
		}
		v.Given += amount
	}
}

// holdsOf says how much of a vitamin a dose held; false where no label tells.
func holdsOf(pills []Supplement, dose Dose, owed rules.Owed) (amount float64, known bool) {
	for i := range pills {
		label := pills[i].At(dose.Time)
		if events.NameFold(label.Name) != events.NameFold(dose.Supplement) && pills[i].ID != dose.Supplement {
			continue
		}
		if units, err := dose.Dose.In(label.Per); err == nil {
			n, _ := units.Float64()
			return n * label.of(owed), true
		}
		if len(label.Contents) != 1 { // of which of them was that?
			return 0, false
		}
		return ofNutrient(dose.Dose, label.Contents[0].What, owed)
	}
	return 0, false
}

// ofNutrient reads a dose that states the nutrient itself, as 50 mg of a tablet
// that holds nothing but thiamine.
func ofNutrient(q events.Quantity, what string, owed rules.Owed) (float64, bool) {
	if what != owed.What {
		return 0, true
	}
	n, err := q.In(owed.Unit)
	if err != nil {
		return 0, false
	}
	amount, _ := n.Float64()
	return amount, true
}

// of is how much of a vitamin one unit holds, in the unit in which it is owed.
func (l Label) of(owed rules.Owed) (sum float64) {
	for _, c := range l.Contents {
		if c.What == owed.What {
			sum += c.Amount.Float(owed.Unit)
		}
	}
	return sum
}

// asUnits turns what is owed into supplements that the house keeps, up to the
// next half of a tablet or tenth of a measure. Common practice, no source.
func (f *fishDay) asUnits(owed rules.Owed) (out []DoseAs) {
	for i := range f.pills {
		label := f.pills[i].At(f.holds)
		holds := label.of(owed)
		if holds <= 0 {
			continue
		}
		parts := 10.0
		if label.Per == "{tablet}" {
			parts = 2
		}
		count := math.Ceil(owed.Value/holds*parts-1e-9) / parts
		out = append(out, DoseAs{f.pills[i].ID, label.Name, count, label.Per, count * holds})
	}
	return out
}
