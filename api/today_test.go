package api

import (
	"encoding/json"
	"net/http"
	"slices"
	"testing"

	"haulout/projections"
)

// boards are what somebody is answered of a path under /today.
func (s *site) boards(as, query string) (out []projections.Board) {
	s.t.Helper()
	var got struct{ Facilities []projections.Board }
	a := s.get(as, "/api/v1/today"+query)
	a.want(http.StatusOK)
	if err := json.Unmarshal(a.body, &got); err != nil {
		s.t.Fatal(err)
	}
	return got.Facilities
}

func TestTodayIsOneListForEachFacilityInReach(t *testing.T) {
	s := openSite(t)
	all := s.boards("manager-everywhere", "")
	if len(all) < 2 {
		t.Fatalf("%d boards", len(all))
	}
	mine := s.boards(keeper, "")
	if len(mine) != 1 || mine[0].Facility != "saltgarth" || mine[0].Caution == "" || len(mine[0].Rules) == 0 {
		t.Errorf("a keeper's boards: %+v", mine)
	}
	for _, b := range all {
		harms := []int{}
		for _, c := range b.Calls {
			harms = append(harms, c.Harm)
			if c.What == "" || c.Evidence == "" || c.Next == "" || c.Cited == "" || c.Behind == nil {
				t.Errorf("%s: %+v", b.Facility, c)
			}
		}
		if !slices.IsSorted(harms) {
			t.Errorf("%s: in order of harm: %v", b.Facility, harms)
		}
	}
}

func TestTodayOfAFacilityThatIsNone(t *testing.T) {
	s := openSite(t)
	s.get("manager-everywhere", "/api/v1/today?facility=nowhere").problem(http.StatusNotFound)
	s.get("manager-everywhere", "/api/v1/today?as_of=yesterday").problem(http.StatusBadRequest)
}
