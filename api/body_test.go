package api

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"strings"
	"testing"

	"haulout/events"
	"haulout/projections"
)

// weighedForYears is a site where Marl was weighed every eighth day over three
// years, with a season of four kilograms, and her coat scored every week, with a
// molt each August.
func weighedForYears(t *testing.T) *site {
	s := openSite(t)
	var batch []events.Draft
	for day := 0; day < 3*365; day++ {
		at := evening.AddDate(0, 0, day-3*365+1)
		if day%8 == 0 {
			kg := 90 + 4*math.Cos(2*math.Pi*float64(at.YearDay()-90)/365) + 0.2*float64(day%3)
			batch = append(batch, factAt(at, fmt.Sprintf("weighed-%d", day), "weight.taken", "saltgarth", fmt.Sprintf(`{"animal":"marl","mass":{"value":"%.1f","unit":"kg"},"scale":"deck","coat":"dry"}`, kg)))
		}
		if day%7 == 0 {
			share := min(max(2*(at.YearDay()-220), 0), 100)
			if at.YearDay() > 330 {
				share = 0
			}
			batch = append(batch, factAt(at, fmt.Sprintf("coat-%d", day), "coat.scored", "saltgarth", fmt.Sprintf(`{"animal":"marl","new_coat":{"value":"%d","unit":"%%"},"regions":["flippers"]}`, share)))
		}
	}
	for len(batch) > 0 {
		n := min(len(batch), 100)
		s.mustRecord(keeper, batch[:n]...)
		batch = batch[n:]
	}
	return s
}

func TestHowAnAnimalsMassGoes(t *testing.T) {
	s := weighedForYears(t)
	var got projections.MassAnswer
	s.read(keeper, "/api/v1/animals/marl/mass", &got)
	if got.Last == nil || len(got.Changes) != 2 || got.Trend.PerDay == nil || !got.Season.Seen || got.Season.Peak == nil || len(got.Season.Course) == 0 || got.Caution == "" || len(got.Assumptions) == 0 {
		t.Fatalf("%+v", got)
	}
	if len(got.Watch.Days) == 0 || len(got.Scales) != 1 || got.Scales[0].NotEnough == "" || got.Place.Percent == nil {
		t.Errorf("%+v, %+v, %+v", got.Watch, got.Scales, got.Place)
	}
	var then projections.MassAnswer
	s.read(keeper, "/api/v1/animals/Marl/mass?as_of=2026-03-01", &then)
	if then.Day != "2026-03-01" {
		t.Errorf("%+v", then)
	}
	s.get(keeper, "/api/v1/animals/marl/mass?as_of=yesterday").problem(http.StatusBadRequest)
	s.get(keeper, "/api/v1/animals/nobody/mass").problem(http.StatusNotFound)
	s.get("manager-everywhere", "/api/v1/animals/dulse/mass").want(http.StatusOK)
}

func TestWhatAnAnimalsCoatComesTo(t *testing.T) {
	s := weighedForYears(t)
	a := s.get(keeper, "/api/v1/animals/marl/coat")
	a.want(http.StatusOK)
	var got struct {
		Hemisphere string
		Scores     []projections.CoatScore
		Rings      []struct {
			Year int
			Arcs []struct{ Kind string }
		}
		Outlook struct {
			Own      int
			Next     *struct{ Likely, Lo, Hi string }
			Standing struct{ Word, Words string }
		}
	}
	if err := json.Unmarshal(a.body, &got); err != nil {
		t.Fatal(err)
	}
	if got.Hemisphere != "north" || got.Outlook.Own != 3 || got.Outlook.Next == nil || !strings.HasPrefix(got.Outlook.Next.Likely, "2026-08") || got.Outlook.Standing.Word != "as expected" || len(got.Rings) < 3 || len(got.Scores) < 150 {
		t.Errorf("%s", a.body)
	}
	s.get(keeper, "/api/v1/animals/marl/coat?as_of=yesterday").problem(http.StatusBadRequest)
	s.get(keeper, "/api/v1/animals/dulse/coat").problem(http.StatusForbidden)
	s.get("manager-everywhere", "/api/v1/animals/dulse/coat").want(http.StatusOK)
}
