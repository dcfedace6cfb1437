package api

import (
	"net/http"
	"testing"
)

const order = `{"order":"o-1","animal":"marl","veterinarian":"the veterinarian","medication":"eye drops","dose":{"value":"0.2","unit":"mL"},"route":"eye","daily":2}`

func TestOrdersAndNotesAreTheVeterinarians(t *testing.T) {
	s := openSite(t)
	bodies := map[string]string{
		"order.given": order, "order.ended": `{"order":"o-1","animal":"marl","reason":"healed"}`,
		"veterinary.noted": `{"animal":"marl","veterinarian":"the veterinarian","text":"clear eyes"}`,
	}
	for _, m := range cast {
		if m.Role == signers || !m.Records() || !m.Reaches("saltgarth") {
			continue
		}
		for kind, body := range bodies {
			s.record(m.Name, s.fact(m.Name+kind, kind, "saltgarth", body)).problem(http.StatusForbidden)
		}
	}
	s.mustRecord("veterinarian-saltgarth", s.fact("order", "order.given", "saltgarth", order), s.fact("note", "veterinary.noted", "saltgarth", bodies["veterinary.noted"]))
	s.record("veterinarian-wrackline", s.fact("elsewhere", "order.given", "saltgarth", order)).problem(http.StatusForbidden)
	s.mustRecord(keeper, s.fact("dose", "medication.given", "saltgarth", `{"animal":"marl","medication":"eye drops","dose":{"value":"0.2","unit":"mL"},"order":"o-1"}`))
}

func TestWhatIsSignedIsMendedByWhoSigns(t *testing.T) {
	s := openSite(t)
	s.mustRecord("veterinarian-saltgarth", s.fact("order", "order.given", "saltgarth", order))
	withdrawn := `{"entry":"` + idOf("order") + `","reason":"the wrong animal"}`
	corrected := `{"entry":"` + idOf("order") + `","reason":"twice the dose","data":` + order + `}`
	s.record("lead-saltgarth", s.fact("w", "entry.withdrawn", "saltgarth", withdrawn)).problem(http.StatusForbidden)
	s.record("lead-saltgarth", s.fact("c", "entry.corrected", "saltgarth", corrected)).problem(http.StatusForbidden)
	s.mustRecord("veterinarian-saltgarth", s.fact("c2", "entry.corrected", "saltgarth", corrected), s.fact("w2", "entry.withdrawn", "saltgarth", withdrawn))
	s.record(keeper, s.fact("w3", "entry.withdrawn", "saltgarth", `{"entry":"`+idOf("nothing")+`","reason":"a slip"}`)).problem(http.StatusUnprocessableEntity)
}

func TestACorrectionOfAnOrderInItsOwnRequestIsSignedToo(t *testing.T) {
	s := openSite(t)
	s.record("lead-saltgarth",
		s.fact("w", "entry.withdrawn", "saltgarth", `{"entry":"`+idOf("order")+`","reason":"a slip"}`),
		s.fact("order", "order.given", "saltgarth", order),
	).problem(http.StatusForbidden)
}
