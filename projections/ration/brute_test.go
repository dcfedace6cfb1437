package ration

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// tens and hundredths are round numbers, so that plans tie.
func tens(low, high int) *rapid.Generator[float64] {
	return rapid.Map(rapid.IntRange(low, high), func(n int) float64 { return float64(10 * n) })
}

func hundredths(low, high int) *rapid.Generator[float64] {
	return rapid.Map(rapid.IntRange(low, high), func(n int) float64 { return float64(n) / 100 })
}

// maybe is nil half the time.
func maybe(t *rapid.T, name string, v *rapid.Generator[float64]) *float64 {
	if rapid.Bool().Draw(t, "no "+name) {
		return nil
	}
	n := v.Draw(t, name)
	return &n
}

// small is a problem of few enough portions to look at every plan.
func small(t *rapid.T) ([]Item, Wanted) {
	w := Wanted{
		Kcal: tens(20, 350).Draw(t, "kcal"), BodyMassKg: maybe(t, "mass", hundredths(500, 6000)),
		Sessions: rapid.IntRange(1, 5).Draw(t, "sessions"), Exact: rapid.Bool().Draw(t, "exact"),
	}
	if aKcal := maybe(t, "protein", hundredths(6, 16)); aKcal != nil {
		w.ProteinG = ref(w.Kcal * *aKcal)
	}
	costs, before := rapid.Bool().Draw(t, "costs are known"), rapid.Bool().Draw(t, "there was a yesterday")
	var items []Item
	for range rapid.IntRange(1, 4).Draw(t, "foods") {
		item := Item{
			Name: "food", KcalPerKg: tens(80, 220).Draw(t, "kcal a kg"), ProteinPerKg: ref(tens(10, 22).Draw(t, "protein a kg")),
			StockKg: maybe(t, "stock", hundredths(0, 200)), MaxShare: maybe(t, "most", hundredths(20, 100)),
			PortionKg: rapid.SampledFrom([]float64{0.2, 0.25, 0.3}).Draw(t, "portion"),
			MinShare:  deref(maybe(t, "least", hundredths(0, 20))), DueKg: deref(maybe(t, "due", hundredths(0, 150))),
		}
		if costs {
			item.CostPerKg = ref(hundredths(0, 400).Draw(t, "cost"))
		}
		if before {
			item.Yesterday = ref(rapid.IntRange(0, 6).Draw(t, "yesterday"))
		}
		items = append(items, item)
	}
	return items, w
}

func deref(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

// everyPlan shows every plan within shares, stock and ceiling up to so much
// energy. It is written without the planner's limits.
func everyPlan(items []Item, w Wanted, kcal float64, show func(plan []int)) {
	plan := make([]int, len(items))
	var next func(i int)
	next = func(i int) {
		if i == len(items) {
			if keeps(items, w, plan) {
				show(slices.Clone(plan))
			}
			return
		}
		for n := 0; float64(n)*items[i].PortionKg*items[i].KcalPerKg <= kcal+1e-6; n++ {
			plan[i] = n
			next(i + 1)
		}
		plan[i] = 0
	}
	next(0)
}

func keeps(items []Item, w Wanted, plan []int) bool {
	all := total(items, plan, func(Item) float64 { return 1 })
	if w.BodyMassKg != nil && all > 0.14**w.BodyMassKg+1e-9 {
		return false
	}
	for i, item := range items {
		kg := float64(plan[i]) * item.PortionKg
		if kg < item.MinShare*all-1e-9 || item.MaxShare != nil && kg > *item.MaxShare*all+1e-9 || item.StockKg != nil && kg > *item.StockKg+1e-9 {
			return false
		}
	}
	return true
}

func total(items []Item, plan []int, perKg func(Item) float64) (sum float64) {
	for i, item := range items {
		sum += float64(plan[i]) * item.PortionKg * perKg(item)
	}
	return sum
}

// merits are what plans are chosen by, in order; less is better.
func merits(items []Item, w Wanted, plan []int, equal float64) []float64 {
	far := math.Abs(total(items, plan, func(i Item) float64 { return i.KcalPerKg })-w.Kcal) / w.Kcal
	if w.ProteinG != nil {
		far += math.Abs(total(items, plan, func(i Item) float64 { return *i.ProteinPerKg })-*w.ProteinG) / *w.ProteinG
	}
	out := []float64{max(far, equal), 0, 0, 0}
	for i, item := range items {
		if item.Yesterday != nil {
			out[1] += math.Abs(float64(plan[i] - *item.Yesterday))
		}
		out[2] += max(0, item.DueKg-float64(plan[i])*item.PortionKg)
	}
	if items[0].CostPerKg != nil {
		out[3] = total(items, plan, func(i Item) float64 { return *i.CostPerKg })
	}
	for _, n := range plan {
		out = append(out, -float64(n))
	}
	return out
}

func better(a, b []float64) bool {
	for i := range a {
		if math.Abs(a[i]-b[i]) > 1e-8 {
			return a[i] < b[i]
		}
	}
	return false
}

// leastFar is the least deviation if portions could be cut, by the general
// solver; stock is in whole portions.
func leastFar(t *rapid.T, items []Item, w Wanted) float64 {
	f := foods(slices.Clone(items))
	for i, item := range f {
		if item.StockKg != nil {
			whole := math.Floor(*item.StockKg/item.PortionKg+1e-9) * item.PortionKg
			f[i].StockKg = &whole
		}
	}
	p := Program{Cost: make([]float64, len(f)+1)}
	p.Cost[len(f)] = 1
	for _, l := range f.deviation(w) {
		p.keep(l, 1)
	}
	for _, l := range slices.Concat(f.shares(), f.ceiling(w), f.stock()) {
		p.keep(l, 0)
	}
	found, err := p.Solve()
	if err != nil {
		t.Fatal(err)
	}
	return found.Cost
}

func TestNoPlanIsBetterThanTheProposal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items, w := small(t)
		plan, err := Propose(items, w)
		if err != nil {
			t.Fatal(err)
		}
		equal := 0.0
		if !w.Exact {
			equal = leastFar(t, items, w) + foods(items).halfPortion()/w.Kcal
		}
		var best []int
		everyPlan(items, w, 3*w.Kcal, func(p []int) {
			if best == nil || better(merits(items, w, p, equal), merits(items, w, best, equal)) {
				best = p
			}
		})
		if !plan.Proven || !slices.Equal(plan.Portions, best) {
			t.Fatalf("%v, proven %v; of all plans %v is the best", plan.Portions, plan.Proven, best)
		}
	})
}

func TestEveryPlanThatIsAsNearIsCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items, w := small(t)
		least, count := math.Inf(1), 0
		everyPlan(items, w, 3*w.Kcal, func(p []int) {
			switch far := merits(items, w, p, 0)[0]; {
			case far < least-1e-8:
				least, count = far, 1
			case far < least+1e-8:
				count++
			}
		})
		if tied, err := Tied(items, w); err != nil || tied == nil || *tied != count {
			t.Fatalf("%v plans are counted (%v), there are %d", tied, err, count)
		}
	})
}

func TestNoFoodIsCheaper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items, w := small(t)
		for i := range items {
			cost := 0.5 + deref(items[i].CostPerKg)
			items[i].CostPerKg = &cost
		}
		bill, err := Cheapest(items, w)
		if errors.Is(err, ErrNoAmounts) {
			everyPlan(items, w, 6*w.Kcal, func(p []int) {
				if enough(items, w, p) {
					t.Fatalf("%v gives what is wanted, and no amounts were found", p)
				}
			})
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		kcal, least, count := 0.0, math.Inf(1), 0
		for i, kg := range bill.Kg {
			kcal += kg * items[i].KcalPerKg
		}
		everyPlan(items, w, 2*kcal, func(p []int) {
			cost := total(items, p, func(i Item) float64 { return *i.CostPerKg })
			switch {
			case !enough(items, w, p):
			case cost < least-1e-8:
				least, count = cost, 1
			case cost < least+1e-8:
				count++
			}
		})
		switch {
		case count == 0 && bill.Portions == nil:
		case !bill.Proven || bill.Tied == nil || *bill.Tied != count || math.Abs(bill.Whole-least) > 1e-8:
			t.Fatalf("%+v; of all plans %d cost %g", bill, count, least)
		case bill.Cost > bill.Whole+1e-7 || !enough(items, w, bill.Portions) || !keeps(items, w, bill.Portions):
			t.Fatalf("%+v", bill)
		}
	})
}

func enough(items []Item, w Wanted, plan []int) bool {
	return total(items, plan, func(i Item) float64 { return i.KcalPerKg }) >= w.Kcal*(1-1e-8) &&
		(w.ProteinG == nil || total(items, plan, func(i Item) float64 { return *i.ProteinPerKg }) >= *w.ProteinG*(1-1e-8))
}
