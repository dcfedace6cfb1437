package energetics

import (
	_ "embed"
	"encoding/json"
)

// Constant is a number of the trade with where it comes from. Low and High are
// the range that it may have; for what is measured on animals that is about 9
// in 10 of them.
type Constant struct {
	Name     string  `json:"name"`
	Value    float64 `json:"value"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
	Unit     string  `json:"unit"` // UCUM
	Source   string  `json:"source"`
	Verified bool    `json:"verified"` // false where it is an assumption or from memory
}

//go:embed need-2026-11.json
var needFile []byte

//go:embed digestion-2026-11.json
var digestionFile []byte

var needs = reference[struct {
	Constants  map[string]Constant `json:"constants"`
	Groups     map[string]Constant `json:"groups"`
	Molt       map[string]Constant `json:"molt"`
	FastMonths struct {
		Months []int  `json:"months"`
		Source string `json:"source"`
	} `json:"fast_months"`
	AroundBirth struct {
		Days   int    `json:"days"`
		Says   string `json:"says"`
		Source string `json:"source"`
	} `json:"around_birth"`
	InMolt struct {
		Group  string `json:"group"`
		Says   string `json:"says"`
		Source string `json:"source"`
	} `json:"in_molt"`
	Taxa []Taxon `json:"taxa"`
}](needFile)

var digestion = reference[struct {
	Digested []struct {
		Food string `json:"food"`
		Form string `json:"form"`
		Constant
	} `json:"digested"`
	Urinary struct {
		Fattest          float64 `json:"fattest"`
		Leanest          float64 `json:"leanest"`
		FatProteinShare  float64 `json:"fat_protein_share"`
		LeanProteinShare float64 `json:"lean_protein_share"`
		Constant
	} `json:"urinary"`
	Heat  Constant `json:"heat"`
	Water struct {
		Fat, Protein, Carbohydrate float64
		Source                     string
		Verified                   bool
	} `json:"water"`
}](digestionFile)

// reference reads a file that is part of the program; one that can't be read
// is a programming error.
func reference[T any](file []byte) (out T) {
	if err := json.Unmarshal(file, &out); err != nil {
		panic("energetics: a reference file: " + err.Error())
	}
	return out
}

// Tissue is the energy of one kilogram of body mass gained or lost, in MJ/kg.
func Tissue() Constant { return needs.Constants["tissue"] }

// Basal is the constant of the basal rate after Kleiber.
func Basal() Constant { return needs.Constants["kleiber"] }

// kcalPerMJ converts energy: 1 kcal = 4.184 kJ exactly.
const kcalPerMJ = 1000 / 4.184
