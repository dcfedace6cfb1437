package api

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"haulout/events"
	"haulout/projections"
)

// moved is an animal that came to Saltgarth in January and lives in a pool.
func moved(id, name, pool string) []events.Draft {
	came := time.Date(2026, 1, 2, 9, 0, 0, 0, time.UTC)
	return []events.Draft{
		factAt(came, "came "+id, "animal.entered", "saltgarth", fmt.Sprintf(`{"animal":%q,"name":%q,"taxon":"Zalophus californianus","sex":"female","how":"arrival","born":"2018"}`, id, name)),
		factAt(came, "placed "+id, "animal.placed", "saltgarth", fmt.Sprintf(`{"animal":%q,"enclosure":%q}`, id, pool)),
	}
}

// met is so many encounters from a day on, one each hour, in which one yields
// to the other; more goes into each body.
func met(day, pool, winner, loser string, times int, more string) (out []events.Draft) {
	start, err := time.Parse(time.DateOnly, day)
	if err != nil {
		panic(err)
	}
	for i := range times {
		at := start.Add(time.Duration(8+i) * time.Hour)
		out = append(out, factAt(at, fmt.Sprint(at, winner, loser, more), "encounter.seen", "saltgarth",
			fmt.Sprintf(`{"winner":%q,"loser":%q,"enclosure":%q%s}`, winner, loser, pool, more)))
	}
	return out
}

// pool is an enclosure of Saltgarth with the animals that came to live there.
func pool(id string, animals ...string) []events.Draft {
	out := []events.Draft{factAt(evening, "pool "+id, "enclosure.described", "saltgarth", fmt.Sprintf(`{"enclosure":%q,"name":%q}`, id, id))}
	for _, animal := range animals {
		out = append(out, moved(animal, animal, id)...)
	}
	return out
}

// troop is a site where four animals live in the deep pool and 44 encounters of
// theirs count. Wrasse yielded to Tarn in January, and lately Tarn to Wrasse.
func troop(t *testing.T) *site {
	s := openSite(t)
	s.mustRecord(keeper, slices.Concat(
		moved("sedge", "Sedge", deep), moved("tarn", "Tarn", deep), moved("brill", "Brill", deep), moved("wrasse", "Wrasse", deep),
		met("2026-01-10", deep, "tarn", "wrasse", 4, ""), met("2026-02-03", deep, "sedge", "tarn", 6, ""),
		met("2026-02-04", deep, "tarn", "sedge", 1, `,"signal":"lunge"`), met("2026-02-05", deep, "sedge", "brill", 8, ""),
		met("2026-02-06", deep, "sedge", "wrasse", 6, ""), met("2026-02-07", deep, "tarn", "brill", 7, ""),
		met("2026-02-08", deep, "brill", "wrasse", 5, ""), met("2026-02-09", deep, "wrasse", "brill", 2, `,"signal":"bite","injury":true`),
		met("2026-02-20", deep, "wrasse", "tarn", 5, `,"signal":"displaced","intensity":"low","place":"deck"`),
		met("2026-02-21", deep, "wrasse", "sedge", 1, `,"cause":"keeper"`),
	)...)
	return s
}

const deep = "deep-pool"

// order asks for an order of an enclosure.
func (s *site) order(as, enclosure, query string) (out projections.Order) {
	s.t.Helper()
	s.read(as, "/api/v1/enclosures/"+enclosure+"/hierarchy?"+query, &out)
	return out
}

// line is who stands where, from the top.
func line(o projections.Order) string {
	var out []string
	for _, a := range o.Animals {
		out = append(out, a.Animal)
	}
	return strings.Join(out, " ")
}

// The scores are worked by hand after de Vries, Stevens & Vervaecke 2006 (Anim
// Behav 71:585-592), Dij = (won + 0.5)/(met + 1); the consistency is (37-7)/44
// after van Hooff & Wensing 1987, as given there.
func TestAnOrderOfThoseWhoMet(t *testing.T) {
	s := troop(t)
	got := s.order(keeper, deep, "")
	if got.State != "provisional" || line(got) != "sedge tarn wrasse brill" || !strings.Contains(got.Sentence, "Sedge, Tarn, Wrasse, Brill") || got.Caution == "" || got.Period != nil {
		t.Fatalf("%+v", got)
	}
	for i, score := range []float64{2.685516, 1.575, 0.933929, 0.805556} {
		a := got.Animals[i]
		if math.Abs(*a.Score-score) > 1e-6 || *a.Place != i+1 || *a.First > *a.Likeliest || *a.Likeliest > *a.Last || a.Since != "2026-01-02" {
			t.Errorf("%s: %+v", a.Name, a)
		}
	}
	if a := got.Animals[0]; *a.First != 1 || a.Won != 20 || a.Lost != 1 || *got.Animals[3].First == 1 {
		t.Errorf("the ends: %+v, %+v", a, got.Animals[3])
	}
	if want := []projections.Contradiction{{Upper: "tarn", Lower: "wrasse", Won: 5, Lost: 4}, {Upper: "wrasse", Lower: "brill", Won: 5, Lost: 2}}; !slices.Equal(got.Against, want) {
		t.Errorf("against the order: %+v", got.Against)
	}
	if e := got.Evidence; e.Encounters != 44 || e.PerAnimal != 11 || e.Pairs != 6 || e.Unseen != 0 || len(e.Apart) != 1 || e.Apart[0].Count != 1 {
		t.Errorf("the evidence: %+v", e)
	}
	if f := got.Figures; math.Abs(*f.Consistency-30.0/44) > 1e-9 || *f.Inconsistent != 1 || *f.EquallyGood != 3 || f.Landau != nil || f.SteepnessP != nil || len(f.Notes) == 0 {
		t.Errorf("the figures: %+v", f)
	}
	if len(got.Turned) != 1 || got.Turned[0].Rose != "wrasse" || got.Turned[0].Won != 5 || got.Turned[0].WonBefore != 0 || len(got.Turned[0].Encounters) != 5 {
		t.Errorf("turned: %+v", got.Turned)
	}
	if len(got.Near) == 0 || len(got.Pairs) != 6 || len(got.Ratings) != 4 || len(got.SeenDays) != 9 || len(got.Suggested) != 0 {
		t.Errorf("near %v, %d pairs, ratings of %d, days %v, suggested %v", got.Near, len(got.Pairs), len(got.Ratings), got.SeenDays, got.Suggested)
	}
}

func TestWatchesTellHowOftenItCameToContact(t *testing.T) {
	s := troop(t)
	watch := `{"watch":%q,"enclosure":"deep-pool","until":%q,"method":"all_occurrences","animals":["sedge","tarn","brill","wrasse"],"counts":[{"signal":"bite","count":%d}]}`
	early, late := evening.AddDate(0, 0, -50), evening.AddDate(0, 0, -5)
	s.mustRecord(keeper,
		factAt(early, "early", "watch.held", "saltgarth", fmt.Sprintf(watch, "w-1", early.Add(3*time.Hour).Format(time.RFC3339), 1)),
		factAt(late, "late", "watch.held", "saltgarth", fmt.Sprintf(watch, "w-2", late.Add(3*time.Hour).Format(time.RFC3339), 24)),
		factAt(evening, "pup", "animal.entered", "saltgarth", `{"animal":"fry","name":"Fry","taxon":"Zalophus californianus","sex":"male","how":"birth","born":"2026-02-25","dam":"sedge"}`),
		factAt(evening, "pup's place", "animal.placed", "saltgarth", `{"animal":"fry","enclosure":"deep-pool"}`),
	)
	got := s.order(keeper, deep, "")
	if c := got.Contact; !c.Rising || c.Lately.Contacts != 24 || c.Lately.Hours != 12 || *c.Lately.PerHour != 2 || *c.Before.Low > *c.Before.PerHour {
		t.Errorf("%+v", c)
	}
	if len(got.LeftOut) != 1 || got.LeftOut[0].Name != "Fry" || strings.Contains(line(got), "fry") || len(got.Evidence.Sampling) != 2 {
		t.Errorf("left out: %+v; sampling: %+v", got.LeftOut, got.Evidence.Sampling)
	}
	if before := s.order(keeper, "deep-pool", "to=2026-01-05").Contact; before.Lately.PerHour != nil || before.Note == "" {
		t.Errorf("before anybody watched: %+v", before)
	}
}

func TestAnOrderSaysWhatKeepsItFromBeingOne(t *testing.T) {
	s := troop(t)
	s.mustRecord(keeper, slices.Concat(
		pool("nobody"), pool("alone", "otto"), pool("two", "ruff", "dace"), met("2026-02-03", "two", "ruff", "dace", 3, ""),
		pool("even", "bleak", "chub", "tench"), met("2026-02-04", "even", "bleak", "chub", 5, ""), met("2026-02-05", "even", "chub", "bleak", 5, ""),
		met("2026-02-06", "even", "bleak", "tench", 5, ""), met("2026-02-07", "even", "tench", "bleak", 5, ""),
		met("2026-02-08", "even", "chub", "tench", 5, ""), met("2026-02-09", "even", "tench", "chub", 5, ""),
		pool("draws", "loach", "gudgeon"), met("2026-02-03", "draws", "loach", "gudgeon", 3, `,"draw":true`),
	)...)
	for name, c := range map[string]struct {
		enclosure, query string
		animals          int
		place, reach     bool // is there a place, is there a range
		says             string
	}{
		"before anybody met":    {deep, "from=2026-01-03&to=2026-01-05", 4, false, false, "No encounter was seen from 2026-01-03 to 2026-01-05"},
		"before anybody came":   {deep, "to=2025-12-31", 0, false, false, "no animals"},
		"nobody lives there":    {"nobody", "", 0, false, false, "no animals"},
		"one animal":            {"alone", "", 1, false, false, "otto is alone"},
		"two animals":           {"two", "", 2, true, true, "ruff over dace, 3–0"},
		"two that never met":    {"two", "to=2026-02-01", 2, false, false, "were not seen to meet"},
		"all pairs even":        {"even", "", 3, false, true, "all animals stand level"},
		"nothing but draws":     {"draws", "", 2, false, true, "are even, 0–0, 3 undecided"},
		"a first day long gone": {"two", "from=0001-01-01", 2, true, true, "ruff over dace"},
	} {
		got := s.order(keeper, c.enclosure, c.query)
		if len(got.Animals) != c.animals || !strings.Contains(got.Sentence, c.says) || (got.State == "no order") == c.place {
			t.Errorf("%s: %s, %d animals: %s", name, got.State, len(got.Animals), got.Sentence)
		}
		for _, a := range got.Animals {
			scored := c.reach && c.animals > 2 // of two, their record says it all
			if (a.Place != nil) != c.place || (a.First != nil) != c.reach || (a.Last != nil) != c.reach || (a.Likeliest != nil) != c.reach || (a.Score != nil) != scored {
				t.Errorf("%s: %+v", name, a)
			}
		}
		if len(got.Against) != 0 || len(got.Pairs) != c.animals*(c.animals-1)/2 {
			t.Errorf("%s: against the order %+v, pairs %+v", name, got.Against, got.Pairs)
		}
	}
	if even := s.order(keeper, "even", ""); *even.Animals[0].First != 1 || *even.Animals[0].Last != 3 {
		t.Errorf("all pairs even: %+v", even.Animals)
	}
}

// The chance of a perfect order of six is 6!/2^15 = 0.0220: so many of all
// tournaments have no circular triad (Kendall & Babington Smith 1940, Biometrika
// 31:324-345); h' and K are 1 there.
func TestEveryWayToPutAnimalsInOrder(t *testing.T) {
	s := troop(t)
	six := []string{"abbot", "bream", "char", "dory", "eel", "flounder"}
	drafts := pool("reef", six...)
	for i, winner := range six {
		for j, loser := range six[i+1:] {
			drafts = append(drafts, met(string(projections.Day("2026-02-01").Add(i*5+j)), "reef", winner, loser, 4, "")...)
		}
	}
	s.mustRecord(keeper, drafts...)
	scores := map[float64]bool{}
	for _, method := range projections.OrderMethods {
		got := s.order(keeper, "reef", "method="+method)
		if got.Method != method || line(got) != strings.Join(six, " ") || got.State != "supported" || *got.Figures.Landau != 1 || got.Figures.LinearityP != nil {
			t.Errorf("%s: %s, %s, %+v", method, got.State, line(got), got.Figures)
		}
		scores[*got.Animals[0].Score] = true
		if mixed := s.order(keeper, deep, "method="+method); !strings.HasPrefix(line(mixed), "sedge ") {
			t.Errorf("%s puts %s in this order", method, line(mixed))
		}
	}
	if len(scores) != len(projections.OrderMethods) {
		t.Errorf("the scores of the first are %v", scores)
	}
	f := s.order(keeper, "reef", "tests=true").Figures
	if math.Abs(*f.LinearityP-0.0220) > 0.005 || *f.LandauPrime != 1 || *f.Kendall != 1 || *f.SteepnessP > 0.01 || *f.Steepness > 1 {
		t.Errorf("with tests: p %v and %v, %+v", *f.LinearityP, *f.SteepnessP, f)
	}
	if f := s.order(keeper, deep, "tests=false").Figures; f.SteepnessP != nil || f.Steepness == nil {
		t.Errorf("without: %+v", f)
	}
}

func TestBadQuestionsAboutCompany(t *testing.T) {
	s := troop(t)
	for query, says := range map[string][]string{
		"method=elo":                        {"method", `"elo"`, "david, david_pij, abilities, ratings, isi"},
		"method=DAVID":                      {"method", "use david"},
		"tests=perhaps":                     {"tests", "write true or false"},
		"from=2026-02-10&to=2026-02-01":     {"from 2026-02-10", "to 2026-02-01"},
		"from=2026-03-02":                   {"from 2026-03-02"},
		"to=2026-03-02":                     {"to 2026-03-02", "still to come"},
		"to=9999-12-31":                     {"to 9999-12-31"},
		"from=monday":                       {"from: ", "write it as 2026-03-01"},
		"to=2026-02-30":                     {"to: ", "write it as 2026-03-01"},
		"as_of=noon":                        {"as_of", "write a day"},
		"facility=saltgarth&from=1.2.2026":  {"from: "},
		"from=2026-02-01T00:00:00Z":         {"from: "},
		"from=2026-02-01&to=2026-01-31&x=y": {"from 2026-02-01"},
	} {
		for _, route := range []string{"hierarchy", "company"} {
			if name, _, _ := strings.Cut(query, "="); route == "company" && (name == "method" || name == "tests") { // it has none
				continue
			}
			d := s.get(keeper, "/api/v1/enclosures/deep-pool/"+route+"?"+query).problem(http.StatusBadRequest)
			for _, word := range says {
				if !strings.Contains(d.Detail, word) {
					t.Errorf("%s?%s does not say %q: %s", route, query, word, d.Detail)
				}
			}
		}
	}
	for query, says := range map[string]string{"at=noon": "write a day", "at=2026-03-02": "still to come", "at=2026-03-01T21:00:01Z": "up to now", "as_of=noon": "as_of"} {
		if d := s.get(keeper, "/api/v1/facilities/saltgarth/judgements?"+query).problem(http.StatusBadRequest); !strings.Contains(d.Detail, says) {
			t.Errorf("%s: %s", query, d.Detail)
		}
	}
	s.get(steward, "/api/v1/facilities/tern-sluice/judgements").problem(http.StatusNotFound)
}

func TestAnEnclosureIsOneFacilitysOwn(t *testing.T) {
	s := troop(t)
	both := "lead-both"
	for _, route := range []string{"hierarchy", "company", "periods", "water", "space"} {
		deepPool := "/api/v1/enclosures/deep-pool/" + route
		s.get(both, deepPool).want(http.StatusOK)
		s.get(keeper, "/api/v1/enclosures/no-pool/"+route).problem(http.StatusNotFound)
		s.get(both, deepPool+"?facility=wrackline-bay").problem(http.StatusNotFound)
		s.get(steward, deepPool+"?facility=tern-sluice").problem(http.StatusNotFound)
		s.get(keeper, deepPool+"?facility=tern-sluice").problem(http.StatusForbidden)
		s.get(keeper, deepPool+"?as_of=2026-02-01").problem(http.StatusNotFound) // nothing was on record then
		if got := s.ask(keeper, http.MethodHead, deepPool, nil); got.status != http.StatusOK || len(got.body) > 0 {
			t.Errorf("HEAD of %s: %d", route, got.status)
		}
	}
	s.mustRecord("keeper-wrackline", factAt(evening, "same id", "enclosure.described", "wrackline-bay", `{"enclosure":"deep-pool","name":"Other pool"}`),
		factAt(evening, "dulse's place", "animal.placed", "wrackline-bay", `{"animal":"dulse","enclosure":"deep-pool"}`))
	for _, route := range []string{"hierarchy", "company", "periods", "water", "space"} {
		deepPool := "/api/v1/enclosures/deep-pool/" + route
		d := s.get(both, deepPool).problem(http.StatusBadRequest)
		if !strings.Contains(d.Detail, "facility is missing") || !strings.Contains(d.Detail, "saltgarth, wrackline-bay") {
			t.Errorf("%s: %s", route, d.Detail)
		}
		for as, other := range map[string]string{keeper: "wrackline", "keeper-wrackline": "saltgarth"} {
			mine := string(s.get(as, deepPool).want(http.StatusOK).body)
			if strings.Contains(mine, other) {
				t.Errorf("%s shows %s the other pool: %s", route, as, mine)
			}
		}
	}
	if got := s.order(both, deep, "facility=wrackline-bay"); line(got) != "dulse" || got.Name != "Other pool" {
		t.Errorf("at Wrackline Bay: %+v", got)
	}
}

// Tarn lived in the deep pool of Saltgarth and is at Wrackline Bay now. What
// each facility tells is about its own enclosure; of those out of reach it has
// neither name nor id.
func TestNobodyElsesAnimalsAreNamed(t *testing.T) {
	s := troop(t)
	s.mustRecord(keeper, factAt(evening, "m1", "animal.left", "saltgarth", `{"animal":"tarn","how":"move","to":"Wrackline Bay"}`))
	s.mustRecord("keeper-wrackline",
		factAt(evening, "m2", "animal.entered", "wrackline-bay", `{"animal":"tarn","name":"Tarn","taxon":"Zalophus californianus","sex":"female","how":"arrival"}`),
		factAt(evening, "m3", "animal.placed", "wrackline-bay", `{"animal":"tarn","enclosure":"cove"}`),
		factAt(evening, "m4", "animal.placed", "wrackline-bay", `{"animal":"dulse","enclosure":"cove"}`),
		factAt(evening, "m5", "encounter.seen", "wrackline-bay", `{"winner":"tarn","loser":"dulse","enclosure":"cove"}`),
		factAt(evening, "m6", "company.scanned", "wrackline-bay", `{"enclosure":"cove","groups":[{"animals":["tarn","dulse"]}]}`),
		factAt(evening, "m7", "company.judged", "wrackline-bay", `{"animals":["tarn","dulse"],"verdict":"watched","reason":"new to each other"}`),
	)
	s.clock.Store(evening.Add(time.Hour).UnixNano())
	for as, says := range map[string]struct {
		path  string
		mine  string
		never []string
	}{
		keeper:             {"/api/v1/enclosures/deep-pool/", "sedge", []string{"dulse", "Dulse", "wrackline"}},
		"keeper-wrackline": {"/api/v1/enclosures/cove/", "dulse", []string{"sedge", "Sedge", "brill", "saltgarth"}},
	} {
		for _, route := range []string{"hierarchy", "company"} {
			body := string(s.get(as, says.path+route).want(http.StatusOK).body)
			for _, word := range says.never {
				if strings.Contains(body, word) || !strings.Contains(body, says.mine) {
					t.Errorf("%s tells %s of %s: %s", route, as, word, body)
				}
			}
		}
	}
	if body := string(s.get(keeper, "/api/v1/facilities/saltgarth/judgements").body); strings.Contains(body, "dulse") {
		t.Errorf("judgements: %s", body)
	}
}

func TestAnOrderAsItWasBeforeACorrection(t *testing.T) {
	s := openSite(t)
	s.mustRecord(keeper, slices.Concat(pool("two", "ruff", "dace"), met("2026-02-03", "two", "ruff", "dace", 1, ""))...)
	wrong := met("2026-02-03", "two", "ruff", "dace", 1, "")[0].ID
	s.clock.Store(evening.AddDate(0, 0, 1).UnixNano())
	s.mustRecord(keeper, factAt(evening, "other way", "entry.corrected", "saltgarth",
		fmt.Sprintf(`{"entry":%q,"reason":"the other way round","data":{"winner":"dace","loser":"ruff","enclosure":"two"}}`, wrong)))
	now, then := s.order(keeper, "two", ""), s.order(keeper, "two", "as_of=2026-03-01")
	if line(now) != "dace ruff" || now.To != "2026-03-02" || line(then) != "ruff dace" || then.To != "2026-03-01" {
		t.Errorf("now %s to %s, then %s to %s", line(now), now.To, line(then), then.To)
	}
	if at := s.order(keeper, "two", "as_of=2026-03-01T21:30:00Z&to=2026-03-02"); line(at) != "ruff dace" || at.To != "2026-03-02" {
		t.Errorf("at a moment: %s to %s", line(at), at.To)
	}
	if later := s.order(keeper, "two", "as_of=2027-01-01"); line(later) != "dace ruff" || later.To != "2026-03-02" {
		t.Errorf("as of a day to come: %s to %s", line(later), later.To)
	}
}

// The indexes are Cairns & Schwager 1987 (Anim Behav 35:1454-1469): together
// 3 of 5 scans that saw one of the two is 0.6; 3 of the mean of 4 and 4 is 0.75.
func TestCompanyByScans(t *testing.T) {
	s := troop(t)
	var none projections.Company
	s.read(keeper, "/api/v1/enclosures/deep-pool/company", &none)
	if none.Scans != 0 || !strings.Contains(none.NotEnough, "nobody scanned") || len(none.Animals) != 4 || len(none.Pairs) != 6 || none.Pairs[0].Ratio != nil || none.Pairs[0].HalfWeight != nil || none.Pairs[0].Low != nil {
		t.Fatalf("%+v", none)
	}
	var drafts []events.Draft
	for i, groups := range []string{`["sedge","tarn"]`, `["sedge","tarn"]`, `["tarn","sedge"]`, `["sedge"]`, `["tarn"]`} {
		drafts = append(drafts, factAt(evening.AddDate(0, 0, i-10), "scan "+fmt.Sprint(i), "company.scanned", "saltgarth", `{"enclosure":"deep-pool","groups":[{"animals":`+groups+`}],"rule":"within one body length"}`))
	}
	s.mustRecord(keeper, drafts...)
	var got projections.Company
	s.read(keeper, "/api/v1/enclosures/deep-pool/company?from=2026-02-01&to=2026-03-01", &got)
	if got.Scans != 5 || got.Days != 5 || got.NotEnough != "" || got.Note == "" || got.Caution == "" || got.From != "2026-02-01" {
		t.Fatalf("%+v", got)
	}
	for _, p := range got.Pairs {
		switch {
		case p.A == "sedge" && p.B == "tarn":
			if p.Together != 3 || p.OnlyA != 1 || p.OnlyB != 1 || math.Abs(*p.Ratio-0.6) > 1e-9 || math.Abs(*p.HalfWeight-0.75) > 1e-9 || *p.Low > 0.6 || *p.High < 0.6 {
				t.Errorf("%+v", p)
			}
		case p.A == "brill" && p.B == "wrasse":
			if p.Ratio != nil || p.HalfWeight != nil || p.Low != nil || p.High != nil {
				t.Errorf("neither was seen: %+v", p)
			}
		case *p.Ratio != 0:
			t.Errorf("never together: %+v", p)
		}
	}
	var few projections.Company
	s.read(keeper, "/api/v1/enclosures/deep-pool/company?to=2026-02-19", &few)
	if few.Scans != 1 {
		t.Errorf("up to the first: %+v", few)
	}
}

// periodList is what the route of periods answers.
type periodList struct {
	Facility, Enclosure string
	Periods             []projections.Period
}

func TestAPeriodIsWhereAnOrderBegins(t *testing.T) {
	s := troop(t)
	var none, got periodList
	s.read(keeper, "/api/v1/enclosures/deep-pool/periods", &none)
	if none.Periods == nil || len(none.Periods) != 0 || none.Facility != "saltgarth" || none.Enclosure != deep {
		t.Errorf("before any was set: %+v", none)
	}
	s.clock.Store(evening.Add(time.Hour).UnixNano())
	s.mustRecord("lead-saltgarth", factAt(time.Date(2026, 2, 7, 6, 0, 0, 0, time.UTC), "anew", "period.begun", "saltgarth", `{"enclosure":"deep-pool","reason":"season","text":"the males are back"}`))
	s.read(keeper, "/api/v1/enclosures/deep-pool/periods?facility=saltgarth", &got)
	if len(got.Periods) != 1 || got.Periods[0].Reason != "season" || got.Periods[0].By != "lead-saltgarth" || got.Periods[0].Entry != idOf("anew") {
		t.Errorf("%+v", got)
	}
	o := s.order(keeper, deep, "")
	if o.From != "2026-02-07" || o.Period == nil || o.Period.Entry != idOf("anew") || o.Evidence.Encounters != 19 {
		t.Errorf("from %s, %+v, %d encounters", o.From, o.Period, o.Evidence.Encounters)
	}
	if whole := s.order(keeper, deep, "from=2026-01-01"); whole.Period != nil || whole.Evidence.Encounters != 44 {
		t.Errorf("asked for more: %+v, %d encounters", whole.Period, whole.Evidence.Encounters)
	}
	if then := s.order(keeper, deep, "as_of=2026-03-01T21:30:00Z"); then.Period != nil || then.From != "2025-03-02" {
		t.Errorf("before it was set: from %s, %+v", then.From, then.Period)
	}
	s.read(keeper, "/api/v1/enclosures/deep-pool/periods?as_of=2026-03-01T21:30:00Z", &none)
	if len(none.Periods) != 0 {
		t.Errorf("before it was set: %+v", none)
	}
}

// judgementList is what the route of judgements answers.
type judgementList struct {
	Facility   string
	At         time.Time
	Judgements []projections.JudgedPair
}

func judgement(name string, at time.Time, verdict string) events.Draft {
	return factAt(at, name, "company.judged", "saltgarth", fmt.Sprintf(`{"animals":["tarn","wrasse"],"verdict":%q,"reason":"veterinarian and lead keeper"}`, verdict))
}

func TestTheLatestJudgementHolds(t *testing.T) {
	s := troop(t)
	ask := func(as, query string) (out judgementList) {
		t.Helper()
		s.read(as, "/api/v1/facilities/saltgarth/judgements?"+query, &out)
		return out
	}
	if none := ask(keeper, ""); none.Judgements == nil || len(none.Judgements) != 0 || !none.At.Equal(evening) {
		t.Errorf("before any: %+v", none)
	}
	s.mustRecord("veterinarian-saltgarth", judgement("first", evening.AddDate(0, 0, -9), "apart"))
	s.clock.Store(evening.Add(time.Hour).UnixNano())
	s.mustRecord("veterinarian-saltgarth", judgement("then", evening.AddDate(0, 0, -2), "watched"), judgement("between", evening.AddDate(0, 0, -5), "together"))
	for query, want := range map[string]string{
		"": "watched", "at=2026-02-20": "apart", "at=2026-02-24T21:00:00Z": "together", "at=2026-03-01": "watched",
		"as_of=2026-03-01T21:30:00Z": "apart", "at=2026-02-28&as_of=2026-03-01T21:30:00Z": "apart",
	} {
		got := ask(keeper, query)
		if len(got.Judgements) != 1 || got.Judgements[0].Verdict != want || got.Judgements[0].A != "tarn" || got.Judgements[0].B != "wrasse" || got.Judgements[0].By != "veterinarian-saltgarth" {
			t.Errorf("%q: %+v, want %s", query, got, want)
		}
	}
	if today := ask(keeper, "at=2026-03-01"); !today.At.Equal(s.now()) {
		t.Errorf("today is not over, and its end is answered: %s", today.At)
	}
	for _, query := range []string{"at=2026-02-19", "as_of=2026-02-28", "at=2025-01-01"} {
		if got := ask(keeper, query); got.Judgements == nil || len(got.Judgements) != 0 {
			t.Errorf("%s: %+v", query, got)
		}
	}
	if o := s.order(keeper, deep, ""); len(o.Judgements) != 1 || o.Judgements[0].Verdict != "watched" {
		t.Errorf("beside the order: %+v", o.Judgements)
	}
}

// Two that are to be kept apart move on together: their new keepers are to know
// that, and not what was said of them elsewhere.
func TestAJudgementMovesOnWithoutItsWords(t *testing.T) {
	s := troop(t)
	s.mustRecord(keeper, judgement("first", evening.AddDate(0, 0, -9), "apart"))
	for _, animal := range []string{"tarn", "wrasse"} {
		s.mustRecord(keeper, factAt(evening, "off "+animal, "animal.left", "saltgarth", `{"animal":"`+animal+`","how":"move","to":"Wrackline Bay"}`))
		s.mustRecord("keeper-wrackline",
			factAt(evening, "on "+animal, "animal.entered", "wrackline-bay", `{"animal":"`+animal+`","name":"`+animal+`","taxon":"Zalophus californianus","sex":"female","how":"arrival"}`),
			factAt(evening, "in "+animal, "animal.placed", "wrackline-bay", `{"animal":"`+animal+`","enclosure":"cove"}`))
	}
	s.clock.Store(evening.Add(time.Hour).UnixNano())
	for as, words := range map[string]bool{"keeper-wrackline": false, "keeper-both": true} {
		var got judgementList
		s.read(as, "/api/v1/facilities/wrackline-bay/judgements", &got)
		beside := s.order(as, "cove", "")
		for _, list := range [][]projections.JudgedPair{got.Judgements, beside.Judgements} {
			if len(list) != 1 || list[0].Verdict != "apart" || (list[0].Reason != "") != words || (list[0].By != "") != words || (list[0].Facility != "") != words || (list[0].Entry != "") != words {
				t.Errorf("%s: %+v", as, list)
			}
		}
	}
	var left judgementList
	if s.read(keeper, "/api/v1/facilities/saltgarth/judgements", &left); len(left.Judgements) != 0 {
		t.Errorf("where they left: %+v", left)
	}
}

func TestAnEncounterThatCannotBeIsRefused(t *testing.T) {
	s := troop(t)
	s.mustRecord(keeper, pool("cove-2", "otto")...)
	head := s.store.Head("saltgarth")
	for name, c := range map[string]struct{ body, field, remedy string }{
		"with itself":               {`{"winner":"tarn","loser":"tarn","enclosure":"deep-pool"}`, "data.loser", "an encounter has two"},
		"with one from elsewhere":   {`{"winner":"tarn","loser":"otto","enclosure":"deep-pool"}`, "data.loser", "in cove-2; record its animal.placed first"},
		"of one from elsewhere":     {`{"winner":"otto","loser":"tarn","enclosure":"deep-pool"}`, "data.winner", "name the enclosure where it was"},
		"two winners":               {`{"winner":["tarn","sedge"],"loser":"brill","enclosure":"deep-pool"}`, "data.winner", "a text in quotes is wanted"},
		"the winner twice":          {`{"winner":"tarn","winner":"sedge","loser":"brill","enclosure":"deep-pool"}`, "data", `"winner" stands twice`},
		"a signal nobody knows":     {`{"winner":"tarn","loser":"brill","enclosure":"deep-pool","signal":"glare"}`, "data.signal", "displaced"},
		"an animal nobody knows":    {`{"winner":"tarn","loser":"nobody","enclosure":"deep-pool"}`, "data.loser", "enter it with animal.entered first"},
		"an enclosure nobody knows": {`{"winner":"tarn","loser":"brill","enclosure":"attic"}`, "data.enclosure", "describe it with enclosure.described first"},
	} {
		good, bad := met("2026-02-25", deep, "sedge", "tarn", 1, "")[0], s.fact(name, "encounter.seen", "saltgarth", c.body)
		raw := fmt.Sprintf(`[{"id":%q,"type":%q,"time":%q,"facility":"saltgarth","data":%s},{"id":%q,"type":%q,"time":%q,"facility":"saltgarth","data":%s}]`,
			good.ID, good.Type, good.Time, good.Data, bad.ID, bad.Type, bad.Time, bad.Data)
		d := s.ask(keeper, http.MethodPost, "/api/v1/records", []byte(raw)).problem(http.StatusUnprocessableEntity)
		if len(d.Problems) == 0 || d.Problems[0].Index != 1 || d.Problems[0].Field != c.field || !strings.Contains(d.Problems[0].Detail, c.remedy) {
			t.Errorf("%s: %+v", name, d.Problems)
		}
	}
	if got := s.order(keeper, deep, ""); s.store.Head("saltgarth") != head || got.Evidence.Encounters != 44 {
		t.Errorf("something was recorded all the same: %+v", got.Evidence)
	}
}
