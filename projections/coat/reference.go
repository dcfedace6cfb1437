package coat

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

// Stage is one step of the scale: more than Least and at most Most per cent of
// new coat. The first is none and the last is all.
type Stage struct {
	Stage string  `json:"stage"`
	Says  string  `json:"says"`
	Least float64 `json:"least"`
	Most  float64 `json:"most"`
}

//go:embed coat-2026-11.json
var referenceFile []byte

var reference = func() (out struct {
	Dated     string              `json:"dated"`
	Constants map[string]Constant `json:"constants"`
	Stages    struct {
		Source string  `json:"source"`
		List   []Stage `json:"list"`
	} `json:"stages"`
	Published []Timing   `json:"published"`
	Practice  []Practice `json:"practice"`
}) {
	if err := json.Unmarshal(referenceFile, &out); err != nil {
		panic("coat: the reference file: " + err.Error())
	}
	return out
}()

// Assumed is a constant of the dated reference file by its key, such as "level"
// or "own_least"; one that is not there is a programming error.
func Assumed(key string) Constant {
	c, ok := reference.Constants[key]
	if !ok {
		panic("coat: no assumption is called " + key)
	}
	return c
}

func assumed(key string) float64 { return Assumed(key).Value }
