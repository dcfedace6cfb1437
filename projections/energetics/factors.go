// Package energetics is the arithmetic of food energy and body mass. It is
// pure: numbers in, numbers out, with every constant in a dated reference file.
package energetics

import (
	_ "embed"
	"encoding/json"
)

//go:embed factors-2026-11.json
var factorsFile []byte

// Factors turns grams of protein, fat and carbohydrate into kilocalories.
type Factors struct {
	Name         string  `json:"name"`
	Protein      float64 `json:"protein"`      // kcal/g
	Fat          float64 `json:"fat"`          // kcal/g
	Carbohydrate float64 `json:"carbohydrate"` // kcal/g
	Basis        string  `json:"basis"`
	Source       string  `json:"source"`
	Verified     bool    `json:"verified"`
}

// Kilocalories is the energy of the given grams, in kcal.
func (f Factors) Kilocalories(protein, fat, carbohydrate float64) float64 {
	return f.Protein*protein + f.Fat*fat + f.Carbohydrate*carbohydrate
}

var factorSets = func() map[string]Factors {
	var sets map[string]Factors
	if err := json.Unmarshal(factorsFile, &sets); err != nil {
		panic("energetics: the reference file of factors: " + err.Error())
	}
	return sets
}()

// FactorsFor chooses the Atwater factors: the general ones where asked for or
// where the form is not known, else the specific ones of the form.
func FactorsFor(form, asked string) Factors {
	if asked == "general" {
		return factorSets["general"]
	}
	switch form {
	case "fish":
		return factorSets["fish"]
	case "shellfish", "cephalopod":
		return factorSets["shellfish"]
	}
	return factorSets["general"]
}

// Gross gives the factors of gross energy, as burnt in a calorimeter.
func Gross() Factors { return factorSets["gross"] }
