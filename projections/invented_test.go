package projections

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"haulout/events"
	"haulout/projections/rules"
)

// named holds the ids that invented facts choose from. Both facilities use the
// same, so that a food of one could be taken for the other's; the animals are
// known to both.
var named = map[string][]string{
	"animal": {"marl", "osier"}, "enclosure": {"harbour"}, "food": {"herring", "squid"}, "lot": {"lot-1"},
	"behaviour": {"scan"}, "session": {"s-1"}, "watch": {"w-1"}, "supplement": {"multi-2"},
}

var zoneNames = []string{"Europe/Dublin", "America/Los_Angeles", "Pacific/Kiritimati", "America/St_Johns", "UTC"}

// bodyTypes finds the Go type of every kind's body, by its golden record.
func bodyTypes(t *testing.T) map[string]reflect.Type {
	out := map[string]reflect.Type{}
	for _, wire := range events.Kinds() {
		kind := events.KindName(wire)
		line, err := os.ReadFile(filepath.Join("../testdata/events", kind, "v1.json"))
		if err != nil {
			t.Fatal(err)
		}
		ev, err := events.Decode([]byte(strings.TrimSpace(string(line))))
		if err != nil {
			t.Fatalf("golden record of %s: %v", kind, err)
		}
		out[kind] = reflect.TypeOf(ev.Body).Elem()
	}
	return out
}

// inventor makes up facts by the tags of their bodies, so that a new kind is
// put to the proof without a line here.
type inventor struct {
	t     *rapid.T
	types map[string]reflect.Type
	*recorder
}

// colony invents two facilities and some dozens of records.
func colony(t *rapid.T, types map[string]reflect.Type, list []Projection) *recorder {
	in := &inventor{t, types, newRecorder(t)}
	facilities := []string{"saltgarth", "wrackline-bay"}
	for _, facility := range facilities {
		in.open(facility)
	}
	kinds := rapid.SliceOfNDistinct(rapid.SampledFrom(kindsRead(list)), 2, 6, rapid.ID).Draw(t, "kinds") // few, so that they meet
	for range rapid.IntRange(5, 36).Draw(t, "facts") {
		facility := rapid.SampledFrom(facilities).Draw(t, "facility")
		switch step := rapid.IntRange(0, 19).Draw(t, "step"); {
		case step < 12:
			in.fact(facility, rapid.SampledFrom(kinds).Draw(t, "kind"))
		case step < 17:
			in.correction(facility, in.earlier(facility))
		case step < 18:
			in.correction(facility, in.opening(facility))
		default:
			in.withdrawal(facility)
		}
	}
	return in.recorder
}

// kindsRead lists what any of the projections reads.
func kindsRead(list []Projection) []string {
	kinds := map[string]bool{}
	for _, p := range list {
		for _, kind := range p.kinds {
			kinds[kind] = kind != "facility.opened"
		}
	}
	maps.DeleteFunc(kinds, func(_ string, wanted bool) bool { return !wanted })
	return sortedKeys(kinds)
}

func (in *inventor) open(facility string) {
	in.record(facility, "facility.opened", "2026-01-01T08:00:00Z", fmt.Sprintf(`{"name":%q,"zone":%q}`, facility, rapid.SampledFrom(zoneNames).Draw(in.t, "zone")))
	for _, kind := range []string{"animal.entered", "enclosure.described", "food.described", "lot.received", "behaviour.planned"} {
		sort := map[string]string{"animal.entered": "animal", "enclosure.described": "enclosure", "food.described": "food", "lot.received": "lot", "behaviour.planned": "behaviour"}[kind]
		for _, id := range named[sort] {
			for !in.factWith(facility, kind, map[string]any{sort: id}) {
			}
		}
	}
}

func (in *inventor) fact(facility, kind string) { in.factWith(facility, kind, nil) }

// factWith records an invented fact; false where a recorder would refuse it.
func (in *inventor) factWith(facility, kind string, fixed map[string]any) bool {
	return in.draft(facility, kind, in.moment(), in.body(in.types[kind], fixed))
}

func (in *inventor) draft(facility, kind, at string, body map[string]any) bool {
	data, err := json.Marshal(body)
	if err != nil {
		in.t.Fatalf("%v", err)
	}
	id := in.id(rapid.Uint32Range(0, 3).Draw(in.t, "id"))
	_, err = in.try(events.Draft{ID: id, Type: events.TypeOf(kind), Time: at, Facility: facility, Data: data}, rapid.SampledFrom([]string{"rv", "jo"}).Draw(in.t, "author"))
	return err == nil
}

// moment is near a local midnight, often on a day when the clocks change.
func (in *inventor) moment() string {
	zone, err := time.LoadLocation(rapid.SampledFrom(zoneNames).Draw(in.t, "zone"))
	if err != nil {
		in.t.Fatalf("%v", err)
	}
	day := rapid.SampledFrom([]Day{"2026-03-28", "2026-03-29", "2026-03-30", "2026-03-08", "2026-10-25", "1969-12-31"}).Draw(in.t, "day")
	after := rapid.SampledFrom([]time.Duration{-time.Nanosecond, 0, time.Millisecond, 90 * time.Minute, 11 * time.Hour}).Draw(in.t, "after midnight")
	return day.Start(zone).Add(after).UTC().Format(time.RFC3339Nano)
}

// correction corrects any earlier record of a facility, a correction too. It
// keeps the animals and what the entry defined, as recorders demand.
func (in *inventor) correction(facility string, target events.Event) {
	kind := events.KindName(target.Type)
	was := map[string]any{}
	if err := json.Unmarshal(target.Data, &was); err != nil {
		in.t.Fatalf("%v", err)
	}
	body := map[string]any{"entry": target.ID, "reason": "slip of the hand", "data": in.corrected(kind, was)}
	if rapid.Bool().Draw(in.t, "time too") {
		body["time"] = in.moment()
	}
	in.draft(facility, "entry.corrected", in.moment(), body)
}

func (in *inventor) corrected(kind string, was map[string]any) map[string]any {
	switch kind {
	case "entry.withdrawn":
		return was
	case "entry.corrected":
		return in.correctedAgain(was)
	}
	body := in.body(in.types[kind], nil)
	for field := range in.types[kind].Fields() {
		if name := wireName(field); identifies(field) {
			delete(body, name)
			if value, said := was[name]; said {
				body[name] = value
			}
		}
	}
	return sound(in.types[kind], body)
}

// correctedAgain says anew what an entry should have been. Now and then it says
// something that is no body of that entry, which a recorder can't know.
func (in *inventor) correctedAgain(was map[string]any) map[string]any {
	out := maps.Clone(was)
	entry, _ := was["entry"].(string)
	target, known := in.byID[entry]
	before, _ := was["data"].(map[string]any)
	if !known || rapid.IntRange(0, 9).Draw(in.t, "unsound") == 0 {
		out["data"] = map[string]any{"nonsense": true}
		return out
	}
	out["data"] = in.corrected(events.KindName(target.Type), before)
	delete(out, "time")
	if rapid.Bool().Draw(in.t, "time too") {
		out["time"] = in.moment()
	}
	return out
}

// identifies says that a field tells which animals a fact is about, or what it
// brings into being.
func identifies(field reflect.StructField) bool {
	if field.Tag.Get("ref") == "animal" || field.Tag.Get("new") != "" {
		return true
	}
	elem := field.Type
	for elem.Kind() == reflect.Slice {
		elem = elem.Elem()
	}
	if elem.Kind() != reflect.Struct {
		return false
	}
	for inner := range elem.Fields() {
		if identifies(inner) {
			return true
		}
	}
	return false
}

func (in *inventor) withdrawal(facility string) {
	in.draft(facility, "entry.withdrawn", in.moment(), map[string]any{"entry": in.earlier(facility).ID, "reason": "the wrong animal"})
}

// earlier is a record of the facility, the newest ones first.
func (in *inventor) earlier(facility string) events.Event {
	back := rapid.IntRange(0, len(in.books[facility].lines)-1).Draw(in.t, "back")
	return in.nth(facility, len(in.books[facility].lines)-1-back)
}

func (in *inventor) opening(facility string) events.Event { return in.nth(facility, 0) }

func (in *inventor) nth(facility string, n int) events.Event {
	ev, err := events.Decode(in.books[facility].lines[n])
	if err != nil {
		in.t.Fatalf("%v", err)
	}
	return ev
}

func wireName(field reflect.StructField) string {
	name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
	return name
}

// body invents a body by the tags of its type, but for what is fixed.
func (in *inventor) body(t reflect.Type, fixed map[string]any) map[string]any {
	out := maps.Clone(fixed)
	if out == nil {
		out = map[string]any{}
	}
	for field := range t.Fields() {
		name := wireName(field)
		if _, given := out[name]; given {
			continue
		}
		optional := strings.Contains(field.Tag.Get("json"), ",")
		if optional && rapid.IntRange(0, 3).Draw(in.t, "leave out") > 0 {
			continue
		}
		out[name] = in.value(field, field.Type, out)
	}
	return sound(t, out)
}

func (in *inventor) value(field reflect.StructField, t reflect.Type, so map[string]any) any {
	tag := field.Tag
	if t == reflect.TypeFor[events.Quantity]() {
		return in.quantity(tag)
	}
	switch t.Kind() {
	case reflect.Slice:
		list := []any{}
		for range rapid.IntRange(1, 2).Draw(in.t, "entries") {
			if v := in.value(field, t.Elem(), so); !slices.ContainsFunc(list, func(o any) bool { return reflect.DeepEqual(o, v) }) {
				list = append(list, v)
			}
		}
		return list
	case reflect.Struct:
		return in.body(t, nil)
	case reflect.Bool:
		return rapid.Bool().Draw(in.t, "bool")
	case reflect.Int:
		least, _ := strconv.Atoi(tag.Get("min"))
		return rapid.IntRange(least, least+2).Draw(in.t, "int")
	}
	return in.word(tag, so)
}

func (in *inventor) word(tag reflect.StructTag, so map[string]any) string {
	sort := tag.Get("ref") + tag.Get("new")
	_, isName := tag.Lookup("name")
	switch {
	case isName: // a name is one thing's in its facility
		for _, id := range so {
			if s, ok := id.(string); ok && slices.Contains(slices.Concat(named["animal"], named["enclosure"], named["food"], named["supplement"]), s) {
				return strings.ToUpper(s) + rapid.SampledFrom([]string{"", " the second"}).Draw(in.t, "name")
			}
		}
	case tag.Get("enum") != "":
		return rapid.SampledFrom(strings.Split(tag.Get("enum"), ",")).Draw(in.t, "word")
	case named[sort] != nil:
		return rapid.SampledFrom(named[sort]).Draw(in.t, sort)
	case sort == "entry":
		return in.anEntry()
	}
	switch tag.Get("format") {
	case "zone":
		return rapid.SampledFrom(zoneNames).Draw(in.t, "zone")
	case "date":
		return "2026-03-28"
	case "edtf":
		return rapid.SampledFrom([]string{"2014-06-XX", "2014~", "2015"}).Draw(in.t, "edtf")
	case "instant":
		return in.moment()
	case "clock":
		return rapid.SampledFrom([]string{"08:30", "11:00", "16:15"}).Draw(in.t, "clock")
	}
	return rapid.SampledFrom([]string{"quiet", "came-at-once", "x1"}).Draw(in.t, "text")
}

// anEntry is the id of an entry that a fact names: one that took fish out of a
// freezer, where there is one, or any other.
func (in *inventor) anEntry() string {
	all := sortedKeys(in.byID)
	thaws := slices.DeleteFunc(slices.Clone(all), func(id string) bool { return events.KindName(in.byID[id].Type) != "lot.thawed" })
	if len(thaws) > 0 && rapid.IntRange(0, 3).Draw(in.t, "any entry") > 0 {
		all = thaws
	}
	return rapid.SampledFrom(all).Draw(in.t, "entry")
}

func (in *inventor) quantity(tag reflect.StructTag) map[string]any {
	unit, _, _ := strings.Cut(tag.Get("unit"), ",")
	least, _ := strconv.ParseFloat(tag.Get("min"), 64)
	more := rapid.SampledFrom([]float64{0, 0.25, 1, 2.5}).Draw(in.t, "more")
	return map[string]any{"value": strconv.FormatFloat(max(least, 0)+more, 'f', -1, 64), "unit": unit}
}

// ruleUnits are the units in which the rules of a house are counted.
var ruleUnits = map[string]string{
	"thaw_hours": "h", "thawed_hours": "h", "fatty_from": "%", "fatty_months": "mo", "lean_months": "mo", "thiamine": "mg/kg",
	"vitamin_e": "[iU]/kg", "shortage_days": "d", "freezer": "Cel", "thaw_reserve": "%",
	"coliform_most": "{MPN}/dL", "coliform_days": "d", "ph_days": "d", "chemical_days": "d",
	"salinity_least": "[ppth]", "salinity_most": "[ppth]", "ph_least": "[pH]", "ph_most": "[pH]",
	"temperature_least": "Cel", "temperature_most": "Cel", "free_chlorine_most": "mg/L", "total_chlorine_most": "mg/L", "ozone_most": "mg/L",
	"weigh_days": "d", "check_days": "d", "coat_days": "d", "train_days": "d", "mass_week": "%", "mass_month": "%", "silent_hours": "h",
}

// sound mends what the rules that span several fields would refuse.
func sound(t reflect.Type, body map[string]any) map[string]any {
	switch t {
	case reflect.TypeFor[events.FeedItem]():
		if body["eaten"].(map[string]any)["value"] != "0" {
			body["eaten"] = body["offered"]
		}
	case reflect.TypeFor[events.ConditionScored]():
		for field, value := range map[string]string{"least": "1", "most": "5"} {
			body[field] = map[string]any{"value": value, "unit": "1"}
		}
		body["score"] = map[string]any{"value": "3", "unit": "1"}
	case reflect.TypeFor[events.EncounterSeen]():
		if loser, said := body["loser"].(string); said { // what is no encounter has no loser to keep
			body["winner"] = named["animal"][1-slices.Index(named["animal"], loser)]
		}
	case reflect.TypeFor[events.RuleSet]():
		body["value"].(map[string]any)["unit"] = ruleUnits[body["rule"].(string)]
	case reflect.TypeFor[events.WaterReading]():
		value := body["value"].(map[string]any)
		value["unit"] = rules.WaterUnits(body["what"].(string))[0]
	case reflect.TypeFor[events.EnclosureDescribed]():
		if added, said := body["added"].([]any); said {
			body["added"] = added[:1] // nothing is not added beside something
		}
	case reflect.TypeFor[events.RationSet]():
		if times, said := body["times"].([]any); said {
			slices.SortFunc(times, func(a, b any) int { return strings.Compare(a.(string), b.(string)) })
		}
	case reflect.TypeFor[events.DietGuided]():
		for _, item := range body["items"].([]any) {
			delete(item.(map[string]any), "most")
		}
	case reflect.TypeFor[events.ChoiceMade]():
		delete(body, "chosen")
	case reflect.TypeFor[events.CoatScored]():
		if body["stage"] == nil {
			body["stage"] = "3"
		}
	}
	return body
}
