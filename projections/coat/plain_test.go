package coat

import (
	"strings"
	"testing"
)

func TestCriteriaOfNothing(t *testing.T) {
	if _, err := CriteriaOf(nil); err == nil || !strings.Contains(err.Error(), "figures: is empty") {
		t.Error(err)
	}
}

// A class is named by what is known of it.
func TestClassesInWords(t *testing.T) {
	for want, c := range map[string]Class{
		"adult female": {Sex: "female", Age: "adult"}, "male of unknown age": {Sex: "male"},
		"pup of unknown sex": {Sex: "unknown", Age: "pup"}, "animal of unknown sex and age": {Sex: "unknown"},
	} {
		if got := c.words(); got != want {
			t.Errorf("%+v is called %q, want %q", c, got, want)
		}
	}
}
