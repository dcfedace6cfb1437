package api

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"haulout/events"
)

func TestStatusNamesTheHeadOfEveryFacilityAndHowFarTheRowsAre(t *testing.T) {
	s := openSite(t)
	last := s.mustRecord(keeper, s.feed("morning", "2.5", "2.5"))[0]
	var got struct {
		Version     string
		Facilities  []facilityStatus
		Projections []struct {
			Name      string
			Version   int
			Ready     bool
			Positions map[string]uint64
		}
		Ready   bool
		Notices []string
	}
	s.read(steward, "/api/v1/status", &got)
	want := facilityStatus{Facility: "saltgarth", Name: "Saltgarth", Zone: "Europe/Dublin", Head: facilityHead{last.Number, last.Hash}, Animals: 1}
	if len(got.Facilities) != 2 || got.Facilities[0] != want || !got.Ready || got.Version != "test" || len(got.Notices) != 1 {
		t.Errorf("status is %+v", got)
	}
	for _, p := range got.Projections {
		if !p.Ready || p.Version < 1 || p.Positions["saltgarth"] != 7 || p.Positions["wrackline-bay"] != 6 {
			t.Errorf("rows of %s stand at %+v", p.Name, p)
		}
	}
	if len(got.Projections) != len(s.store.Standings()) || len(got.Projections) == 0 {
		t.Errorf("status names %d projections", len(got.Projections))
	}
}

func TestADayAnswersInTheAgreedShape(t *testing.T) {
	s := openSite(t)
	s.mustRecord(keeper, s.feed("morning", "2.5", "2.5"), s.feed("noon", "1.0", "0.25"))
	var got struct{ Days []map[string]any }
	s.read(keeper, "/api/v1/animals/marl/days?from=2026-03-01&to=2026-03-01", &got)
	if len(got.Days) != 1 {
		t.Fatalf("days are %+v", got.Days)
	}
	day := got.Days[0]
	items, _ := day["items"].([]any)
	if len(items) != 1 {
		t.Fatalf("items are %v", day["items"])
	}
	item := items[0].(map[string]any)
	for want, one := range map[string]any{
		"2026-03-01": day["day"], "3500": day["offered_g"], "2750": day["eaten_g"], "750": day["refused_g"],
		"herring": item["food"], "3500 ": item["offered_g"], "2750 ": item["eaten_g"],
	} {
		if strings.TrimSpace(want) != fmt.Sprint(one) {
			t.Errorf("%v stands where %s should: %v", one, want, day)
		}
	}
	// Merrill and Watt 1973, specific factors for fish: 100 g hold
	// 4.27·17.96 + 9.02·9.04 = 158.23 kcal, which USDA prints as 158.
	if kcal, _ := day["kcal"].(float64); math.Abs(kcal-27.5*158.2300) > 0.01 {
		t.Errorf("2,750 g of herring give %v kcal", day["kcal"])
	}
}

func TestADayWithoutARecordIsNoDay(t *testing.T) {
	s := openSite(t)
	for _, path := range []string{"days", "weights"} {
		got := s.get(keeper, "/api/v1/animals/marl/"+path).want(http.StatusOK)
		if !strings.Contains(string(got.body), `"`+path+`":[]`) {
			t.Errorf("without a record, %s are %s", path, got.body)
		}
	}
}

func TestFoodOfUnknownEnergyLeavesTheEnergyUnknown(t *testing.T) {
	s := openSite(t)
	s.mustRecord("keeper-wrackline", s.fact("fed", "feed.given", "wrackline-bay", `{"animal":"dulse","items":[{"food":"sprat","offered":{"value":"1","unit":"kg"},"eaten":{"value":"1","unit":"kg"}}]}`))
	got := s.get("keeper-wrackline", "/api/v1/animals/dulse/days").want(http.StatusOK)
	if !strings.Contains(string(got.body), `"kcal":null`) || !strings.Contains(string(got.body), `"kcal_unknown":["Sprat"]`) {
		t.Errorf("the day is %s", got.body)
	}
}

func TestWhatWasBelievedThenIsStillAnswered(t *testing.T) {
	s := openSite(t)
	morning := s.feed("morning", "5.0", "5.0")
	s.mustRecord(keeper, morning)
	s.clock.Store(evening.Add(48 * time.Hour).UnixNano())
	fixed := s.feed("fixed", "0.5", "0.5")
	s.mustRecord(keeper, factAt(evening.Add(47*time.Hour), "fix", "entry.corrected", "saltgarth",
		fmt.Sprintf(`{"entry":%q,"reason":"decimal point missed","data":%s}`, morning.ID, fixed.Data)))
	eaten := func(asOf string) (grams []float64) {
		var got struct {
			Days []struct {
				EatenG float64 `json:"eaten_g"`
			}
		}
		s.read(keeper, "/api/v1/animals/marl/days?from=2026-02-01&to=2026-03-31"+asOf, &got)
		for _, day := range got.Days {
			grams = append(grams, day.EatenG)
		}
		return grams
	}
	for asOf, want := range map[string][]float64{
		"": {500}, "&as_of=2026-03-04": {500}, "&as_of=2026-03-01": {5000}, "&as_of=2026-03-02T12:00:00%2B01:00": {5000},
	} {
		if diff := cmp.Diff(want, eaten(asOf)); diff != "" {
			t.Errorf("%q (-want +got):\n%s", asOf, diff)
		}
	}
	s.get(keeper, "/api/v1/animals/marl/days?as_of=2026-02-28").problem(http.StatusNotFound) // nobody had heard of Marl then
	s.get(keeper, "/api/v1/animals/marl/days?as_of=yesterday").problem(http.StatusBadRequest)
}

func TestAnAnimalAnswersToItsIdAndItsName(t *testing.T) {
	s := openSite(t)
	for _, id := range []string{"marl", "Marl", "MARL"} {
		var got struct {
			Animal, Name, Facility string
			Stays                  []any
		}
		s.read(keeper, "/api/v1/animals/"+id, &got)
		if got.Animal != "marl" || got.Name != "Marl" || got.Facility != "saltgarth" || len(got.Stays) != 1 {
			t.Errorf("%s is %+v", id, got)
		}
	}
	s.get(keeper, "/api/v1/animals/nobody").problem(http.StatusNotFound)
}

func TestWhoLeftIsListedOnlyWithoutADay(t *testing.T) {
	s := openSite(t)
	s.mustRecord(keeper, s.fact("gone", "animal.left", "saltgarth", `{"animal":"marl","how":"release"}`))
	count := func(query string) int {
		var got struct{ Animals []any }
		s.read(keeper, "/api/v1/animals"+query, &got)
		return len(got.Animals)
	}
	if all, now, before := count(""), count("?on=2026-03-01"), count("?on=2026-02-27"); all != 1 || now != 0 || before != 0 {
		t.Errorf("%d in all, %d now, %d before she came", all, now, before)
	}
	s.get(keeper, "/api/v1/animals?on=monday").problem(http.StatusBadRequest)
}

func TestRecordsOfAnAnimalComeInPages(t *testing.T) {
	s := openSite(t)
	var drafts []events.Draft
	for i := range 25 {
		drafts = append(drafts, factAt(evening.Add(-time.Duration(i)*24*time.Hour), fmt.Sprint("note ", i), "note", "saltgarth", fmt.Sprintf(`{"text":"note %d","animals":["marl"]}`, i)))
	}
	s.mustRecord(keeper, drafts...)
	var texts []string
	cursor := ""
	for range 10 {
		var got struct {
			Records []struct {
				Record struct{ Data struct{ Text string } }
				State  string
			}
			Next string
		}
		s.read(keeper, "/api/v1/animals/marl/records?kind=note&limit=4&cursor="+url.QueryEscape(cursor), &got)
		for _, r := range got.Records {
			if texts = append(texts, r.Record.Data.Text); r.State != "counts" {
				t.Errorf("%s is %s", r.Record.Data.Text, r.State)
			}
		}
		if cursor = got.Next; cursor == "" {
			break
		}
	}
	if len(texts) != 25 || texts[0] != "note 0" || texts[24] != "note 24" {
		t.Errorf("the pages hold %q", texts)
	}
	for _, query := range []string{"cursor=x", "cursor=9223372036854775807.saltgarth.1", "cursor=185542587187199999.saltgarth.1", "cursor=-9223372036854775808.saltgarth.1", "limit=0", "limit=1001", "limit=x", "from=x", "to=2026-13-01", "from=2026-03-02&to=2026-03-01"} {
		s.get(keeper, "/api/v1/animals/marl/records?"+query).problem(http.StatusBadRequest)
	}
}

func TestRecordsOfAFacilityGoOnFromANumber(t *testing.T) {
	s := openSite(t)
	var got struct {
		Records []json.RawMessage
		Next    uint64
	}
	s.read(keeper, "/api/v1/facilities/saltgarth/records?after=2&limit=3", &got)
	if len(got.Records) != 3 || got.Next != 5 {
		t.Errorf("%d records, next %d", len(got.Records), got.Next)
	}
	s.read(keeper, "/api/v1/facilities/saltgarth/records?after=6", &got)
	if len(got.Records) != 0 || got.Next != 6 {
		t.Errorf("at the end %d records, next %d", len(got.Records), got.Next)
	}
	for _, query := range []string{"after=-1", "after=x", "after=18446744073709551615", "limit=10001"} {
		s.get(keeper, "/api/v1/facilities/saltgarth/records?"+query).problem(http.StatusBadRequest)
	}
	s.get(steward, "/api/v1/facilities/tern-sluice/records").problem(http.StatusNotFound)
}

func TestTheSchemaOfEveryKindIsServed(t *testing.T) {
	s := openSite(t)
	var list struct{ Types []string }
	s.read("", "/api/v1/schemas", &list)
	if diff := cmp.Diff(events.Kinds(), list.Types); diff != "" {
		t.Error(diff)
	}
	for _, kind := range list.Types {
		got := s.get("", "/api/v1/schemas/"+kind).want(http.StatusOK)
		if want, err := events.Schema(kind); err != nil || string(got.body) != string(want) || got.header.Get("Content-Type") != "application/schema+json" {
			t.Errorf("the schema of %s: %v", kind, err)
		}
	}
	s.get("", "/api/v1/schemas/haulout.feed.stolen.v1").problem(http.StatusNotFound)
}

func TestEveryKindOfProblemIsExplained(t *testing.T) {
	s := openSite(t)
	for _, k := range kinds {
		var got kind
		s.read("", "/api/v1/problems/"+k.Slug, &got)
		if got != k || got.Remedy == "" {
			t.Errorf("%s is explained as %+v", k.Slug, got)
		}
	}
	s.get("", "/api/v1/problems/unheard-of").problem(http.StatusNotFound)
}

func TestANodeSaysThatItLivesAndCountsWhatItDoes(t *testing.T) {
	s := openSite(t)
	s.get("", "/livez").want(http.StatusOK)
	s.get("", "/readyz").want(http.StatusOK)
	s.mustRecord(keeper, s.feed("morning", "1", "1"))
	s.get(keeper, "/api/v1/animals/nobody")
	s.journal.SetReadOnly("wrackline-bay", "its log is being mended")
	got := string(s.get(steward, "/metrics").want(http.StatusOK).body)
	for _, line := range []string{
		`haulout_records{facility="saltgarth"} 7`, `haulout_records{facility="wrackline-bay"} 6`,
		`haulout_read_only{facility="saltgarth"} 0`, `haulout_read_only{facility="wrackline-bay"} 1`,
		`haulout_requests_total{route="POST /api/v1/records",status="200"} 3`,
		`haulout_requests_total{route="GET /api/v1/animals/:id",status="404"} 1`, `haulout_request_seconds_count{route="GET /livez"} 1`,
	} {
		if !strings.Contains(got, line+"\n") {
			t.Errorf("no line %s in\n%s", line, got)
		}
	}
}
