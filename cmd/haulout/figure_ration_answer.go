package main

import (
	"errors"
	"fmt"

	"haulout/projections/ration"
)

// rationFigure is the answer. What is not there could not be told; Notes say
// why.
type rationFigure struct {
	Feasible  bool     `json:"feasible"`
	Most      *float64 `json:"max_kcal_available,omitempty"`
	Shortfall *float64 `json:"shortfall,omitempty"`
	Binding   []string `json:"binding,omitempty"`

	Cost     *float64  `json:"lp_cost,omitempty"` // with portions that can be cut
	Kg       []float64 `json:"lp_kg,omitempty"`
	Whole    *float64  `json:"integer_cost,omitempty"`
	Cheapest []int     `json:"integer_portions,omitempty"`
	CheapTie *int      `json:"integer_optima_tied,omitempty"`

	Goal    *float64 `json:"goal_objective,omitempty"` // the least there is, without any tolerance
	Nearest []int    `json:"goal_portions,omitempty"`
	GoalTie *int     `json:"goal_optima_tied,omitempty"`
	Rule    string   `json:"goal_rule,omitempty"`

	Fish     []string     `json:"fish"`
	Sessions [][]int      `json:"sessions,omitempty"`
	Plan     *ration.Plan `json:"plan,omitempty"`
	Notes    []string     `json:"notes"`
	Caution  string       `json:"caution"`

	items  []ration.Item
	wanted ration.Wanted
}

func newRationFigure(in rationInput, items []ration.Item, w ration.Wanted) (*rationFigure, error) {
	f := &rationFigure{Feasible: true, Fish: []string{}, Notes: []string{}, Caution: rationCaution, items: items, wanted: w}
	for _, item := range items {
		f.Fish = append(f.Fish, item.Name)
	}
	short, err := ration.Short(items, w)
	if err != nil {
		return nil, err
	}
	f.short(short)
	if w.BodyMassKg == nil {
		f.note("body_mass_kg is not given, so the plan is not held to the ceiling of %.0f %% of body mass a day", 100*ration.DailyCeiling().Value)
	}
	switch {
	case in.Portion != nil:
		return f, errors.Join(f.plan(), f.cheapest(in))
	case f.Feasible:
		return nil, errors.New("portion_kg is missing; give the mass of one portion, or of each food's")
	}
	f.note("portion_kg is not given, so there is no plan")
	return f, nil
}

func (f *rationFigure) note(format string, args ...any) {
	f.Notes = append(f.Notes, fmt.Sprintf(format, args...))
}

func (f *rationFigure) short(why *ration.Infeasible) {
	if why != nil {
		f.Feasible, f.Most, f.Shortfall, f.Binding = false, &why.Most, &why.Shortfall, why.Binding
	}
}

// plan proposes, and says how near any plan comes.
func (f *rationFigure) plan() error {
	plan, err := ration.Propose(f.items, f.wanted)
	if err != nil {
		return err
	}
	f.Plan, f.Sessions = &plan, plan.Sessions
	f.short(plan.Short)
	if !plan.Proven {
		f.note("the search was cut short, so a plan may be there that is better by one of the rules; larger portions make it quick")
	}
	if w := f.wanted.WaterG; w != nil && plan.WaterG != nil && *plan.WaterG < *w {
		f.note("the plan has %.0f g of water less than wanted; a plan is near by its energy and protein alone", *w-*plan.WaterG)
	}
	exact := f.wanted
	exact.Exact = true
	nearest, err := ration.Propose(f.items, exact)
	if err != nil || !nearest.Proven {
		f.note("the nearest plan of all is not told: it could not be proven in the time that the search has")
		return err
	}
	f.Goal, f.Nearest, f.Rule = &nearest.Deviation, nearest.Portions, f.rule()
	f.GoalTie, err = ration.Tied(f.items, f.wanted)
	return err
}

func (f *rationFigure) rule() string {
	rule, within := "min |kcal-K|/K", " under shares and stock only"
	if f.wanted.ProteinG != nil {
		rule += " + |protein-P|/P"
	}
	if f.wanted.BodyMassKg != nil {
		within = " under shares, stock and daily ceiling"
	}
	return rule + within
}

// cheapest is told where the file has costs.
func (f *rationFigure) cheapest(in rationInput) error {
	if in.Cost == nil || !f.Feasible {
		return nil
	}
	bill, err := ration.Cheapest(f.items, f.wanted)
	if errors.Is(err, ration.ErrNoAmounts) {
		f.note("the cheapest food is not told: within shares, stock and ceiling, nothing gives the protein and water wanted with the energy")
		return nil
	}
	if err != nil {
		f.note("the cheapest food is not told: %v", err)
		return nil
	}
	f.Cost, f.Kg = &bill.Cost, bill.Kg
	if bill.Portions == nil {
		f.note("no whole portions were found that give at least what is wanted")
		return nil
	}
	f.Whole, f.Cheapest, f.CheapTie = &bill.Whole, bill.Portions, bill.Tied
	if !bill.Proven {
		f.note("the search for the cheapest whole portions was cut short, so cheaper ones may be there")
	}
	return nil
}
