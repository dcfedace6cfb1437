package rules

import (
	"testing"
	"time"
)

// 9 CFR 3.105(c): inappetence of over 24 hours is reported to the attending
// veterinarian at once.
func TestARefusalOfAllFoodIsReported(t *testing.T) {
	ate := time.Date(2026, 6, 15, 16, 30, 0, 0, time.UTC) // in a male's season of fasting
	for name, c := range map[string]struct {
		refused, now time.Duration // after it ate
		want         bool
	}{
		"refused for 23 hours":                      {16 * time.Hour, 23 * time.Hour, false},
		"refused for 24 hours":                      {16 * time.Hour, 24 * time.Hour, false},
		"refused for over 24 hours":                 {16 * time.Hour, 24*time.Hour + time.Minute, true},
		"ate after it refused":                      {-2 * time.Hour, 40 * time.Hour, false},
		"refused at the very moment of the reading": {30 * time.Hour, 30 * time.Hour, true},
	} {
		if _, got := Refusing(ate, ate.Add(c.refused), ate.Add(c.now)); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
	if _, got := Refusing(ate, time.Time{}, ate.Add(48*time.Hour)); got {
		t.Error("an animal that was offered nothing has refused nothing")
	}
	if r := Inappetence(); r.Value != 24 || !r.Verified || r.Cited() != "9 CFR 3.105(c)" {
		t.Errorf("%+v", r)
	}
}
