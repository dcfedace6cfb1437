package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
)

const hierarchyVectors = "../../testdata/vectors/dominance/"

// hierarchyVector is a file with the figures of others: published by somebody, or
// only computed. SOURCE.txt beside the files says where they are from.
type hierarchyVector struct {
	IDs       []string                  `json:"ids"`
	Matrix    [][]float64               `json:"matrix"`
	Events    [][]string                `json:"events"`
	Ops       []any                     `json:"ops"`
	Published map[string]hierarchyClaim `json:"published"`
	Computed  map[string]hierarchyClaim `json:"computed"`
}

type hierarchyClaim struct {
	Value       any     `json:"value"`
	Tolerance   float64 `json:"tolerance"`
	Source      string  `json:"source"`
	Agrees      *bool   `json:"agrees"`
	Independent any     `json:"independent_value"`
}

// unanswered are keys that the figure does not have, and why.
var unanswered = map[string]string{
	"stability":                "published runs draw points as lines towards encounters to come; see stability_S_carry_forward",
	"stability_S_interpolated": "looks ahead to encounters to come",
}

func readHierarchyVector(t *testing.T, path string) (v hierarchyVector) {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// hierarchy runs the command on a file.
func hierarchy(t *testing.T, path string, more ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(t.Context(), append([]string{"figure", "hierarchy", "--in", path}, more...), &out, &errs); code != exitGood || errs.Len() > 0 {
		t.Fatalf("%s: exit code %d, %s", path, code, errs.String())
	}
	return out.String()
}

func hierarchyFigures(t *testing.T, path string) (got map[string]any) {
	t.Helper()
	if err := json.Unmarshal([]byte(hierarchy(t, path, "--json")), &got); err != nil {
		t.Fatal(err)
	}
	return got
}

// hierarchyOf runs the command on a text, as the file of that name.
func hierarchyOf(t *testing.T, name, text string) map[string]any {
	t.Helper()
	return hierarchyFigures(t, hierarchyFileOf(t, name, text))
}

func hierarchyFileOf(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// Every file of a matrix, of encounters or of operations gives the figures that
// were published of it, and those that were only computed.
func TestHierarchyHasTheFiguresOfTheVectors(t *testing.T) {
	files, err := filepath.Glob(hierarchyVectors + "*.json")
	if err != nil {
		t.Fatal(err)
	}
	read, published, computed := 0, 0, 0
	for _, path := range files {
		v := readHierarchyVector(t, path)
		if v.Matrix == nil && v.Events == nil && v.Ops == nil {
			continue
		}
		read++
		published, computed = published+len(v.Published), computed+len(v.Computed)
		t.Run(strings.TrimSuffix(filepath.Base(path), ".json"), func(t *testing.T) {
			got := withAbilities(v, hierarchyFigures(t, path))
			compareHierarchy(t, "published", v, v.Published, got)
			compareHierarchy(t, "computed", v, v.Computed, got)
			if text := hierarchy(t, path); !strings.HasSuffix(text, hierarchyCaution+"\n") || got["caution"] != hierarchyCaution {
				t.Errorf("no caution stands at the end of\n%s", text)
			}
		})
	}
	if read != 26 || published != 81 || computed != 441 {
		t.Errorf("%d files with %d published and %d computed figures were looked at", read, published, computed)
	}
}

func compareHierarchy(t *testing.T, block string, v hierarchyVector, claims map[string]hierarchyClaim, got map[string]any) {
	for _, key := range slices.Sorted(maps.Keys(claims)) {
		t.Run(block+"/"+key, func(t *testing.T) {
			claim := claims[key]
			switch is, given := got[key]; {
			case key == "variant_unknown_as_half":
				isNoTrap(t, claim, got)
			case key == "all_orders":
				isASample(t, claim, got["randomised"])
			case !given && unanswered[key] != "":
				t.Skip("not given: " + unanswered[key])
			case !given:
				t.Error("there is no such figure")
			case is == nil && claim.Value == nil && got["notes"].(map[string]any)[key] == nil:
				t.Error("there is none, and no note says why")
			case claim.Agrees != nil && !*claim.Agrees:
				t.Logf("the source has %v, which was found not to agree", claim.Value)
				differs(t, is, claim.Independent, claim)
			default:
				differs(t, is, claim.Value, claim)
			}
		})
	}
}

func differs(t *testing.T, got, want any, c hierarchyClaim) {
	t.Helper()
	if why := apartFrom(got, want, c.Tolerance); why != "" {
		t.Errorf("%s; source: %s", why, c.Source)
	}
}

// apartFrom holds values of JSON against each other, members and all.
func apartFrom(got, want any, tolerance float64) string {
	switch want := want.(type) {
	case float64:
		if n, ok := got.(float64); ok && math.Abs(n-want) <= tolerance+1e-9 {
			return ""
		}
	case []any:
		list, ok := got.([]any)
		if !ok || len(list) != len(want) {
			break
		}
		for i := range want {
			if why := apartFrom(list[i], want[i], tolerance); why != "" {
				return fmt.Sprintf("%d: %s", i, why)
			}
		}
		return ""
	case map[string]any:
		o, ok := got.(map[string]any)
		if !ok || len(o) != len(want) {
			break
		}
		for key := range want {
			if why := apartFrom(o[key], want[key], tolerance); why != "" {
				return key + ": " + why
			}
		}
		return ""
	default:
		if reflect.DeepEqual(got, want) {
			return ""
		}
	}
	return fmt.Sprintf("%v, want %v within %g", got, want, tolerance)
}

// withAbilities adds what two vectors have under a key of their own: abilities beside
// that of the first animal.
func withAbilities(v hierarchyVector, got map[string]any) map[string]any {
	able, ok := got["bradley_terry_mle"].(map[string]any)
	if !ok {
		return got
	}
	beside, others := map[string]any{}, map[string]any{}
	for i, id := range v.IDs {
		beside[id] = able[id].(float64) - able[v.IDs[0]].(float64)
		if i > 0 {
			others[id] = beside[id]
		}
	}
	got["log_ability_vs_"+v.IDs[0]], got["log_ability_5dp"] = beside, others
	return got
}

// isNoTrap sees to it that unknown pairs are not taken as a half.
func isNoTrap(t *testing.T, c hierarchyClaim, got map[string]any) {
	t.Helper()
	if trap := c.Value.(map[string]any)["steepness_Dij"]; apartFrom(got["steepness_Dij"], trap, c.Tolerance) == "" {
		t.Errorf("steepness %v counts unknown pairs as a half", trap)
	}
}

// isASample lies within five standard errors of the mean over all orders, as the
// vector's own note has it.
func isASample(t *testing.T, c hierarchyClaim, got any) {
	t.Helper()
	all, some := c.Value.(map[string]any), got.(map[string]any)
	for id, mean := range all["mean"].(map[string]any) {
		within := 5 * all["sd"].(map[string]any)[id].(float64) / math.Sqrt(some["orders"].(float64))
		differs(t, some["mean"].(map[string]any)[id], mean, hierarchyClaim{Tolerance: within})
	}
	differs(t, some["repeatability"], all["repeatability"], hierarchyClaim{Tolerance: 0.02})
}

// Of nothing seen the figures are those of the vector, each with a note, and
// there is no order; of one animal and of two there is no linearity.
func TestHierarchyOfNothingAndOfFew(t *testing.T) {
	v := readHierarchyVector(t, hierarchyVectors+"edge_empty_and_tiny.json")
	t.Run("computed/empty_3", func(t *testing.T) {
		got, claim := hierarchyOf(t, "empty.json", `{"ids":["A","B","C"],"matrix":[[0,0,0],[0,0,0],[0,0,0]]}`), v.Computed["empty_3"]
		want, notes, isi := claim.Value.(map[string]any), got["notes"].(map[string]any), got["isi"].(map[string]any)
		for key, is := range map[string]any{
			"h": got["landau_h"], "h_prime": got["landau_h_prime"], "dci": got["dci"], "ttri": got["ttri"], "steepness": got["steepness_Dij"],
			"isi_I": isi["I"], "isi_SI": isi["SI"], "n_optimal_orders": isi["n_optimal_orders"],
			"davids_score": inOrder(got, "davids_score_Dij"), "norm_ds": inOrder(got, "norm_ds_Dij"),
		} {
			differs(t, is, want[key], claim)
		}
		for _, key := range []string{"landau_h_prime", "isi", "dci", "kendall", "steepness_Dij", "norm_ds_Pij", "h_test_p_right_exact", "steepness_test_Dij"} {
			if notes[key] != "no encounter was seen" {
				t.Errorf("the note of %s is %v", key, notes[key])
			}
		}
	})
	t.Run("computed/n1 and n2", func(t *testing.T) {
		for _, text := range []string{`{"ids":["A"],"matrix":[[0]]}`, `{"ids":["A","B"],"matrix":[[0,8],[1,0]]}`, `{"ids":[],"matrix":[]}`} {
			got := hierarchyOf(t, "few.json", text)
			for _, key := range []string{"landau_h", "landau_h_prime", "kendall", "triangles", "h_test_p_right_exact"} {
				if is, given := got[key]; !given || is != nil || got["notes"].(map[string]any)[key] != "fewer than three animals" {
					t.Errorf("%s: %s is %v, %v", text, key, is, got["notes"])
				}
			}
		}
	})
}

func inOrder(got map[string]any, key string) (out []any) {
	for _, id := range got["ids"].([]any) {
		out = append(out, got[key].(map[string]any)[id.(string)])
	}
	return out
}

// What is asked of ratings in the file gives the runs that stand in the vector
// under the names of the variants.
func TestHierarchyTakesTheScaleOfTheFile(t *testing.T) {
	path := hierarchyVectors + "elo_albers_devries2001.json"
	v := readHierarchyVector(t, path)
	for key, params := range map[string]string{
		"normal_k100": `{}`, "logistic_k100": `{"curve":"logistic"}`, "exp0.01_k200_start0": `{"k":200,"start":0,"curve":"1/(1+exp(-0.01*diff))"}`,
	} {
		t.Run("computed/"+key, func(t *testing.T) {
			raw, err := json.Marshal(v.Events)
			if err != nil {
				t.Fatal(err)
			}
			got := hierarchyOf(t, "events.json", fmt.Sprintf(`{"ids":["a","b","c","d","e","f","g"],"events":%s,"params":%s}`, raw, params))
			claim := v.Computed[key]
			differs(t, got["elo"], claim.Value.(map[string]any)["ratings"], claim)
		})
	}
}

// What else has a file is no group.
func TestHierarchyOfVectorsWithoutAGroup(t *testing.T) {
	for _, name := range []string{"elo_single_update", "null_landau_h", "sociality_small", "edge_empty_and_tiny", "glicko1_example"} {
		refusesHierarchy(t, hierarchyVectors+name+".json", name)
	}
}

func refusesHierarchy(t *testing.T, path string, say ...string) {
	t.Helper()
	var out, errs bytes.Buffer
	code := run(t.Context(), []string{"figure", "hierarchy", "--in", path}, &out, &errs)
	if code != exitPart || out.Len() > 0 {
		t.Errorf("exit code %d, prints %s", code, out.String())
	}
	for _, want := range say {
		if !strings.Contains(errs.String(), want) {
			t.Errorf("says %sand nothing of %q", errs.String(), want)
		}
	}
}
