package events

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"strings"
	"testing"
)

// with is the draft with some fields of its body changed; null takes one away.
func with(t testing.TB, d Draft, changes string) Draft {
	t.Helper()
	body := map[string]json.RawMessage{}
	change := map[string]json.RawMessage{}
	if err := json.Unmarshal(d.Data, &body); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal([]byte(changes), &change); err != nil {
		t.Fatalf("%v in %s", err, changes)
	}
	maps.Copy(body, change)
	maps.DeleteFunc(body, func(name string, value json.RawMessage) bool { return string(value) == "null" })
	raw, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	d.Data = raw
	return d
}

// expect wants exactly one problem, at the field, that says what is wanted.
func expect(t testing.TB, d Draft, field, says string) {
	t.Helper()
	e, err := d.Fact()
	problems, ok := errors.AsType[Problems](err)
	if !ok {
		t.Errorf("%s: taken as %+v, %v", field, e.Body, err)
		return
	}
	if len(problems) != 1 || problems[0].Field != field || !strings.Contains(problems[0].Detail, says) {
		t.Errorf("the problem is %q; wanted %s: %s", problems, field, says)
	}
}

func TestBadBodiesAreRefusedByFieldAndRemedy(t *testing.T) {
	long := func(n int) string { return `"` + strings.Repeat("x", n) + `"` }
	many := func(n int, one string) string { return "[" + strings.TrimSuffix(strings.Repeat(one+",", n), ",") + "]" }
	feed := func(item string) string {
		return `{"items":[{"food":"herring","offered":{"value":"1","unit":"kg"},"eaten":{"value":"1","unit":"kg"}},` + item + `]}`
	}
	for name, c := range map[string]struct{ kind, changes, field, says string }{
		"a weight without an animal":        {"weight.taken", `{"animal":null}`, "data.animal", "is missing; give the id of the animal"},
		"a weight without a mass":           {"weight.taken", `{"mass":null}`, "data.mass", "is missing; give the mass as read off the scale"},
		"a weight of nothing":               {"weight.taken", `{"mass":{"value":"0","unit":"kg"}}`, "data.mass.value", "is 0 kg; the least that is taken is 0.5 kg"},
		"a weight below nothing":            {"weight.taken", `{"mass":{"value":"-1","unit":"kg"}}`, "data.mass.value", "is -1 kg; the least that is taken is 0.5 kg"},
		"heavier than any pinniped":         {"weight.taken", `{"mass":{"value":"4501","unit":"kg"}}`, "data.mass.value", "is 4501 kg; the most that is taken is 4500 kg"},
		"heavier, in grams":                 {"weight.taken", `{"mass":{"value":"4501000","unit":"g"}}`, "data.mass.value", "is 4501 kg; the most that is taken is 4500 kg"},
		"a mass without a unit":             {"weight.taken", `{"mass":{"value":"81.5"}}`, "data.mass.unit", "is missing; write a measured value"},
		"a mass without a value":            {"weight.taken", `{"mass":{"unit":"kg"}}`, "data.mass.value", "is missing; write a measured value"},
		"a mass in a unit of length":        {"weight.taken", `{"mass":{"value":"81.5","unit":"cm"}}`, "data.mass.unit", `is "cm"; use one of kg, g, [lb_av]`},
		"a mass as a number":                {"weight.taken", `{"mass":81.5}`, "data.mass", `is a number; a measured value, {"value":"81.5","unit":"kg"}, is wanted`},
		"a mass whose value is a number":    {"weight.taken", `{"mass":{"value":81.5,"unit":"kg"}}`, "data.mass.value", "is a number; a text in quotes is wanted"},
		"a mass with a comma":               {"weight.taken", `{"mass":{"value":"81,5","unit":"kg"}}`, "data.mass.value", `is "81,5"; write a plain decimal number`},
		"a mass with an exponent":           {"weight.taken", `{"mass":{"value":"8e1","unit":"kg"}}`, "data.mass.value", "write a plain decimal number"},
		"a mass with a field too many":      {"weight.taken", `{"mass":{"value":"81.5","unit":"kg","tare":"2"}}`, "data.mass.tare", "is not a field"},
		"a word that is not in the list":    {"weight.taken", `{"coat":"damp"}`, "data.coat", `is "damp"; use one of dry, wet`},
		"a word in capitals":                {"weight.taken", `{"coat":"Dry"}`, "data.coat", "use one of dry, wet"},
		"a word left empty":                 {"weight.taken", `{"coat":""}`, "data.coat", "is empty; leave it out, or give whether the coat was wet"},
		"a number for a word":               {"weight.taken", `{"coat":1}`, "data.coat", "is a number; a text in quotes is wanted"},
		"a list for a word":                 {"weight.taken", `{"coat":["dry"]}`, "data.coat", "is a list; a text in quotes is wanted"},
		"a field nobody knows":              {"weight.taken", `{"colour":"grey"}`, "data.colour", "is not a field of this kind of fact; see its schema"},
		"a field in capitals":               {"weight.taken", `{"Scale":"deck"}`, "data.Scale", "is not a field"},
		"an animal with a space":            {"weight.taken", `{"animal":"Marl the second"}`, "data.animal", "an id has letters, digits, dot, dash or underscore, at most 64"},
		"an animal with a long id":          {"weight.taken", `{"animal":` + long(65) + `}`, "data.animal", "at most 64"},
		"an animal given as an object":      {"weight.taken", `{"animal":{"id":"marl"}}`, "data.animal", "is an object; a text in quotes is wanted"},
		"a code with a slash":               {"weight.taken", `{"scale":"deck/1"}`, "data.scale", "use letters, digits, dot, dash or underscore"},
		"a text too long":                   {"weight.taken", `{"text":` + long(4001) + `}`, "data.text", "has 4001 bytes; at most 4000 fit"},
		"a text with a NUL":                 {"weight.taken", `{"text":"a\u0000b"}`, "data.text", "holds bytes that are not text"},
		"more eaten than offered":           {"feed.given", `{"items":[{"food":"herring","offered":{"value":"1.35","unit":"kg"},"eaten":{"value":"1350.1","unit":"g"}}]}`, "data.items[0].eaten", "is 1350.1 g, more than the 1.35 kg offered"},
		"more eaten of the second food":     {"feed.given", feed(`{"food":"capelin","offered":{"value":"1","unit":"kg"},"eaten":{"value":"2","unit":"kg"}}`), "data.items[1].eaten", "more than the 1 kg offered"},
		"a wrong unit in the second food":   {"feed.given", feed(`{"food":"capelin","offered":{"value":"1","unit":"lbs"},"eaten":{"value":"1","unit":"kg"}}`), "data.items[1].offered.unit", `is "lbs"; use one of kg, g, [lb_av]`},
		"less than nothing eaten":           {"feed.given", feed(`{"food":"capelin","offered":{"value":"1","unit":"kg"},"eaten":{"value":"-0.1","unit":"kg"}}`), "data.items[1].eaten.value", "the least that is taken is 0 kg"},
		"an impossible feed":                {"feed.given", feed(`{"food":"capelin","offered":{"value":"151","unit":"kg"},"eaten":{"value":"1","unit":"kg"}}`), "data.items[1].offered.value", "the most that is taken is 150 kg"},
		"a food that does not say what":     {"feed.given", feed(`{"offered":{"value":"1","unit":"kg"},"eaten":{"value":"1","unit":"kg"}}`), "data.items[1].food", "is missing; give the id of the food"},
		"a field nobody knows in a food":    {"feed.given", feed(`{"food":"capelin","refused":"0.2","offered":{"value":"1","unit":"kg"},"eaten":{"value":"1","unit":"kg"}}`), "data.items[1].refused", "is not a field"},
		"a food that is a text":             {"feed.given", feed(`"capelin"`), "data.items[1]", "is a text; an object is wanted"},
		"a feed of nothing":                 {"feed.given", `{"items":[]}`, "data.items", "is missing; give the foods of this feed"},
		"a feed that is no list":            {"feed.given", `{"items":{"food":"herring"}}`, "data.items", "is an object; a list is wanted"},
		"a list too long":                   {"company.scanned", `{"groups":[{"animals":` + many(501, `"a"`) + `}]}`, "data.groups[0].animals", "has 501 entries; at most 500 fit in one fact"},
		"an empty name in a list":           {"watch.held", `{"animals":["a",""]}`, "data.animals[1]", "is missing"},
		"a bad name in a list":              {"watch.held", `{"animals":["a","b c"]}`, "data.animals[1]", `is "b c"; an id has letters`},
		"a number in a list of names":       {"watch.held", `{"animals":["a",7]}`, "data.animals[1]", "is a number; a text in quotes is wanted"},
		"a region nobody knows":             {"coat.scored", `{"regions":["belly","wing"]}`, "data.regions[1]", `is "wing"; use one of flippers, belly`},
		"a coat without stage or share":     {"coat.scored", `{"stage":null,"new_coat":null}`, "data.stage", "give a stage from 0 to 5, or new_coat in per cent"},
		"more than all of the coat":         {"coat.scored", `{"new_coat":{"value":"100.1","unit":"%"}}`, "data.new_coat.value", "the most that is taken is 100 %"},
		"an empty share of the coat":        {"coat.scored", `{"new_coat":{}}`, "data.new_coat.value", "is missing; write a measured value"},
		"an animal in two groups":           {"company.scanned", `{"groups":[{"animals":["a","b"]},{"animals":["b"]}]}`, "data.groups[1]", "names b twice"},
		"an encounter with itself":          {"encounter.seen", `{"loser":"` + marl + `"}`, "data.loser", "an encounter has two"},
		"a word for yes":                    {"encounter.seen", `{"draw":"yes"}`, "data.draw", "is a text; true or false is wanted"},
		"a number for yes":                  {"encounter.seen", `{"injury":1}`, "data.injury", "is a number; true or false is wanted"},
		"a step that is no whole number":    {"trial.scored", `{"step":1.5}`, "data.step", "is 1.5; a whole number is wanted"},
		"a step in quotes":                  {"trial.scored", `{"step":"1"}`, "data.step", "is a text; a whole number is wanted"},
		"a step beyond any plan":            {"trial.scored", `{"step":201}`, "data.step", "is 201; the most that is taken is 200"},
		"a step beyond any number":          {"trial.scored", `{"step":1e20}`, "data.step", "a whole number is wanted"},
		"step nought":                       {"trial.scored", `{"step":0}`, "data.step", "is 0; the least that is taken is 1"},
		"a trial without its step":          {"trial.scored", `{"step":null}`, "data.step", "the least that is taken is 1"},
		"a tape that does not exist":        {"animal.entered", `{"tape":9}`, "data.tape", "is 9; the most that is taken is 8"},
		"a birth in words":                  {"animal.entered", `{"born":"last summer"}`, "data.born", "EDTF level 1"},
		"a sex left out":                    {"animal.entered", `{"sex":null}`, "data.sex", "is missing; give one of female, male, unknown"},
		"a name that is too long":           {"animal.entered", `{"name":` + long(201) + `}`, "data.name", "has 201 bytes; at most 200 fit"},
		"an end without a zone":             {"session.held", `{"until":"2026-03-02T15:25:00"}`, "data.until", "write a time with its offset"},
		"a date that is none":               {"lot.received", `{"use_by":"2026-02-30"}`, "data.use_by", "write a date as 2026-03-01"},
		"a zone that is none":               {"facility.opened", `{"zone":"Coast/Saltgarth"}`, "data.zone", "such as Europe/Dublin"},
		"a move to nowhere":                 {"animal.left", `{"to":null}`, "data.to", "say where the animal moved to"},
		"a choice not on offer":             {"choice.made", `{"chosen":"squid"}`, "data.chosen", "was not among what was offered"},
		"a score off its scale":             {"condition.scored", `{"score":{"value":"5.5","unit":"1"}}`, "data.score", "is 5.5 on a scale from 1 to 5"},
		"a scale the wrong way round":       {"condition.scored", `{"least":{"value":"5","unit":"1"},"most":{"value":"1","unit":"1"}}`, "data.score", "on a scale from 5 to 1"},
		"an analysis that sums to too much": {"lot.assayed", `{"composition":{"water":{"value":"90","unit":"g"},"protein":{"value":"18","unit":"g"},"fat":{"value":"12","unit":"g"}}}`, "data.composition", "sums to 120.0 g in 100 g"},
		"an empty analysis":                 {"lot.assayed", `{"composition":{}}`, "data.composition", "is missing; give grams in 100 g as fed"},
		"an energy that counts nobody":      {"food.described", `{"basis":null}`, "data.basis", "say what the stated energy counts"},
		"a part above 100 g":                {"food.described", `{"composition":{"fat":{"value":"101","unit":"g"}}}`, "data.composition.fat.value", "the most that is taken is 100 g"},
		"a bound in words":                  {"water.tested", `{"readings":[{"what":"ph","value":{"value":"8","unit":"[pH]"},"bound":"about"}]}`, "data.readings[0].bound", "use one of below, above"},
		"pH in parts per thousand":          {"water.tested", `{"readings":[{"what":"temperature","value":{"value":"9","unit":"Cel"}},{"what":"ph","value":{"value":"8","unit":"[ppth]"}}]}`, "data.readings[1].value.unit", "is \"[ppth]\"; ph is measured in [pH]"},
		"fewer than no coliforms":           {"water.tested", `{"readings":[{"what":"total_coliform","value":{"value":"-1","unit":"{MPN}/dL"}}]}`, "data.readings[0].value.value", "total_coliform can't be below zero"},
		"water with nothing and ozone":      {"enclosure.described", `{"added":["none","ozone"]}`, "data.added", "none alone"},
		"a sample colder than the sea":      {"water.tested", `{"readings":[{"what":"temperature","value":{"value":"-6","unit":"Cel"}}]}`, "data.readings[0].value.value", "is -6 Cel; the least that is taken is -5 Cel"},
		"a finding without a word":          {"check.made", `{"findings":[{"region":"eyes"}]}`, "data.findings[0].word", "is missing; give what was seen"},
		"an entry that is no id":            {"entry.withdrawn", `{"entry":"the last one"}`, "data.entry", "give the id of the entry, a UUID"},
		"a withdrawal without a reason":     {"entry.withdrawn", `{"reason":null}`, "data.reason", "is missing; give why it is withdrawn"},
		"a correction that is no object":    {"entry.corrected", `{"data":"82.0 kg"}`, "data.data", "is a text; an object is wanted"},
		"a correction without a body":       {"entry.corrected", `{"data":null}`, "data.data", "is missing; give the whole body"},
	} {
		t.Run(name, func(t *testing.T) { expect(t, with(t, goldenDraft(t, c.kind), c.changes), c.field, c.says) })
	}
}

// null is no value: a field without one is left out.
func TestNullIsRefusedEverywhere(t *testing.T) {
	for wire := range golden(t) {
		draft := goldenDraft(t, KindName(wire))
		for name := range object(t, draft.Data) {
			body := object(t, draft.Data)
			body[name] = nil
			raw, err := json.Marshal(body)
			if err != nil {
				t.Fatal(err)
			}
			bad := draft
			bad.Data = raw
			expect(t, bad, "data."+name, "is null; ")
		}
	}
}

func TestEveryProblemIsNamedAtOnce(t *testing.T) {
	draft := Draft{ID: "1", Type: "haulout.weight.taken.v1", Time: "yesterday", Facility: "Salt garth", Data: []byte(`{"coat":"damp","mass":{"value":"0","unit":"kg"}}`)}
	_, err := draft.Fact()
	problems, _ := errors.AsType[Problems](err)
	var fields []string
	for _, p := range problems {
		fields = append(fields, p.Field)
	}
	if got, want := fmt.Sprint(fields), "[id time facility data.animal data.mass.value data.coat]"; got != want {
		t.Errorf("names %s, wanted %s: %v", got, want, err)
	}
}

func TestTheEnvelopeOfADraftIsChecked(t *testing.T) {
	for name, c := range map[string]struct {
		change      func(*Draft)
		field, says string
	}{
		"no id":                 {func(d *Draft) { d.ID = "" }, "id", "give a UUID"},
		"a short id":            {func(d *Draft) { d.ID = "017f22e2" }, "id", `is "017f22e2"; give a UUID`},
		"no time":               {func(d *Draft) { d.Time = "" }, "time", "write a time with its offset"},
		"no facility":           {func(d *Draft) { d.Facility = "" }, "facility", "give the code of a facility"},
		"a facility in words":   {func(d *Draft) { d.Facility = "Tern Sluice" }, "facility", "give the code of a facility"},
		"no type":               {func(d *Draft) { d.Type = "" }, "type", "is not in this program's catalog"},
		"an unknown kind":       {func(d *Draft) { d.Type = "haulout.weight.guessed.v1" }, "type", `"haulout.weight.guessed.v1" is not in this program's catalog`},
		"a type without prefix": {func(d *Draft) { d.Type = "weight.taken.v1" }, "type", "is not in this program's catalog"},
		"a future version":      {func(d *Draft) { d.Type = "haulout.weight.taken.v2" }, "type", `"haulout.weight.taken.v2" is newer than this program, which knows "haulout.weight.taken.v1"`},
		"no version":            {func(d *Draft) { d.Type = "haulout.weight.taken" }, "type", `has no version; this program writes "haulout.weight.taken.v1"`},
		"version nought":        {func(d *Draft) { d.Type = "haulout.weight.taken.v0" }, "type", "has no version"},
		"no data":               {func(d *Draft) { d.Data = nil }, "data", "is missing; give the body of the fact"},
		"data that is null":     {func(d *Draft) { d.Data = []byte("null") }, "data", "is null; an object is wanted"},
		"data that is a list":   {func(d *Draft) { d.Data = []byte("[]") }, "data", "is a list; an object is wanted"},
		"data cut short":        {func(d *Draft) { d.Data = []byte(`{"animal":`) }, "data", "can't be read: at byte"},
		"a name twice":          {func(d *Draft) { d.Data = []byte(`{"animal":"a","animal":"b"}`) }, "data", `name "animal" stands twice`},
	} {
		t.Run(name, func(t *testing.T) {
			draft := goldenDraft(t, "weight.taken")
			c.change(&draft)
			expect(t, draft, c.field, c.says)
		})
	}
}

// A problem never repeats a whole novel back to the phone that sent it.
func TestProblemsStayShort(t *testing.T) {
	huge := strings.Repeat("x", 100_000)
	for _, change := range []string{`{"text":"` + huge + `"}`, `{"` + huge + `":1}`, `{"coat":"` + huge + `"}`, `{"mass":{"value":"` + huge + `","unit":"kg"}}`, `{"mass":{"value":"1","unit":"` + huge + `"}}`} {
		_, err := with(t, goldenDraft(t, "weight.taken"), change).Fact()
		if err == nil || len(err.Error()) > 600 {
			t.Errorf("%.30s…: %d characters", change, len(fmt.Sprint(err)))
		}
	}
}

func TestWireNames(t *testing.T) {
	if got := TypeOf("feed.given"); got != "haulout.feed.given.v1" {
		t.Errorf("feed.given is written %s", got)
	}
	for wire, name := range map[string]string{"haulout.feed.given.v1": "feed.given", "haulout.note.v12": "note", "haulout.veterinary.noted.v1": "veterinary.noted", "haulout.veterinary.noted": "veterinary.noted"} {
		if got := KindName(wire); got != name {
			t.Errorf("%s is %s, wanted %s", wire, got, name)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("a name outside of the catalog has a wire name")
		}
	}()
	TypeOf("feed.stolen")
}
