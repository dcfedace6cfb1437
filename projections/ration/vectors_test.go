package ration

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"
)

// vector is a diet problem with the answers of others; SOURCE.txt beside the
// files names them.
type vector struct {
	Input struct {
		Fish     []string  `json:"fish"`
		Kcal     []float64 `json:"kcal_per_kg"`
		Protein  []float64 `json:"protein_g_per_kg"`
		Water    []float64 `json:"water_g_per_kg"`
		Cost     []float64 `json:"cost_per_kg"`
		KcalMin  float64   `json:"kcal_min"`
		ProteinG *float64  `json:"protein_min"`
		WaterG   *float64  `json:"water_min"`
		MinShare []float64 `json:"min_share"`
		MaxShare []float64 `json:"max_share"`
		Stock    []float64 `json:"stock_kg"`
		Portion  float64   `json:"portion_kg"`

		Need  []float64 `json:"need_per_day"`
		Foods []struct {
			Name     string    `json:"name"`
			Contents []float64 `json:"nutrients_per_dollar"`
		} `json:"foods"`
		Days float64 `json:"days"`
	} `json:"input"`
	Expected struct {
		LPCost       float64   `json:"lp_cost"`
		LPKg         []float64 `json:"lp_kg"`
		IntegerCost  float64   `json:"integer_cost"`
		Integer      []int     `json:"integer_portions"`
		IntegerTied  int       `json:"integer_optima_tied"`
		Goal         float64   `json:"goal_objective"`
		GoalPortions []int     `json:"goal_portions"`
		GoalTied     int       `json:"goal_optima_tied"`

		Most      float64 `json:"max_kcal_available"`
		Shortfall float64 `json:"shortfall"`

		CostPerDay float64            `json:"cost_per_day"`
		Annual     float64            `json:"annual"`
		Dollars    map[string]float64 `json:"dollars_per_year"`
		Duals      map[string]float64 `json:"duals_per_day"`
	} `json:"expected"`
}

func readVector(t testing.TB, name string) (v vector) {
	t.Helper()
	raw, err := os.ReadFile("../../testdata/vectors/diet/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// problem is a vector of whole portions as the planner takes it.
func (v vector) problem() ([]Item, Wanted) {
	in := v.Input
	at := func(list []float64, i int) *float64 {
		if list == nil {
			return nil
		}
		return &list[i]
	}
	var items []Item
	for i, name := range in.Fish {
		item := Item{
			Name: name, KcalPerKg: in.Kcal[i], ProteinPerKg: at(in.Protein, i), WaterPerKg: at(in.Water, i), CostPerKg: at(in.Cost, i),
			StockKg: at(in.Stock, i), MaxShare: at(in.MaxShare, i), PortionKg: in.Portion,
		}
		if in.MinShare != nil {
			item.MinShare = in.MinShare[i]
		}
		items = append(items, item)
	}
	return items, Wanted{Kcal: in.KcalMin, ProteinG: in.ProteinG, WaterG: in.WaterG, Sessions: 3}
}

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if math.Abs(got-want) > relative*max(math.Abs(want), 1e-3) {
		t.Errorf("%s is %.12g, the vector has %.12g", what, got, want)
	}
}

func TestTheNearestPlanIsAsFarAsEnumerationFound(t *testing.T) {
	for _, name := range []string{"diet-ration-a.json", "diet-ration-stock.json"} {
		v := readVector(t, name)
		items, w := v.problem()
		w.Exact = true
		plan, err := Propose(items, w)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+": deviation", plan.Deviation, v.Expected.Goal, 1e-6)
		tied, err := Tied(items, w)
		if err != nil || tied == nil || *tied != v.Expected.GoalTied {
			t.Errorf("%s: %v plans are as near, the vector has %d (%v)", name, tied, v.Expected.GoalTied, err)
		}
		if v.Expected.GoalTied == 1 && !slices.Equal(plan.Portions, v.Expected.GoalPortions) || !plan.Proven {
			t.Errorf("%s: %v, proven %v, the vector has %v", name, plan.Portions, plan.Proven, v.Expected.GoalPortions)
		}
	}
}

func TestTheCheapestFoodCostsWhatTheVectorsSay(t *testing.T) {
	for _, name := range []string{"diet-ration-a.json", "diet-ration-stock.json"} {
		v := readVector(t, name)
		items, w := v.problem()
		bill, err := Cheapest(items, w)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+": cost if portions are cut", bill.Cost, v.Expected.LPCost, 1e-6)
		for i, kg := range v.Expected.LPKg {
			near(t, name+": kg of "+items[i].Name, bill.Kg[i], kg, 1e-6)
		}
		near(t, name+": cost of whole portions", bill.Whole, v.Expected.IntegerCost, 1e-6)
		if bill.Tied == nil || *bill.Tied != v.Expected.IntegerTied || !bill.Proven {
			t.Errorf("%s: %v plans cost that, proven %v, the vector has %d", name, bill.Tied, bill.Proven, v.Expected.IntegerTied)
		}
		if v.Expected.IntegerTied == 1 && !slices.Equal(bill.Portions, v.Expected.Integer) {
			t.Errorf("%s: %v, the vector has %v", name, bill.Portions, v.Expected.Integer)
		}
	}
}

func TestTooLittleStockIsNamedWithTheShortfall(t *testing.T) {
	v := readVector(t, "diet-infeasible.json")
	items, w := v.problem()
	short, err := Short(items, w)
	if err != nil || short == nil {
		t.Fatalf("%v, %v", short, err)
	}
	near(t, "shortfall", short.Shortfall, v.Expected.Shortfall, 1e-6)
	near(t, "most", short.Most, v.Expected.Most, 1e-6)
	want := []string{"stock of herring (1 kg)", "stock of capelin (1 kg)", "stock of squid (1 kg)", "stock of mackerel (1 kg)"}
	if !slices.Equal(short.Binding, want) {
		t.Errorf("%q binds", short.Binding)
	}
}

// The diet of Stigler, whose least cost Dantzig gives as 39.69 dollars a year.
func TestTheDietOfStigler(t *testing.T) {
	v := readVector(t, "diet-lp-stigler.json")
	p := Program{Least: v.Input.Need, Rows: make([][]float64, len(v.Input.Need))}
	for _, food := range v.Input.Foods {
		p.Cost = append(p.Cost, 1)
		for n, amount := range food.Contents {
			p.Rows[n] = append(p.Rows[n], amount)
		}
	}
	found, err := p.Solve()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "a day", found.Cost, v.Expected.CostPerDay, 1e-7)
	near(t, "a year", found.Cost*v.Input.Days, v.Expected.Annual, 1e-7)
	near(t, "a year, as published", math.Round(found.Cost*36525)/100, 39.69, 1e-12)
	for i, food := range v.Input.Foods {
		near(t, food.Name, found.Amounts[i]*v.Input.Days, v.Expected.Dollars[food.Name], 1e-7)
	}
	for n, price := range found.Prices {
		near(t, "price of need", price, v.Expected.Duals["n"+string(rune('1'+n))], 1e-7)
	}
}
