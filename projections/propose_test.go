package projections

import (
	"math"
	"strings"
	"testing"
	"time"
)

const capelinBody = `{"food":"capelin","name":"Capelin","form":"fish","portion":{"value":"25","unit":"g"},"composition":{"water":{"value":"78","unit":"g"},"protein":{"value":"13.5","unit":"g"},"fat":{"value":"5","unit":"g"},"ash":{"value":"2","unit":"g"}},"source":"invented for this test"}`

// stocked is Saltgarth after ninety days with Marl, two foods in the freezer and
// a ration in force.
func stocked(t *testing.T) *recorder {
	r := fedAndWeighed(t, 90)
	r.record("saltgarth", "food.described", energyAt(0, 11), strings.Replace(herringBody, `"form"`, `"portion":{"value":"150","unit":"g"},"form"`, 1))
	r.record("saltgarth", "food.described", energyAt(0, 11), capelinBody)
	r.record("saltgarth", "lot.received", energyAt(60, 6), `{"lot":"H-1","food":"herring","mass":{"value":"50","unit":"kg"},"caught":"2026-02","cost":{"value":"2.10","unit":"1"}}`)
	r.record("saltgarth", "lot.received", energyAt(60, 6), `{"lot":"C-1","food":"capelin","mass":{"value":"50","unit":"kg"},"caught":"2026-02","cost":{"value":"1.80","unit":"1"}}`)
	r.record("saltgarth", "ration.set", energyAt(80, 7), `{"animal":"marl","items":[{"food":"herring","mass":{"value":"3.0","unit":"kg"}},{"food":"capelin","mass":{"value":"0.5","unit":"kg"}}],"times":["08:30","15:30"]}`)
	return r
}

var askedAt = energyStart.AddDate(0, 0, 90).Add(7 * time.Hour)

func proposed(t *testing.T, s *Store, ask Ask) *Proposal {
	t.Helper()
	ask.Animal = "marl"
	p, err := s.Propose(ask, askedAt, time.Time{})
	if err != nil || p == nil {
		t.Fatalf("%+v %v", p, err)
	}
	return p
}

func TestAProposalHoldsTheMass(t *testing.T) {
	s := filledStore(t, stocked(t))
	p := proposed(t, s, Ask{})
	if p.NotEnough != "" || p.Plan == nil || len(p.Items) != 2 {
		t.Fatalf("%+v", p)
	}
	sum, grams := 0.0, 0.0
	for _, item := range p.Items {
		sum, grams = sum+item.Kcal, grams+item.Grams
		if item.Grams != float64(item.Portions)*item.PortionG {
			t.Errorf("%+v is not whole portions", item)
		}
	}
	if math.Abs(sum-p.Kcal) > 0.5*150/100*158.3+1 || math.Abs(sum-p.Plan.Kcal) > 1 {
		t.Errorf("%.0f kcal for %.0f wanted", sum, p.Kcal)
	}
	if len(p.Times) != 2 || len(p.Plan.Sessions) != 2 || p.Caution == "" {
		t.Errorf("%+v", p)
	}
	if grams/1000 > 0.14*82 {
		t.Errorf("%.1f kg is over the ceiling", grams/1000)
	}
}

func TestATargetMovesTheProposal(t *testing.T) {
	s := filledStore(t, stocked(t))
	hold := proposed(t, s, Ask{})
	gain := proposed(t, s, Ask{Target: &Target{86, Day("2026-07-01")}})
	lose := proposed(t, s, Ask{Target: &Target{78, Day("2026-07-01")}})
	if !(lose.Kcal < hold.Kcal && hold.Kcal < gain.Kcal) || !strings.Contains(gain.Why, "kg a week") {
		t.Errorf("%.0f, %.0f, %.0f kcal; %s", lose.Kcal, hold.Kcal, gain.Kcal, gain.Why)
	}
}

// Guidance bounds the shares in its months, and what is asked for goes before it.
func TestAProposalKeepsToTheGuidance(t *testing.T) {
	r := stocked(t)
	r.record("saltgarth", "diet.guided", energyAt(85, 7), `{"animal":"marl","items":[{"food":"herring","most":{"value":"50","unit":"%"}},{"food":"capelin","least":{"value":"40","unit":"%"}}],"months":["03","04"]}`)
	r.record("saltgarth", "diet.guided", energyAt(86, 7), `{"animal":"marl","items":[{"food":"capelin"}],"months":["12"]}`)
	s := filledStore(t, r)
	p := proposed(t, s, Ask{})
	if share := p.Plan.Shares[0]; share > 0.5 || len(p.Items) != 2 || !strings.Contains(p.Within, "guidance") {
		t.Errorf("herring is %.2f of %+v", share, p)
	}
	if p := proposed(t, s, Ask{Foods: []FoodShare{{Food: "capelin"}}}); len(p.Items) != 1 || p.Items[0].Food != "capelin" {
		t.Errorf("%+v", p.Items)
	}
}

func TestAProposalNamesWhatIsShort(t *testing.T) {
	r := stocked(t)
	r.record("saltgarth", "lot.discarded", energyAt(87, 7), `{"lot":"H-1","mass":{"value":"49","unit":"kg"},"reason":"freezer failed"}`)
	r.record("saltgarth", "lot.discarded", energyAt(87, 7), `{"lot":"C-1","mass":{"value":"49","unit":"kg"},"reason":"freezer failed"}`)
	p := proposed(t, filledStore(t, r), Ask{})
	if p.Plan.Short == nil || p.Plan.Short.Shortfall <= 0 || !strings.Contains(strings.Join(p.Plan.Short.Binding, "; "), "stock") {
		t.Errorf("%+v", p.Plan.Short)
	}
}

func TestProposalsThatCantBe(t *testing.T) {
	s := filledStore(t, stocked(t))
	kcal := 0.0
	for want, ask := range map[string]Ask{
		"food sprat":     {Animal: "marl", Foods: []FoodShare{{Food: "sprat"}}},
		"kcal 0":         {Animal: "marl", Kcal: &kcal},
		"target.mass_kg": {Animal: "marl", Target: &Target{0, "2026-07-01"}},
		"later day":      {Animal: "marl", Target: &Target{90, "2026-03-01"}},
		"write a time":   {Animal: "marl", Times: []string{"noon"}},
		"order of the":   {Animal: "marl", Times: []string{"15:30", "08:30"}},
		"target.by":      {Animal: "marl", Target: &Target{90, "summer"}},
	} {
		if p, err := s.Propose(ask, askedAt, time.Time{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %+v %v", want, p, err)
		}
	}
	if p, err := s.Propose(Ask{Animal: "nobody"}, askedAt, time.Time{}); p != nil || err != nil {
		t.Errorf("%v %v", p, err)
	}
	if p, err := s.Propose(Ask{Animal: "osier"}, askedAt, time.Time{}); err != nil || !strings.Contains(p.NotEnough, "no weigh-in") || p.Plan != nil {
		t.Errorf("%+v %v", p, err)
	}
}

// A proposal is there before a finger has left the glass: 50 ms, with what it
// reads from the archive.
func TestAProposalIsQuick(t *testing.T) {
	s := filledStore(t, stocked(t))
	took := time.Hour
	for range 5 {
		start := time.Now()
		proposed(t, s, Ask{Target: &Target{86, "2026-07-01"}})
		took = min(took, time.Since(start))
	}
	t.Logf("a proposal took %s", took)
	if took > 50*time.Millisecond {
		t.Errorf("a proposal took %s", took)
	}
}
