package main

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// sheetOf writes the events of a vector as a sheet. Where they have no time of
// day, one is given that keeps their order, unless the sheet is to have days alone.
func sheetOf(v hierarchyVector, daysAlone bool) string {
	lines := []string{"time,winner,loser"}
	for i, e := range v.Events {
		n := len(e)
		at := strings.Join(e[:n-2], " ")
		switch {
		case n == 2:
			at = fmt.Sprintf("2026-03-01 08:%02d", i)
		case n == 3 && !daysAlone:
			at += fmt.Sprintf(" 08:%02d", i)
		}
		lines = append(lines, strings.Join([]string{at, e[n-2], e[n-1]}, ","))
	}
	return strings.Join(lines, "\n") + "\n"
}

// eventsOf is the vector as an object without what it says besides.
func eventsOf(t *testing.T, v hierarchyVector) string {
	t.Helper()
	ids := slices.Sorted(slices.Values(v.IDs))
	raw, err := json.Marshal(map[string]any{"ids": ids, "events": v.Events})
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// sameFigures holds two answers against each other, but for some keys.
func sameFigures(t *testing.T, what string, got, want map[string]any, but ...string) {
	t.Helper()
	for key := range want {
		if !slices.Contains(but, key) {
			if why := apartFrom(got[key], want[key], 0); why != "" {
				t.Errorf("%s, %s: %s", what, key, why)
			}
		}
	}
}

func TestHierarchyOfASheetIsThatOfTheEvents(t *testing.T) {
	for name, but := range map[string][]string{
		"elo_albers_devries2001": nil, "elo_baboons_bab1": nil, "elo_randomized_exact_6": {"verdict"},
	} {
		v := readHierarchyVector(t, hierarchyVectors+name+".json")
		want := hierarchyOf(t, "events.json", eventsOf(t, v))
		sameFigures(t, name, hierarchyOf(t, "encounters.csv", sheetOf(v, false)), want, but...)
	}
	bab := readHierarchyVector(t, hierarchyVectors+"elo_baboons_bab1.json")
	got := hierarchyOf(t, "encounters.csv", sheetOf(bab, true))
	sameFigures(t, "days alone", got, hierarchyOf(t, "events.json", eventsOf(t, bab)), "elo", "notes")
	if note := got["notes"].(map[string]any)["elo"]; !strings.HasPrefix(fmt.Sprint(note), "14 days hold several encounters whose times don't tell their order") {
		t.Errorf("of days alone it says %v", note)
	}
}

// A day alone may be before or after an hour of that day.
func TestHierarchyTakesADayOfUnknownOrderTogether(t *testing.T) {
	for at, together := range map[string]bool{"2026-03-01": true, "2026-03-01 16:00": true, "2026-03-01 12:00": false, "2026-03-02": false} {
		got := hierarchyOf(t, "seals.csv", "time,winner,loser\n2026-03-01 16:00,Marl,Tern\n"+at+",Tern,Marl\n")
		if note := got["notes"].(map[string]any)["elo"]; (note != nil) != together {
			t.Errorf("beside 16:00, %s: %v", at, note)
		}
		if together && got["elo"].(map[string]any)["Marl"] != 1000.0 {
			t.Errorf("beside 16:00, %s: a win and a loss of equals reckoned at once give %v", at, got["elo"])
		}
	}
}

const seals = "time,winner,loser,draw,intensity\n" +
	"2026-03-01 09:00,Marl,Skerry,,low\n2026-03-01 09:30,Marl,Tern,no,high\n2026-03-02 10:00,Skerry,Tern,yes,\n" +
	"2026-03-03 10:00,Skerry,Tern,,medium\n2026-03-04 10:00,Tern,Marl,,\n2026-03-05,Marl,Skerry,0,\n"

func TestHierarchyReadsWhatSpreadsheetsSave(t *testing.T) {
	want := hierarchyOf(t, "seals.csv", seals)
	lines := strings.Split(strings.TrimSpace(seals), "\n")
	slices.Reverse(lines[1:])
	for name, text := range map[string]string{
		"backwards": strings.Join(lines, "\n"), "semicolons": strings.ReplaceAll(seals, ",", ";"),
		"a byte order mark": "\ufeff" + seals, "UTF-16": string(utf16LE(seals)), "Windows lines": strings.ReplaceAll(seals, "\n", "\r\n"),
		"a draw the other way": strings.Replace(seals, "Skerry,Tern,yes", "Tern,Skerry,yes", 1), "names in small": strings.Replace(seals, "Tern,Marl", "tern, marl ", 1),
		"an exported table": strings.ReplaceAll(strings.Replace(seals, "\n", ",signal\n", 1), ",low", ",low,chase"),
		"objects": `{"ids":["Marl","Skerry","Tern"],"events":[{"time":"2026-03-01 09:00","winner":"Marl","loser":"Skerry","intensity":"low"},
			{"time":"2026-03-01T09:30Z","winner":"Marl","loser":"Tern","intensity":"high"},{"time":"2026-03-02 10:00","winner":"Skerry","loser":"Tern","draw":true},
			{"time":"2026-03-03 10:00","winner":"Skerry","loser":"Tern","intensity":"medium"},["2026-03-04","10:00","Tern","Marl"],["2026-03-05","Marl","Skerry"]]}`,
		"objects in UTF-16": string(utf16LE(`{"ids":["Marl","Skerry","Tern"],"events":` + `[{"time":"2026-03-01 09:00","winner":"Marl","loser":"Skerry","intensity":"low"},{"time":"2026-03-01 09:30","winner":"Marl","loser":"Tern","intensity":"high"},{"time":"2026-03-02 10:00","winner":"Skerry","loser":"Tern","draw":"yes"},{"time":"2026-03-03 10:00","winner":"Skerry","loser":"Tern","intensity":"medium"},["2026-03-04","10:00","Tern","Marl"],["2026-03-05","Marl","Skerry"]]}`)),
	} {
		sameFigures(t, name, hierarchyOf(t, "seals.csv", text), want)
	}
	tabs := "time\twinner\tloser\n2026-03-01\tMarl\tTern\n"
	sameFigures(t, "tabs", hierarchyOf(t, "seals.csv", tabs), hierarchyOf(t, "seals.csv", strings.ReplaceAll(tabs, "\t", ",")))
	if elo := want["elo"].(map[string]any); elo["Marl"] == hierarchyOf(t, "seals.csv", strings.Replace(seals, ",high", ",", 1))["elo"].(map[string]any)["Marl"] {
		t.Errorf("a high intensity counts as none: %v", elo)
	}
	if n := want["counts"].(map[string]any)["interactions"]; n != 6.0 {
		t.Errorf("%v encounters", n)
	}
}

func TestHierarchyKeepsApartWhatIsNotTheAnimalsOwn(t *testing.T) {
	text := "time,winner,loser,place,cause\n2026-03-01,Marl,Tern,,\n2026-03-02,Tern,Marl,gate,\n2026-03-03,Tern,Marl,,keeper\n2026-03-04,Tern,Marl,food,Keeper\n"
	path := hierarchyFileOf(t, "seals.csv", text)
	got := hierarchyFigures(t, path)
	if n := got["counts"].(map[string]any)["interactions"]; n != 1.0 {
		t.Errorf("%v encounters are counted", n)
	}
	for _, want := range []string{"Mind: 2 encounters are kept apart and not counted: a keeper brought it about.", "Mind: 1 encounter is kept apart and not counted: it happened at a gate."} {
		if said := hierarchy(t, path); !strings.Contains(said, want) {
			t.Errorf("nothing of %q in\n%s", want, said)
		}
	}
}

func TestHierarchyRefusesBadSheets(t *testing.T) {
	const header = "time,winner,loser,draw,intensity\n2026-03-01,Marl,Tern,,\n"
	for name, c := range map[string]struct {
		text string
		say  []string
	}{
		"itself":                 {header + "2026-03-02,Marl,marl,,\n", []string{`line 3, loser "marl"`, "is the same animal as the winner"}},
		"two winners":            {header + "2026-03-02,Marl & Skerry,Tern,,\n", []string{`line 3, winner "Marl & Skerry"`, "one winner and one loser", "a line for each pair"}},
		"two winners, another":   {header + "2026-03-02,\"Skerry, Marl\",Tern,,\n", []string{`line 3, winner "Skerry, Marl"`, "names two animals"}},
		"two losers by and":      {header + "2026-03-02,Skerry,Marl and Tern,,\n", []string{`line 3, loser "Marl and Tern"`, "names two animals"}},
		"a winner too many":      {"time,winner,loser\n2026-03-02,Marl,Skerry,Tern\n", []string{`line 2`, "stands under no column", "one winner and one loser"}},
		"nobody won":             {header + "2026-03-02,,Tern,,\n", []string{`line 3, winner ""`, "name the animal"}},
		"an intensity":           {header + "2026-03-02,Marl,Tern,,hig\n", []string{`line 3, intensity "hig"`, "use low, medium, high", `perhaps you mean "high"`}},
		"a draw of perhaps":      {header + "2026-03-02,Marl,Tern,perhaps,\n", []string{`line 3, draw "perhaps"`, "write yes or no"}},
		"a time":                 {header + "02/03/2026,Marl,Tern,,\n", []string{`line 3, time "02/03/2026"`, "write a time as 2026-03-01 16:00"}},
		"no time":                {header + ",Marl,Tern,,\n", []string{`line 3, time ""`, "is empty"}},
		"a cause":                {"time,winner,loser,cause\n2026-03-02,Marl,Tern,storm\n", []string{`line 2, cause "storm"`, "use keeper, gate, coalition"}},
		"two slips in two lines": {header + "x,Marl,Marl,,\n2026-03-02,Marl,Tern,,loud\n", []string{`line 3, time "x"`, `line 3, loser "Marl"`, `line 4, intensity "loud"`}},
		"a column":               {"time,winner,looser\n", []string{`"looser" is not known; perhaps you mean "loser"`, `"loser" is missing`}},
		"nothing":                {"", []string{"the file is empty; its first line names the columns"}},
		"blank lines":            {"\n \n", []string{"seals.csv"}},
		"bytes":                  {"time,winner,loser\n\xff\x00", []string{"save the file as CSV in UTF-8"}},
	} {
		t.Run(name, func(t *testing.T) {
			refusesHierarchy(t, hierarchyFileOf(t, "seals.csv", c.text), append(c.say, "seals.csv")...)
		})
	}
	refusesHierarchy(t, "-", "-")
	refusesHierarchy(t, "absent.csv", "absent.csv")
}

func TestHierarchyRefusesBadObjects(t *testing.T) {
	for name, c := range map[string]struct{ text, say string }{
		"a list":                    {`[]`, "is no JSON object"},
		"half an object":            {`{"ids":`, "is no JSON object"},
		"nothing":                   {`{}`, "neither a matrix nor events"},
		"both":                      {`{"ids":["A"],"matrix":[[0]],"events":[]}`, "more than one of matrix, events and ops"},
		"a misspelt key":            {`{"ids":["A"],"matirx":[[0]]}`, `perhaps you mean "matrix"`},
		"no names":                  {`{"matrix":[[0]]}`, "ids is missing; name the animals"},
		"an empty name":             {`{"ids":["A"," "],"matrix":[[0,1],[0,0]]}`, "ids[1] is empty"},
		"a name twice":              {`{"ids":["A","A"],"matrix":[[0,1],[0,0]]}`, `"A" is listed twice`},
		"names that are numbers":    {`{"ids":[1,2],"matrix":[[0,1],[0,0]]}`, "give a list of names"},
		"a row too few":             {`{"ids":["A","B"],"matrix":[[0,1]]}`, "2 animals but 1 rows"},
		"a count too few":           {`{"ids":["A","B"],"matrix":[[0,1],[0]]}`, `the row of "B" does not have 2 columns`},
		"a count below zero":        {`{"ids":["A","B"],"matrix":[[0,-1],[0,0]]}`, `wins of "A" over "B": -1 is out of range: give a count from 0`},
		"half a win":                {`{"ids":["A","B"],"matrix":[[0,1.5],[0,0]]}`, `1.5 wins are not whole encounters: give whole wins`},
		"over itself":               {`{"ids":["A","B"],"matrix":[[1,1],[0,0]]}`, "can't meet itself: give 0"},
		"no count":                  {`{"ids":["A","B"],"matrix":[[null,null],[0,0]]}`, "matrix[0][1] is null; give a count, 0 where none was seen"},
		"a text for a count":        {`{"ids":["A","B"],"matrix":[[0,"x"],[0,0]]}`, "a count for each"},
		"a convention":              {`{"ids":["A","B"],"matrix":[[0,1],[0,0]],"convention":"rows flee"}`, `write "row beats column" or "column beats row"`},
		"events that are none":      {`{"ids":["A"],"events":7}`, "events is 7; give a list"},
		"itself":                    {`{"ids":["A","B"],"events":[["A","A"]]}`, `events[0], loser "A": is the same animal as the winner`},
		"an animal that is not":     {`{"ids":["Marl","Tern"],"events":[["Marl","Tern"],["Marl","Ternn"]]}`, `events[1], loser "Ternn": is not one of ids; add it there or correct the name; perhaps you mean "Tern"`},
		"two winners":               {`{"ids":["A","B","C"],"events":[["2026-03-01","08:00","A","B","C"]]}`, "events[0] is [\"2026-03-01\",\"08:00\",\"A\",\"B\",\"C\"]; give texts: winner and loser"},
		"two winners without hours": {`{"ids":["A","B","C"],"events":[["2026-03-01","A","B","C"]]}`, `events[0], time "2026-03-01 A": write a time`},
		"a list of winners":         {`{"ids":["A","B","C"],"events":[{"winner":["A","B"],"loser":"C"}]}`, `events[0]: winner is ["A","B"]; give text`},
		"a time":                    {`{"ids":["A","B"],"events":[["yesterday","A","B"]]}`, `events[0], time "yesterday": write a time`},
		"an intensity":              {`{"ids":["A","B"],"events":[{"winner":"A","loser":"B","intensity":"loud"}]}`, `events[0], intensity "loud": is not known; use low, medium, high`},
		"events out of order":       {`{"ids":["A","B"],"events":[["2026-03-02","A","B"],["2026-03-01","A","B"]]}`, "events[1] is before the one above it; list events as they followed each other"},
		"hours out of order":        {`{"ids":["A","B"],"events":[["2026-03-02","10:00","A","B"],["2026-03-02","9:00","A","B"]]}`, "events[1] is before the one above it"},
		"a curve":                   {`{"ids":["A","B"],"events":[],"params":{"curve":"logistik"}}`, `params: curve is "logistik"; use normal, logistic or exponential; perhaps you mean "logistic"`},
		"no stake":                  {`{"ids":["A","B"],"events":[],"params":{"k":0}}`, "k: 0"},
		"a start of nobody":         {`{"ids":["A","B"],"events":[],"start_values":{"C":1}}`, `start_values, "C": is not one of ids`},
		"a start that is null":      {`{"ids":["A","B"],"events":[],"start_values":{"A":null}}`, `start_values, "A": is null`},
		"an operation":              {`{"ids":["A","B"],"ops":[{"op":"ad"}]}`, `ops[0]: op is "ad"; use add, amend or retract`},
		"a target that is not":      {`{"ids":["A","B"],"ops":[{"op":"retract","target":"e1"}]}`, `ops[0]: target "e1" is not among what was added before`},
		"added twice":               {`{"ids":["A","B"],"ops":[{"op":"add","id":"e1","t":"2026-03-01","winner":"A","loser":"B"},{"op":"add","id":"e1","t":"2026-03-01","winner":"A","loser":"B"}]}`, `ops[1]: id "e1" was added before`},
		"amended to itself":         {`{"ids":["A","B"],"ops":[{"op":"add","id":"e1","t":"2026-03-01","winner":"A","loser":"B"},{"op":"amend","target":"e1","loser":"A"}]}`, `ops[1], loser "A": is the same animal`},
	} {
		t.Run(name, func(t *testing.T) { refusesHierarchy(t, hierarchyFileOf(t, "seals.json", c.text), c.say, "seals.json") })
	}
}

func TestHierarchyTransposesWhatFlees(t *testing.T) {
	won := hierarchyOf(t, "won.json", `{"ids":["A","B","C"],"matrix":[[0,3,4],[1,0,2],[0,0,0]]}`)
	fled := hierarchyOf(t, "fled.json", `{"ids":["A","B","C"],"matrix":[[0,1,0],[3,0,0],[4,2,0]],"convention":"column beats row"}`)
	sameFigures(t, "fled", fled, won)
}
