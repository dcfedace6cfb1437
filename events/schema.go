package events

import (
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
)

const schemaDialect = "https://json-schema.org/draft/2020-12/schema"

// Schema writes the JSON Schema 2020-12 of the body of a kind, from the same
// tags that the check reads. What spans several fields is said in words only.
func Schema(wire string) ([]byte, error) {
	k, version, err := kindOf(wire)
	if err != nil {
		return nil, err
	}
	if version != k.version() {
		return nil, fmt.Errorf("%w: the schema of %s is that of %s", ErrUnknown, wire, k.wire(k.version()))
	}
	out := k.rules.schema()
	out["$schema"] = schemaDialect
	out["$id"] = "/api/v1/schemas/" + wire
	out["title"] = wire
	return json.MarshalIndent(out, "", "  ")
}

func (rs rules) schema() map[string]any {
	properties, required := map[string]any{}, []string{}
	for _, r := range rs {
		properties[r.name] = r.schema()
		if !r.optional {
			required = append(required, r.name)
		}
	}
	return map[string]any{"type": "object", "properties": properties, "required": required, "additionalProperties": false}
}

func (r *rule) schema() map[string]any {
	out := r.shape(r.typ)
	if r.doc != "" {
		out["description"] = r.doc
	}
	return out
}

func (r *rule) shape(t reflect.Type) map[string]any {
	switch {
	case t == quantityType:
		return r.quantitySchema()
	case t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Uint8:
		return map[string]any{"type": "object"}
	case t.Kind() == reflect.Slice:
		items := r.shape(t.Elem())
		out := map[string]any{"type": "array", "items": items, "maxItems": maxList}
		if !r.optional {
			out["minItems"] = 1
		}
		return out
	case t.Kind() == reflect.Struct:
		return r.inner.schema()
	case t.Kind() == reflect.Bool:
		return map[string]any{"type": "boolean"}
	case t.Kind() == reflect.Int:
		return r.intSchema()
	}
	return r.textSchema()
}

func (r *rule) quantitySchema() map[string]any {
	value := map[string]any{"type": "string", "pattern": `^-?[0-9]+(\.[0-9]+)?$`, "maxLength": 24}
	if r.min != nil && r.max != nil {
		value["description"] = fmt.Sprintf("from %s to %s %s", plain(r.min), plain(r.max), r.units[0])
	}
	return map[string]any{
		"type":                 "object",
		"properties":           map[string]any{"value": value, "unit": map[string]any{"enum": r.units}},
		"required":             []string{"value", "unit"},
		"additionalProperties": false,
	}
}

func (r *rule) intSchema() map[string]any {
	out := map[string]any{"type": "integer"}
	if r.min != nil {
		out["minimum"], _ = r.min.Float64()
	}
	if r.max != nil {
		out["maximum"], _ = r.max.Float64()
	}
	return out
}

// schemaFormats are the forms that JSON Schema has a name or a pattern for.
var schemaFormats = map[string]map[string]any{
	"date":    {"format": "date"},
	"instant": {"format": "date-time"},
	"code":    {"pattern": codePattern},
	"digest":  {"pattern": "^[0-9a-f]{64}$"},
}

func (r *rule) textSchema() map[string]any {
	out := map[string]any{"type": "string", "maxLength": r.length}
	if !r.optional {
		out["minLength"] = 1
	}
	maps.Copy(out, schemaFormats[r.format])
	switch {
	case r.enum != nil:
		out = map[string]any{"enum": r.enum}
	case r.ref == "entry":
		out["format"] = "uuid"
	case r.ref != "":
		out["pattern"] = codePattern
		out["description"] = "the id of a known " + r.ref
	}
	return out
}

// Kinds lists the newest wire name of every kind, sorted.
func Kinds() []string {
	out := make([]string, len(catalog))
	for i := range catalog {
		out[i] = catalog[i].wire(catalog[i].version())
	}
	slices.SortFunc(out, strings.Compare)
	return out
}
