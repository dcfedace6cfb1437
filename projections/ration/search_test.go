package ration

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// eightFoods is a bad case: eight foods in portions of 20 g, several hundred of
// them a day, with shares, stock, protein, ceiling and yesterday as it comes.
func eightFoods(seed uint64) ([]Item, Wanted) {
	r := rand.New(rand.NewPCG(seed, 1))
	var items []Item
	for i := range 8 {
		item := Item{
			Name: fmt.Sprintf("food %d", i), KcalPerKg: 800 + 10*float64(r.IntN(140)), PortionKg: 0.02,
			ProteinPerKg: ref(float64(130 + r.IntN(70))), CostPerKg: ref(float64(100+r.IntN(300)) / 100),
		}
		if r.IntN(2) == 0 {
			item.MinShare = float64(r.IntN(10)) / 100
		}
		if r.IntN(2) == 0 {
			item.MaxShare = ref(float64(20+r.IntN(40)) / 100)
		}
		if r.IntN(3) == 0 {
			item.StockKg = ref(float64(r.IntN(100)) / 20)
		}
		if seed%3 > 0 {
			item.Yesterday = ref(r.IntN(90))
		}
		items = append(items, item)
	}
	w := Wanted{Kcal: float64(3000 + r.IntN(20000)), Sessions: 4}
	if r.IntN(2) == 0 {
		w.BodyMassKg = ref(w.Kcal / 180)
	}
	if r.IntN(3) == 0 {
		w.ProteinG = ref(w.Kcal * (0.08 + r.Float64()/20))
	}
	return items, w
}

func TestPlansKeepToEveryLimit(t *testing.T) {
	proven := 0
	for seed := range uint64(150) {
		items, w := eightFoods(seed)
		p, err := Propose(items, w)
		if err != nil {
			t.Fatal(err)
		}
		if !keeps(items, w, p.Portions) {
			t.Errorf("seed %d: %v is not within its limits", seed, p.Portions)
		}
		if again, _ := Propose(items, w); !reflect.DeepEqual(p, again) {
			t.Errorf("seed %d: %v, and then %v", seed, p.Portions, again.Portions)
		}
		checkSessions(t, p)
		if p.Proven {
			proven++
		}
	}
	if proven < 140 {
		t.Errorf("only %d of 150 plans are proven", proven)
	}
}

func checkSessions(t *testing.T, p Plan) {
	t.Helper()
	var totals []int
	for _, s := range p.Sessions {
		totals = append(totals, sum(s))
	}
	if slices.Max(totals)-slices.Min(totals) > 1 || !slices.IsSortedFunc(totals, func(a, b int) int { return b - a }) {
		t.Errorf("sessions of %v portions", totals)
	}
	for i, n := range p.Portions {
		var of []int
		for _, s := range p.Sessions {
			of = append(of, s[i])
		}
		if sum(of) != n || slices.Max(of)-slices.Min(of) > 1 {
			t.Errorf("%d portions are given as %v", n, of)
		}
	}
}

// A plan that was cut short is still a plan: it says so, and came in time.
func TestASearchEnds(t *testing.T) {
	items, w := eightFoods(7)
	f := foods(items)
	c := choice{space: f.near(w), best: make([]int, len(f))}
	c.work = 1000
	c.settle(f.deviation(w), hair, 0)
	c.first()
	if !c.cut || !keeps(items, w, c.best) {
		t.Errorf("%v, cut %v", c.best, c.cut)
	}
	for i := range items {
		items[i].KcalPerKg += math.Phi / float64(i+1) // no sum of them is ever round
	}
	w.Exact = true
	began := time.Now()
	if tied, err := Tied(items, w); err != nil || tied != nil {
		t.Errorf("%v, %v: nobody can count these", tied, err)
	}
	if took := time.Since(began); took > 30*time.Second {
		t.Errorf("that took %s", took)
	}
}

// Two ways of solving a program, of which one is gonum's, find the same cost.
func TestTwoSolversAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Map(rapid.IntRange(-6, 9), func(n int) float64 { return float64(max(n, -3)) })
		p := Program{Cost: rapid.SliceOfN(rapid.Map(rapid.IntRange(0, 9), func(n int) float64 { return float64(n) }), 1, 8).Draw(t, "cost")}
		for range rapid.IntRange(1, 10).Draw(t, "rows") {
			p.Rows = append(p.Rows, rapid.SliceOfN(number, len(p.Cost), len(p.Cost)).Draw(t, "row"))
			p.Least = append(p.Least, number.Draw(t, "least"))
		}
		found, err := p.Solve()
		own := newTableau(p)
		possible, _ := own.solve()
		if possible == errors.Is(err, ErrNoAmounts) || possible && err != nil {
			t.Fatalf("possible %v, and %v", possible, err)
		}
		if possible && math.Abs(own.cost()-found.Cost) > 1e-6 {
			t.Fatalf("%g and %g", own.cost(), found.Cost)
		}
		if !possible {
			return
		}
		worth := 0.0
		for r, row := range p.Rows {
			gives := 0.0
			for j, v := range row {
				gives += v * found.Amounts[j]
			}
			if gives < p.Least[r]-1e-6 {
				t.Fatalf("row %d gives %g of %g", r, gives, p.Least[r])
			}
			worth += found.Prices[r] * p.Least[r]
		}
		if math.Abs(worth-found.Cost) > 1e-6 {
			t.Fatalf("prices come to %g, amounts to %g", worth, found.Cost)
		}
	})
}

func BenchmarkAProposal(b *testing.B) {
	items, w := readVector(b, "diet-ration-a.json").problem()
	for b.Loop() {
		if _, err := Propose(items, w); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkEightFoods reports the slowest of its bad cases too, each at its
// best of three, since a machine does other things besides.
func BenchmarkEightFoods(b *testing.B) {
	worst, seed := time.Duration(0), uint64(0)
	for b.Loop() {
		items, w := eightFoods(seed)
		seed++
		best := time.Hour
		for range 3 {
			began := time.Now()
			if _, err := Propose(items, w); err != nil {
				b.Fatal(err)
			}
			best = min(best, time.Since(began))
		}
		worst = max(worst, best)
	}
	b.ReportMetric(float64(worst.Microseconds())/1000, "worst-ms")
}
