package web_test

import (
	"strings"
	"testing"
	"time"

	"haulout/events"
	"haulout/web"
)

func TestTodayTellsFedFromNotYetFromNotHeard(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.week()
	page := c.page("/today", 200)
	wants(t, page,
		"Wednesday 17 June 2026, 13:00",
		"Of 3 animals, 1 is fed, 0 weighed and 1 looked over today.",
		"Tern Sluice has been silent for 27 h 59 min.",
		"1 of 2 fed, 0 weighed, 1 looked over. Up to entry 26",
		"1.9 of 4.6 kg", "0.5 kg refused", "8 days ago", "08:05 rhona",
		"Nothing has come in since Tue 09:01. Up to entry 2")
	rows := strings.Split(page, "<tr>")[1:]
	row := func(name string) string {
		for _, r := range rows {
			if strings.Contains(r, `</svg>`+name) || strings.Contains(r, `</span>`+name) {
				return plain("<tr>" + strings.Split(r, "</tr>")[0] + "</tr>")
			}
		}
		t.Fatalf("no row for %s", name)
		return ""
	}
	if got := row("Osier"); !strings.Contains(got, "not yet") || strings.Contains(got, "not heard") {
		t.Errorf("Osier's row says %q", got)
	}
	if got := row("Gorse"); !strings.Contains(got, "not heard") || strings.Contains(got, "not yet") {
		t.Errorf("Gorse's row says %q", got)
	}
}

func TestTodayIsCalmOnceAllIsDone(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.feed("marl", "2026-06-17T08:00:00Z", "4.6", "4.6")
	c.feed("osier", "2026-06-17T08:10:00Z", "3.0", "3.0")
	c.record("saltgarth", "rhona", "check.made", "2026-06-17T08:20:00Z", &events.CheckMade{Animal: "marl"})
	if page := c.page("/today?facility=saltgarth", 200); strings.Contains(page, `class="calm"`) {
		t.Error("calm before Osier was looked over")
	}
	c.record("saltgarth", "rhona", "check.made", "2026-06-17T08:25:00Z", &events.CheckMade{Animal: "osier"})
	wants(t, c.page("/today?facility=saltgarth", 200), "All done at Saltgarth. 2 animals fed to the ration and looked over, last entry 09:25.")
}

func TestTodayMarksAnAnimalThatRefusedEverything(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.feed("marl", "2026-06-17T08:00:00Z", "1.5", "0")
	wants(t, c.page("/today", 200), "0.0 of 4.6 kg refused")
}

func TestAVisitorSeesOnlyTheirFacilities(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.visitor = web.Visitor{Name: "Odo", SignedIn: true, Facilities: []string{"tern-sluice"}}
	for _, path := range []string{"/today", "/animals", "/deck/sheet.json"} {
		if got := c.get(path, 200); strings.Contains(got, "Marl") || !strings.Contains(got, "Gorse") {
			t.Errorf("%s shows another facility's animals, or not its own", path)
		}
	}
	c.page("/animals/marl", 404)
	c.get("/animals/marl/days.csv", 404)
	c.page("/animals/gorse", 200)
	c.page("/today?facility=saltgarth", 404)
	c.get("/deck/sheet.json?facility=saltgarth", 404)
}

func TestAnimalsListsAgesAsPreciselyAsBirthsAreKnown(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.week()
	c.record("saltgarth", "rhona", "animal.left", "2026-06-12T10:00:00Z", &events.AnimalLeft{Animal: "osier", How: "move", To: "wrackline-bay"})
	page := c.page("/animals", 200)
	wants(t, page, "2 animals in care, 1 has left.", "California sea lion female", "6 years", "Odobenus imaginarius", "about 11 to 12 years",
		"Long Pool", "87.9 kg", "moved, wrackline-bay", "12 June 2026")
}

func TestAgeFromBirthsAsUncertainAsTheyAre(t *testing.T) {
	for born, want := range map[string]string{
		"2020-06-09":  "6 years",
		"2020-06-18":  "5 years", // her birthday is tomorrow
		"2020":        "5 to 6 years",
		"2020-06":     "5 to 6 years",
		"2020-06-XX":  "5 to 6 years",
		"2025-12-17":  "6 months",
		"2026-05-01":  "6 weeks",
		"2014/2016":   "9 to 12 years",
		"../2016":     "at least 9 years",
		"2016/..":     "at most 10 years",
		"201X":        "6 to 16 years",
		"2016-22":     "9 to 10 years", // a season counts as its year
		"2016-06-01~": "about 10 years",
		"":            "age not stated",
	} {
		c := newColony(t)
		c.record("saltgarth", "rhona", "facility.opened", "2026-01-01T08:00:00Z", &events.FacilityOpened{Name: "Saltgarth", Zone: "Europe/Dublin"})
		c.enter("marl", "Marl", 1, born, "2026-06-01T08:00:00Z")
		wants(t, c.page("/animals", 200), want)
	}
}

func TestTheSheetHoldsWhatAPhoneNeeds(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.week()
	sheet := c.get("/deck/sheet.json?facility=saltgarth", 200)
	for _, part := range []string{
		`"visitor":{"name":"Rhona","records":true}`, `"now":"2026-06-17T12:00:00Z"`, `"up_to":26`, `"zone":"Europe/Dublin"`,
		`"id":"marl","name":"Marl","tape":4,"enclosure":"long","pool":"Long Pool","ration":[{"food":"herring","grams":4600}],"eaten":{"herring":1900}`,
		`"weight":{"kg":87.9,"time":"2026-06-09T08:00:00Z","coat":"dry","least":87.9,"most":88.9,"count":5}`,
		`{"id":"herring","name":"Herring","lot":"H-1"}`, `{"id":"squid","name":"Squid"}`,
		`"animal":"marl","name":"chin on scale"`, `"at":1`,
		`"text":"Fed Herring 1.9 of 2.4` + "\u00a0" + `kg"`,
	} {
		if !strings.Contains(sheet, part) {
			t.Errorf("the sheet lacks %s\n%s", part, sheet)
		}
	}
}

func TestTheSheetIsNotForThoseWhoAreSignedOut(t *testing.T) {
	c := newColony(t)
	c.settle()
	c.visitor = web.Visitor{}
	if got := c.get("/deck/sheet.json", 401); strings.Contains(got, "Marl") {
		t.Errorf("signed out, the sheet is %s", got)
	}
}

func TestAFacilityIsHeardUpToTwelveHours(t *testing.T) {
	for hours, silent := range map[int]bool{11: false, 13: true} {
		c := newColony(t)
		at := noon.Add(-time.Duration(hours) * time.Hour)
		c.recordAt("saltgarth", "rhona", "facility.opened", at, at, &events.FacilityOpened{Name: "Saltgarth", Zone: "UTC"})
		c.recordAt("saltgarth", "rhona", "animal.entered", at, at, &events.AnimalEntered{Animal: "marl", Name: "Marl", Taxon: "Phoca vitulina", Sex: "male", How: "birth"})
		if got := strings.Contains(c.page("/today", 200), "not heard"); got != silent {
			t.Errorf("after %d h: not heard is %v", hours, got)
		}
	}
}
