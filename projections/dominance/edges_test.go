package dominance

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

func lettered(wins ...[]float64) Matrix {
	ids := make([]string, len(wins))
	for i := range ids {
		ids[i] = string(rune('A' + i))
	}
	return Matrix{IDs: ids, Wins: wins}
}

// Nothing of this is published: testdata/vectors/dominance/edge_empty_and_tiny.json.
func TestAGroupThatWasNotWatchedHasNoHierarchy(t *testing.T) {
	want := readVector(t, "edge_empty_and_tiny.json").Computed["empty_3"].Value.(map[string]any)
	m := lettered([]float64{0, 0, 0}, []float64{0, 0, 0}, []float64{0, 0, 0})
	l, d, tri := m.Linearity(), m.DavidsScore(Dij), m.Triangles()
	isi, err := m.InconsistenciesAndStrengths()
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]any{
		"h": l.H, "h_prime": l.HPrime, "dci": nil, "ttri": nil, "steepness": d.Steepness,
		"davids_score": fmt.Sprint(d.Score), "norm_ds": fmt.Sprint(d.Norm),
		"isi_I": isi.I, "isi_SI": isi.SI, "n_optimal_orders": int(isi.Orders),
	}
	want["davids_score"], want["norm_ds"] = "[0 0 0]", "[1 1 1]"
	if why := differs(got, want, 1e-6); why != "" {
		t.Error(why)
	}
	if _, ok := m.DirectionalConsistency(); ok {
		t.Error("no encounter has a consistent direction")
	}
	saysWhy(t, m, "no encounter was seen")
	if tri.NotEnough == "" {
		t.Error("no triangle, and no word of it")
	}
}

// saysWhy sees to it that every answer of a matrix comes with the reason why it
// says nothing.
func saysWhy(t *testing.T, m Matrix, reason string) {
	t.Helper()
	p, err := m.LinearityTest(10, 1)
	steep, err2 := m.SteepnessTest(Dij, 10, 1)
	isi, err3 := m.InconsistenciesAndStrengths()
	if err != nil || err2 != nil || err3 != nil {
		t.Fatal(err, err2, err3)
	}
	said := []string{m.Linearity().NotEnough, m.Kendall().NotEnough, m.DavidsScore(Pij).NotEnough, p.NotEnough, steep.NotEnough, isi.NotEnough}
	if slices.Contains(said, "") || !slices.Contains(said, reason) {
		t.Errorf("%q, want %q", said, reason)
	}
	if p.Right != 1 || steep.P != 1 {
		t.Errorf("p %v and %v of nothing, want 1", p.Right, steep.P)
	}
}

func TestGroupsTooSmallForAHierarchySayWhy(t *testing.T) {
	t.Run("nobody", func(t *testing.T) { saysWhy(t, Matrix{}, "fewer than three animals") })
	t.Run("one animal", func(t *testing.T) { saysWhy(t, lettered([]float64{0}), "fewer than two animals") })
	t.Run("two animals", func(t *testing.T) {
		m := lettered([]float64{0, 8}, []float64{1, 0})
		l := m.Linearity()
		if l.H != 1 || l.NotEnough == "" {
			t.Errorf("h of two is always 1 and says nothing: %+v", l)
		}
		if d := m.DavidsScore(Dij); d.NotEnough != "" || math.Abs(d.Steepness-0.7) > hair {
			t.Errorf("one dyad of 8 to 1 has a steepness of 8.5/10 - 1.5/10: %+v", d)
		}
	})
}

// 1/(n+1) of a dyad's despotism is what Dij takes for little having been seen:
// with n encounters in each dyad, all one way, steepness is n/(n+1), and 1 by
// Pij. Derived, not published.
func TestSteepnessByDijGrowsWithWhatWasSeen(t *testing.T) {
	for _, n := range []float64{1, 2, 9} {
		m := lettered([]float64{0, n, n, n}, []float64{0, 0, n, n}, []float64{0, 0, 0, n}, []float64{0, 0, 0, 0})
		dij, pij := m.DavidsScore(Dij).Steepness, m.DavidsScore(Pij).Steepness
		if math.Abs(dij-n/(n+1)) > hair || math.Abs(pij-1) > hair {
			t.Errorf("%v encounters: %v and %v", n, dij, pij)
		}
	}
}

// After every addition, amendment and retraction the numbers are those of the
// encounters that remain. Nothing of it is published.
func TestTheMatrixFollowsLateAndCorrectedEncounters(t *testing.T) {
	v := readVector(t, "ops_late_and_corrected.json")
	for step, state := range v.Computed["state_after_each_op"].Value.([]any) {
		want := state.(map[string]any)
		m := Matrix{IDs: v.IDs, Wins: rows(want["matrix"].([]any))}
		isi, err := m.InconsistenciesAndStrengths()
		if err != nil {
			t.Fatal(err)
		}
		d := m.DavidsScore(Dij)
		for key, got := range map[string]any{"davids_score_Dij": byAnimal(m, d.Score), "norm_ds_Dij": byAnimal(m, d.Norm), "h_prime": m.Linearity().HPrime} {
			if why := differs(got, want[key], 1e-6); why != "" {
				t.Errorf("after step %d: %s: %s", step+1, key, why)
			}
		}
		if got := fmt.Sprint([]any{isi.I, isi.SI, isi.Orders}); got != fmt.Sprint(want["isi"]) {
			t.Errorf("after step %d: I, SI and orders are %s, want %v", step+1, got, want["isi"])
		}
	}
}

func rows(of []any) (out [][]float64) {
	for _, row := range of {
		var values []float64
		for _, v := range row.([]any) {
			values = append(values, v.(float64))
		}
		out = append(out, values)
	}
	return out
}
