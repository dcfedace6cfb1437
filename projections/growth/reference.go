package growth

import (
	_ "embed"
	"encoding/json"
)

// Constant is a number of the trade with where it comes from. Low and High are
// the range that others would give it.
type Constant struct {
	Name     string  `json:"name"`
	Value    float64 `json:"value"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
	Unit     string  `json:"unit"` // UCUM
	Source   string  `json:"source"`
	Verified bool    `json:"verified"` // false where it is an assumption or from memory
}

//go:embed assumptions-2026-11.json
var assumptionsFile []byte

//go:embed published-2026-11.json
var publishedFile []byte

var assumptions = reference[struct {
	Dated     string              `json:"dated"`
	Constants map[string]Constant `json:"constants"`
}](assumptionsFile)

// reference reads a file that is part of the program; one that can't be read
// is a programming error.
func reference[T any](file []byte) (out T) {
	if err := json.Unmarshal(file, &out); err != nil {
		panic("growth: a reference file: " + err.Error())
	}
	return out
}

// Assumed is a constant of the dated reference file by its key, such as
// "fall_short" or "level"; one that is not there is a programming error.
func Assumed(key string) Constant {
	c, ok := assumptions.Constants[key]
	if !ok {
		panic("growth: no assumption is called " + key)
	}
	return c
}

func assumed(key string) float64 { return Assumed(key).Value }
