package rules

import (
	_ "embed"
	"encoding/json"
	"time"
)

//go:embed appetite-2026-11.json
var appetiteFile []byte

var appetite = func() (r Rule) {
	if err := json.Unmarshal(appetiteFile, &r); err != nil {
		panic("rules: the reference file of appetite: " + err.Error())
	}
	r.Name = "inappetence"
	return r
}()

// Inappetence is the rule by which a refusal of all food goes to the
// veterinarian.
func Inappetence() Rule { return appetite }

// Refusing says for how long an animal has taken nothing of what it was
// offered, and whether that goes to the veterinarian. Ate is when it last ate,
// or was first offered food that is on record; refused is when it last refused
// everything, zero where it did not since it ate. No season excuses it: a fast
// that is expected is told to the veterinarian like any other.
func Refusing(ate, refused, now time.Time) (since time.Duration, report bool) {
	if refused.IsZero() || !refused.After(ate) {
		return 0, false
	}
	since = now.Sub(ate)
	return since, since > time.Duration(appetite.Value*float64(time.Hour))
}
