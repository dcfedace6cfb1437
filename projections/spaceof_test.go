package projections

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"haulout/projections/rules"
)

var spaceDay = time.Date(2026, 6, 7, 12, 0, 0, 0, time.UTC)

// roomy is the Long Pool with its measures.
func (r *recorder) roomy(more string) {
	r.record("saltgarth", "enclosure.described", "2026-01-02T08:10:00Z", `{"enclosure":"long","name":"Long Pool"`+more+`}`)
}

const measures = `,"water_area":{"value":"60","unit":"m2"},"water_depth":{"value":"120","unit":"cm"},"width":{"value":"4","unit":"m"},"dry_area":{"value":"9","unit":"m2"}`

// A single female California sea lion asks for 2 times 1.75 squared, 6.125 m2;
// two for 1.75 squared each, 6.125 m2 again; with a male of 2.24 m, 11.1426 m2.
// Worked by hand from 9 CFR 3.104(d), from memory.
func TestWhetherAnEnclosureFits(t *testing.T) {
	r := longPool(t, "marl", "osier")
	r.roomy(measures)
	r.record("saltgarth", "animal.entered", "2026-01-03T09:00:00Z", `{"animal":"basalt","name":"Basalt","taxon":"Zalophus californianus","sex":"male","how":"arrival"}`)
	s := filledStore(t, r)
	a, err := s.SpaceOf("saltgarth", "long", spaceDay, time.Time{})
	if err != nil || a.Standing != rules.Passes || len(a.Animals) != 2 || math.Abs(a.Measures[0].Required-6.125) > 1e-9 || len(a.Missing) != 0 || !strings.Contains(a.Cited, "to be verified") || a.Verified {
		t.Fatalf("%+v %v", a, err)
	}
	with, err := s.SpaceOf("saltgarth", "long", spaceDay, time.Time{}, "basalt")
	if err != nil || with.Standing != rules.Fails || with.Now != rules.Passes || math.Abs(with.Measures[0].Required-11.1426) > 1e-9 || !with.Animals[0].Newcomer || !strings.Contains(with.Sentence, "without the newcomers") {
		t.Errorf("%+v %v", with, err)
	}
	if same, err := s.SpaceOf("saltgarth", "long", spaceDay, time.Time{}, "marl", "marl"); err != nil || len(same.Animals) != 2 || same.Standing != rules.Passes {
		t.Errorf("who lives there is counted twice: %+v %v", same, err)
	}
	if _, err := s.SpaceOf("saltgarth", "long", spaceDay, time.Time{}, "nobody"); !errors.Is(err, ErrSpace) || !strings.Contains(err.Error(), "nobody") {
		t.Errorf("%v", err)
	}
	if none, err := s.SpaceOf("saltgarth", "moon", spaceDay, time.Time{}); none != nil || err != nil {
		t.Errorf("%+v %v", none, err)
	}
	if before, err := s.SpaceOf("saltgarth", "long", spaceDay.AddDate(-1, 0, 0), time.Time{}); err != nil || before.NotEnough == "" || len(before.Animals) != 0 {
		t.Errorf("before anybody lived there: %+v %v", before, err)
	}
}

func TestWhatIsMissingForAVerdict(t *testing.T) {
	for name, c := range map[string]struct {
		more, taxon string
		standing    rules.Standing
		missing     []string
	}{
		"nothing described":    {"", "Zalophus californianus", rules.Undecided, []string{"dry area", "water surface", "width", "depth"}},
		"a narrow pool":        {strings.Replace(measures, `"value":"4"`, `"value":"2.2"`, 1), "Zalophus californianus", rules.Undecided, []string{"at a right angle"}},
		"narrow, and long":     {strings.Replace(measures, `"value":"4"`, `"value":"2.2"`, 1) + `,"across":{"value":"400","unit":"cm"}`, "Zalophus californianus", rules.Passes, nil},
		"a kind not in a list": {measures, "Odobenus rosmarus", rules.Undecided, []string{"by hand"}},
	} {
		r := longPool(t)
		r.roomy(c.more)
		r.record("saltgarth", "animal.entered", "2026-01-03T09:00:00Z", fmt.Sprintf(`{"animal":"marl","name":"Marl","taxon":%q,"sex":"female","how":"arrival"}`, c.taxon))
		r.record("saltgarth", "animal.placed", "2026-01-03T09:00:00Z", `{"animal":"marl","enclosure":"long"}`)
		a, err := filledStore(t, r).SpaceOf("saltgarth", "long", spaceDay, time.Time{})
		if err != nil || a.Standing != c.standing || len(a.Missing) != len(c.missing) {
			t.Errorf("%s: %+v %v", name, a, err)
			continue
		}
		for i, want := range c.missing {
			if !strings.Contains(a.Missing[i], want) {
				t.Errorf("%s: %v", name, a.Missing)
			}
		}
	}
}

// Males of Steller sea lions are taken to be grown at 6.6 years (Winship, Trites
// & Calkins 2001, J Mammal 82:500).
func TestMaturityAsFarAsABirthTells(t *testing.T) {
	for _, c := range []struct{ taxon, sex, born, want string }{
		{"Eumetopias jubatus", "male", "2019-10-01", "yes"}, {"Eumetopias jubatus", "male", "2021", "no"}, {"Eumetopias jubatus", "male", "2018/2022", ""},
		{"Eumetopias jubatus", "male", "", ""}, {"Eumetopias jubatus", "male", "../2010", "yes"}, {"Eumetopias jubatus", "unknown", "2001", ""}, {"Odobenus rosmarus", "male", "2001", ""},
		{"Zalophus californianus", "female", "2022", "yes"},
	} {
		a := Animal{Taxon: c.taxon, Sex: c.sex, Born: c.born}
		if got := a.matureOn(spaceDay); got != c.want {
			t.Errorf("%v: %q", c, got)
		}
	}
}
