package rules

import "fmt"

// Owed is how much of a vitamin goes with a mass of fish.
type Owed struct {
	What  string  `json:"what"` // thiamine or vitamin_e
	Least float64 `json:"least"`
	Most  float64 `json:"most"`  // Least and Most are the published range
	Value float64 `json:"value"` // by the value in force
	Unit  string  `json:"unit"`  // mg or [iU]
	Basis string  `json:"basis"`
}

// VitaminsFor gives the vitamins that go with kg kilograms of frozen fish: the
// published range, and the amount by the value that is in force in the house.
// Sources stand in the reference file.
func VitaminsFor(kg float64, h House) []Owed {
	out := make([]Owed, 0, 2)
	for _, of := range []struct{ rule, unit string }{{"thiamine", "mg"}, {"vitamin_e", "[iU]"}} {
		set := h.Setting(of.rule)
		basis := fmt.Sprintf("%s of fish: %s", set.Words, set.Cited())
		if set.By != "house" {
			basis = set.Words
		}
		out = append(out, Owed{
			What: of.rule, Least: kg * set.Least, Most: kg * set.Most, Value: kg * set.InForce, Unit: of.unit, Basis: basis,
		})
	}
	return out
}
