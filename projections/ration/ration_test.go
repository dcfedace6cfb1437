package ration

import (
	"encoding/json"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
)

func ref[T any](v T) *T { return &v }

// twoFish is 4.5 kg of two foods in portions of 100 g; their figures are round
// and invented.
func twoFish() ([]Item, Wanted) {
	return []Item{
		{Name: "herring", KcalPerKg: 2000, PortionKg: 0.1},
		{Name: "squid", KcalPerKg: 1000, PortionKg: 0.1},
	}, Wanted{Kcal: 6000, Sessions: 3}
}

func propose(t *testing.T, items []Item, w Wanted) Plan {
	t.Helper()
	p, err := Propose(items, w)
	if err != nil {
		t.Fatal(err)
	}
	if !p.Proven {
		t.Errorf("%v is not proven", p.Portions)
	}
	return p
}

func TestTiesAreSettledInTheirOrder(t *testing.T) {
	cases := map[string]struct {
		change func(items []Item, w *Wanted)
		want   []int
	}{
		"nothing else is known: most of the first": {func([]Item, *Wanted) {}, []int{30, 0}},
		"the cheaper": {func(items []Item, _ *Wanted) {
			items[0].CostPerKg, items[1].CostPerKg = ref(3.0), ref(1.0)
		}, []int{0, 60}},
		"a cost that isn't known settles nothing": {func(items []Item, _ *Wanted) {
			items[1].CostPerKg = ref(0.0)
		}, []int{30, 0}},
		"what is due before the cheaper": {func(items []Item, _ *Wanted) {
			items[0].CostPerKg, items[1].CostPerKg = ref(3.0), ref(1.0)
			items[0].DueKg = 1
		}, []int{10, 40}},
		"fewest changes before what is due": {func(items []Item, _ *Wanted) {
			items[0].DueKg = 1
			items[0].Yesterday, items[1].Yesterday = ref(2), ref(56)
		}, []int{2, 56}},
		"nearness before everything": {func(items []Item, w *Wanted) {
			items[0].Yesterday, items[1].Yesterday = ref(2), ref(56)
			w.ProteinG, items[0].ProteinPerKg, items[1].ProteinPerKg = ref(450.0), ref(150.0), ref(150.0)
		}, []int{30, 0}},
	}
	for name, c := range cases {
		items, w := twoFish()
		c.change(items, &w)
		if p := propose(t, items, w); !slices.Equal(p.Portions, c.want) {
			t.Errorf("%s: %v, want %v", name, p.Portions, c.want)
		}
	}
}

// Half a squid is 50 kcal: yesterday's 5950 kcal are as near as 6000.
func TestHalfAPortionIsNoReasonForAChange(t *testing.T) {
	items, w := twoFish()
	items[0].Yesterday, items[1].Yesterday = ref(29), ref(2)
	w.Kcal = 6040
	if p := propose(t, items, w); !slices.Equal(p.Portions, []int{29, 2}) || *p.Changed != 0 {
		t.Errorf("%v, %d portions changed", p.Portions, *p.Changed)
	}
	w.Kcal = 6060
	if p := propose(t, items, w); *p.Changed != 1 {
		t.Errorf("%v, %d portions changed", p.Portions, *p.Changed)
	}
	w.Kcal, w.Exact = 6100, true
	items[0].PortionKg = 0.05
	if p := propose(t, items, w); p.Kcal != 6100 || p.Tolerance != 0 {
		t.Errorf("%v holds %g kcal", p.Portions, p.Kcal)
	}
}

func TestThePlanSaysWhatItHolds(t *testing.T) {
	items, w := twoFish()
	items[0].WaterPerKg, items[0].FatPerKg, items[0].ProteinPerKg, items[0].CostPerKg = ref(650.0), ref(120.0), ref(170.0), ref(2.5)
	items[1].MinShare, items[0].Yesterday = 0.25, ref(20)
	p := propose(t, items, w)
	if p.Kcal < 5950 || p.Kcal > 6050 {
		t.Errorf("%v", p.Portions)
	}
	kg := float64(sum(p.Portions)) / 10
	if math.Abs(p.Kg-kg) > 1e-9 || math.Abs(p.Shares[1]-float64(p.Portions[1])/10/kg) > 1e-9 || p.Shares[1] < 0.25 {
		t.Errorf("%+v", p)
	}
	if p.WaterG != nil || p.FatG != nil || p.ProteinG != nil || p.Cost != nil {
		t.Errorf("nobody knows what squid holds or costs: %+v", p)
	}
	if want := p.Portions[0] - 20 + p.Portions[1]; *p.Changed != want {
		t.Errorf("%d portions changed, want %d", *p.Changed, want)
	}
	items = items[:1]
	items[0].MinShare, w.Kcal = 0, 4000
	p = propose(t, items, w)
	if *p.WaterG != 1300 || *p.FatG != 240 || *p.ProteinG != 340 || *p.Cost != 5 || p.CeilingKg != nil || p.Short != nil {
		t.Errorf("%+v", p)
	}
}

func TestNothingGoesAboveTheCeiling(t *testing.T) {
	items, w := twoFish()
	w.BodyMassKg = ref(20.0) // 2.8 kg a day: 5600 kcal of herring
	p := propose(t, items, w)
	if !slices.Equal(p.Portions, []int{28, 0}) || math.Abs(*p.CeilingKg-2.8) > 1e-9 || p.Short == nil {
		t.Fatalf("%+v", p)
	}
	if math.Abs(p.Short.Shortfall-400) > 1e-4 || math.Abs(p.Short.Most-5600) > 1e-4 || !slices.Equal(p.Short.Binding, []string{"ceiling of 14 % of body mass (2.8 kg a day)"}) {
		t.Errorf("%+v", p.Short)
	}
	if _, err := Cheapest(costly(items), w); err == nil || !strings.Contains(err.Error(), "no amounts") {
		t.Errorf("the cheapest food goes above the ceiling: %v", err)
	}
}

func costly(items []Item) []Item {
	for i := range items {
		items[i].CostPerKg = ref(1.0)
	}
	return items
}

func TestWhatBindsIsNamed(t *testing.T) {
	cases := map[string]struct {
		change func(items []Item, w *Wanted)
		want   []string
	}{
		"stock and a greatest share": {func(items []Item, _ *Wanted) {
			items[0].MaxShare, items[1].StockKg = ref(0.5), ref(1.0)
		}, []string{"maximum share of herring (50 %)", "stock of squid (1 kg)"}},
		"a least share that stock can't keep up": {func(items []Item, _ *Wanted) {
			items[1].MinShare, items[1].StockKg = 0.25, ref(0.5)
		}, []string{"minimum share of squid (25 %)", "stock of squid (0.5 kg)"}},
		"greatest shares below the whole": {func(items []Item, _ *Wanted) {
			items[0].MaxShare, items[1].MaxShare = ref(0.5), ref(0.4)
		}, []string{"maximum share of herring (50 %)", "maximum share of squid (40 %)"}},
	}
	for name, c := range cases {
		items, w := twoFish()
		c.change(items, &w)
		p := propose(t, items, w)
		if p.Short == nil || !slices.Equal(p.Short.Binding, c.want) {
			t.Errorf("%s: %+v", name, p.Short)
			continue
		}
		if math.Abs(p.Short.Shortfall+p.Short.Most-w.Kcal) > 1e-6 || p.Kcal > p.Short.Most+1e-3 {
			t.Errorf("%s: %+v, and the plan holds %g kcal", name, p.Short, p.Kcal)
		}
	}
}

// In binary fractions 0.1, 0.2 and 0.7 come to less than 1.
func TestSharesMayLeaveNoChoice(t *testing.T) {
	var items []Item
	for _, share := range []float64{0.1, 0.2, 0.7} {
		items = append(items, Item{Name: "food", KcalPerKg: 1000, PortionKg: 0.1, MinShare: share, MaxShare: &share})
	}
	w := Wanted{Kcal: 3000, Sessions: 1}
	if p := propose(t, items, w); !slices.Equal(p.Portions, []int{3, 6, 21}) || p.Short != nil {
		t.Errorf("%+v", p)
	}
	if bill, err := Cheapest(costly(items), w); err != nil || !slices.Equal(bill.Portions, []int{3, 6, 21}) {
		t.Errorf("%+v, %v", bill, err)
	}
}

func TestPortionsThatAreTooLargeAreNotServed(t *testing.T) {
	items, w := twoFish()
	items[0].PortionKg, items[1].PortionKg, w.Kcal = 2, 2, 500
	p := propose(t, items, w)
	if p.Kg != 0 || p.Short == nil || !strings.Contains(p.Short.Binding[0], "portion sizes") {
		t.Errorf("%+v", p)
	}
}

func TestSessionsAreAsEvenAsCanBe(t *testing.T) {
	got := deal([]int{7, 0, 4}, 3)
	want := [][]int{{3, 0, 1}, {2, 0, 2}, {2, 0, 1}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

func TestTheCeilingNamesItsSource(t *testing.T) {
	c := DailyCeiling()
	// Rosen & Trites 2004, Can J Zool 82:1061: 14 to 16 % of body mass.
	if c.Value != 0.14 || c.Low != 0.14 || c.High != 0.16 || c.Unit != "1" || !strings.Contains(c.Source, "Rosen & Trites 2004") || !c.Verified {
		t.Errorf("%+v", c)
	}
	var file struct{ Dated string }
	if err := json.Unmarshal(limitsFile, &file); err != nil || file.Dated == "" {
		t.Errorf("the file has no date: %v", err)
	}
}

// Equal gross energy, Rosen & Trites 2004 (Can J Zool): Steller sea lions took
// 8.3 kg of herring or 14.0 kg of capelin a day for it, so the densities differ
// by 1.687. What 8.3 kg of herring hold is asked for in capelin of 4.75 kJ/g.
func TestAnEqualEnergySwapIsThePublishedOne(t *testing.T) {
	capelin := 4750 / 4.184 // kcal/kg
	plan, err := Propose([]Item{{Name: "Capelin", KcalPerKg: capelin, PortionKg: 0.01}}, Wanted{Kcal: 8.3 * 1.687 * capelin, Sessions: 2})
	if err != nil || plan.Kg < 13.98 || plan.Kg > 14.02 {
		t.Errorf("%+v %v, want 14.00 kg within 0.02", plan, err)
	}
}
