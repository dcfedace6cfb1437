package api

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"haulout/projections"
)

// stocked is a site with a ration, a thaw under way and a tablet.
func stocked(t *testing.T) *site {
	s := openSite(t)
	s.mustRecord(steward,
		s.fact("ration", "ration.set", "saltgarth", `{"animal":"marl","items":[{"food":"herring","mass":{"value":"4.5","unit":"kg"}}],"times":["08:30","15:00"]}`),
		s.fact("rule", "rule.set", "saltgarth", `{"rule":"thaw_hours","value":{"value":"14","unit":"h"},"reason":"agreed with the veterinarian"}`),
		s.fact("tablet", "supplement.described", "saltgarth", `{"supplement":"b1","name":"Thiamine","per":"{tablet}","contents":[{"what":"thiamine","amount":{"value":"25","unit":"mg"}}],"source":"label"}`),
		s.fact("given", "supplement.given", "saltgarth", `{"animal":"marl","supplement":"thiamine","dose":{"value":"2","unit":"{tablet}"}}`),
		s.fact("assay", "lot.assayed", "saltgarth", `{"lot":"h-2611","composition":{"fat":{"value":"9.1","unit":"g"},"protein":{"value":"17.2","unit":"g"}}}`),
		s.fact("discard", "lot.discarded", "saltgarth", `{"lot":"h-2611","mass":{"value":"2","unit":"kg"},"reason":"box torn"}`),
	)
	s.mustRecord(keeper, s.fact("out", "lot.thawed", "saltgarth", `{"lot":"h-2611","mass":{"value":"8","unit":"kg"},"how":"refrigerated"}`))
	s.mustRecord(keeper, factAt(evening.Add(-time.Hour), "through", "thaw.completed", "saltgarth", fmt.Sprintf(`{"lot":"h-2611","thaw":%q}`, idOf("out"))))
	return s
}

func TestTheFishRoomOfADay(t *testing.T) {
	s := stocked(t)
	var got projections.FishRoom
	s.read(keeper, "/api/v1/fishroom/saltgarth/2026-03-01", &got)
	if len(got.Buckets) != 1 || len(got.Clocks) != 1 || len(got.Lots) != 1 || len(got.Foods) != 1 || len(got.Rules) == 0 {
		t.Fatalf("%+v", got)
	}
	// 4.5 kg and 5 % reserve are out already; 14 h from 16:00 is the stricter of the two clocks.
	if p := got.Foods[0]; p.ReadyG != 4725 || p.TakeOutG != 0 || got.Lots[0].FrozenG != 490000 || got.Lots[0].Assayed == nil {
		t.Errorf("%+v, %+v", p, got.Lots)
	}
	if c := got.Clocks[0]; c.By != "house" || !c.Deadline.Equal(evening.Add(-5*time.Hour+14*time.Hour)) {
		t.Errorf("the clock: %+v", c)
	}
	if v := got.Buckets[0].Vitamins[0]; v.Given != 50 || v.Least != 112.5 || len(v.As) != 1 {
		t.Errorf("thiamine: %+v", v)
	}
	s.read(keeper, "/api/v1/fishroom/saltgarth/2026-03-02", &got)
	if got.Day != "2026-03-02" || !got.At.Equal(evening) {
		t.Errorf("tomorrow: %+v", got)
	}
}

func TestAFishRoomOfLongAgoAndBadQuestions(t *testing.T) {
	s := stocked(t)
	s.get(keeper, "/api/v1/fishroom/tern-sluice/2026-03-01").problem(http.StatusForbidden)
	s.get(steward, "/api/v1/fishroom/tern-sluice/2026-03-01").problem(http.StatusNotFound)
	for _, path := range []string{"saltgarth/tomorrow", "saltgarth/2026-02-30", "saltgarth/2026-03-01?as_of=noon"} {
		if d := s.get(keeper, "/api/v1/fishroom/"+path).problem(http.StatusBadRequest); !strings.Contains(d.Detail, "write") {
			t.Errorf("%s: %+v", path, d)
		}
	}
	s.get(keeper, "/api/v1/fishroom/saltgarth/2026-03-01?as_of=2026-02-01").problem(http.StatusNotFound) // not open then
	var then projections.FishRoom
	s.read(keeper, "/api/v1/fishroom/saltgarth/2026-03-01?as_of=2026-03-01", &then)
	if len(then.Buckets) != 1 {
		t.Errorf("as of that evening: %+v", then)
	}
}
