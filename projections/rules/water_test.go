package rules

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var firstSample = time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)

// counted are samples at intervals of 48 hours.
func counted(t *testing.T, results string) (out []Sample) {
	t.Helper()
	for i, text := range strings.Fields(results) {
		r, err := ParseReading("total_coliform", text, "{MPN}/dL")
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, Sample{firstSample.Add(time.Duration(i) * 48 * time.Hour), r})
	}
	return out
}

func series(t *testing.T, results string, h House) Series {
	t.Helper()
	s, err := Coliforms(counted(t, results), h)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Worked by hand from 9 CFR 3.106(b)(1): a single count must not exceed 1,000; an
// average of three must fall below 1,000. The rule of the average is from
// memory, to be verified.
func TestCountsAndTheirRepeats(t *testing.T) {
	for name, c := range map[string]struct {
		results  string
		standing Standing
		mean     float64
		words    string
	}{
		"1,400, 900, 650":              {"1400 900 650", Passes, 2950. / 3, "983.33"},
		"1,600, 900, 700":              {"1600 900 700", Fails, 3200. / 3, "1066.67"},
		"1,200, 900, 900":              {"1200 900 900", Fails, 1000, "is not below 1000"},
		"a single 1,000":               {"1000", Passes, 0, "keeps to"},
		"a single 1,001":               {"1001", Exceeds, 0, "next sample due 2026-06-03 08:00"},
		"one of two repeats":           {"1200 900", Exceeds, 0, "next sample due 2026-06-05 08:00"},
		"past all hope after two":      {"1600 1500", Fails, 0, "1033.33\u00a0MPN in 100 mL or more whatever the next ones show"},
		"1,000 exactly after two":      {"1500 1500", Fails, 0, "1000"},
		"one below, still open":        {"1500 1499", Exceeds, 0, ""},
		"a fourth is not averaged":     {"1200 900 900 1", Fails, 1000, ""},
		"less than 1":                  {"<1", Passes, 0, "less than 1"},
		"less than 1,000":              {"<1000", Passes, 0, ""},
		"less than 1,001":              {"<1001", Undecided, 0, "take it as exceeded until then"},
		"more than 2,419":              {">2419", Exceeds, 0, "more than 2419"},
		"more than 1,000":              {">1000", Exceeds, 0, ""},
		"more than 999":                {">999", Undecided, 0, "can't say"},
		"too many to count":            {"TNTC", Undecided, 0, "too many to count can't say"},
		"bounds that settle a fail":    {">2419 900 650", Fails, 0, "over 1323"},
		"bounds that settle a pass":    {"1400 900 <700", Passes, 0, "from 766.67"},
		"a bound that meets the limit": {"1200 900 <900", Passes, 0, ""},
		"a bound that leaves it open":  {"1200 900 <901", Undecided, 0, "may be below"},
		"no upper end":                 {">1200 900 <1", Undecided, 0, ""},
	} {
		got := series(t, c.results, nil)
		if got.Standing != c.standing || !strings.Contains(got.Words, c.words) || (got.Mean == nil) != (c.mean == 0) || got.Mean != nil && *got.Mean != c.mean {
			t.Errorf("%s: %s, mean %v: %s", name, got.Standing, got.Mean, got.Words)
		}
	}
}

func TestWhenTheNextCountIsDue(t *testing.T) {
	got := series(t, "1200", nil)
	if len(got.Due) != 2 || !got.Due[0].Equal(firstSample.Add(48*time.Hour)) || !got.Due[1].Equal(firstSample.Add(96*time.Hour)) {
		t.Errorf("after one: %v", got.Due)
	}
	if got.Rule != "coliform_most" || !got.Verified || got.Effective == "" || !strings.Contains(got.Cited, "Gage 2013") {
		t.Errorf("%+v", got.Verdict)
	}
	if got := series(t, "1200 900 900", nil); got.Rule != "coliform_repeats" || got.Verified || !strings.Contains(got.Cited, "to be verified") || got.Due != nil {
		t.Errorf("%+v, due %v", got.Verdict, got.Due)
	}
	if got := series(t, "1600 1500", nil); got.Standing != Fails || got.Due != nil {
		t.Errorf("failed, and still due %v", got.Due)
	}
	late := counted(t, "1200 900 650")
	late[1].Time = late[1].Time.Add(-20 * time.Hour)
	if got, err := Coliforms(late, nil); err != nil || got.Standing != Passes || !strings.Contains(got.Words, "sample 2 was taken 28 hours after the first, and the rule says 48") {
		t.Errorf("%+v, %v", got, err)
	}
	slices.Reverse(late)
	if got, err := Coliforms(late, nil); err != nil || got.Standing != Passes {
		t.Errorf("in another order: %+v, %v", got, err)
	}
}

// Salinity of 15 to 36 parts in a thousand is 9 CFR 3.106(c), from memory.
func TestReadingsAndTheirLimits(t *testing.T) {
	salt := Water{NeedsSalt: "yes"}
	for name, c := range map[string]struct {
		what, result, unit string
		water              Water
		house              House
		standing           Standing
		words              string
	}{
		"salt at the least":                 {"salinity", "15", "[ppth]", salt, nil, Passes, "to be verified"},
		"salt at the most":                  {"salinity", "36", "[ppth]", salt, nil, Passes, ""},
		"too little salt":                   {"salinity", "14.9", "[ppth]", salt, nil, Fails, "at least 15"},
		"too much salt":                     {"salinity", "36.1", "[ppth]", salt, nil, Fails, "at most 36"},
		"in per cent":                       {"salinity", "3.7", "%", salt, nil, Fails, "at most 36"},
		"less than the least":               {"salinity", "<15", "[ppth]", salt, nil, Fails, ""},
		"less than a bit more":              {"salinity", "<16", "[ppth]", salt, nil, Undecided, "can't say"},
		"nobody said that it needs salt":    {"salinity", "5", "[ppth]", Water{}, nil, Undecided, "the veterinarian says whether these do"},
		"a kind that needs none":            {"salinity", "5", "[ppth]", Water{NeedsSalt: "no"}, nil, NoLimit, "these do not"},
		"a house that asks for more":        {"salinity", "20", "[ppth]", salt, House{"salinity_least": 25}, Fails, "stricter"},
		"a house that asks for less":        {"salinity", "14", "[ppth]", salt, House{"salinity_least": 10}, Fails, "looser and does not count"},
		"a stricter house, nobody said":     {"salinity", "20", "[ppth]", Water{}, House{"salinity_least": 25}, Fails, "stricter"},
		"the house's own, though none need": {"salinity", "5", "[ppth]", Water{NeedsSalt: "no"}, House{"salinity_least": 10}, Fails, "house's own"},
		"pH has no figure":                  {"ph", "7.4", "[pH]", Water{}, nil, NoLimit, "pH: 7.4; no limit is in force"},
		"pH of the house, kept":             {"ph", "7.4", "[pH]", Water{}, House{"ph_least": 7.2, "ph_most": 8.2}, Passes, "keeps to at most 8.2, the house's own rule"},
		"pH of the house, not kept":         {"ph", "8.3", "[pH]", Water{}, House{"ph_least": 7.2, "ph_most": 8.2}, Fails, "at most 8.2"},
		"an oxidant has no figure":          {"total_chlorine", "3", "mg/L", Water{}, nil, NoLimit, "no harm or discomfort"},
		"below what can be seen":            {"free_chlorine", "<0.02", "mg/L", Water{}, House{"free_chlorine_most": 1}, Passes, ""},
		"temperature has no figure":         {"temperature", "-1", "Cel", Water{}, nil, NoLimit, ""},
		"cold by the house":                 {"temperature", "-1", "Cel", Water{}, House{"temperature_least": 4}, Fails, ""},
		"colonies":                          {"total_coliform", "900", "[CFU]/dL", Water{}, nil, Passes, "counted as colonies"},
		"coliforms by a stricter house":     {"total_coliform", "600", "{MPN}/dL", Water{}, House{"coliform_most": 500}, Exceeds, "the house's own rule, stricter than the 1000"},
		"coliforms by a looser house":       {"total_coliform", "1500", "{MPN}/dL", Water{}, House{"coliform_most": 2000}, Exceeds, "looser"},
		"what was proposed is not law":      {"faecal_coliform", "5000", "{MPN}/dL", Water{}, nil, NoLimit, "is not law"},
	} {
		r, err := ParseReading(c.what, c.result, c.unit)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		got, err := Judge(r, c.water, c.house)
		if err != nil || got.Standing != c.standing || !strings.Contains(got.Words, c.words) {
			t.Errorf("%s: %s: %s, %v", name, got.Standing, got.Words, err)
		}
	}
}

func TestBadReadingsAreNamed(t *testing.T) {
	for want, c := range map[string][3]string{
		"what: ":                                {"colour", "1", "1"},
		"unit: \"mg/L\" does not go with ph":    {"ph", "7", "mg/L"},
		"give it in [ppth] or %":                {"salinity", "30", "1"},
		"value: \"about 5\"":                    {"ph", "about 5", "[pH]"},
		"value: -3":                             {"total_coliform", "-3", "{MPN}/dL"},
		"value: +Inf of":                        {"ph", "inf", "[pH]"},
		"value: \"≤1\" is no result: write a f": {"ph", "≤1", "[pH]"},
	} {
		if _, err := ParseReading(c[0], c[1], c[2]); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
	if _, err := Judge(Reading{What: "ph", Unit: "[pH]", Bound: "about"}, Water{}, nil); err == nil {
		t.Error("a bound that is none was taken")
	}
	if _, err := Coliforms(nil, nil); err == nil {
		t.Error("no sample was judged")
	}
	if _, err := Coliforms([]Sample{{Reading: Reading{What: "ph", Unit: "[pH]"}}}, nil); err == nil || !strings.Contains(err.Error(), "sample 1: what") {
		t.Error(err)
	}
}

// 9 CFR 3.106(b): coliforms weekly, pH and additives daily (Gage 2013); natural
// sea water free of the latter while nothing is added (from memory).
func TestWhatIsDue(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Dublin")
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 6, 10, 0, 30, 0, 0, zone)
	tested := map[string]time.Time{
		"total_coliform": time.Date(2026, 6, 5, 9, 0, 0, 0, zone),
		"ph":             time.Date(2026, 6, 8, 23, 15, 0, 0, time.UTC), // the 9th in Dublin
		"free_chlorine":  time.Date(2026, 6, 8, 9, 0, 0, 0, zone),
	}
	for name, c := range map[string]struct {
		water Water
		house House
		due   string
		notes string
	}{
		"made, with chlorine":           {Water{Salt: "made", Treated: "yes", Added: []string{"free_chlorine"}}, nil, "free_chlorine 2026-06-09!, ph 2026-06-10, total_coliform 2026-06-12", ""},
		"natural sea water":             {Water{Salt: "sea", Treated: "no"}, nil, "total_coliform 2026-06-12", "natural sea water is free"},
		"natural sea water, with ozone": {Water{Salt: "sea", Treated: "yes", Added: []string{"ozone"}}, nil, "ph 2026-06-10, ozone 2026-06-10!, total_coliform 2026-06-12", ""},
		"sea water, nobody said":        {Water{Salt: "sea"}, nil, "total_coliform 2026-06-12", "not on record"},
		"fresh, nothing added":          {Water{Salt: "fresh", Treated: "no"}, nil, "ph 2026-06-10, total_coliform 2026-06-12", ""},
		"nothing on record":             {Water{}, nil, "ph 2026-06-10, total_coliform 2026-06-12", "whether chemicals are added is not on record"},
		"treated with nobody knows":     {Water{Treated: "yes"}, nil, "ph 2026-06-10, total_coliform 2026-06-12", "which chemicals"},
		"a house that tests more often": {Water{Salt: "sea", Treated: "no"}, House{"coliform_days": 3}, "total_coliform 2026-06-08!", "free"},
		"a house that tests less often": {Water{Salt: "sea", Treated: "no"}, House{"coliform_days": 30}, "total_coliform 2026-06-12", "free"},
	} {
		plan := WaterDue(c.water, tested, now, c.house)
		var got []string
		for _, d := range plan.Due {
			mark := ""
			if d.Overdue {
				mark = "!"
			}
			got = append(got, d.What+" "+d.By+mark)
		}
		if strings.Join(got, ", ") != c.due || !strings.Contains(strings.Join(plan.Notes, "; "), c.notes) || c.notes == "" && len(plan.Notes) > 0 {
			t.Errorf("%s: %s; %v", name, got, plan.Notes)
		}
	}
}

func TestWhatWasNeverTestedIsDueToday(t *testing.T) {
	now := firstSample
	plan := WaterDue(Water{Salt: "sea", Treated: "no"}, nil, now, nil)
	if d := plan.Due[0]; !d.Overdue || d.By != "2026-06-01" || d.Last != "" || !strings.Contains(d.Words, "no test is on record, at least once in 7\u00a0days by") {
		t.Errorf("never tested: %+v", d)
	}
	plan = WaterDue(Water{Salt: "sea"}, map[string]time.Time{"total_coliform": now.Add(time.Hour)}, now, nil)
	if d := plan.Due[0]; !d.Overdue || d.Last != "" {
		t.Errorf("a test that is yet to come was counted: %+v", d)
	}
	tested := map[string]time.Time{"total_coliform": now.AddDate(0, 0, -1), "ph": now}
	if due := WaterDue(Water{}, tested, now, nil).Through("2026-06-06"); len(due) != 1 || due[0].What != "ph" || !strings.Contains(due[0].Words, "once in 1\u00a0day by") {
		t.Errorf("by the 6th: %v", due)
	}
}

func TestUnitsGoWithWhatIsMeasured(t *testing.T) {
	for what, want := range map[string]string{"ph": "[pH]", "temperature": "Cel", "salinity": "[ppth] %", "ozone": "mg/L", "enterococci": "{MPN}/dL [CFU]/dL", "colour": ""} {
		if got := strings.Join(WaterUnits(what), " "); got != want {
			t.Errorf("%s: %s, want %s", what, got, want)
		}
	}
	WaterUnits("ph")[0] = "spoilt"
	if WaterUnits("ph")[0] != "[pH]" {
		t.Error("the reference can be changed from outside")
	}
}

var standings = []Standing{Passes, Undecided, Exceeds, Fails}

// However a house sets its limits, what it passes the law passes.
func TestNoHouseLoosensTheWater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := House{
			"coliform_most":  rapid.Float64Range(0, 3000).Draw(t, "coliforms"),
			"salinity_least": rapid.Float64Range(0, 40).Draw(t, "least"), "salinity_most": rapid.Float64Range(0, 60).Draw(t, "most"),
			"coliform_days": rapid.Float64Range(1, 60).Draw(t, "days"), "coliform_repeats": 0, "coliform_repeat_hours": 1,
		}
		bound := rapid.SampledFrom([]string{"", "below", "above"})
		var samples []Sample
		for i := range rapid.IntRange(1, 3).Draw(t, "samples") {
			value := float64(rapid.IntRange(0, 3000).Draw(t, "count"))
			samples = append(samples, Sample{firstSample.Add(time.Duration(i) * 48 * time.Hour), Reading{"total_coliform", value, "{MPN}/dL", bound.Draw(t, "bound")}})
		}
		own, err := Coliforms(samples, h)
		law, err2 := Coliforms(samples, nil)
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if own.Standing == Passes && law.Standing != Passes {
			t.Fatalf("the house passes, by law it %s: %s", law.Standing, own.Words)
		}
		salt := Reading{"salinity", rapid.Float64Range(0, 50).Draw(t, "salt"), "[ppth]", bound.Draw(t, "bound")}
		ownSalt, err := Judge(salt, Water{NeedsSalt: "yes"}, h)
		lawSalt, err2 := Judge(salt, Water{NeedsSalt: "yes"}, nil)
		if err != nil || err2 != nil || slices.Index(standings, ownSalt.Standing) < slices.Index(standings, lawSalt.Standing) {
			t.Fatalf("%+v, by law %+v: %v %v", ownSalt, lawSalt, err, err2)
		}
		last := map[string]time.Time{"total_coliform": firstSample}
		if a, b := WaterDue(Water{}, last, firstSample, h), WaterDue(Water{}, last, firstSample, nil); a.Due[len(a.Due)-1].By > b.Due[len(b.Due)-1].By {
			t.Fatalf("due %s, by law %s", a.Due[len(a.Due)-1].By, b.Due[len(b.Due)-1].By)
		}
	})
}

// A bound is decided only where every figure within it would be.
func TestBoundsAgreeWithTheirFigures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := float64(rapid.IntRange(0, 60).Draw(t, "value"))
		bound := rapid.SampledFrom([]string{"below", "above"}).Draw(t, "bound")
		got, err := Judge(Reading{"salinity", value, "[ppth]", bound}, Water{NeedsSalt: "yes"}, nil)
		if err != nil {
			t.Fatal(err)
		}
		figure := value + rapid.Float64Range(1e-6, 100).Draw(t, "off")
		if bound == "below" {
			figure = value * rapid.Float64Range(0, 0.999999).Draw(t, "share")
			if value == 0 {
				t.Skip("nothing is below zero")
			}
		}
		one, err := Judge(Reading{"salinity", figure, "[ppth]", ""}, Water{NeedsSalt: "yes"}, nil)
		if err != nil || got.Standing != Undecided && got.Standing != one.Standing {
			t.Fatalf("%s %g %s, but %g %s", bound, value, got.Standing, figure, one.Standing)
		}
	})
}

func TestEveryRuleOfWaterNamesItsSource(t *testing.T) {
	for _, name := range WaterNames() {
		r := water[name]
		if _, err := time.Parse(time.DateOnly, r.Effective); err != nil || r.Says == "" || r.Source == "" || r.Unit == "" || r.Value < r.Least || r.Value > r.Most {
			t.Errorf("%s is %+v", name, r)
		}
		if weak := strings.Contains(r.Source, "memory") || strings.Contains(r.Source, "no source"); r.Verified == weak {
			t.Errorf("%s is verified %v, from %s", name, r.Verified, r.Source)
		}
		if slices.Contains(Names(), name) {
			t.Errorf("%s is a rule of the fish room too", name)
		}
	}
	for what, units := range waterReference.Units {
		if len(units) == 0 || waterReference.NoFigure[what] == "" && what != "salinity" && what != "total_coliform" {
			t.Errorf("%s has neither a limit nor a word on why not", what)
		}
	}
}
