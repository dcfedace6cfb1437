package dominance

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const vectors = "../../testdata/vectors/dominance/"

// vector is a matrix with the answers of others; SOURCE.txt beside the files
// names where the matrix is from, and each published answer its own source.
type vector struct {
	Kind      string            `json:"kind"`
	IDs       []string          `json:"ids"`
	Wins      [][]float64       `json:"matrix"`
	Published map[string]answer `json:"published"`
	Computed  map[string]answer `json:"computed"`
}

type answer struct {
	Value     any     `json:"value"`
	Tolerance float64 `json:"tolerance"`
	Source    string  `json:"source"`
}

func readVector(t testing.TB, name string) (v vector) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(vectors, name))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

func (v vector) group(t testing.TB) Matrix {
	t.Helper()
	m := Matrix{IDs: v.IDs, Wins: v.Wins}
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
	return m
}

// matrices are the vectors of a matrix whose indices were worked out.
func matrices(t *testing.T) map[string]vector {
	t.Helper()
	files, err := filepath.Glob(vectors + "*.json")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]vector{}
	for _, f := range files {
		if v := readVector(t, filepath.Base(f)); v.Kind == "matrix" && v.Computed["landau_h"].Value != nil {
			out[strings.TrimSuffix(filepath.Base(f), ".json")] = v
		}
	}
	if len(out) != 19 {
		t.Fatalf("%d matrices found, want 19", len(out))
	}
	return out
}

// The colonies, herds and flocks of these papers give the indices that
// others published for them, and those that an independent program computed.
func TestMatrixVectors(t *testing.T) {
	published := 0
	for name, v := range matrices(t) {
		ours := answers(t, v.group(t))
		for key, want := range v.Published {
			published++
			t.Run("published/"+name+"/"+key, func(t *testing.T) {
				if why := differs(ours[key], want.Value, want.Tolerance); why != "" {
					t.Errorf("%s; source: %s", why, want.Source)
				}
			})
		}
		t.Run("only computed/"+name, func(t *testing.T) {
			for key, want := range v.Computed {
				if slices.Contains(ofRatings, key) {
					continue
				}
				if why := differs(ours[key], want.Value, want.Tolerance); why != "" {
					t.Errorf("%s: %s", key, why)
				}
			}
			checkOrders(t, v)
			checkTrap(t, v)
		})
	}
	if published != 72 {
		t.Errorf("%d published values were compared, want 72", published)
	}
}

// ofRatings are answers of abilities and posteriors, and the two that are not
// to be met as they stand: one order of many, and a trap.
var ofRatings = []string{"bradley_terry_mle", "bradley_terry_ghost1", "dyad_posterior_direction", "isi", "variant_unknown_as_half"}

// answers is what the package says of a matrix, under the names of the vectors.
func answers(t *testing.T, m Matrix) map[string]any {
	t.Helper()
	c, l, k, tri := m.Counts(), m.Linearity(), m.Kendall(), m.Triangles()
	p, err := m.LinearityTest(10_000, 1)
	steep, err2 := m.SteepnessTest(Dij, 4000, 1)
	if err != nil || err2 != nil {
		t.Fatal(err, err2)
	}
	out := map[string]any{
		"counts": map[string]any{
			"n": c.Animals, "dyads": c.Dyads, "interactions": c.Interactions, "unknown": c.Unknown,
			"tied": c.Tied, "one_way": c.OneWay, "two_way": c.TwoWay,
		},
		"proportion_unknown": float64(c.Unknown) / float64(c.Dyads),
		"landau_h":           l.H, "landau_h_prime": l.HPrime, "expected_h": l.Expected,
		"steepness_test_Dij": map[string]any{"p_right": steep.P, "null_mean": steep.Null},
		"triangles":          map[string]any{"transitive": tri.Transitive, "cyclic": tri.Cyclic, "Pt": nil, "ttri": nil},
	}
	if p.Exact {
		out["h_test_p_right_exact"], out["h_test_p_left_exact"] = p.Right, p.Left
	}
	kendall := map[string]any{"d": k.Circular, "d_max": k.Most, "K": k.K}
	if out["kendall"] = kendall; k.Freedom > 0 {
		kendall["chi2"], kendall["df"] = k.ChiSquare, k.Freedom
	}
	if tri.NotEnough == "" {
		out["triangles"] = map[string]any{"transitive": tri.Transitive, "cyclic": tri.Cyclic, "Pt": tri.Pt, "ttri": tri.Ttri}
		out["ttri"] = tri.Ttri
	}
	if dci, ok := m.DirectionalConsistency(); ok {
		out["dci"] = dci
	}
	for _, by := range []Proportion{Dij, Pij} {
		d := m.DavidsScore(by)
		out["davids_score_"+string(by)], out["norm_ds_"+string(by)] = byAnimal(m, d.Score), byAnimal(m, d.Norm)
		out["steepness_"+string(by)], out["steepness_intercept_"+string(by)] = d.Steepness, d.Intercept
	}
	return out
}

func byAnimal(m Matrix, values []float64) map[string]any {
	out := map[string]any{}
	for i, id := range m.IDs {
		out[id] = values[i]
	}
	return out
}

// differs compares two values of JSON, members and all, to within a tolerance.
func differs(got, want any, tolerance float64) string {
	if whole, ok := got.(int); ok {
		got = float64(whole)
	}
	switch w := want.(type) {
	case float64:
		if g, ok := got.(float64); ok && math.Abs(g-w) <= tolerance+hair {
			return ""
		}
	case map[string]any:
		g, ok := got.(map[string]any)
		if !ok || len(g) != len(w) {
			break
		}
		for key := range w {
			if why := differs(g[key], w[key], tolerance); why != "" {
				return key + ": " + why
			}
		}
		return ""
	default:
		if got == want {
			return ""
		}
	}
	return fmt.Sprintf("%v, want %v within %v", got, want, tolerance)
}

// checkOrders holds exact orders against the file, which lists all of them
// where they are few.
func checkOrders(t *testing.T, v vector) {
	t.Helper()
	isi, ok := v.Computed["isi"].Value.(map[string]any)
	if !ok {
		return
	}
	m := v.group(t)
	got, err := m.InconsistenciesAndStrengths()
	if err != nil {
		t.Fatal(err)
	}
	if got.I != int(isi["I"].(float64)) || got.SI != int(isi["SI"].(float64)) || got.Orders != uint64(isi["n_optimal_orders"].(float64)) {
		t.Errorf("I %d, SI %d of %d orders; want %v, %v of %v", got.I, got.SI, got.Orders, isi["I"], isi["SI"], isi["n_optimal_orders"])
	}
	for i, id := range m.IDs {
		want := isi["rank_range"].(map[string]any)[id].([]any)
		if lo, hi := float64(got.Places[i][0]), float64(got.Places[i][1]); lo != want[0] || hi != want[1] {
			t.Errorf("places of %s: %v, want %v", id, got.Places[i], want)
		}
	}
	order := []any{}
	for _, i := range got.Order {
		order = append(order, m.IDs[i])
	}
	listed, _ := isi["orders"].([]any)
	if len(listed) > 0 && !slices.ContainsFunc(listed, func(o any) bool { return slices.Equal(o.([]any), order) }) {
		t.Errorf("the order %v is not one of %v", order, listed)
	}
}

// checkTrap sees to it that unknown dyads are not taken as a half, which gives
// the answers of this variant.
func checkTrap(t *testing.T, v vector) {
	t.Helper()
	trap, ok := v.Computed["variant_unknown_as_half"]
	if !ok {
		return
	}
	want := trap.Value.(map[string]any)["steepness_Dij"].(float64)
	if got := v.group(t).DavidsScore(Dij).Steepness; math.Abs(got-want) <= trap.Tolerance {
		t.Errorf("steepness %v counts unknown dyads as a half", got)
	}
}
