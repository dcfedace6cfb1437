package main

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

func TestSeasonHasTheFiguresOfTheVectors(t *testing.T) {
	vectorsHold(t, "season", "coat/molt-circular-*.json", 2, 36, asIs)
	vectorsHold(t, "season", "coat/molt-watson-williams.json", 1, 4, asIs)
}

// datesAbout are days about one, as the lines of a sheet.
func datesAbout(middle time.Time, group string) string {
	var text strings.Builder
	for i, days := range []int{-21, -9, -2, 2, 9, 21} {
		fmt.Fprintf(&text, "%s,%s\n", middle.AddDate(i%3, 0, days).Format(time.DateOnly), group)
	}
	return text.String()
}

// The mean is the day that the dates lie about, wherever in the year that is, and
// so is it of seasons on the other hemisphere, half a year away.
func TestSeasonOfDatesAllOverTheYear(t *testing.T) {
	for day := 0; day < 365; day += 7 {
		north := time.Date(2025, 1, 1+day, 0, 0, 0, 0, time.UTC)
		south := north.AddDate(0, 0, 182)
		got := figureJSON(t, "season", figureFileOf(t, "onsets.csv", "date,group\n"+datesAbout(north, "north")+datesAbout(south, "south")))
		groups := got["groups"].([]any)
		for i, middle := range []time.Time{north, south} {
			mean, err := time.Parse("2006-01-02", "2025-"+groups[i].(map[string]any)["mean"].(string))
			if err != nil {
				t.Fatal(err)
			}
			if apart := math.Remainder(mean.Sub(middle).Hours()/24, 365); math.Abs(apart) > 1.5 {
				t.Errorf("dates about %s have their mean on %s", middle.Format("2 January"), mean.Format("2 January"))
			}
		}
		if all := got["all"].(map[string]any); all["mean"] != nil || !strings.Contains(all["not_enough"].(string), "all round the year") {
			t.Errorf("two seasons half a year apart have the mean %v: %v", all["mean"], all["not_enough"])
		}
		if c := got["watson_williams"].(map[string]any); c["p"].(float64) > 1e-6 || c["not_enough"] != nil {
			t.Errorf("two seasons half a year apart are not told apart: %v", c)
		}
	}
}

// Day 1 of an object is 1 January of a sheet.
func TestSeasonOfDaysIsThatOfDates(t *testing.T) {
	dates := "date,group\n"
	for i, list := range [][]int{{355, 362, 3, 11}, {40, 48, 33}} {
		for _, day := range list {
			dates += fmt.Sprintf("%s,group%d\n", time.Date(2025, 1, day, 0, 0, 0, 0, time.UTC).Format(time.DateOnly), i+1)
		}
	}
	sheet := figureText(t, "season", figureFileOf(t, "onsets.csv", dates))
	object := figureText(t, "season", figureFileOf(t, "onsets.json", `{"group1":[355,362,3,11],"group2":[40,48,33],"period":365}`))
	if sheet != object || !strings.Contains(sheet, "group1, 4 dates: mean 31 December") || !strings.Contains(sheet, "The mean of group2 is 40 days after that of group1.") {
		t.Errorf("the sheet says\n%sand the object\n%s", sheet, object)
	}
}

func TestSeasonOfFewDates(t *testing.T) {
	for text, say := range map[string]string{
		"date\n2026-08-14\n":                                                   "one date does not say how far others lie about it",
		"date\n2026-08-14\n2025-08-14\n2026-08-14\n":                           "kappa without end, as all dates are one",
		"date,group\n2026-08-14,a\n2026-08-20,a\n2026-09-01,b\n":               "The groups are not compared: b has one direction",
		"date,group\n2026-01-14,a\n2026-07-20,a\n2026-03-01,b\n2026-09-20,b\n": "The groups are not compared: the groups lie too widely round the year",
		`{"degrees":[0,90,180,270]}`:                                           "Mind: they lie all round, so the mean says nothing: R 0.00, and a mean needs 0.3.",
		`{"day_of_year":212}`:                                                  "1 date: mean on day 212.0 of the year",
		`{"degrees":[10,null,20]}`:                                             "Mind: 1 direction is not known and left out",
		`{"group1":[10],"group2":[20,30]}`:                                     "group1 has one direction; a comparison needs two of each",
		`{"group1":[10,12],"group2":[20,30],"group3":[40,44]}`:                 "group3, 2 dates",
	} {
		if got := figureText(t, "season", figureFileOf(t, "file", text)); !strings.Contains(got, say) {
			t.Errorf("of %s it says\n%sand nothing of %q", text, got, say)
		}
		figureJSON(t, "season", figureFileOf(t, "file", text))
	}
}

func TestSeasonRefusesWhatItCannotRead(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		say  []string
	}{
		"a date that is none":    {"date\n2026-08-14\n14.8.2026\n", []string{`line 3, date "14.8.2026"`, "write a time as"}},
		"a day that was not":     {"date\n2025-02-29\n", []string{`line 2, date "2025-02-29"`}},
		"no date":                {"date,group\n,a\n", []string{`line 2, date ""`, "write a day as 2026-03-01"}},
		"no group":               {"date,group\n2026-08-14,\n", []string{`line 2, group ""`, "name the group"}},
		"another column":         {"dates\n2026-08-14\n", []string{`"dates" is not known; perhaps you mean "date"`}},
		"nothing":                {"", []string{"the file is empty"}},
		"no line":                {"date\n", []string{"there is no line below the columns"}},
		"no key that is read":    {`{"days":[1]}`, []string{"day_of_year degrees", "group1 group2"}},
		"a misspelt key":         {`{"day_of_year":[1],"perid":365}`, []string{`"perid" is not known; perhaps you mean "period"`}},
		"a day past the year":    {`{"day_of_year":[12,400]}`, []string{"day_of_year[1] is 400", "1 for 1 January"}},
		"a day below nought":     {`{"group1":[1,-3],"group2":[4,5]}`, []string{"group1[1] is -3"}},
		"a year of no days":      {`{"day_of_year":[12],"period":0}`, []string{"period is 0; give the days of a year"}},
		"nothing that is known":  {`{"day_of_year":[null]}`, []string{"there is no direction"}},
		"an empty group":         {`{"group1":[],"group2":[4,5]}`, []string{"group1 is empty"}},
		"one group":              {`{"group1":[4,5]}`, []string{"give group1 and group2"}},
		"degrees of other days":  {`{"day_of_year":[12],"degrees":[90]}`, []string{"degrees[0] is not the angle of day_of_year[0]"}},
		"more degrees than days": {`{"day_of_year":[12],"degrees":[9,10]}`, []string{"leave one of the lists out"}},
		"a group that is a text": {`{"group1":"a","group2":[4,5]}`, []string{`group1 is "a"; give a list of days`}},
		"half an object":         {`{"degrees":`, []string{"is no JSON object"}},
		"a list":                 {`[1,2]`, []string{"is no JSON object"}},
	} {
		t.Run(name, func(t *testing.T) {
			figureRefuses(t, []string{"season", "--in", figureFileOf(t, "onsets", c.text)}, append(c.say, "onsets")...)
		})
	}
	figureRefuses(t, []string{"season"}, "--in is missing; name the file of dates")
	figureRefuses(t, []string{"season", "--in", "absent.csv"}, "absent.csv")
}
