package events

import (
	"bytes"
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"
)

// schemas compiles the schema of every kind as JSON Schema 2020-12, with
// formats as assertions.
func schemas(t *testing.T) map[string]*jsonschema.Schema {
	t.Helper()
	out := map[string]*jsonschema.Schema{}
	for _, wire := range Kinds() {
		raw, err := Schema(wire)
		if err != nil {
			t.Fatal(err)
		}
		doc := parsed(t, raw)
		if got := doc.(map[string]any)["$schema"]; got != "https://json-schema.org/draft/2020-12/schema" {
			t.Errorf("%s is of the dialect %v", wire, got)
		}
		compiler := jsonschema.NewCompiler()
		compiler.DefaultDraft(jsonschema.Draft2020)
		compiler.AssertFormat()
		if err := compiler.AddResource("https://saltgarth.example/"+wire, doc); err != nil {
			t.Fatal(err)
		}
		if out[wire], err = compiler.Compile("https://saltgarth.example/" + wire); err != nil {
			t.Fatalf("%s: %v", wire, err)
		}
	}
	return out
}

func parsed(t interface{ Fatal(...any) }, raw []byte) any {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func TestGoldenBodiesFitTheirSchemas(t *testing.T) {
	for wire, schema := range schemas(t) {
		if err := schema.Validate(parsed(t, goldenDraft(t, KindName(wire)).Data)); err != nil {
			t.Errorf("%s: %v", wire, err)
		}
	}
}

// spot is one member of a body, however deep.
type spot struct {
	in   map[string]any
	name string
	rule *rule
	path string
}

// spots lists the members of a body that its rules know.
func spots(rs rules, body map[string]any, at string) (out []spot) {
	for i := range rs {
		r := &rs[i]
		path := at + "." + r.name
		out = append(out, spot{body, r.name, r, path})
		if r.inner == nil {
			continue
		}
		switch value := body[r.name].(type) {
		case map[string]any:
			out = append(out, spots(r.inner, value, path)...)
		case []any:
			for i, one := range value {
				out = append(out, spots(r.inner, one.(map[string]any), indexed(path, i))...)
			}
		}
	}
	return out
}

// spoilt hands each member of a fresh copy of each golden body to spoil, which
// changes it and says so, and wants both the schema and the check to refuse
// the outcome with a problem at the member's path.
func spoilt(t *testing.T, spoil func(spot) (field string, done bool)) {
	for wire, schema := range schemas(t) {
		t.Run(wire, func(t *testing.T) {
			draft := goldenDraft(t, KindName(wire))
			rules := byName[KindName(wire)].rules
			for i := range spots(rules, object(t, draft.Data), "data") {
				body := object(t, draft.Data)
				field, done := spoil(spots(rules, body, "data")[i])
				if !done {
					continue
				}
				raw, err := json.Marshal(body)
				if err != nil {
					t.Fatal(err)
				}
				if schema.Validate(parsed(t, raw)) == nil {
					t.Errorf("the schema takes a spoilt %s: %s", field, raw)
				}
				bad := draft
				bad.Data = raw
				_, err = bad.Fact()
				problems, _ := errors.AsType[Problems](err)
				if !slices.ContainsFunc(problems, func(p Problem) bool { return p.Field == field && p.Detail != "" }) {
					t.Errorf("the check says %q of a spoilt %s: %s", err, field, raw)
				}
			}
		})
	}
}

func TestUnknownFieldsAreRefusedTwice(t *testing.T) {
	spoilt(t, func(s spot) (string, bool) {
		s.in["colour"] = "grey"
		return strings.TrimSuffix(s.path, s.name) + "colour", true
	})
}

func TestMissingFieldsAreRefusedTwice(t *testing.T) {
	spoilt(t, func(s spot) (string, bool) {
		delete(s.in, s.name)
		return s.path, !s.rule.optional
	})
}

func TestWrongUnitsAreRefusedTwice(t *testing.T) {
	spoilt(t, func(s spot) (string, bool) {
		if s.rule.units == nil || s.in[s.name] == nil {
			return "", false
		}
		s.in[s.name].(map[string]any)["unit"] = "lbs"
		return s.path + ".unit", true
	})
}

func TestWrongTypesAreRefusedTwice(t *testing.T) {
	spoilt(t, func(s spot) (string, bool) {
		s.in[s.name] = 0.5
		return s.path, true
	})
}

func TestUnknownWordsAreRefusedTwice(t *testing.T) {
	spoilt(t, func(s spot) (string, bool) {
		if _, text := s.in[s.name].(string); s.rule.enum == nil || !text {
			return "", false
		}
		s.in[s.name] = "purple"
		return s.path, true
	})
}

// What is taken fits its schema, so that whoever receives a record can check
// it with the schema alone. The schema may be wider: rules that span fields,
// and the bounds of measured values, are said in it in words.
func TestWhatIsTakenFitsItsSchema(t *testing.T) {
	compiled, wires := schemas(t), Kinds()
	bodies := map[string][]byte{}
	for _, wire := range wires {
		bodies[wire] = goldenDraft(t, KindName(wire)).Data
	}
	pool := []any{
		"", " ", "marl", "a b", "é", "2026-03-01", "2026-03-01T16:00:00Z", "2026-03-01T16:00:00.5+14:00", "2014~", "Europe/Dublin", "1", "kg",
		strings.Repeat("x", 200), strings.Repeat("é", 101), nil, true, false, 0, 1, 3, 1.5, -1, 1e20,
		[]any{}, []any{"marl"}, []any{""}, []any{"belly"}, map[string]any{}, map[string]any{"value": "1", "unit": "kg"}, map[string]any{"value": "1", "unit": "g"},
		map[string]any{"value": "", "unit": ""}, map[string]any{"value": "1.0"}, "00000000-0000-0000-0000-000000000000", "dry", "hand",
	}
	taken := 0
	rapid.Check(t, func(rt *rapid.T) {
		wire := rapid.SampledFrom(wires).Draw(rt, "wire")
		body := map[string]any{}
		if err := json.Unmarshal(bodies[wire], &body); err != nil {
			rt.Fatal(err)
		}
		for range rapid.IntRange(1, 3).Draw(rt, "changes") {
			all := spots(byName[KindName(wire)].rules, body, "data")
			s := all[rapid.IntRange(0, len(all)-1).Draw(rt, "spot")]
			if rapid.Bool().Draw(rt, "drop") {
				delete(s.in, s.name)
			} else {
				s.in[s.name] = rapid.SampledFrom(pool).Draw(rt, "value")
			}
			if wrong(body) {
				break
			}
		}
		raw, err := json.Marshal(body)
		if err != nil {
			rt.Fatal(err)
		}
		draft := Draft{ID: goldenID(goldenTime(1), 1), Type: wire, Time: "2026-03-02T09:00:00Z", Facility: "saltgarth", Data: raw}
		e, err := draft.Fact()
		if err != nil {
			return
		}
		taken++
		if err := compiled[wire].Validate(parsed(rt, e.Data)); err != nil {
			rt.Fatalf("%s is taken and does not fit: %v\n%s", wire, err, e.Data)
		}
	})
	if taken < 10 {
		t.Errorf("only %d drafts were taken; the test says little", taken)
	}
}

// wrong says that a list holds something else than objects, so that spots
// can't go on.
func wrong(body map[string]any) bool {
	for value := range maps.Values(body) {
		if list, ok := value.([]any); ok && slices.ContainsFunc(list, func(one any) bool { _, object := one.(map[string]any); return !object }) {
			return true
		}
	}
	return false
}

func TestSchemasOfOtherThingsAreNotGiven(t *testing.T) {
	for _, wire := range []string{"haulout.feed.given.v2", "haulout.feed.stolen.v1", "feed.given"} {
		if raw, err := Schema(wire); !errors.Is(err, ErrUnknown) {
			t.Errorf("%s has the schema %s, %v", wire, raw, err)
		}
	}
	if kinds := Kinds(); len(kinds) != len(catalog) || !slices.IsSorted(kinds) {
		t.Errorf("the kinds are %v", kinds)
	}
}
