package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// figureVector is a file with figures of others: the input of a command and
// what it must come to. SOURCE.txt beside the files says what of them was
// published; the rest was only computed, and not by this program.
type figureVector struct {
	Tolerance string         `json:"tolerance"` // such as "1e-6 relative"
	Source    string         `json:"source"`
	Expected  map[string]any `json:"expected"`
}

func readFigureVector(t *testing.T, path string) (v figureVector, tolerance float64) {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatal(err)
	}
	if _, err := fmt.Sscanf(v.Tolerance, "%g relative", &tolerance); err != nil {
		t.Fatalf("%s: tolerance %q", path, v.Tolerance)
	}
	return v, tolerance
}

// figureText runs a figure on a file.
func figureText(t *testing.T, figure, path string, more ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(t.Context(), append([]string{"figure", figure, "--in", path}, more...), &out, &errs); code != exitGood || errs.Len() > 0 {
		t.Fatalf("%s of %s: exit code %d, %s", figure, path, code, errs.String())
	}
	return out.String()
}

func figureJSON(t *testing.T, figure, path string, more ...string) (got map[string]any) {
	t.Helper()
	if err := json.Unmarshal([]byte(figureText(t, figure, path, append(more, "--json")...)), &got); err != nil {
		t.Fatal(err)
	}
	return got
}

// figureFileOf writes a file of that name.
func figureFileOf(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// figureRefuses sees to it that a file, or the words of a command, come to
// nothing but an error that says some words.
func figureRefuses(t *testing.T, args []string, say ...string) {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(t.Context(), append([]string{"figure"}, args...), &out, &errs); code == exitGood || out.Len() > 0 {
		t.Errorf("%v: exit code %d, prints %s", args, code, out.String())
	}
	for _, want := range say {
		if !strings.Contains(errs.String(), want) {
			t.Errorf("%v says\n%sand nothing of %q", args, errs.String(), want)
		}
	}
}

// claim is what one key of a vector must come to.
type claim struct {
	block     string // published, or only computed
	key       string // of the vector
	got, want any
	tolerance float64 // relative
	skipped   string  // why it is not compared
}

// vectorsHold runs a figure over the vectors of some pattern and holds every
// key against what is expected. Claims says how the keys of a vector are
// compared that are not simply those of the answer.
func vectorsHold(t *testing.T, figure, pattern string, files, keys int, claims func(name string, got map[string]any, c claim) []claim) {
	paths, err := filepath.Glob("../../testdata/vectors/" + pattern)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, path := range paths {
		name := strings.TrimSuffix(filepath.Base(path), ".json")
		v, tolerance := readFigureVector(t, path)
		got := figureJSON(t, figure, path)
		for _, key := range slices.Sorted(maps.Keys(v.Expected)) {
			seen++
			for _, c := range claims(name, got, claim{"only computed", key, got[key], v.Expected[key], tolerance, ""}) {
				c.check(t, name, v)
			}
		}
		if text := figureText(t, figure, path); !strings.HasSuffix(text, got["caution"].(string)+"\n") {
			t.Errorf("%s: no caution stands at the end of\n%s", name, text)
		}
	}
	if len(paths) != files || seen != keys {
		t.Errorf("%d files with %d keys were looked at", len(paths), seen)
	}
}

func (c claim) check(t *testing.T, name string, v figureVector) {
	t.Run(c.block+"/"+name+"/"+c.key, func(t *testing.T) {
		if c.skipped != "" {
			t.Run("not compared: "+c.skipped, func(t *testing.T) { t.Skip(c.skipped) })
			return
		}
		if why := relativelyApart(c.got, c.want, c.tolerance); why != "" {
			t.Errorf("%s; source: %s", why, v.Source)
		}
	})
}

// relativelyApart holds values of JSON against each other, members and all. A
// list of one may be written as the number alone.
func relativelyApart(got, want any, tolerance float64) string {
	list, isList := got.([]any)
	if _, scalar := want.(float64); scalar && isList && len(list) == 1 {
		return relativelyApart(list[0], want, tolerance)
	}
	switch want := want.(type) {
	case float64:
		if n, ok := got.(float64); ok && math.Abs(n-want) <= tolerance*math.Abs(want)+1e-12 {
			return ""
		}
	case []any:
		if !isList || len(list) != len(want) {
			break
		}
		for i := range want {
			if why := relativelyApart(list[i], want[i], tolerance); why != "" {
				return fmt.Sprintf("%d: %s", i, why)
			}
		}
		return ""
	case map[string]any:
		o, _ := got.(map[string]any)
		for key := range want {
			if why := relativelyApart(o[key], want[key], tolerance); why != "" {
				return key + ": " + why
			}
		}
		return ""
	default:
		if got == want {
			return ""
		}
	}
	return fmt.Sprintf("%v, want %v within %g of it", got, want, tolerance)
}

// asIs compares a key with that of the answer.
func asIs(_ string, _ map[string]any, c claim) []claim { return []claim{c} }
