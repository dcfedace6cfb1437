package dominance

import (
	"fmt"
	"maps"
	"math"
	"slices"
)

// Curve is how a difference in points becomes the chance to win.
type Curve string

// The curves, after Elo 1978 (normal as in Albers & de Vries 2001, Anim Behav
// 61:489-495; logistic) and after the open code of Sanchez-Tojar, Schroeder &
// Farine 2018 (exponential).
const (
	Normal      Curve = "normal"
	Logistic    Curve = "logistic"
	Exponential Curve = "exponential"
)

// Chance is the chance, 0 to 1, of an animal that is ahead by a difference in
// points to win an encounter that is decided. A curve with no name is normal.
func (c Curve) Chance(ahead float64) float64 {
	switch c {
	case Logistic:
		return 1 / (1 + math.Pow(10, -ahead/assumed("logistic_scale")))
	case Exponential:
		return 1 / (1 + math.Exp(-assumed("exponential_rate")*ahead))
	}
	return phi(ahead / (assumed("normal_sd") * math.Sqrt2))
}

// phi is the standard normal distribution function.
func phi(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

// Scale is how ratings are reckoned.
type Scale struct {
	Curve Curve              `json:"curve"`
	Start float64            `json:"start"`           // points of a newcomer
	K     map[string]float64 `json:"k"`               // points at stake by intensity; "" where none was noted
	Prior map[string]float64 `json:"prior,omitempty"` // points that an animal begins with whose standing was known before
}

// UsualScale is the normal curve with the start and stakes of the reference
// file. Ratings on it mean nothing beside those of another group.
func UsualScale() Scale {
	return Scale{Curve: Normal, Start: assumed("start"), K: map[string]float64{
		"": assumed("k"), "low": assumed("k_low"), "medium": assumed("k_medium"), "high": assumed("k_high"),
	}}
}

func (s Scale) check() error {
	if !slices.Contains([]Curve{Normal, Logistic, Exponential}, s.Curve) {
		return fmt.Errorf("curve: %q is not known: use normal, logistic or exponential", s.Curve)
	}
	if _, ok := s.K[""]; !ok {
		return fmt.Errorf(`k: nothing is at stake where no intensity was noted: give k for ""`)
	}
	for _, intensity := range slices.Sorted(maps.Keys(s.K)) {
		if k := s.K[intensity]; !(k > 0) || math.IsInf(k, 0) {
			return fmt.Errorf("k: %v for intensity %q: give points above zero", k, intensity)
		}
	}
	for _, id := range slices.Sorted(maps.Keys(s.Prior)) {
		if p := s.Prior[id]; math.IsNaN(p - p) {
			return fmt.Errorf("prior: %v for %q: give finite points", p, id)
		}
	}
	if math.IsNaN(s.Start - s.Start) {
		return fmt.Errorf("start: %v: give finite points", s.Start)
	}
	return nil
}
