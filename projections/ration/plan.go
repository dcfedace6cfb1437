package ration

// Plan is a day's ration in whole portions. What is nil is not known: a food
// of the plan has no such figure.
type Plan struct {
	Portions  []int       `json:"portions"` // by food, as given
	Sessions  [][]int     `json:"sessions"` // by session and food
	Kg        float64     `json:"kg"`
	Kcal      float64     `json:"kcal"`
	WaterG    *float64    `json:"water_g"`
	ProteinG  *float64    `json:"protein_g"`
	FatG      *float64    `json:"fat_g"`
	Cost      *float64    `json:"cost"`
	Shares    []float64   `json:"shares"`          // of the mass, by food
	Changed   *int        `json:"changed"`         // portions that differ from yesterday's; nil: no yesterday
	DueLeftKg float64     `json:"due_left_kg"`     // thawed, due today and not in the plan
	CeilingKg *float64    `json:"ceiling_kg"`      // nil: no body mass, so nothing was held to it
	Deviation float64     `json:"deviation"`       // |kcal-K|/K + |protein-P|/P
	Tolerance float64     `json:"tolerance"`       // deviation within which plans were equally near
	Proven    bool        `json:"proven"`          // false: the search was cut short, and a better plan may exist
	Short     *Infeasible `json:"short,omitempty"` // why the energy can't be reached
}

// plan says what portions hold.
func (f foods) plan(w Wanted, portions []int) Plan {
	p := Plan{Portions: portions, Sessions: deal(portions, w.Sessions), CeilingKg: w.ceiling(), Deviation: excess(f.deviation(w), portions)}
	for i, item := range f {
		p.Kg += f.kg(portions, i)
		p.Kcal += f.kg(portions, i) * item.KcalPerKg
	}
	for i := range f {
		p.Shares = append(p.Shares, 0)
		if p.Kg > 0 {
			p.Shares[i] = f.kg(portions, i) / p.Kg
		}
	}
	p.WaterG = f.total(portions, func(i Item) *float64 { return i.WaterPerKg })
	p.ProteinG = f.total(portions, func(i Item) *float64 { return i.ProteinPerKg })
	p.FatG = f.total(portions, func(i Item) *float64 { return i.FatPerKg })
	p.Cost = f.total(portions, func(i Item) *float64 { return i.CostPerKg })
	if goal := f.changed(); goal != nil {
		changed := int(excess(goal, portions))
		p.Changed = &changed
	}
	if goal := f.left(); goal != nil {
		p.DueLeftKg = excess(goal, portions)
	}
	return p
}

func (f foods) kg(portions []int, i int) float64 { return float64(portions[i]) * f[i].PortionKg }

// total is nil where a food of the plan has no figure.
func (f foods) total(portions []int, perKg func(Item) *float64) *float64 {
	sum := 0.0
	for i, item := range f {
		switch v := perKg(item); {
		case portions[i] == 0:
		case v == nil:
			return nil
		default:
			sum += f.kg(portions, i) * *v
		}
	}
	return &sum
}

// deal gives portions out like cards, food by food, so that sessions differ by
// at most one portion, of each food and together; earlier ones have more.
func deal(portions []int, sessions int) [][]int {
	out := make([][]int, sessions)
	for s := range out {
		out[s] = make([]int, len(portions))
	}
	next := 0
	for i, n := range portions {
		for range n {
			out[next%sessions][i]++
			next++
		}
	}
	return out
}
