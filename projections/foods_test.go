package projections

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// An animal that ate 2.5 kg of a food took in 25 times the kilocalories that
// USDA prints for 100 g of it. They are printed whole, hence 0.5 kcal in 100 g;
// NDB 15050 is printed 1.1 kcal above what its factors give.
func TestTheDayOfAnAnimalHasThePublishedKilocalories(t *testing.T) {
	f, err := os.Open("../testdata/vectors/energetics/usda-sr.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	table := csv.NewReader(f)
	table.Comment = '#'
	rows, err := table.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	r := saltgarth(t)
	first := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	for i, row := range rows[1:] {
		factors := "specific"
		if row[9] == "general" {
			factors = "general"
		}
		measured := func(g string) string { return fmt.Sprintf(`{"value":%q,"unit":"g"}`, g) }
		r.record("saltgarth", "food.described", "2026-01-02T08:00:00Z", fmt.Sprintf(
			`{"food":%q,"name":%q,"form":%q,"factors":%q,"composition":{"water":%s,"protein":%s,"fat":%s,"ash":%s,"carbohydrate":%s},"source":"USDA SR, NDB %s"}`,
			row[0], row[1], row[2], factors, measured(row[3]), measured(row[4]), measured(row[5]), measured(row[6]), measured(row[7]), row[0]))
		r.record("saltgarth", "feed.given", first.AddDate(0, 0, i).Format(time.RFC3339), feedBody("marl", row[0], "3.0", "2.5"))
	}
	s := filledStore(t, r)
	days, err := s.Days("marl", "2026-03-01", "2026-03-31", time.Time{})
	if err != nil || len(days) != len(rows)-1 {
		t.Fatalf("%d days of %d, %v", len(days), len(rows)-1, err)
	}
	for i, row := range rows[1:] {
		kcal, err := strconv.ParseFloat(row[8], 64)
		if err != nil {
			t.Fatal(err)
		}
		allowed := 0.5 * 25
		if row[0] == "15050" {
			allowed = 1.5 * 25
		}
		day := days[i]
		if day.Kcal == nil || math.Abs(*day.Kcal-25*kcal) > allowed || len(day.Unknown) > 0 {
			t.Errorf("2.5 kg of %s: %+v; USDA prints %g kcal in 100 g", row[1], day, kcal)
			continue
		}
		if got := day.Items[0]; got.EatenG != 2500 || got.OfferedG != 3000 || got.Basis != "metabolizable_atwater" || *got.Kcal != *day.Kcal {
			t.Errorf("%s: %+v", row[1], got)
		}
	}
}

func figures(t *testing.T, s *Store) []Figures {
	t.Helper()
	foods, err := s.Foods("saltgarth", time.Time{})
	if err != nil || len(foods) != 1 {
		t.Fatalf("foods are %v, %v", foods, err)
	}
	return foods[0].Figures
}

func TestStatedEnergyGoesBeforeEnergyWorkedOut(t *testing.T) {
	r := saltgarth(t)
	r.record("saltgarth", "food.described", "2026-02-01T08:00:00Z", `{"food":"herring","name":"Herring","form":"fish","composition":{"protein":{"value":"17.96","unit":"g"},"fat":{"value":"9.04","unit":"g"}},"energy":{"value":"786","unit":"kJ"},"basis":"gross","source":"the laboratory"}`)
	r.record("saltgarth", "food.described", "2026-03-01T08:00:00Z", `{"food":"herring","name":"Herring","source":"no figures came with it"}`)
	list := figures(t, filledStore(t, r))
	worked, stated, none := list[0], list[1], list[2]
	if worked.How != "Atwater specific factors for fish" || worked.Basis != "metabolizable_atwater" {
		t.Errorf("worked out: %+v", worked)
	}
	// 786 kJ / 4.184 kJ/kcal; the thermochemical calorie is 4.184 J by definition.
	if stated.KcalPer100g == nil || math.Abs(*stated.KcalPer100g-786/4.184) > 1e-9 || stated.Basis != "gross" || stated.How != "stated by the source" {
		t.Errorf("stated: %+v", stated)
	}
	if none.KcalPer100g != nil || none.Basis != "" {
		t.Errorf("no figures: %+v", none)
	}
}

// Which figures count is decided day by day, at the end of the day.
func TestFiguresOfTheDay(t *testing.T) {
	r := saltgarth(t)
	r.record("saltgarth", "food.described", "2026-03-03T00:00:00Z", `{"food":"herring","name":"Herring","energy":{"value":"200","unit":"kcal"},"basis":"gross","source":"the new catch"}`)
	for _, at := range []string{"2026-03-02T23:59:59Z", "2026-03-03T00:00:00Z", "2025-03-02T12:00:00Z"} {
		r.record("saltgarth", "feed.given", at, feedBody("marl", "herring", "0.1", "0.1"))
	}
	r.record("saltgarth", "feed.given", "2026-03-03T15:00:00Z", `{"animal":"marl","items":[{"food":"herring","offered":{"value":"500","unit":"g"},"eaten":{"value":"0","unit":"g"}}]}`)
	days, err := filledStore(t, r).Days("marl", "2025-01-01", "2026-03-31", time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	got := map[Day]string{}
	for _, d := range days {
		got[d.Day] = fmt.Sprintf("%.2f kcal, %s, %d feeds of which %d refused", *d.Kcal, d.Items[0].Basis, d.Feeds, d.Refusals)
	}
	// 100 g hold 4.27·17.96 + 9.02·9.04 = 158.23 kcal.
	want := map[Day]string{
		"2025-03-02": "158.23 kcal, metabolizable_atwater, 1 feeds of which 0 refused", // before anything was said of it
		"2026-03-02": "158.23 kcal, metabolizable_atwater, 1 feeds of which 0 refused",
		"2026-03-03": "200.00 kcal, gross, 2 feeds of which 1 refused",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestAFoodWithoutFiguresIsNamed(t *testing.T) {
	r := saltgarth(t)
	r.record("saltgarth", "food.described", "2026-01-01T10:00:00Z", `{"food":"squid","name":"Squid","source":"the supplier sent none"}`)
	r.record("saltgarth", "feed.given", "2026-03-01T12:00:00Z", `{"animal":"marl","items":[`+
		`{"food":"herring","offered":{"value":"1","unit":"kg"},"eaten":{"value":"1","unit":"kg"}},`+
		`{"food":"squid","offered":{"value":"1","unit":"kg"},"eaten":{"value":"1","unit":"kg"}}]}`)
	r.record("saltgarth", "feed.given", "2026-03-02T12:00:00Z", feedBody("marl", "squid", "1", "1"))
	days, err := filledStore(t, r).Days("marl", "2026-03-01", "2026-03-02", time.Time{})
	if err != nil || len(days) != 2 {
		t.Fatalf("%v, %v", days, err)
	}
	if d := days[0]; d.Kcal == nil || math.Abs(*d.Kcal-1582.3) > 0.1 || !cmp.Equal(d.Unknown, []string{"Squid"}) {
		t.Errorf("with herring too: %+v", d)
	}
	if d := days[1]; d.Kcal != nil || !cmp.Equal(d.Unknown, []string{"Squid"}) {
		t.Errorf("squid alone: %+v", d)
	}
}
