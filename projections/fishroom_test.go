package projections

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// stockroom is Saltgarth with two rations, three lots of herring and one of
// gelatin. Herring is cut in whole fish of 120 g.
func stockroom(t *testing.T) *recorder {
	r := saltgarth(t)
	for _, fact := range [][2]string{
		{"food.described", strings.Replace(herringBody, `"source"`, `"portion":{"value":"120","unit":"g"},"source"`, 1)},
		{"food.described", `{"food":"jelly","name":"Gelatin","form":"other","composition":{"water":{"value":"98","unit":"g"},"protein":{"value":"2","unit":"g"}},"source":"house recipe, sugar-free"}`},
		{"lot.received", `{"lot":"H-1","food":"herring","mass":{"value":"40","unit":"kg"},"caught":"2026-01-10"}`},
		{"lot.received", `{"lot":"H-2","food":"herring","mass":{"value":"20","unit":"kg"},"use_by":"2026-03-12","store":"freezer 2"}`},
		{"lot.received", `{"lot":"H-3","food":"herring","mass":{"value":"10","unit":"kg"},"use_by":"2026-03-09"}`},
		{"ration.set", `{"animal":"marl","items":[{"food":"herring","mass":{"value":"4.5","unit":"kg"}},{"food":"jelly","mass":{"value":"250","unit":"g"}}],"times":["08:30","15:00"]}`},
		{"ration.set", `{"animal":"osier","items":[{"food":"herring","mass":{"value":"3","unit":"kg"}}],"times":["08:30","12:00","15:00"]}`},
	} {
		r.record("saltgarth", fact[0], "2026-02-01T08:00:00Z", fact[1])
	}
	return r
}

func moment(t *testing.T, text string) time.Time {
	t.Helper()
	at, err := time.Parse("2006-01-02 15:04", "2026-03-"+text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func fishRoom(t *testing.T, r *recorder, day Day, now string) *FishRoom {
	t.Helper()
	out, err := filledStore(t, r).FishRoom("saltgarth", day, moment(t, now), time.Time{})
	if err != nil || out == nil {
		t.Fatalf("%v, %v", out, err)
	}
	return out
}

// servings writes buckets as people read them.
func servings(room *FishRoom) (out []string) {
	for _, b := range room.Buckets {
		for _, s := range b.Servings {
			out = append(out, fmt.Sprintf("%s %s %s %g g, %d", b.Animal, s.Session, s.Food, s.MassG, s.Portions))
		}
	}
	return out
}

// 4.5 kg are 37 fish of 120 g and 60 g; 3 kg are 25 fish.
func TestBucketsAreCutInWholeFishAndSumExactly(t *testing.T) {
	room := fishRoom(t, stockroom(t), "2026-03-10", "09 12:00")
	want := []string{
		"marl 08:30 herring 2340 g, 19", "marl 08:30 jelly 130 g, 0", "marl 15:00 herring 2160 g, 18", "marl 15:00 jelly 120 g, 0",
		"osier 08:30 herring 1080 g, 9", "osier 12:00 herring 960 g, 8", "osier 15:00 herring 960 g, 8",
	}
	if diff := cmp.Diff(want, servings(room)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]string{"08:30", "12:00", "15:00"}, room.Sessions); diff != "" {
		t.Error(diff)
	}
	if b := room.Buckets[0]; b.FoodG != 4500 || b.WaterG != 250 {
		t.Errorf("gelatin counts as water: %+v", b)
	}
}

func TestSharesAreWholeStepsAndTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mass, step := rapid.Int64Range(0, 1e9).Draw(t, "mass"), rapid.Int64Range(1, 1e6).Draw(t, "step")
		parts := share(mass, step, rapid.IntRange(1, 8).Draw(t, "feeds"))
		sum := int64(0)
		for i, part := range parts {
			sum += part
			if i > 0 && (part%step != 0 || part > parts[i-1] || parts[1]-part > step) {
				t.Fatalf("%d in steps of %d: %v", mass, step, parts)
			}
		}
		if sum != mass || parts[0]-parts[len(parts)-1] >= 2*step {
			t.Fatalf("%d in steps of %d: %v", mass, step, parts)
		}
	})
}

func TestTheLotThatExpiresFirstIsThawedFirst(t *testing.T) {
	room := fishRoom(t, stockroom(t), "2026-03-10", "09 12:00")
	// 7.5 kg and 5 % reserve are 7.875 kg, taken out in steps of 0.1 kg.
	want := []TakeOut{{Lot: "H-2", Food: "herring", Name: "Herring", Store: "freezer 2", MassG: 7900, LeavesG: 12100, Expires: "2026-03-12"}}
	if diff := cmp.Diff(want, room.Thaw); diff != "" {
		t.Error(diff)
	}
	verdicts := map[string]string{}
	for _, l := range room.Lots {
		verdicts[l.Lot] = l.Verdict + " " + l.Expires + " " + l.ExpiresBy
	}
	// 6 months for fatty fish, from the catch: Field 2022.
	wanted := map[string]string{"H-1": "within 2026-07-10 storage", "H-2": "within 2026-03-12 use_by", "H-3": "past 2026-03-09 use_by"}
	if diff := cmp.Diff(wanted, verdicts); diff != "" {
		t.Error(diff)
	}
}

// By hand: the 10th takes 7.9 kg of H-2, then 7.875 kg a day: H-2 lasts into
// the 12th, its last day, and 36.35 kg of H-1 from then on for 4 days more.
func TestAShortageIsSeenDaysAhead(t *testing.T) {
	herring := fishRoom(t, stockroom(t), "2026-03-10", "09 12:00").Foods[1]
	if herring.Name != "Herring" || *herring.DaysLeft != 7 || herring.RunsOut != "2026-03-17" || !herring.Shortage || herring.PastG != 10000 {
		t.Errorf("%+v", herring)
	}
	r := stockroom(t)
	r.record("saltgarth", "rule.set", "2026-02-02T08:00:00Z", `{"rule":"shortage_days","value":{"value":"6","unit":"d"},"reason":"the supplier is near"}`)
	if herring := fishRoom(t, r, "2026-03-10", "09 12:00").Foods[1]; herring.Shortage || len(herring.Words) > 0 {
		t.Errorf("warned of 7 days where the house asks for 6: %+v", herring)
	}
}

func TestMissingStockIsAShortfallInWords(t *testing.T) {
	r := stockroom(t)
	for _, gone := range []string{`"H-1","mass":{"value":"40","unit":"kg"}`, `"H-2","mass":{"value":"15","unit":"kg"}`} {
		r.record("saltgarth", "lot.discarded", "2026-03-01T08:00:00Z", `{"lot":`+gone+`,"reason":"the freezer failed"}`)
	}
	room := fishRoom(t, r, "2026-03-10", "09 12:00")
	herring := room.Foods[1]
	if herring.ShortG != 2875 || *herring.DaysLeft != 0 || len(room.Thaw) != 1 || room.Thaw[0].MassG != 5000 {
		t.Errorf("%+v %+v", herring, room.Thaw)
	}
	if said := strings.Join(herring.Words, "; "); !strings.Contains(said, "2.9\u00a0kg short for the day: 5.0\u00a0kg in the freezer within its last day, 10.0\u00a0kg past it") {
		t.Errorf("it says %q", said)
	}
}

// The worked example of the thaw clock, by way of records: out at 18:00, in the
// fridge, through at 10:00, so until 22:00 by the 12 h of 9 CFR 3.105(d).
func TestClocksRunForWhatIsNotUsedUp(t *testing.T) {
	r := stockroom(t)
	out := r.record("saltgarth", "lot.thawed", "2026-03-09T18:00:00Z", `{"lot":"H-2","mass":{"value":"8","unit":"kg"},"how":"refrigerated"}`)
	clock := fishRoom(t, r, "2026-03-10", "09 20:00").Clocks[0]
	if !clock.Deadline.Equal(moment(t, "10 18:00")) || !clock.Provisional || clock.LeftG != 8000 {
		t.Errorf("not yet through: %+v", clock)
	}
	r.record("saltgarth", "thaw.completed", "2026-03-10T10:00:00Z", fmt.Sprintf(`{"lot":"H-2","thaw":%q}`, out.ID))
	r.record("saltgarth", "feed.given", "2026-03-10T08:40:00Z", `{"animal":"marl","items":[{"food":"herring","lot":"H-2","offered":{"value":"2.34","unit":"kg"},"eaten":{"value":"2","unit":"kg"}}]}`)
	r.record("saltgarth", "lot.discarded", "2026-03-10T11:00:00Z", `{"lot":"H-2","mass":{"value":"0.66","unit":"kg"},"thawed":true,"reason":"burst"}`)
	room := fishRoom(t, r, "2026-03-10", "10 12:00")
	clock = room.Clocks[0]
	if !clock.Deadline.Equal(moment(t, "10 22:00")) || clock.Rule != "thawed_hours" || clock.LeftG != 5000 || clock.UsedG != 3000 || clock.Past {
		t.Errorf("through: %+v", clock)
	}
	// 7.5 kg less 2.34 kg offered, and 5 % of that in reserve: 5.418 kg, of which 5 kg are out.
	if p := room.Foods[1]; p.ReadyG != 5000 || math.Abs(p.TakeOutG-500) > 1e-6 || room.Lots[0].FrozenG != 10000 {
		t.Errorf("ready: %+v, %+v", p, room.Lots)
	}
	if late := fishRoom(t, r, "2026-03-10", "10 22:01"); !late.Clocks[0].Past || late.Foods[1].ReadyG != 0 {
		t.Errorf("after the deadline: %+v", late.Clocks)
	}
	if gone := fishRoom(t, r, "2026-03-14", "14 08:00"); len(gone.Clocks) != 0 {
		t.Errorf("four days on: %+v", gone.Clocks)
	}
	r.record("saltgarth", "rule.set", "2026-03-01T08:00:00Z", `{"rule":"thaw_hours","value":{"value":"20","unit":"h"},"reason":"agreed with the veterinarian"}`)
	if c := fishRoom(t, r, "2026-03-10", "10 12:00").Clocks[0]; !c.Deadline.Equal(moment(t, "10 14:00")) || c.By != "house" {
		t.Errorf("by the house's own 20 h: %+v", c)
	}
}

// What today still needs is not promised to tomorrow, and fish that is over
// before its feed does not count for it.
func TestThawedFishServesTheNearestFeedFirst(t *testing.T) {
	r := stockroom(t)
	r.record("saltgarth", "lot.thawed", "2026-03-09T07:00:00Z", `{"lot":"H-2","mass":{"value":"10","unit":"kg"},"how":"room"}`)
	herring := func(day Day, now string) FoodPlan { return fishRoom(t, r, day, now).Foods[1] }
	if p := herring("2026-03-09", "09 08:00"); p.ReadyG != 7875 || p.TakeOutG != 0 {
		t.Errorf("today: %+v", p)
	}
	if p := herring("2026-03-10", "09 08:00"); p.ReadyG != 0 || p.TakeOutG != 7900 {
		t.Errorf("tomorrow at 08:30 it is over: %+v", p)
	}
	r.record("saltgarth", "lot.thawed", "2026-03-09T16:00:00Z", `{"lot":"H-2","mass":{"value":"9","unit":"kg"},"how":"refrigerated"}`)
	// 7.5 kg still stand open for today, 10 kg serve them; 9 kg hold until tomorrow at 16:00.
	if p := herring("2026-03-10", "09 17:00"); p.ReadyG != 7875 {
		t.Errorf("tomorrow, with the evening's fish: %+v", p)
	}
}

func TestADayThatIsOverShowsTheStockOfItsMorning(t *testing.T) {
	r := stockroom(t)
	r.record("saltgarth", "lot.thawed", "2026-03-05T06:00:00Z", `{"lot":"H-2","mass":{"value":"8","unit":"kg"},"how":"water"}`)
	r.record("saltgarth", "feed.given", "2026-03-05T08:40:00Z", feedBody("marl", "herring", "2", "2"))
	room := fishRoom(t, r, "2026-03-05", "09 12:00")
	if p := room.Foods[1]; p.FedG != 0 || p.FrozenG != 70000 || p.TakeOutG != 7900 || len(room.Clocks) != 0 || !room.At.Equal(moment(t, "05 00:00")) {
		t.Errorf("%+v at %s", p, room.At)
	}
}

func TestVitaminsGoWithTheFishAndSayWhatWasGiven(t *testing.T) {
	r := stockroom(t)
	for _, fact := range [][2]string{
		{"rule.set", `{"rule":"thiamine","value":{"value":"30","unit":"mg/kg"},"reason":"agreed with the nutritionist"}`},
		{"supplement.described", `{"supplement":"multi-2","name":"Fish eater's tablet","per":"{tablet}","contents":[{"what":"thiamine","amount":{"value":"100","unit":"mg"}},{"what":"vitamin_e","amount":{"value":"125","unit":"[iU]"}}],"source":"label"}`},
		{"supplement.described", `{"supplement":"b1","name":"Thiamine","per":"{tablet}","contents":[{"what":"thiamine","amount":{"value":"25","unit":"mg"}}],"source":"label"}`},
	} {
		r.record("saltgarth", fact[0], "2026-02-02T08:00:00Z", fact[1])
	}
	for i, given := range []string{`"supplement":"fish eater's tablet","dose":{"value":"1","unit":"{tablet}"}`, `"supplement":"thiamine","dose":{"value":"50","unit":"mg"}`, `"supplement":"kelp","dose":{"value":"2","unit":"g"}`} {
		r.record("saltgarth", "supplement.given", fmt.Sprintf("2026-03-10T08:%02d:00Z", i), `{"animal":"osier",`+given+`}`)
	}
	room := fishRoom(t, r, "2026-03-10", "10 12:00")
	marl, osier := room.Buckets[0].Vitamins, room.Buckets[1].Vitamins
	// Geraci 1972: 25 to 33 mg for each kilogram; gelatin is none of the 4.5 kg.
	if v := marl[0]; v.Least != 112.5 || v.Most != 148.5 || v.Value != 135 || v.Given != 0 || !strings.Contains(v.Basis, "Geraci 1972") {
		t.Errorf("Marl's thiamine: %+v", v)
	}
	want := []DoseAs{{"b1", "Thiamine", 5.5, "{tablet}", 137.5}, {"multi-2", "Fish eater's tablet", 1.5, "{tablet}", 150}}
	if diff := cmp.Diff(want, marl[0].As); diff != "" {
		t.Error(diff)
	}
	if v := osier[0]; v.Given != 150 || !slices.Equal(v.Unknown, []string{"kelp"}) {
		t.Errorf("Osier's thiamine: %+v", v)
	}
	if v := osier[1]; v.Given != 125 || v.Value != 300 {
		t.Errorf("Osier's vitamin E: %+v", v)
	}
}

// A ration that another facility set names that facility's foods.
func TestARationFromElsewhereIsNotCut(t *testing.T) {
	r := stockroom(t)
	r.record("wrackline-bay", "facility.opened", "2026-01-01T08:00:00Z", `{"name":"Wrackline Bay","zone":"Europe/Dublin"}`)
	r.record("wrackline-bay", "animal.entered", "2026-03-09T09:00:00Z", `{"animal":"marl","name":"Marl","taxon":"Zalophus californianus","sex":"female","how":"arrival","from":"saltgarth"}`)
	s := filledStore(t, r)
	room, err := s.FishRoom("wrackline-bay", "2026-03-10", moment(t, "09 12:00"), time.Time{})
	if err != nil || len(room.Buckets) != 1 || !strings.Contains(room.Buckets[0].Missing, "saltgarth") || len(room.Foods) != 0 {
		t.Errorf("%+v, %v", room, err)
	}
	if left, err := s.FishRoom("saltgarth", "2026-03-10", moment(t, "09 12:00"), time.Time{}); err != nil || len(left.Buckets) != 1 {
		t.Errorf("at Saltgarth: %+v, %v", left, err)
	}
	if nowhere, err := s.FishRoom("tern-sluice", "2026-03-10", moment(t, "09 12:00"), time.Time{}); err != nil || nowhere != nil {
		t.Errorf("of an unknown facility: %+v, %v", nowhere, err)
	}
}

func TestAnAssayGoesBeforeTheFiguresOfTheFood(t *testing.T) {
	r := stockroom(t)
	r.record("saltgarth", "lot.assayed", "2026-02-20T08:00:00Z", `{"lot":"H-1","composition":{"protein":{"value":"17.5","unit":"g"},"fat":{"value":"4.2","unit":"g"}},"sampled":"2026-02-10"}`)
	r.record("saltgarth", "lot.thawed", "2026-03-02T08:00:00Z", `{"lot":"H-3","mass":{"value":"11","unit":"kg"},"how":"water"}`)
	for _, l := range fishRoom(t, r, "2026-03-10", "09 12:00").Lots {
		switch l.Lot {
		case "H-1": // 4.27·17.5 + 9.02·4.2 = 112.6 kcal, and lean below 5 % of fat
			if math.Abs(*l.KcalPer100g-112.609) > 1e-9 || l.Storage.Class != "lean" || l.Expires != "2027-01-10" || *l.AgeDays != 59 || l.Assayed == nil {
				t.Errorf("%+v", l)
			}
		case "H-2":
			if l.Figures != "the food's figures, no assay" || *l.FatG != 9.04 {
				t.Errorf("%+v", l)
			}
		case "H-3":
			if l.FrozenG != -1000 || !strings.Contains(strings.Join(l.Words, ";"), "1.0\u00a0kg more") {
				t.Errorf("more went out than came in: %+v", l)
			}
		}
	}
}

func TestWhatWasBelievedOfAFishRoom(t *testing.T) {
	r := stockroom(t)
	before := r.clock
	r.record("saltgarth", "ration.set", "2026-03-01T08:00:00Z", `{"animal":"osier","items":[{"food":"herring","mass":{"value":"6","unit":"kg"}}]}`)
	s := filledStore(t, r)
	for asOf, want := range map[time.Time]float64{{}: 10500, before: 7500} {
		room, err := s.FishRoom("saltgarth", "2026-03-10", moment(t, "09 12:00"), asOf)
		if err != nil || room.Foods[1].NeedG != want {
			t.Errorf("as of %s: %+v, %v", asOf, room.Foods, err)
		}
	}
}
