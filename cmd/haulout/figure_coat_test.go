package main

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"haulout/projections/coat"
)

// coatClaims say what of the vectors was published: the vignette's figures of the
// sanderlings, within the 1 % that its form with bounds and ours with densities
// may differ by; its likelihoods are of an index known to two hundredths.
func coatClaims(_ string, got map[string]any, c claim) []claim {
	published := map[string][2]string{
		"published_type2_Erni2013_vignette": {"type2", "type2_integral_prec004"}, "published_type3_Erni2013_vignette": {"type3", "type3_integral_prec004"},
	}
	from, is := published[c.key]
	switch {
	case c.key == "blup_lme4": // the same, as another program has it
		c.got = got["blup"]
		return []claim{c}
	case !is:
		return []claim{c}
	}
	fit := got[from[0]].(map[string]any)
	errors := fit["se"].([]any)
	ours := map[string]any{"duration": fit["duration"], "mean_start": fit["mean_start"], "sd_start": fit["sd_start"], "se_duration": errors[0], "se_mean": errors[1], "loglik": got[from[1]].(map[string]any)["loglik"]}
	return []claim{{"published", c.key, ours, c.want, 0.01, ""}}
}

func TestCoatHasTheFiguresOfTheVectors(t *testing.T) {
	vectorsHold(t, "coat", "coat/molt-onset-*.json", 1, 8, coatClaims)
	vectorsHold(t, "coat", "coat/molt-shrinkage-*.json", 2, 32, coatClaims)
	vectorsHold(t, "coat", "coat/molt-underhill-*.json", 1, 6, coatClaims)
}

const coatHeader = "animal,day,percent\n"

// moltFrom are scores of one molt, every eight days or so.
func moltFrom(animal string, onset time.Time) string {
	var text strings.Builder
	for _, at := range [][2]int{{-24, 0}, {-12, 0}, {-4, 0}, {4, 10}, {12, 20}, {24, 40}, {36, 60}, {48, 80}, {58, 95}, {66, 100}} {
		fmt.Fprintf(&text, "%s,%s,%d\n", animal, onset.AddDate(0, 0, at[0]).Format(time.DateOnly), at[1])
	}
	return text.String()
}

// The next onset is a year after the last, wherever in the year that is, and on
// either hemisphere; a molt over New Year stays in one piece.
func TestCoatExpectsTheNextMoltAllOverTheYear(t *testing.T) {
	for day := 0; day < 365; day += 15 {
		text := coatHeader
		for year := 2020; year < 2024; year++ {
			text += moltFrom("Marl", time.Date(year, 1, 1+day, 0, 0, 0, 0, time.UTC))
		}
		path := figureFileOf(t, "scores.csv", text)
		for _, hemisphere := range []string{"north", "south"} {
			got := figureJSON(t, "coat", path, "--hemisphere", hemisphere)["animals"].([]any)[0].(map[string]any)
			seen := 0
			for _, y := range got["years"].([]any) {
				if year := y.(map[string]any); year["onset"] != nil && year["end"] != nil {
					seen++
				}
			}
			next, ok := got["next"].(map[string]any)
			if seen != 4 || !ok {
				t.Fatalf("from day %d: %d whole molts, next %v", day, seen, got["next"])
			}
			likely, err := coat.ParseDay(next["likely"].(string))
			if err != nil {
				t.Fatal(err)
			}
			if apart := float64(likely - coat.On(2024, 1, 1+day)); math.Abs(apart) > 4 {
				t.Errorf("from day %d, %s: expected on %v, which is %.0f days off", day, hemisphere, next["likely"], apart)
			}
			if standing := got["standing"].(map[string]any)["word"]; standing != "as expected" {
				t.Errorf("from day %d, %s: it is %v", day, hemisphere, got["standing"])
			}
		}
	}
}

func TestCoatSaysWhatWasSeen(t *testing.T) {
	text := "animal,day,stage,percent,regions,taxon,sex,born,facility\n"
	add := func(animal string, year, day int, more string) {
		for line := range strings.Lines(moltFrom(animal, time.Date(year, 8, day, 0, 0, 0, 0, time.UTC))) {
			cells := strings.Split(strings.TrimSpace(line), ",")
			regions := ""
			if cells[2] != "0" {
				regions = "flippers belly"
			}
			text += fmt.Sprintf("%s,%s,,%s,%s,%s\n", cells[0], cells[1], cells[2], regions, more)
		}
	}
	for year := 2021; year < 2024; year++ {
		add("Marl", year, 5, "Eumetopias jubatus,female,2012-06-20,saltgarth")
		add("Tern", year, 12, "Eumetopias jubatus,female,2013,saltgarth")
		add("Skerry", year, 9, "Eumetopias jubatus,female,2011,saltgarth")
	}
	text += "Marl,2024-10-20,0,,,,,,saltgarth\nTern,2024-08-02,0,,,,,,saltgarth\nTern,2024-08-10,1,30,,,,,saltgarth\nWrack,2024-10-20,3,,,Eumetopias jubatus,male,2015,saltgarth\n"
	path := figureFileOf(t, "scores.csv", text)
	got := figureText(t, "coat", path, "--hemisphere", "north")
	for _, say := range []string{
		"As of 20 October 2024, the last day with a score in the file:", "Marl: late. No new coat on 20 October 2024; expected 9 in 10 between",
		"Coat year 2022: began between 1 August 2022 and 9 August 2022; all new between", "New coat first showed: flippers between 1 August 2022 and 9 August 2022, belly",
		"Skerry: not enough data. Not scored", "30 % of new coat is stage 2, and stage 1 was given; the percentage counts", "Wrack: not enough data.",
		"No next onset is expected: that needs 2 molts of its own with a known onset.", "Published of Eumetopias jubatus, Lowrie Island, Alaska: 7 August, 26 October, adult females",
		"Said in the trade: females molt from August", "common practice, no source", "Stages: this project's own scale",
	} {
		if !strings.Contains(got, say) {
			t.Errorf("nothing of %q in\n%s", say, got)
		}
	}
	if again := figureText(t, "coat", figureFileOf(t, "scores.csv", turnedLines(text)), "--hemisphere", "north"); again != got {
		t.Errorf("the same lines in another order say\n%s", again)
	}
	if none := figureText(t, "coat", path); !strings.Contains(none, "Mind: no --hemisphere is given, so no published date counts.") || strings.Contains(none, "Said in the trade") {
		t.Errorf("without a hemisphere it says\n%s", none)
	}
	one := figureText(t, "coat", figureFileOf(t, "scores.csv", "day,stage\n2026-08-01,0\n2026-08-09,1\n"))
	if !strings.Contains(one, "The animal: not enough data. 0 molts with a known onset on record as animal of unknown sex and age") {
		t.Errorf("of one animal without a name it says\n%s", one)
	}
}

// null is what is not known, and a molt over New Year counts its days on.
func TestCoatOfValues(t *testing.T) {
	whole := figureJSON(t, "coat", figureFileOf(t, "m.json", `{"day":[340,350,360,370,380,400],"percent_new":[0,0,20,50,80,100],"tau_days":40}`))
	holes := figureJSON(t, "coat", figureFileOf(t, "m.json", `{"day":[340,350,355,360,370,null,380,400],"percent_new":[0,0,null,20,50,60,80,100],"tau_days":40}`))
	if holes["left_out"] != 2.0 || holes["onset"] != whole["onset"] || whole["end"].(float64) < 380 || relativelyApart(whole["onset_interval"], []any{350.0, 360.0}, 0) != "" {
		t.Errorf("with what is not known %v, without it %v", holes, whole)
	}
	unseen := figureJSON(t, "coat", figureFileOf(t, "m.json", `{"day":[10,20],"percent_new":[30,60],"tau_days":40}`))
	if in := unseen["onset_interval"].([]any); in[0] != nil || in[1] != 10.0 || unseen["end"] != nil {
		t.Errorf("of a molt that nobody saw begin %v", unseen)
	}
	for text, say := range map[string]string{
		`{"day":[10,20],"percent_new":[0,0]}`:              "Cannot be told: no score is in molt",
		`{"day":10,"percent_new":0}`:                       "Cannot be told: no score is in molt",
		`{"day":[1,10,20,30],"percent_new":[0,50,30,100]}`: "Mind: less new coat on day 20 after day 10; look at it.",
		`{"day":[10,20],"percent_new":[30,60]}`:            "nobody looked before day 10",
		`{"y":[214,219],"group":["A","A"]}`:                "Cannot be told: 1 animal has figures; how animals differ needs 2",
		`{"y":[214,219],"group":["A","B"]}`:                "Cannot be told: no animal has two figures",
		`{"y":214,"group":"A"}`:                            "Cannot be told: 1 animal has figures",
		`{"day":[1,2],"index":[0,1]}`:                      "By how far each animal was: cannot be told, 2 scores; a season needs 10",
	} {
		if got := figureText(t, "coat", figureFileOf(t, "m.json", text)); !strings.Contains(got, say) {
			t.Errorf("of %s it says\n%sand nothing of %q", text, got, say)
		}
		figureJSON(t, "coat", figureFileOf(t, "m.json", text))
	}
}

func TestCoatRefusesWhatItCannotRead(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		say  []string
	}{
		"percent over 100":        {coatHeader + "Marl,2026-08-01,120\n", []string{`line 2, percent "120"`, "give the share of new coat from 0 to 100"}},
		"percent below nought":    {coatHeader + "Marl,2026-08-01,-5\n", []string{`line 2, percent "-5"`, "below 0"}},
		"percent as a word":       {coatHeader + "Marl,2026-08-01,half\n", []string{`line 2, percent "half"`, "is no number"}},
		"a stage of 6":            {"animal,day,stage\nMarl,2026-08-01,6\n", []string{`line 2, stage "6"`, "give 0, none, to 5, all new"}},
		"neither":                 {"animal,day,stage,percent\nMarl,2026-08-01,,\n", []string{"line 2, percent", "and so is the stage"}},
		"a date":                  {coatHeader + "Marl,1.8.2026,10\n", []string{`line 2, day "1.8.2026"`, "write a time as"}},
		"a region":                {"animal,day,stage,regions\nMarl,2026-08-01,1,flipers\n", []string{`line 2, regions "flipers"`, `perhaps you mean "flippers"`}},
		"a sex":                   {"animal,day,stage,sex\nMarl,2026-08-01,1,cow\n", []string{`line 2, sex "cow"`, "use one of female, male, unknown"}},
		"two sexes":               {"animal,day,stage,sex\nMarl,2026-08-01,1,female\nMarl,2026-08-09,1,male\n", []string{`line 3, sex "male"`, "is not what line 2 says of Marl, female"}},
		"two births":              {"animal,day,stage,born\nMarl,2026-08-01,1,2012\nMarl,2026-08-09,1,2013\n", []string{`line 3, born "2013"`, "line 2 says of Marl, 2012"}},
		"a birth":                 {"animal,day,stage,born\nMarl,2026-08-01,1,spring\n", []string{`line 2, born "spring"`, "write a date as 2015-06-10"}},
		"no animal":               {coatHeader + ",2026-08-01,10\n", []string{`line 2, animal ""`, "name the animal"}},
		"two animals in a cell":   {coatHeader + "Marl,2026-08-01,10\nMarl & Tern,2026-08-01,10\n", []string{`line 3, animal "Marl & Tern"`, "a line is about one"}},
		"no column of scores":     {"animal,day\nMarl,2026-08-01\n", []string{`column "percent" is missing; head it stage or percent`}},
		"no day":                  {"animal,stage\nMarl,1\n", []string{`column "day" is missing`}},
		"another column":          {"animal,day,stge\n", []string{`"stge" is not known; perhaps you mean "stage"`}},
		"an empty file":           {"", []string{"the file is empty"}},
		"percent of an object":    {`{"day":[1],"percent_new":[101]}`, []string{"percent_new has 101", "give 0 to 100"}},
		"an index over 1":         {`{"day":[1],"index":[1.5]}`, []string{"index has 1.5", "give 0 to 1"}},
		"lists of two lengths":    {`{"day":[1,2],"percent_new":[10]}`, []string{"day has 2 numbers and percent_new 1"}},
		"other thresholds":        {`{"day":[1],"percent_new":[10],"thresholds":[10,50,90]}`, []string{"are read at [5 50 95] %"}},
		"no time to molt":         {`{"day":[1,2],"percent_new":[0,10],"tau_days":0}`, []string{"tau_days is 0"}},
		"two molts":               {`{"day":[1,20,60,366,385,425],"percent_new":[0,50,100,0,50,100]}`, []string{"hold 2 molts; give one of them"}},
		"nothing that is known":   {`{"day":[null],"percent_new":[10]}`, []string{"day and percent_new are empty"}},
		"a figure of nobody":      {`{"y":[1],"group":[""]}`, []string{"group[0] is empty; name the animal"}},
		"more figures than names": {`{"y":[1,2],"group":["A"]}`, []string{"y has 2 numbers and group 1"}},
		"no key that is read":     {`{"scores":[1]}`, []string{"day index", "y group"}},
	} {
		t.Run(name, func(t *testing.T) {
			figureRefuses(t, []string{"coat", "--in", figureFileOf(t, "scores", c.text)}, append(c.say, "scores")...)
		})
	}
	figureRefuses(t, []string{"coat"}, "--in is missing; name the file of scores")
	figureRefuses(t, []string{"coat", "--in", "x", "--hemisphere", "nort"}, `--hemisphere "nort"`, `perhaps you mean "north"`)
}
