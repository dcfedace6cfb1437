package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"

	"haulout/projections/dominance"
)

// curves are the curves of ratings by name, and by the formulas that stand in
// papers.
func curves() map[string]dominance.Curve {
	return map[string]dominance.Curve{
		"": dominance.Normal, "normal": dominance.Normal, "logistic": dominance.Logistic, "exponential": dominance.Exponential,
		"logistic base 10, scale 400": dominance.Logistic, "1/(1+exp(-0.01*diff))": dominance.Exponential,
	}
}

// readScale reads how ratings are to be reckoned, where the file says so.
func (in *hierarchyInput) readScale(f *hierarchyFile) error {
	in.set = f.Params != nil || f.Starts != nil
	if f.Params != nil {
		if err := in.readParams(f.Params); err != nil {
			return fmt.Errorf("params: %w", err)
		}
	}
	if f.Starts != nil {
		if err := in.readStarts(f); err != nil {
			return err
		}
	}
	_, err := dominance.NewRating(in.scale)
	return err
}

// readParams takes k as the stake where no intensity was noted; the others keep
// their proportion to it.
func (in *hierarchyInput) readParams(raw json.RawMessage) error {
	var o object
	if err := json.Unmarshal(raw, &o); err != nil {
		return errors.New("give an object of k, start and curve")
	}
	usual := in.scale.K[""]
	p := struct {
		K     float64 `json:"k"`
		Start float64 `json:"start"`
		Curve string  `json:"curve"`
	}{usual, in.scale.Start, ""}
	if err := o.into(&p); err != nil {
		return err
	}
	curve, known := curves()[p.Curve]
	if !known {
		return fmt.Errorf("curve is %q; use normal, logistic or exponential%s", p.Curve, meant(p.Curve, slices.Collect(maps.Keys(curves()))))
	}
	in.scale.Curve, in.scale.Start = curve, p.Start
	for intensity := range in.scale.K {
		in.scale.K[intensity] *= p.K / usual
	}
	return nil
}

func (in *hierarchyInput) readStarts(f *hierarchyFile) error {
	starts := map[string]*float64{}
	if err := json.Unmarshal(f.Starts, &starts); err != nil {
		return fmt.Errorf("start_values is %.60s; give an object of points by animal", f.Starts)
	}
	in.scale.Prior = map[string]float64{}
	for _, id := range slices.Sorted(maps.Keys(starts)) {
		if _, why := f.animal(id); why != "" {
			return fmt.Errorf("start_values, %q: %s", id, why)
		}
		if starts[id] == nil {
			return fmt.Errorf("start_values, %q: is null; give points, or leave the animal out", id)
		}
		in.scale.Prior[id] = *starts[id]
	}
	return nil
}
