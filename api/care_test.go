package api

import (
	"net/http"
	"testing"

	"haulout/projections"
)

func TestChecksTellWhatIsOpenOrderedAndGiven(t *testing.T) {
	s := openSite(t)
	s.mustRecord(keeper, s.fact("looked", "check.made", "saltgarth", `{"animal":"marl","regions":["eyes","skin"],"findings":[{"region":"eyes","word":"half closed","urgent":true},{"region":"skin","word":"scratch"}],"text":"before the first feed"}`))
	s.mustRecord(keeper, s.fact("closed", "finding.closed", "saltgarth", `{"animal":"marl","check":"`+idOf("looked")+`","region":"skin","outcome":"harmless"}`))
	s.mustRecord("veterinarian-saltgarth", s.fact("order", "order.given", "saltgarth", order))
	s.mustRecord(keeper,
		s.fact("dose", "medication.given", "saltgarth", `{"animal":"marl","medication":"eye drops","dose":{"value":"0.2","unit":"mL"},"order":"o-1","taken":"part"}`),
		s.fact("spat", "medication.given", "saltgarth", `{"animal":"marl","medication":"eye drops","dose":{"value":"0.2","unit":"mL"},"order":"o-1","taken":"none"}`),
	)
	var got projections.Care
	s.read(keeper, "/api/v1/animals/marl/checks", &got)
	if len(got.Open) != 1 || got.Open[0].Region != "eyes" || !got.Open[0].Urgent || len(got.Days) != 1 || len(got.Days[0].Closed) != 1 {
		t.Errorf("open %+v, days %+v", got.Open, got.Days)
	}
	if len(got.Orders) != 1 || !got.Orders[0].Holds || got.Orders[0].Given != 1 || len(got.Doses) != 2 || got.Caution == "" {
		t.Errorf("orders %+v, doses %+v", got.Orders, got.Doses)
	}
	var before projections.Care
	s.read(keeper, "/api/v1/animals/marl/checks?from=2026-02-01&to=2026-02-02", &before)
	if len(before.Days)+len(before.Doses) != 0 || len(before.Open) != 1 || len(before.Orders) != 1 {
		t.Errorf("days before any look: %+v", before)
	}
	s.get(keeper, "/api/v1/animals/nobody/checks").problem(http.StatusNotFound)
	s.get(keeper, "/api/v1/animals/marl/checks?from=2026-13-01").problem(http.StatusBadRequest)
}
