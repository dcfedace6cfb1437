package api

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"haulout/events"
	"haulout/projections"
)

// sampled is a count of coliforms of the deep pool.
func sampled(at time.Time, count int, sample, repeats string) events.Draft {
	more := ""
	if repeats != "" {
		more = fmt.Sprintf(`,"repeat":%q`, repeats)
	}
	return factAt(at, sample, "water.tested", "saltgarth",
		fmt.Sprintf(`{"enclosure":"deep-pool","readings":[{"what":"total_coliform","value":{"value":"%d","unit":"{MPN}/dL"}}],"sample":%q%s}`, count, sample, more))
}

// watered is a site whose deep pool has its measures, a house's own limit, a
// count that exceeds and one of two that repeat it.
func watered(t *testing.T) *site {
	s := openSite(t)
	first := evening.AddDate(0, 0, -3)
	s.mustRecord(steward,
		factAt(evening, "measured", "enclosure.described", "saltgarth", `{"enclosure":"deep-pool","name":"Deep pool","use":"display","salt":"sea","added":["ozone"],"water_area":{"value":"40","unit":"m2"},"water_depth":{"value":"3","unit":"m"},"width":{"value":"320","unit":"cm"},"dry_area":{"value":"16","unit":"m2"}}`),
		factAt(evening.AddDate(0, 0, -40), "set", "rule.set", "saltgarth", `{"rule":"ozone_most","value":{"value":"0.1","unit":"mg/L"},"reason":"agreed with the veterinarian"}`),
		sampled(first, 1400, "W-1", ""), sampled(first.Add(48*time.Hour), 900, "W-2", "W-1"),
		factAt(evening.Add(-time.Hour), "ozone", "water.tested", "saltgarth", `{"enclosure":"deep-pool","readings":[{"what":"ozone","value":{"value":"0.02","unit":"mg/L"},"bound":"below"},{"what":"salinity","value":{"value":"33","unit":"[ppth]"}}]}`),
	)
	return s
}

func TestTheWaterOfAnEnclosure(t *testing.T) {
	s := watered(t)
	var got projections.WaterAnswer
	s.read(keeper, "/api/v1/enclosures/deep-pool/water", &got)
	if got.Standing != "exceeds" || len(got.Open) != 1 || len(got.Open[0].Counts) != 2 || len(got.Samples) != 1 || len(got.Series) != 1 || len(got.History) != 3 || got.Caution == "" || len(got.Rules) == 0 {
		t.Fatalf("%+v", got)
	}
	if by := got.Samples[0].By; !by.Equal(evening.AddDate(0, 0, 1)) || got.Samples[0].Overdue {
		t.Errorf("the third sample: %+v", got.Samples[0])
	}
	if o := got.History[2]; o.What != "ozone" || o.Values[0].Bound != "below" || o.Values[0].Standing != "passes" || len(o.Limits) != 1 || o.Limits[0].By != "house" {
		t.Errorf("ozone: %+v", o)
	}
	s.clock.Store(evening.AddDate(0, 0, 1).UnixNano())
	s.mustRecord(keeper, sampled(evening.AddDate(0, 0, 1), 650, "W-3", "W-1"))
	var now, then projections.WaterAnswer
	s.read(keeper, "/api/v1/enclosures/deep-pool/water", &now)
	s.read(keeper, "/api/v1/enclosures/deep-pool/water?as_of=2026-03-01", &then)
	if now.Standing != "passes" || now.Series[0].Mean == nil || then.Standing != "exceeds" || then.To != "2026-03-01" || !then.At.Before(now.At) {
		t.Errorf("now %s, then %s up to %s", now.Standing, then.Standing, then.To)
	}
	for query, says := range map[string]string{"from=x": "from", "to=2026-02-30": "to", "to=2026-04-01": "still to come", "from=2026-04-01": "from", "from=2026-02-02&to=2026-02-01": "from", "as_of=noon": "as_of"} {
		if d := s.get(keeper, "/api/v1/enclosures/deep-pool/water?"+query).problem(http.StatusBadRequest); !strings.Contains(d.Detail, says) {
			t.Errorf("%s: %s", query, d.Detail)
		}
	}
}

// A single female California sea lion asks for 2 times 1.75 squared, 6.125 m2; with
// males of 2.24 m, 5.0176 m2 more for each. 9 CFR 3.104(d), from memory.
func TestTheSpaceOfAnEnclosure(t *testing.T) {
	s := watered(t)
	s.mustRecord(keeper, moved("sedge", "Sedge", "deep-pool")...)
	bull := func(id string) events.Draft {
		return factAt(evening, id, "animal.entered", "saltgarth", fmt.Sprintf(`{"animal":%q,"name":%q,"taxon":"Zalophus californianus","sex":"male","how":"arrival"}`, id, id))
	}
	s.mustRecord(keeper, bull("basalt"), bull("slate"), bull("flint"))
	s.clock.Store(evening.Add(time.Minute).UnixNano())
	space := func(query string) (out projections.SpaceAnswer) {
		s.read(keeper, "/api/v1/enclosures/deep-pool/space"+query, &out)
		return out
	}
	alone := space("")
	if alone.Standing != "passes" || alone.Now != "passes" || len(alone.Measures) != 4 || alone.Verified || alone.Caution == "" {
		t.Fatalf("%+v", alone)
	}
	lives := len(alone.Animals)
	if one := space("?with=basalt"); one.Standing != "undecided" || one.Now != "passes" || len(one.Animals) != lives+1 || len(one.Missing) != 1 {
		t.Errorf("a pool of 3.2 m for an animal of 2.24 m, its length unknown: %+v", one)
	}
	if three := space("?with=basalt,slate&with=flint"); three.Standing != "fails" || len(three.Animals) != lives+3 || !strings.Contains(three.Sentence, "without the newcomers") {
		t.Errorf("%+v", three)
	}
	if d := s.get(keeper, "/api/v1/enclosures/deep-pool/space?with=nobody").problem(http.StatusBadRequest); !strings.Contains(d.Detail, "with") || !strings.Contains(d.Detail, "nobody") {
		t.Errorf("%s", d.Detail)
	}
	s.get(keeper, "/api/v1/enclosures/deep-pool/space?with=dulse").problem(http.StatusForbidden)
	s.get("lead-both", "/api/v1/enclosures/deep-pool/space?facility=saltgarth&with=dulse").want(http.StatusOK)
}
