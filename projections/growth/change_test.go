package growth

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

func TestWhichWeighInsMadeAMedian(t *testing.T) {
	a, b, c := Weighing{Day: 3, Kg: 100}, Weighing{Day: 20, Kg: 98, Scale: "deck", Coat: "wet"}, Weighing{Day: 24, Kg: 96}
	guess := Weighing{Day: 25, Kg: 50, Method: "estimated"}
	got, err := ChangesOn([]Weighing{c, {Day: 26, Kg: 90}, b, guess, a, {Day: 26, Kg: 92}, {Day: 27, Kg: 10}}, 26)
	if err != nil {
		t.Fatal(err)
	}
	want := []Change{
		{Window: 7, Kg: 91, Median: 97, Percent: 100 * (91.0/97 - 1), Of: []Weighing{b, c}, Limit: 5, Look: true},
		{Window: 30, Kg: 91, Median: 98, Percent: 100 * (91.0/98 - 1), Of: []Weighing{a, b, c}, Limit: 10},
	}
	if diff := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
		t.Error(diff)
	}
}

func TestAChangeNeedsBothSides(t *testing.T) {
	for day, says := range map[int]string{10: "not weighed on this day", 5: "not weighed in the 7 days before"} {
		got, err := ChangesOn([]Weighing{{Day: 5, Kg: 80}}, day)
		if err != nil || got[0].NotEnough != says || got[0].Look {
			t.Errorf("day %d: %+v, %v; want %q", day, got, err, says)
		}
	}
	if _, err := ChangesOn([]Weighing{{Day: 5}}, 5); err == nil || !strings.Contains(err.Error(), "kg is 0") {
		t.Errorf("no mass: %v", err)
	}
}

// A limit is reached by a fall of just so much, and by no gain.
func TestALimitIsAFall(t *testing.T) {
	for kg, look := range map[float64]bool{95: true, 95.1: false, 106: false} {
		if got, err := ChangesOn([]Weighing{{Day: 1, Kg: 100}, {Day: 2, Kg: kg}}, 2); err != nil || got[0].Look != look {
			t.Errorf("from 100 to %v kg: %+v, %v", kg, got[0], err)
		}
	}
}
