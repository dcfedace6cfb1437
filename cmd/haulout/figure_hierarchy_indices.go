package main

import (
	"fmt"
	"strings"

	"haulout/projections/dominance"
)

// linear is how near the pairs come to one straight order.
func (f *hierarchyFigure) linear() error {
	m := f.in.matrix
	f.none("no encounter was seen", "dci")
	if dci, ok := m.DirectionalConsistency(); ok {
		f.give("dci", dci)
	}
	l, k, t := m.Linearity(), m.Kendall(), m.Triangles()
	if f.animals() < 3 {
		f.none(l.NotEnough, "landau_h", "landau_h_prime", "expected_h", "h_test_p_right_exact", "h_test_p_left_exact", "kendall", "triangles", "ttri")
		return nil
	}
	f.values["landau_h"], f.values["landau_h_prime"], f.values["expected_h"] = l.H, l.HPrime, l.Expected
	f.mind(l.NotEnough, "landau_h", "landau_h_prime", "kendall")
	kendall := map[string]float64{"d": k.Circular, "d_max": k.Most, "K": k.K}
	if k.Freedom > 0 {
		kendall["chi2"], kendall["df"] = k.ChiSquare, k.Freedom
	}
	triangles := map[string]any{"transitive": t.Transitive, "cyclic": t.Cyclic, "Pt": t.Pt, "ttri": t.Ttri}
	f.values["kendall"], f.values["triangles"], f.values["ttri"] = kendall, triangles, t.Ttri
	if t.NotEnough != "" {
		f.none(t.NotEnough, "ttri")
		f.mind(t.NotEnough, "triangles")
		triangles["Pt"], triangles["ttri"] = nil, nil
	}
	return f.byChance()
}

// byChance is how often chance alone is as straight.
func (f *hierarchyFigure) byChance() error {
	test, err := f.in.matrix.LinearityTest(throwsOfHierarchy, seedOfHierarchy)
	switch {
	case err != nil:
		return err
	case test.NotEnough != "":
		f.none(test.NotEnough, "h_test_p_right_exact", "h_test_p_left_exact")
	case !test.Exact:
		why := "too many animals or unknown pairs for an exact p; %d throws give about %.3g"
		f.none(fmt.Sprintf(why, test.Throws, test.Right), "h_test_p_right_exact")
		f.none(fmt.Sprintf(why, test.Throws, test.Left), "h_test_p_left_exact")
	default:
		f.values["h_test_p_right_exact"], f.values["h_test_p_left_exact"] = test.Right, test.Left
	}
	return nil
}

// scores are David's scores both ways, with their steepness.
func (f *hierarchyFigure) scores() error {
	for _, by := range []dominance.Proportion{dominance.Dij, dominance.Pij} {
		d := f.in.matrix.DavidsScore(by)
		keys := strings.Fields(strings.ReplaceAll("davids_score_* norm_ds_* steepness_* steepness_intercept_*", "*", string(by)))
		if f.animals() < 2 {
			f.none(d.NotEnough, keys...)
			continue
		}
		for i, value := range []any{f.in.byAnimal(d.Score), f.in.byAnimal(d.Norm), d.Steepness, d.Intercept} {
			f.values[keys[i]] = value
		}
		f.mind(d.NotEnough, keys...)
	}
	test, err := f.in.matrix.SteepnessTest(dominance.Dij, throwsOfHierarchy, seedOfHierarchy)
	if err != nil {
		return err
	}
	if f.none(test.NotEnough, "steepness_test_Dij"); test.NotEnough == "" {
		f.give("steepness_test_Dij", map[string]float64{"p_right": test.P, "null_mean": test.Null})
	}
	return nil
}

// abilities are those of Bradley and Terry, and how sure each pair is.
func (f *hierarchyFigure) abilities() error {
	m := f.in.matrix
	if f.animals() < 2 {
		f.none("fewer than two animals", "bradley_terry_mle", "standard_errors", "bradley_terry_ghost1", "dyad_posterior_direction")
		return nil
	}
	able, err := m.BradleyTerry()
	if err != nil {
		return err
	}
	pairs, errors := map[string]float64{}, map[string]float64{}
	likeliest, missing := m.Likeliest()
	for i, a := range m.IDs {
		for j := i + 1; j < len(m.IDs); j++ {
			pairs[a+">"+m.IDs[j]] = m.Pair(i, j).Direction
		}
		if i > 0 && missing == nil {
			errors[a] = likeliest.Error(i, 0)
		}
	}
	f.values["bradley_terry_ghost1"], f.values["dyad_posterior_direction"] = f.in.byAnimal(able.Log), pairs
	if missing != nil {
		f.none(missing.Error(), "bradley_terry_mle", "standard_errors")
		return nil
	}
	f.values["bradley_terry_mle"], f.values["standard_errors"] = f.in.byAnimal(likeliest.Log), errors
	f.mind("of the difference to "+m.IDs[0], "standard_errors")
	return nil
}
