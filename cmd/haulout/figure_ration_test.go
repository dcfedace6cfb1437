package main

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// The answers have every key that the vectors expect, with their values.
// SOURCE.txt beside the vectors says who worked them out.
func TestRationsHaveTheAnswersOfTheVectors(t *testing.T) {
	files, err := filepath.Glob("../../testdata/vectors/diet/*.json")
	if err != nil || len(files) != 4 {
		t.Fatalf("%d vectors: %v", len(files), err)
	}
	for _, path := range files {
		var vector struct{ Expected map[string]any }
		raw, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(raw, &vector); err != nil {
			t.Fatal(err)
		}
		var got map[string]any
		if err := json.Unmarshal([]byte(figures(t, path, "--json")), &got); err != nil {
			t.Fatal(err)
		}
		for key, want := range vector.Expected {
			if strings.HasSuffix(key, "_portions") && vector.Expected[strings.Replace(key, "portions", "optima_tied", 1)] != 1.0 {
				continue // one of several
			}
			if !alike(got[key], want) {
				t.Errorf("%s: %s is %v, want %v", filepath.Base(path), key, got[key], want)
			}
		}
		if text := figures(t, path); !strings.HasSuffix(text, rationCaution+"\n") || got["caution"] != rationCaution {
			t.Errorf("%s: no caution stands at the end of\n%s", filepath.Base(path), text)
		}
	}
}

// figures runs figure ration on a file.
func figures(t *testing.T, path string, more ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(t.Context(), append([]string{"figure", "ration", "--in", path}, more...), &out, &errs); code != exitGood || errs.Len() > 0 {
		t.Fatalf("%s: exit code %d, %s", path, code, errs.String())
	}
	return out.String()
}

// alike holds answers against each other, numbers to a millionth.
func alike(got, want any) bool {
	switch want := want.(type) {
	case float64:
		n, ok := got.(float64)
		return ok && math.Abs(n-want) <= 1e-6*max(math.Abs(want), 1e-3)
	case []any:
		list, ok := got.([]any)
		if !ok || len(list) != len(want) {
			return false
		}
		for i := range want {
			if !alike(list[i], want[i]) {
				return false
			}
		}
		return true
	case map[string]any:
		o, ok := got.(map[string]any)
		if !ok || len(o) != len(want) {
			return false
		}
		for key := range want {
			if !alike(o[key], want[key]) {
				return false
			}
		}
		return true
	}
	return reflect.DeepEqual(got, want)
}

func TestBadRationsAreRefusedByKeyAndRemedy(t *testing.T) {
	cases := map[string]struct{ file, want string }{
		"no JSON":                  {`fish: herring`, "is no JSON object"},
		"a list":                   {`[1]`, "is no JSON object"},
		"a misspelt key":           {`{"fsh": ["a"]}`, `the key "fsh" is not known; perhaps you mean "fish"`},
		"a misspelt key of a file": {`{"input": {}, "sorce": ""}`, `the key "sorce" is not known; perhaps you mean "source"`},
		"a text for a number":      {`{"kcal_min": "many"}`, `kcal_min is "many"; give a number`},
		"a half session":           {`{"sessions": 1.5}`, `sessions is 1.5; give a whole number`},
		"a number for a name":      {`{"fish": [1]}`, `fish is [1]; give a list of names`},
		"a text in a list":         {`{"stock_kg": ["much"]}`, `stock_kg is ["much"]; give a number, or a list of numbers with null`},
		"nothing wanted":           {`{"fish": ["a"], "kcal_per_kg": [1000], "portion_kg": 1}`, "kcal_min is missing"},
		"lists of two lengths":     {`{"fish": ["a", "b"], "kcal_per_kg": [1000], "kcal_min": 5}`, "kcal_per_kg has 1 figure for 2 fish"},
		"an energy not known":      {`{"fish": ["a", "b"], "kcal_per_kg": [1000, null], "kcal_min": 5}`, "fish[1].kcal_per_kg is not known"},
		"no portion":               {`{"fish": ["a"], "kcal_per_kg": [1000], "kcal_min": 5}`, "portion_kg is missing; give the mass of one portion"},
		"a portion of nothing":     {`{"fish": ["a"], "kcal_per_kg": [1000], "kcal_min": 5, "portion_kg": 0}`, "fish[0].portion_kg is 0; give the mass"},
		"half a portion yesterday": {`{"fish": ["a"], "kcal_per_kg": [1000], "kcal_min": 5, "portion_kg": 1, "yesterday_portions": 0.5}`, "yesterday_portions is 0.5; give a whole number"},
		"a number out of reach":    {`{"fish": ["a"], "kcal_per_kg": [1e999], "kcal_min": 5, "portion_kg": 1}`, "kcal_per_kg is [1e999]; give a number"},
		"a diet without days":      {`{"foods": [{}], "nutrients": ["n"], "need_per_day": [1]}`, "days is missing"},
		"a food with a bad key":    {`{"foods": [{"nme": "x"}], "nutrients": ["n"], "need_per_day": [1], "days": 365}`, `foods[0]: the key "nme" is not known; perhaps you mean "name"`},
		"a food of less":           {`{"foods": [{"name": "x", "nutrients_per_dollar": [-1]}], "nutrients": ["n"], "need_per_day": [1], "days": 365}`, "foods[0].nutrients_per_dollar[0] is -1"},
		"needs of another length":  {`{"foods": [{}], "nutrients": ["n", "m"], "need_per_day": [1], "days": 365}`, "need_per_day has 1 figure for 2 nutrients"},
	}
	for name, c := range cases {
		path := filepath.Join(t.TempDir(), "ration.json")
		if err := os.WriteFile(path, []byte(c.file), 0o644); err != nil {
			t.Fatal(err)
		}
		var out, errs bytes.Buffer
		code := run(t.Context(), []string{"figure", "ration", "--in", path}, &out, &errs)
		if code != exitPart || !strings.Contains(errs.String(), c.want) || out.Len() > 0 {
			t.Errorf("%s: exit code %d, %s%s", name, code, out.String(), errs.String())
		}
	}
}
