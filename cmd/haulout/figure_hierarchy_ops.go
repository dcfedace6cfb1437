package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"

	"haulout/projections/dominance"
)

// changed is what the encounters were after an operation.
type changed struct {
	matrix dominance.Matrix
	met    []meeting
}

// operation adds, amends or retracts an encounter.
type operation struct {
	Op     string `json:"op"`
	ID     string `json:"id"`
	Target string `json:"target"`
	Time   string `json:"t"`
	Winner string `json:"winner"`
	Loser  string `json:"loser"`
}

// readOps reads encounters that were added late, amended and retracted. They
// count by their time and then by their id, whenever they were added.
func (in *hierarchyInput) readOps(f *hierarchyFile) error {
	list := []object{}
	if err := json.Unmarshal(f.Ops, &list); err != nil {
		return fmt.Errorf("ops is %.60s; give a list of operations", f.Ops)
	}
	known := map[string]operation{}
	for i, o := range list {
		var op operation
		if err := o.into(&op); err != nil {
			return fmt.Errorf("ops[%d]: %w", i, err)
		}
		if err := op.apply(known); err != nil {
			return fmt.Errorf("ops[%d]: %w", i, err)
		}
		if err := in.recount(f, known); err != nil {
			return fmt.Errorf("ops[%d]%w", i, err)
		}
		in.changes = append(in.changes, &changed{in.matrix, in.met})
	}
	if len(list) == 0 {
		return in.count(f.IDs)
	}
	return nil
}

func (op operation) apply(known map[string]operation) error {
	was, there := known[op.Target]
	switch {
	case op.Op == "add" && op.ID == "":
		return errors.New("id is missing; give what is added a name of its own")
	case op.Op == "add" && known[op.ID].ID != "":
		return fmt.Errorf("id %q was added before; amend it, or give another id", op.ID)
	case op.Op == "add" && op.Time == "":
		return errors.New("t is missing; give the time as 2026-03-01T16:00")
	case op.Op == "add":
		known[op.ID] = op
		return nil
	case op.Op != "amend" && op.Op != "retract":
		return fmt.Errorf("op is %q; use add, amend or retract", op.Op)
	case !there:
		return fmt.Errorf("target %q is not among what was added before%s", op.Target, meant(op.Target, slices.Collect(maps.Keys(known))))
	case op.Op == "retract":
		delete(known, op.Target)
		return nil
	}
	for _, one := range []struct {
		to   *string
		from string
	}{{&was.Time, op.Time}, {&was.Winner, op.Winner}, {&was.Loser, op.Loser}} {
		if one.from != "" {
			*one.to = one.from
		}
	}
	known[op.Target] = was
	return nil
}

// recount lays what is known side by side anew.
func (in *hierarchyInput) recount(f *hierarchyFile, known map[string]operation) error {
	in.met = nil
	for _, id := range slices.Sorted(maps.Keys(known)) {
		op := known[id]
		m, wrong := encounterText{time: op.Time, winner: op.Winner, loser: op.Loser}.read(f.animal)
		if err := slipsOf(wrong); err != nil {
			return err
		}
		in.met = append(in.met, m)
	}
	slices.SortStableFunc(in.met, func(a, b meeting) int { return a.at.Compare(b.at) })
	return in.count(f.IDs)
}

// states are the figures after each operation.
func (in *hierarchyInput) states() ([]map[string]any, error) {
	out := []map[string]any{}
	for _, c := range in.changes {
		after := *in
		after.matrix, after.met = c.matrix, c.met
		elo, err := after.elo()
		if err != nil {
			return nil, err
		}
		best, err := c.matrix.InconsistenciesAndStrengths()
		if err != nil {
			return nil, err
		}
		score := c.matrix.DavidsScore(dominance.Dij)
		out = append(out, map[string]any{
			"matrix": c.matrix.Wins, "elo": elo, "h_prime": c.matrix.Linearity().HPrime, "isi": []uint64{uint64(best.I), uint64(best.SI), best.Orders},
			"davids_score_Dij": after.byAnimal(score.Score), "norm_ds_Dij": after.byAnimal(score.Norm),
		})
	}
	return out, nil
}

func (in *hierarchyInput) byAnimal(values []float64) map[string]float64 {
	out := map[string]float64{}
	for i, id := range in.matrix.IDs {
		out[id] = values[i]
	}
	return out
}
