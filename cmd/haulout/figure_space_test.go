package main

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
)

// herdOf is so many lines of mature animals of a kind and sex.
func herdOf(n int, taxon, sex string) string {
	return strings.Repeat(","+taxon+","+sex+",yes\n", n)
}

const spaceHeader = "animal,taxon,sex,mature\n"

// The worked cases S1 to S8 of the formulas of 9 CFR 3.104(d), formulas and
// lengths from memory and to be verified, the arithmetic by hand.
func TestSpaceOfTheWorkedCases(t *testing.T) {
	const californian, harbour, steller, bearded, ringed = "Zalophus californianus", "Phoca vitulina", "Eumetopias jubatus", "Erignathus barbatus", "Phoca hispida"
	for name, c := range map[string]struct {
		animals            string
		area, width, depth float64
	}{
		"S1, one of group I":      {herdOf(1, californian, "female"), 6.125, 2.625, 0.91},
		"S2, two of group I":      {herdOf(1, californian, "male") + herdOf(1, californian, "female"), 8.0801, 3.36, 1.12},
		"S3, three of group I":    {herdOf(1, harbour, "male") + herdOf(2, harbour, "female"), 7.39, 2.55, 0.91},
		"S4, one of group II":     {herdOf(1, bearded, "male"), 15.74381, 3.495, 1.165},
		"S5, group I as group II": {herdOf(2, steller, "male") + herdOf(1, steller, "female"), 31.20884, 4.29, 1.43},
		"S6, six of group II":     {herdOf(6, ringed, "male"), 13.66875, 2.025, 0.91},
		"S7, seven of group II":   {herdOf(7, ringed, "male"), 15.49125, 2.025, 0.91},
		"S8, S5 in another order": {herdOf(1, steller, "female") + herdOf(2, steller, "male"), 31.20884, 4.29, 1.43},
	} {
		t.Run("only computed/"+name, func(t *testing.T) {
			for kind, path := range map[string]string{"sheet": figureFileOf(t, "animals.csv", spaceHeader+c.animals), "object": figureFileOf(t, "animals.json", objectOfHerd(t, c.animals))} {
				got := figureJSON(t, "space", path)
				for i, want := range []float64{c.area, c.area, c.width, c.depth} {
					if is := got["measures"].([]any)[i].(map[string]any)["required"].(float64); math.Abs(is-want) > 1e-6 {
						t.Errorf("%s: measure %d is %g, want %g", kind, i, is, want)
					}
				}
				if got["standing"] != "undecided" || got["verified"] != false || !strings.Contains(got["cited"].(string), "to be verified") {
					t.Errorf("%s: %v, verified %v by %v", kind, got["standing"], got["verified"], got["cited"])
				}
			}
			justEnough(t, c.animals, c.area, c.width, c.depth)
		})
	}
}

// objectOfHerd is the sheet as an object.
func objectOfHerd(t *testing.T, lines string) string {
	t.Helper()
	var animals []map[string]any
	for line := range strings.Lines(lines) {
		cells := strings.Split(strings.TrimSpace(line), ",")
		animals = append(animals, map[string]any{"animal": cells[0], "taxon": cells[1], "sex": cells[2], "mature": true})
	}
	raw, err := json.Marshal(map[string]any{"animals": animals})
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// justEnough passes, a centimetre less in depth fails, and a fifth less in width
// passes where the other way has it.
func justEnough(t *testing.T, animals string, area, width, depth float64) {
	t.Helper()
	path := figureFileOf(t, "animals.csv", spaceHeader+animals)
	has := func(depth, width, across float64) []string {
		return []string{"--water-area", fmt.Sprintf("%.5f", area), "--dry-area", fmt.Sprintf("%.5f", area), "--water-depth", fmt.Sprintf("%.3f", depth), "--width", fmt.Sprintf("%.4f", width), "--across", fmt.Sprintf("%.4f", across)}
	}
	for standing, more := range map[string][]string{"passes": has(depth, 0.8*width, 1.2*width), "fails": has(depth-0.01, width, width)} {
		if got := figureJSON(t, "space", path, more...)["standing"]; got != standing {
			t.Errorf("with %v it %v, want %s", more, got, standing)
		}
	}
}

func TestSpaceSaysWhatItRestsOn(t *testing.T) {
	path := figureFileOf(t, "animals.csv", spaceHeader+"Marl,zalophus Californianus,male,yes\nTern,Zalophus californianus,,no\n")
	got := figureText(t, "space", path, "--water-area", "40", "--water-depth", "1,5", "--dry-area", "8", "--width", "4")
	for _, say := range []string{
		"Too small for 2 animals: a measure fails.", "fails      dry area: 10.0352\u00a0m² required, 2.24² + 2.24²; 8\u00a0m² present.", `the sex of "Tern" is not known; the longer of the two counts`,
		"By 9 CFR 3.104(d), from memory (to be verified), as it stands here since", "attending veterinarian each week", "local law and permits come first",
	} {
		if !strings.Contains(got, say) {
			t.Errorf("nothing of %q in\n%s", say, got)
		}
	}
	other := figureText(t, "space", figureFileOf(t, "animals.csv", "taxon,sex\nOtaria byronia,male\n"))
	if !strings.Contains(other, `Cannot be told: the table has no adult length of "Otaria byronia"; give length and group`) {
		t.Errorf("of a kind that is not in the table it says\n%s", other)
	}
	given := figureJSON(t, "space", figureFileOf(t, "animals.csv", "taxon,sex,length,group\nOtaria byronia,male,2.4,1\n"))
	if area := given["measures"].([]any)[0].(map[string]any)["required"].(float64); math.Abs(area-2*2.4*2.4) > 1e-9 {
		t.Errorf("with length and group it asks for %g m2", area)
	}
	if got := figureText(t, "space", figureFileOf(t, "none.json", `{"animals":[]}`)); !strings.Contains(got, "Cannot be told: no animal lives there") {
		t.Errorf("of no animal it says\n%s", got)
	}
}

func TestSpaceRefusesWhatItCannotRead(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		more []string
		say  []string
	}{
		"a sex that is not":         {"taxon,sex\nPhoca vitulina,femal\n", nil, []string{`line 2, sex "femal"`, `perhaps you mean "female"`}},
		"no taxon":                  {"taxon,sex\n,female\n", nil, []string{`line 2, taxon ""`, "give the scientific name"}},
		"half mature":               {"taxon,sex,mature\nPhoca vitulina,male,soon\n", nil, []string{`line 2, mature "soon"`, "write yes or no"}},
		"a length below nought":     {"taxon,sex,length\nOtaria byronia,male,-2\n", nil, []string{`line 2, length "-2"`, "below 0"}},
		"a length of nought":        {"taxon,sex,length\nOtaria byronia,male,0\n", nil, []string{`line 2, length "0"`, "give the average length of adults"}},
		"a group of three":          {"taxon,sex,group\nOtaria byronia,male,3\n", nil, []string{`line 2, group "3"`, "give 1 or 2"}},
		"an animal twice":           {spaceHeader + "Marl,Phoca vitulina,male,\nmarl,Phoca vitulina,male,\n", nil, []string{`line 3, animal "marl"`, "stands on line 2 too"}},
		"two animals in a cell":     {spaceHeader + "Marl,Phoca vitulina,male,\nMarl & Tern,Phoca vitulina,male,\n", nil, []string{`line 3, animal "Marl & Tern"`, "write a line for each"}},
		"another column":            {"taxon,sexe\n", nil, []string{`"sexe" is not known; perhaps you mean "sex"`}},
		"nothing":                   {"", nil, []string{"the file is empty"}},
		"an area below nought":      {"taxon,sex\nPhoca vitulina,male\n", []string{"--water-area", "-4"}, []string{`--water-area "-4"`, "below 0"}},
		"a depth that is a word":    {"taxon,sex\nPhoca vitulina,male\n", []string{"--water-depth", "deep"}, []string{`--water-depth "deep"`, "is no number"}},
		"a depth said twice":        {`{"animals":[],"water_depth":2}`, []string{"--water-depth", "2"}, []string{"the file says water_depth, and --water-depth does too"}},
		"an area of an object":      {`{"animals":[{"taxon":"Phoca vitulina"}],"dry_area":-1}`, nil, []string{"dry_area: -1 can't be"}},
		"an animal without a taxon": {`{"animals":[{"animal":"Marl"}]}`, nil, []string{"animals[0]: taxon is missing"}},
		"a sex of an object":        {`{"animals":[{"taxon":"Phoca vitulina","sex":"mal"}]}`, nil, []string{`animals[0]: sex is "mal"`, `perhaps you mean "male"`}},
		"mature by a number":        {`{"animals":[{"taxon":"Phoca vitulina","mature":7}]}`, nil, []string{"animals[0]: mature is 7; write yes or no"}},
		"a misspelt key":            {`{"animals":[{"taxn":"Phoca vitulina"}]}`, nil, []string{`animals[0]: the key "taxn" is not known; perhaps you mean "taxon"`}},
		"a group of an object":      {`{"animals":[{"taxon":"Otaria byronia","length":2,"group":4}]}`, nil, []string{"group: 4 is none: give 1 or 2"}},
		"no key that is read":       {`{"seals":3}`, nil, []string{"none of the keys that are read"}},
	} {
		t.Run(name, func(t *testing.T) {
			figureRefuses(t, append([]string{"space", "--in", figureFileOf(t, "animals", c.text)}, c.more...), c.say...)
		})
	}
	figureRefuses(t, []string{"space"}, "--in is missing; name the file of the animals")
}
