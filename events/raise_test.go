package events

import (
	"errors"
	"strings"
	"testing"
)

// A kind in its second version: the first wrote the mass as bare kilograms.
func TestOlderBodiesAreRaisedOnReading(t *testing.T) {
	k := of[WeightTaken]("weight.taken", func(body map[string]any) error {
		kg, ok := body["kilograms"].(string)
		if !ok {
			return errors.New("kilograms is missing")
		}
		delete(body, "kilograms")
		body["mass"] = map[string]any{"value": kg, "unit": "kg"}
		return nil
	})
	if k.version() != 2 || k.wire(2) != "haulout.weight.taken.v2" {
		t.Fatalf("is version %d, %s", k.version(), k.wire(2))
	}
	old, err := k.decode([]byte(`{"animal":"marl","kilograms":"81.50","text":"<steady> & calm"}`), 1)
	if err != nil {
		t.Fatal(err)
	}
	if got := *old.(*WeightTaken); got != (WeightTaken{Animal: "marl", Mass: measured("81.50", "kg"), Text: "<steady> & calm"}) {
		t.Errorf("raised it is %+v", got)
	}
	if _, err := k.decode([]byte(`{"animal":"marl","kilograms":"81.50"}`), 2); err == nil {
		t.Error("version 2 takes a field of version 1")
	}
	for src, says := range map[string]string{`{"animal":"marl"}`: "raise weight.taken from version 1: kilograms is missing", `[]`: "data: can't be read"} {
		if _, err := k.decode([]byte(src), 1); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", src, err)
		}
	}
}
