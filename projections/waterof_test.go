package projections

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"haulout/events"
	"haulout/projections/rules"
)

// What is measured goes with the same units where it is recorded and where it
// is judged.
func TestEveryUnitThatIsRecordedCanBeJudged(t *testing.T) {
	names := strings.Split(schemaEnum(t, "water.tested", "what"), ",")
	units := strings.Split(schemaEnum(t, "water.tested", "unit"), ",")
	if len(names) < 12 || len(units) < 8 {
		t.Fatalf("%v in %v", names, units)
	}
	for _, what := range names {
		for _, unit := range units {
			_, err := events.Draft{
				ID: "0198c0de-0000-7000-8000-000000000001", Type: events.TypeOf("water.tested"), Time: "2026-06-01T08:00:00Z", Facility: "saltgarth",
				Data: []byte(`{"enclosure":"long","readings":[{"what":"` + what + `","value":{"value":"1","unit":"` + unit + `"}}]}`),
			}.Fact()
			if taken, judged := err == nil, slices.Contains(rules.WaterUnits(what), unit); taken != judged {
				t.Errorf("%s in %s: recorded %v, judged %v (%v)", what, unit, taken, judged, err)
			}
		}
	}
}

// schemaEnum lists the words that a field may hold, wherever it stands.
func schemaEnum(t *testing.T, kind, field string) string {
	t.Helper()
	raw, err := events.Schema(events.TypeOf(kind))
	if err != nil {
		t.Fatal(err)
	}
	var doc any
	if err := json.Unmarshal(raw, &doc); err != nil {
		t.Fatal(err)
	}
	var words []string
	var look func(any)
	look = func(node any) {
		switch n := node.(type) {
		case map[string]any:
			if one, ok := n[field].(map[string]any); ok {
				list, _ := one["enum"].([]any)
				for _, word := range list {
					words = append(words, word.(string))
				}
			}
			for _, inner := range n {
				look(inner)
			}
		case []any:
			for _, inner := range n {
				look(inner)
			}
		}
	}
	look(doc)
	return strings.Join(words, ",")
}

// tests records the water of the Long Pool: a moment, then what was measured,
// its result and its unit, and what more stands in the body.
func (r *recorder) tests(at, what, result, unit, more string) {
	r.t.Helper()
	bound := ""
	switch result[0] {
	case '<':
		bound, result = `,"bound":"below"`, result[1:]
	case '>':
		bound, result = `,"bound":"above"`, result[1:]
	}
	r.record("saltgarth", "water.tested", at, fmt.Sprintf(`{"enclosure":"long","readings":[{"what":%q,"value":{"value":%q,"unit":%q}%s}]%s}`, what, result, unit, bound, more))
}

// counts records a sample of coliforms.
func (r *recorder) counts(at, result, sample, repeats string) {
	more := fmt.Sprintf(`,"sample":%q`, sample)
	if repeats != "" {
		more += fmt.Sprintf(`,"repeat":%q`, repeats)
	}
	r.tests(at, "total_coliform", result, "{MPN}/dL", more)
}

func waterAt(t *testing.T, s *Store, at string) *WaterAnswer {
	t.Helper()
	now, err := time.Parse(time.RFC3339, at)
	if err != nil {
		t.Fatal(err)
	}
	a, err := s.WaterOf("saltgarth", "long", now, time.Time{})
	if err != nil || a == nil {
		t.Fatalf("%+v %v", a, err)
	}
	return a
}

// Worked by hand from 9 CFR 3.106(b)(1), from memory: 1,400, 900 and 650 average
// 983.33, which is below 1,000; 1,600, 900 and 700 average 1,066.67.
func TestACountIsAveragedWithThoseThatNameIt(t *testing.T) {
	for name, c := range map[string]struct {
		counts   [][3]string // result, sample, what it repeats; 48 hours apart
		standing rules.Standing
		open     int
		series   int
		due      int
	}{
		"one that passes":                         {[][3]string{{"300", "W-1", ""}}, rules.Passes, 0, 1, 0},
		"one that exceeds":                        {[][3]string{{"1400", "W-1", ""}}, rules.Exceeds, 1, 1, 2},
		"one repeat is not enough":                {[][3]string{{"1400", "W-1", ""}, {"900", "W-2", "W-1"}}, rules.Exceeds, 1, 1, 1},
		"an average below":                        {[][3]string{{"1400", "W-1", ""}, {"900", "W-2", "W-1"}, {"650", "W-3", "W-1"}}, rules.Passes, 0, 1, 0},
		"the third names the second":              {[][3]string{{"1400", "W-1", ""}, {"900", "W-2", "W-1"}, {"650", "W-3", "W-2"}}, rules.Passes, 0, 1, 0},
		"an average above":                        {[][3]string{{"1600", "W-1", ""}, {"900", "W-2", "W-1"}, {"700", "W-3", "W-1"}}, rules.Fails, 1, 1, 0},
		"a count that nobody says repeats it":     {[][3]string{{"1400", "W-1", ""}, {"900", "W-2", ""}}, rules.Exceeds, 1, 2, 2},
		"a low count long after":                  {[][3]string{{"1400", "W-1", ""}, {"1300", "W-2", "W-1"}, {"1200", "W-3", "W-1"}, {"10", "W-4", ""}}, rules.Passes, 0, 2, 0},
		"a high one does not hide behind one low": {[][3]string{{"300", "W-1", ""}, {"1500", "W-2", "W-1"}}, rules.Exceeds, 1, 2, 2},
		"nor a fourth behind three":               {[][3]string{{"1400", "W-1", ""}, {"900", "W-2", "W-1"}, {"650", "W-3", "W-1"}, {"5000", "W-4", "W-1"}}, rules.Fails, 1, 2, 0},
		"what it repeats is not on record":        {[][3]string{{"1200", "W-9", "W-8"}}, rules.Exceeds, 1, 1, 2},
		"too many to count":                       {[][3]string{{">0", "W-1", ""}}, rules.Undecided, 1, 1, 2},
	} {
		r := longPool(t)
		first := time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
		for i, one := range c.counts {
			r.counts(first.Add(time.Duration(i)*48*time.Hour).Format(time.RFC3339), one[0], one[1], one[2])
		}
		a := waterAt(t, filledStore(t, r), "2026-06-07T12:00:00Z")
		if a.Standing != c.standing || len(a.Open) != c.open || len(a.Series) != c.series || len(a.Samples) != c.due {
			t.Errorf("%s: %s, %d open, %d series, %d samples due", name, a.Standing, len(a.Open), len(a.Series), len(a.Samples))
		}
		stray := slices.ContainsFunc(a.Notes, func(n string) bool { return strings.Contains(n, "stands for itself") })
		if stray != (name == "what it repeats is not on record") {
			t.Errorf("%s: %v", name, a.Notes)
		}
	}
}

func TestAHighCountIsOpenUntilALaterOnePasses(t *testing.T) {
	r := longPool(t)
	r.counts("2026-06-01T08:00:00Z", "1400", "W-1", "")
	r.counts("2026-06-04T08:00:00Z", "20", "W-2", "")
	r.counts("2026-06-08T08:00:00Z", "30", "W-3", "")
	s := filledStore(t, r)
	if a := waterAt(t, s, "2026-06-04T12:00:00Z"); a.Standing != rules.Exceeds || len(a.Open) != 1 || a.Open[0].Sample != "W-1" || !a.Samples[0].Overdue || a.Samples[1].Overdue {
		t.Errorf("a low count that nobody says repeats it: %s, %+v", a.Standing, a.Samples)
	}
	if a := waterAt(t, s, "2026-06-08T12:00:00Z"); a.Standing != rules.Passes || len(a.Open) != 0 || len(a.Series) != 3 || !a.Series[2].Settled || a.Series[2].Standing != rules.Exceeds {
		t.Errorf("after the repeats were due: %s, %+v", a.Standing, a.Series)
	}
	if a := waterAt(t, s, "2026-05-30T12:00:00Z"); a.NotEnough == "" || a.Standing != rules.Undecided || len(a.Last) != 0 {
		t.Errorf("before any: %+v", a)
	}
}

func TestTheLastReadingOfEachIsJudgedByTheHouse(t *testing.T) {
	r := longPool(t)
	r.record("saltgarth", "rule.set", "2026-05-01T08:00:00Z", `{"rule":"ph_most","value":{"value":"8.2","unit":"[pH]"},"reason":"agreed with the veterinarian"}`)
	r.tests("2026-04-20T08:00:00Z", "ozone", "0.02", "mg/L", "")
	r.tests("2026-06-01T08:00:00Z", "ph", "8.4", "[pH]", "")
	r.tests("2026-06-01T08:00:00Z", "salinity", "3.7", "%", "")
	r.tests("2026-06-02T08:00:00Z", "ph", "8.1", "[pH]", "")
	r.tests("2026-06-03T08:00:00Z", "temperature", "-1.2", "Cel", "")
	s := filledStore(t, r)
	a := waterAt(t, s, "2026-06-03T12:00:00Z")
	var got []string
	for _, v := range a.Last {
		got = append(got, v.What+" "+v.Value.String()+" "+string(v.Verdict.Standing))
	}
	want := []string{"ph 8.1 [pH] passes", "salinity 3.7 % undecided", "temperature -1.2 Cel no limit"}
	if !slices.Equal(got, want) || a.Standing != rules.Undecided {
		t.Errorf("%v, %s", got, a.Standing)
	}
	if a := waterAt(t, s, "2026-06-01T12:00:00Z"); a.Standing != rules.Fails {
		t.Errorf("with a pH of 8.4: %s", a.Standing)
	}
	i := slices.IndexFunc(a.History, func(h WaterHistory) bool { return h.What == "salinity" })
	if h := a.History[i]; h.Values[0].Level != 37 || h.Values[0].Value.Value != "3.7" || len(h.Limits) != 2 || h.Limits[0].InForce != 15 || !h.Limits[0].Least || !h.Limits[0].Doubt || h.Unit != "[ppth]" {
		t.Errorf("%+v", h)
	}
	if len(a.Rules) != len(rules.WaterNames()) || a.Caution == "" {
		t.Errorf("rules %+v", a.Rules)
	}
	if over, err := s.WaterOver("saltgarth", "long", "2026-06-02", "2026-06-02", a.At, time.Time{}); err != nil || len(over.History) != 1 || len(over.History[0].Values) != 1 || len(over.Last) != 3 {
		t.Errorf("%+v %v", over, err)
	}
}

func TestWhatIsDueOfAnEnclosuresWater(t *testing.T) {
	for name, c := range map[string]struct {
		body string
		due  string // by day, overdue ones marked
		note string
	}{
		"natural sea water with nothing added": {`"salt":"sea","added":["none"]`, "total_coliform 2026-06-05!", "natural sea water is free of tests"},
		"natural sea water, nobody said":       {`"salt":"sea"`, "total_coliform 2026-06-05!", "whether any are added here is not on record"},
		"natural sea water with ozone":         {`"salt":"sea","added":["ozone"]`, "total_coliform 2026-06-05! ph 2026-06-07 ozone 2026-06-07!", ""},
		"water of which nobody said anything":  {`"text":"as it is"`, "total_coliform 2026-06-05! ph 2026-06-07", "whether chemicals are added is not on record"},
	} {
		r := longPool(t)
		r.record("saltgarth", "enclosure.described", "2026-01-02T08:10:00Z", `{"enclosure":"long","name":"Long Pool",`+c.body+`}`)
		r.counts("2026-05-29T08:00:00Z", "30", "W-1", "")
		r.tests("2026-06-06T08:00:00Z", "ph", "8.1", "[pH]", "")
		a := waterAt(t, filledStore(t, r), "2026-06-07T12:00:00Z")
		var got []string
		for _, d := range a.Due {
			mark := ""
			if d.Overdue {
				mark = "!"
			}
			got = append(got, d.What+" "+d.By+mark)
		}
		if strings.Join(got, " ") != c.due || !strings.Contains(strings.Join(a.Notes, " "), c.note) || a.WeekEnds != "2026-06-07" {
			t.Errorf("%s: %v, %v, %s", name, got, a.Notes, a.WeekEnds)
		}
	}
}

// What is due was tested long ago, and that is said: it is not taken to have
// never been.
func TestATestOfLongAgoIsFound(t *testing.T) {
	r := longPool(t)
	r.counts("2026-01-29T08:00:00Z", "30", "W-1", "")
	a := waterAt(t, filledStore(t, r), "2026-06-07T12:00:00Z")
	if a.Due[0].What != "total_coliform" || a.Due[0].Last != "2026-01-29" || !a.Due[0].Overdue || len(a.Last) != 0 || a.NotEnough == "" {
		t.Errorf("%+v, last %+v", a.Due, a.Last)
	}
}

func TestWaterAsItWasBelieved(t *testing.T) {
	r := longPool(t)
	r.counts("2026-06-01T08:00:00Z", "30", "W-1", "")
	believed := r.clock
	r.counts("2026-06-02T08:00:00Z", "1400", "W-2", "")
	s := filledStore(t, r)
	now := time.Date(2026, 6, 2, 12, 0, 0, 0, time.UTC)
	for asOf, want := range map[time.Time]rules.Standing{{}: rules.Exceeds, believed: rules.Passes} {
		if a, err := s.WaterOf("saltgarth", "long", now, asOf); err != nil || a.Standing != want {
			t.Errorf("as of %s: %+v %v", asOf, a, err)
		}
	}
	for _, id := range []string{"nowhere", "long"} {
		if a, err := s.WaterOf("moon", id, now, time.Time{}); a != nil || err != nil {
			t.Errorf("%+v %v", a, err)
		}
	}
	if all, err := s.WatersOf("saltgarth", now, time.Time{}); err != nil || len(all) != 1 || all[0].Standing != rules.Exceeds || len(all[0].History) != 0 {
		t.Errorf("%+v %v", all, err)
	}
}
