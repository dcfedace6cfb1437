package api

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"haulout/events"
	"haulout/projections"
)

// fedForWeeks is a site where Marl ate 3.4 kg a day for four weeks and stayed at
// 81.5 kg.
func fedForWeeks(t *testing.T) *site {
	s := stocked(t)
	for day := range 28 {
		at := evening.AddDate(0, 0, day-28)
		batch := []events.Draft{factAt(at, fmt.Sprintf("fed-%d", day), "feed.given", "saltgarth",
			`{"animal":"marl","items":[{"food":"herring","lot":"h-2611","offered":{"value":"3.6","unit":"kg"},"eaten":{"value":"3.4","unit":"kg"}}]}`)}
		if day%3 == 0 {
			batch = append(batch, factAt(at, fmt.Sprintf("weighed-%d", day), "weight.taken", "saltgarth", `{"animal":"marl","mass":{"value":"81.5","unit":"kg"}}`))
		}
		s.mustRecord(keeper, batch...)
	}
	return s
}

func TestAnAnimalsEnergy(t *testing.T) {
	s := fedForWeeks(t)
	var got projections.Energy
	s.read(keeper, "/api/v1/animals/marl/energy?from=2026-02-10", &got)
	if got.NotEnough != "" || got.Need == nil || len(got.Days) == 0 || got.Through != "2026-03-01" {
		t.Fatalf("%+v", got)
	}
	last := got.Days[len(got.Days)-2]
	if !last.Logged || last.Eaten == nil || last.Eaten.Bases[0] != "metabolizable_atwater, lot assay" || last.Eaten.Losses.Gross <= last.Eaten.Losses.Net {
		t.Errorf("%+v", last)
	}
	var then projections.Energy
	s.read(keeper, "/api/v1/animals/marl/energy?to=2026-02-20", &then)
	if then.Through != "2026-02-20" {
		t.Errorf("%+v", then)
	}
	s.get(keeper, "/api/v1/animals/marl/energy?from=yesterday").problem(http.StatusBadRequest)
	s.get(keeper, "/api/v1/animals/nobody/energy").problem(http.StatusNotFound)
}

func TestAnAnimalsForecast(t *testing.T) {
	s := fedForWeeks(t)
	var less, more projections.Forecast
	s.read(keeper, "/api/v1/animals/marl/forecast?ration=herring=2.0", &less)
	s.read(keeper, "/api/v1/animals/marl/forecast?ration=herring=6", &more)
	if len(less.Days) != 60 || less.Days[59].Kg >= more.Days[59].Kg || less.Days[59].Lo >= less.Days[59].Hi {
		t.Errorf("%+v, %+v", less, more)
	}
	var present projections.Forecast
	s.read(keeper, "/api/v1/animals/marl/forecast", &present)
	if present.Share == nil || *present.Share >= 1 || len(present.Ration) != 1 || !strings.Contains(present.Says, "in force") {
		t.Errorf("%+v", present)
	}
	var unknown projections.Forecast
	s.read(keeper, "/api/v1/animals/marl/forecast?ration=sprat=1", &unknown)
	if unknown.NotEnough == "" || len(unknown.Days) > 0 {
		t.Errorf("%+v", unknown)
	}
	for _, ration := range []string{"herring", "herring=-1", "=2", "herring=2,", "herring=1e9", "herring=NaN"} {
		if d := s.get(keeper, "/api/v1/animals/marl/forecast?ration="+ration).problem(http.StatusBadRequest); !strings.Contains(d.Detail, "write food=kilograms") {
			t.Errorf("%s: %+v", ration, d)
		}
	}
}

func TestAProposedRation(t *testing.T) {
	s := fedForWeeks(t)
	post := func(body string) answer {
		return s.ask(keeper, http.MethodPost, "/api/v1/rations/propose", []byte(body))
	}
	var got projections.Proposal
	a := post(`{"animal":"marl","target":{"mass_kg":84,"by":"2026-05-01"}}`)
	a.want(http.StatusOK)
	a.json(&got)
	if got.Plan == nil || len(got.Items) != 1 || got.Items[0].Portions == 0 || got.Caution == "" {
		t.Fatalf("%+v", got)
	}
	for body, say := range map[string]string{
		`{"animal":"marl","kcal":-5}`:                                "kcal",
		`{"animal":"marl","foods":[{"food":"sprat"}]}`:               "sprat",
		`{"animal":"marl","target":{"mass_kg":84,"by":"easter"}}`:    "target.by",
		`{"animal":"marl","day":"easter"}`:                           "day",
		`{"animal":"marl","colour":"red"}`:                           "colour",
		`{"animal":"marl","foods":[{"food":"herring","least":120}]}`: "",
		`[`: "can't be read",
	} {
		if d := post(body).problem(http.StatusBadRequest); !strings.Contains(d.Detail, say) {
			t.Errorf("%s: %+v", body, d)
		}
	}
	post(`{"animal":"nobody"}`).problem(http.StatusNotFound)
	post(`{"animal":"dulse"}`).problem(http.StatusForbidden)
}
