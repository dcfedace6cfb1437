package ration

import (
	"math"
	"strings"
	"testing"
)

func TestBadNumbersAreNamedWithTheRemedy(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	cases := map[string]func(items []Item, w *Wanted){
		"fish[1].portion_kg is 0; give the mass of one portion":          func(i []Item, _ *Wanted) { i[1].PortionKg = 0 },
		"fish[0].portion_kg is NaN":                                      func(i []Item, _ *Wanted) { i[0].PortionKg = nan },
		"fish[0].portion_kg is 1e-06, so small":                          func(i []Item, _ *Wanted) { i[0].PortionKg = 1e-6 },
		"fish[1].kcal_per_kg is 0; give the energy of a kilogram":        func(i []Item, _ *Wanted) { i[1].KcalPerKg = 0 },
		"fish[1].kcal_per_kg is +Inf":                                    func(i []Item, _ *Wanted) { i[1].KcalPerKg = inf },
		"fish[0].kcal_per_kg is -5":                                      func(i []Item, _ *Wanted) { i[0].KcalPerKg = -5 },
		"fish[0].water_g_per_kg is 1200; give the grams in a kilogram":   func(i []Item, _ *Wanted) { i[0].WaterPerKg = ref(1200.0) },
		"fish[0].fat_g_per_kg is -1":                                     func(i []Item, _ *Wanted) { i[0].FatPerKg = ref(-1.0) },
		"fish[0].protein_g_per_kg is NaN":                                func(i []Item, _ *Wanted) { i[0].ProteinPerKg = &nan },
		"fish[0].cost_per_kg is -2":                                      func(i []Item, _ *Wanted) { i[0].CostPerKg = ref(-2.0) },
		"fish[1].stock_kg is +Inf":                                       func(i []Item, _ *Wanted) { i[1].StockKg = &inf },
		"fish[1].due_kg is NaN":                                          func(i []Item, _ *Wanted) { i[1].DueKg = nan },
		"fish[1].min_share is 1.5":                                       func(i []Item, _ *Wanted) { i[1].MinShare = 1.5 },
		"fish[1].max_share is -0.1":                                      func(i []Item, _ *Wanted) { i[1].MaxShare = ref(-0.1) },
		"fish[1].min_share is 0.5, above max_share, 0.25; lower one":     func(i []Item, _ *Wanted) { i[1].MinShare, i[1].MaxShare = 0.5, ref(0.25) },
		"fish[1].yesterday_portions is -3; give 0 to 10000":              func(i []Item, _ *Wanted) { i[1].Yesterday = ref(-3) },
		"fish[0].protein_g_per_kg is not known; give it, or leave prote": func(_ []Item, w *Wanted) { w.ProteinG = ref(500.0) },
		"kcal_min is 0; give the energy wanted":                          func(_ []Item, w *Wanted) { w.Kcal = 0 },
		"kcal_min is NaN":                                                func(_ []Item, w *Wanted) { w.Kcal = nan },
		"protein_min is -1":                                              func(_ []Item, w *Wanted) { w.ProteinG = ref(-1.0) },
		"water_min is +Inf":                                              func(_ []Item, w *Wanted) { w.WaterG = &inf },
		"body_mass_kg is 0; give the animal's mass":                      func(_ []Item, w *Wanted) { w.BodyMassKg = ref(0.0) },
		"sessions is 0; give 1 to 100":                                   func(_ []Item, w *Wanted) { w.Sessions = 0 },
	}
	for want, spoil := range cases {
		items, w := twoFish()
		spoil(items, &w)
		if _, err := Propose(items, w); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
	if _, err := Propose(nil, Wanted{Kcal: 1, Sessions: 1}); err == nil || !strings.Contains(err.Error(), "give 1 to 20") {
		t.Errorf("no food: %v", err)
	}
}

func TestWhatTheCheapestFoodNeedsIsNamed(t *testing.T) {
	items, w := twoFish()
	items[0].CostPerKg, w.WaterG = ref(1.0), ref(100.0)
	_, err := Cheapest(items, w)
	for _, want := range []string{"fish[1].cost_per_kg is not known", "fish[0].water_g_per_kg is not known; give it, or leave water_min out"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

func TestBadProgramsAreRefused(t *testing.T) {
	nan := math.NaN()
	cases := map[string]Program{
		"are no program":                {Cost: []float64{1}, Rows: [][]float64{{1}}},
		"0 amounts, 0 rows":             {},
		"cost 1 is -1":                  {Cost: []float64{1, -1}, Rows: [][]float64{{1, 1}}, Least: []float64{1}},
		"row 0 has 1 numbers for 2":     {Cost: []float64{1, 1}, Rows: [][]float64{{1}}, Least: []float64{1}},
		"row 0 has a number that isn't": {Cost: []float64{1}, Rows: [][]float64{{1}}, Least: []float64{nan}},
		"no amounts give what every":    {Cost: []float64{1}, Rows: [][]float64{{0}}, Least: []float64{1}},
		"what every row must":           {Cost: []float64{1}, Rows: [][]float64{{1}, {-1}}, Least: []float64{2, -1}},
	}
	for want, p := range cases {
		if _, err := p.Solve(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
	free := Program{Cost: []float64{0, 1}, Rows: [][]float64{{1, 1}, {0, 0}}, Least: []float64{3, -1}}
	if found, err := free.Solve(); err != nil || found.Cost != 0 || found.Amounts[0] != 3 {
		t.Errorf("%+v, %v", found, err)
	}
}
