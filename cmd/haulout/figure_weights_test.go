package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

// publishedAverages are the averages of NIST/SEMATECH e-Handbook 6.3.2.4, to two
// decimals, and its limits, of which the lower is cut off and not rounded.
var publishedAverages = []any{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}

// weightClaims say what of the vectors was published: the sums of Montgomery &
// Runger, tables 16-7 and 16-8, and the averages of the handbook.
func weightClaims(name string, got map[string]any, c claim) []claim {
	const halfCent = 0.0051 / 50 // of about 50, to two decimals
	switch {
	case name == "weight-cusum-montgomery":
		c.block = "published"
	case name == "weight-ewma-nist" && c.key == "ewma":
		return []claim{c, {"published", c.key, c.got, publishedAverages, halfCent, ""}}
	case name == "weight-ewma-nist" && c.key == "ucl":
		return []claim{c, {"published", c.key, c.got, 52.5884, 1e-4 / 50, ""}}
	case name == "weight-ewma-nist" && c.key == "lcl":
		return []claim{c, {"published", c.key, c.got, 47.4115, 1e-4 / 47, ""}}
	}
	return []claim{c}
}

func TestWeightsHaveTheFiguresOfTheVectors(t *testing.T) {
	vectorsHold(t, "weights", "growth/weight-*.json", 7, 60, weightClaims)
}

// null is what is not known, and a list of one may be the number alone.
func TestWeightsOfValuesThatAreNotKnown(t *testing.T) {
	whole := figureJSON(t, "weights", figureFileOf(t, "a.json", `{"x":[0,3,7,10],"y":[5,6,8,9]}`))
	holes := figureJSON(t, "weights", figureFileOf(t, "b.json", `{"input":{"x":[0,3,5,7,null,10],"y":[5,6,null,8,3,9]}}`))
	if holes["left_out"] != 2.0 || whole["slope"] != holes["slope"] || whole["mk_p"] != holes["mk_p"] {
		t.Errorf("with what is not known %v, without it %v", holes, whole)
	}
	if one := figureJSON(t, "weights", figureFileOf(t, "c.json", `{"x":3,"y":5}`)); one["slope"] != nil || one["not_enough"] != "1 pair is known; a slope needs 2" {
		t.Errorf("one pair has the slope %v: %v", one["slope"], one["not_enough"])
	}
	sums := figureJSON(t, "weights", figureFileOf(t, "d.json", `{"x":[1,null,9],"target":0,"k":0,"h":5}`))
	if why := relativelyApart(sums["s_hi"], []any{1.0, nil, 10.0}, 0); why != "" || sums["first_hi"] != 3.0 {
		t.Errorf("sums %v, first beyond at %v: %s", sums["s_hi"], sums["first_hi"], why)
	}
	averages := figureJSON(t, "weights", figureFileOf(t, "e.json", `{"x":[null,12],"lambda":0.5,"target":0,"sigma":1,"L":3}`))
	if why := relativelyApart(averages["ewma"], []any{nil, 6.0}, 0); why != "" || relativelyApart(averages["out_exact"], []any{2.0}, 0) != "" {
		t.Errorf("averages %v, beyond at %v: %s", averages["ewma"], averages["out_exact"], why)
	}
	percent := figureJSON(t, "weights", figureFileOf(t, "f.json", `{"day":[0,3,6],"weight":[100,null,90]}`))
	if why := relativelyApart(percent["pct_vs_median_prev7"], []any{nil, nil, -10.0}, 1e-12); why != "" || relativelyApart(percent["hits_5pct_7d"], 3.0, 0) != "" {
		t.Errorf("percent %v, to look at %v: %s", percent["pct_vs_median_prev7"], percent["hits_5pct_7d"], why)
	}
	wave := figureJSON(t, "weights", figureFileOf(t, "g.json", `{"y":[1,2,3,4,null,3,2,1,2,3,4,5],"period":6}`))
	if peak := wave["peak_month"].(float64); peak < 0 || peak > 12 {
		t.Errorf("the top is at %v months", peak)
	}
}

// invented are weigh-ins of an animal with a season whose top lies on a day of
// the year, every fourth day for three years.
func invented(name string, base float64, top int, change func(day int, kg float64) float64) string {
	var text strings.Builder
	dice := rand.New(rand.NewPCG(uint64(len(name)), uint64(base)))
	for day := 0; day < 1096; day += 4 {
		kg := base * (1 + 0.04*math.Cos(2*math.Pi*float64(day-top)/daysOfYear))
		kg = change(day, kg) + 0.4*dice.NormFloat64()
		fmt.Fprintf(&text, "%s,%s,%.1f,pool,dry,voluntary\n", inventedDay(day), name, kg)
	}
	return text.String()
}

func inventedDay(day int) string {
	return time.Date(2023, 1, 1+day, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
}

func steady(_ int, kg float64) float64 { return kg }

const inventedHeader = "time,animal,mass_kg,scale,coat,method\n"

// The top of the year is found wherever it lies, as on either hemisphere.
func TestWeightsFindTheTopOfTheYear(t *testing.T) {
	for top := 0; top < 365; top += 15 {
		got := figureJSON(t, "weights", figureFileOf(t, "w.csv", inventedHeader+invented("Marl", 90, top, steady)))
		season := got["animals"].([]any)[0].(map[string]any)["season"].(map[string]any)
		peak := season["peak_day_of_year"].(map[string]any)
		if apart := math.Remainder(peak["value"].(float64)-float64(top), daysOfYear); math.Abs(apart) > 6 || season["seen"] != true {
			t.Errorf("the top on day %d is found on day %v", top, peak["value"])
		}
	}
}

func TestWeightsSayHowAHerdGoes(t *testing.T) {
	stepped := func(day int, kg float64) float64 {
		if day >= 800 {
			kg += 2
		}
		return kg
	}
	thinnerFrom := func(last int) func(int, float64) float64 {
		return func(day int, kg float64) float64 {
			if day >= last {
				kg *= 0.93
			}
			return stepped(day, kg)
		}
	}
	herd := inventedHeader + invented("Marl", 90, 100, stepped) + invented("Skerry", 75, 100, thinnerFrom(1092)) + invented("Tern", 120, 100, thinnerFrom(1060)) + invented("Wrack", 105, 100, stepped)
	got := figureText(t, "weights", figureFileOf(t, "w.csv", herd))
	for _, say := range []string{
		"Marl: ", "274 weigh-ins since 2023-01-01.", "Skerry: ", "Look at it, as from a fall of 5 % on (an assumption; nothing is published)",
		"Watch: lighter than trend and season had it since 2025-11-", "heaviest about", "Scale pool, 1096 weigh-ins of 4 animals:",
		"from 2025-03-11 on", "it reads otherwise for all by +", "Put a known mass on it", "the veterinarian",
	} {
		if !strings.Contains(got, say) {
			t.Errorf("nothing of %q in\n%s", say, got)
		}
	}
	if again := figureText(t, "weights", figureFileOf(t, "w.csv", turnedLines(herd))); again != got {
		t.Errorf("the same lines in another order say\n%s", again)
	}
	alone := figureText(t, "weights", figureFileOf(t, "w.csv", inventedHeader+invented("Marl", 90, 100, stepped)))
	if !strings.Contains(alone, "Scales are not looked at: one animal does not tell") {
		t.Errorf("of one animal it says\n%s", alone)
	}
}

// turnedLines has the lines below the first backwards.
func turnedLines(text string) string {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	out := []string{lines[0]}
	for i := len(lines) - 1; i > 0; i-- {
		out = append(out, lines[i])
	}
	return strings.Join(out, "\n") + "\n"
}

// A weight ten times too big is asked about by its line and kept, and the trend
// hardly moves.
func TestWeightsTenTimesTooBigAreAskedAboutAndKept(t *testing.T) {
	const good = "day,kg\n0,182.4\n3,181.9\n7,182.8\n10,183.1\n14,182.2\n17,182.6\n21,183.6\n24,184.2\n28,183.9\n31,184.9\n35,185.1\n"
	plain := figureJSON(t, "weights", figureFileOf(t, "w.csv", good))["animals"].([]any)[0].(map[string]any)
	path := figureFileOf(t, "w.csv", strings.Replace(good, "24,184.2", "24,1842", 1))
	slipped := figureJSON(t, "weights", path)["animals"].([]any)[0].(map[string]any)
	asked := slipped["asked"].([]any)
	if len(plain["asked"].([]any)) != 0 || len(asked) != 1 || slipped["weigh_ins"] != 11.0 {
		t.Fatalf("asked %v of %v weigh-ins; of good ones %v", asked, slipped["weigh_ins"], plain["asked"])
	}
	one := asked[0].(map[string]any)
	if one["line"] != 9.0 || one["on"] != "day 24" || !strings.Contains(one["ask"].(string), "Is the decimal point right, was it 184.2 kg?") {
		t.Errorf("it asks %v", one)
	}
	slope := func(o map[string]any) float64 {
		return o["trend"].(map[string]any)["kg_per_day"].(map[string]any)["value"].(float64)
	}
	if math.Abs(slope(plain)-slope(slipped)) > 0.03 {
		t.Errorf("the trend goes from %g to %g kg a day", slope(plain), slope(slipped))
	}
	if text := figureText(t, "weights", path); !strings.Contains(text, "Line 9, day 24, is kept, but asked about: 1842 kg is about ten times too big") {
		t.Errorf("it says\n%s", text)
	}
}

// The same masses in another unit, form of file or order are the same figures.
func TestWeightsReadWhatSpreadsheetsSave(t *testing.T) {
	lines := func(header, form string, times float64) string {
		text := header + "\n"
		for i, kg := range []float64{82.5, 83, 82.75, 83.5, 83.25, 84} {
			text += fmt.Sprintf(form+"\n", inventedDay(5*i), times*kg)
		}
		return text
	}
	kilos := lines("time,mass_kg", "%s,%g", 1)
	want := mustJSON(t, figureJSON(t, "weights", figureFileOf(t, "w.csv", kilos)))
	for name, text := range map[string]string{
		"grams": lines("time,mass_g", "%s,%g", 1000), "a unit a line": lines("time,weight,unit", "%s,%g,g", 1000), "kg alone": lines("day,kg", "%s,%g", 1),
		"decimal commas": strings.ReplaceAll(strings.ReplaceAll(kilos, ",", ";"), ".", ","), "UTF-16": string(utf16LE(kilos)), "backwards": turnedLines(kilos),
		"Windows lines": strings.ReplaceAll(kilos, "\n", "\r\n"), "hours": lines("Time,Mass kg", "%s 23:30,%g", 1), "a header without a unit": lines("time,weight", "%s,%g", 1),
	} {
		if got := mustJSON(t, figureJSON(t, "weights", figureFileOf(t, "w.csv", text))); !bytes.Equal(got, want) {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
	pounds := figureJSON(t, "weights", figureFileOf(t, "w.csv", lines("time,mass", "%s,%g", 1)), "--unit", "lb")
	if kg := pounds["animals"].([]any)[0].(map[string]any)["kg"].(float64); math.Abs(kg-84*0.45359237) > 1e-9 {
		t.Errorf("84 lb are %g kg", kg)
	}
}

// What was estimated counts for nothing, and a zone decides the day.
func TestWeightsCountWhatAScaleShowed(t *testing.T) {
	guessed := figureText(t, "weights", figureFileOf(t, "w.csv", "time,kg,method\n2026-03-01,80,estimated\n"))
	if !strings.Contains(guessed, "The animal: never weighed on a scale; 1 weigh-in since 2026-03-01, of which 1 estimated") {
		t.Errorf("of a guess it says\n%s", guessed)
	}
	text := "time,kg,method\n2026-03-01T23:30:00Z,80,crate\n2026-03-04T23:30:00Z,60,estimated\n"
	got := figureText(t, "weights", figureFileOf(t, "w.csv", text), "--zone", "Pacific/Auckland")
	for _, say := range []string{"80.0 kg on 2026-03-02; 2 weigh-ins since 2026-03-02, of which 1 estimated and not counted", "Trend: cannot be told, weighed on 1 days; needs 6"} {
		if !strings.Contains(got, say) {
			t.Errorf("nothing of %q in\n%s", say, got)
		}
	}
}

func TestWeightsRefuseBadSheets(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		say  []string
	}{
		"a mass below nought":        {"time,mass_kg\n2026-03-01,-80\n", []string{`line 2, mass_kg "-80"`, "below 0; check the sign"}},
		"a mass of nought":           {"time,mass_kg\n2026-03-01,0\n", []string{`line 2, mass_kg "0"`, "write the mass, or leave the line out"}},
		"no mass":                    {"time,mass_kg\n2026-03-01,\n", []string{`line 2, mass_kg ""`, "is empty"}},
		"a date that cannot be read": {"time,mass_kg\n01/03/2026,80\n", []string{`line 2, time "01/03/2026"`, "write a time as 2026-03-01 16:00"}},
		"a day that was not":         {"day,mass_kg\n2026-02-30,80\n", []string{`line 2, day "2026-02-30"`}},
		"no day":                     {"day,mass_kg\n2026-03-01,80\n,81\n", []string{`line 3, day ""`, "write a day as"}},
		"days of two kinds":          {"day,mass_kg\n3,80\n2026-03-01,81\n", []string{`line 3, day "2026-03-01"`, "as on line 2", "write all days of a file alike"}},
		"a year far off":             {"time,mass_kg\n2026-03-01,80\n1926-03-01,80\n", []string{"line 2", "100 years after line 3", "check the years"}},
		"no time at all":             {"mass_kg\n80\n", []string{`column "time" is missing; head it time or day`}},
		"no column of masses":        {"time,animal\n2026-03-01,Marl\n", []string{`column "mass" is missing; head it mass or weight or kg`}},
		"two columns of masses":      {"time,mass_kg,kg\n2026-03-01,80,80\n", []string{`"mass_kg" and "kg" say the same`}},
		"another column":             {"time,mas_kg\n2026-03-01,80\n", []string{`"mas_kg" is not known; perhaps you mean "mass_kg"`}},
		"an empty file":              {"", []string{"the file is empty"}},
		"no line":                    {"time,mass_kg\n", []string{"there is no line below the columns"}},
		"two animals in a cell":      {"time,animal,kg\n2026-03-01,Marl,80\n2026-03-02,Marl & Tern,160\n", []string{`line 3, animal "Marl & Tern"`, "a line is about one"}},
		"no animal":                  {"time,animal,kg\n2026-03-01,,80\n", []string{`line 2, animal ""`, "name the animal"}},
		"a method":                   {"time,kg,method\n2026-03-01,80,crte\n", []string{`line 2, method "crte"`, `perhaps you mean "crate"`}},
		"a coat":                     {"time,kg,coat\n2026-03-01,80,damp\n", []string{`line 2, coat "damp"`, "use one of dry, wet"}},
		"a unit":                     {"time,weight,unit\n2026-03-01,80,stone\n", []string{`line 2, unit "stone"`, "use kg, g or lb"}},
		"a unit against the header":  {"time,mass_kg,unit\n2026-03-01,80,lb\n", []string{`line 2, unit "lb"`, "does not go with the header mass_kg"}},
		"a value too many":           {"time,kg\n2026-03-01,80,5\n", []string{"line 2", "stands under no column"}},
	} {
		t.Run(name, func(t *testing.T) {
			figureRefuses(t, []string{"weights", "--in", figureFileOf(t, "weights.csv", c.text)}, append(c.say, "weights.csv")...)
		})
	}
	path := figureFileOf(t, "w.csv", "time,kg\n2026-03-01,80\n")
	figureRefuses(t, []string{"weights"}, "--in is missing; name the file of weigh-ins")
	figureRefuses(t, []string{"weights", "--in", path, "--unit", "stone"}, `--unit "stone": use kg, g or lb`)
	figureRefuses(t, []string{"weights", "--in", path, "--unit", "lb"}, "the column kg says kg and --unit says lb")
	figureRefuses(t, []string{"weights", "--in", path, "--zone", "Mars/Base"}, `--zone "Mars/Base": name a zone`)
}

func TestWeightsRefuseBadObjects(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		say  []string
	}{
		"lists of two lengths":   {`{"x":[1,2],"y":[1]}`, []string{"x has 2 numbers and y 1"}},
		"an x that stands twice": {`{"x":[1,1],"y":[1,2]}`, []string{"x: 1 stands twice"}},
		"a text for a number":    {`{"x":["a"],"y":[1]}`, []string{`x is ["a"]; give a number, or a list of numbers with null`}},
		"a misspelt key":         {`{"x":[1],"lamda":1,"target":1,"sigma":1,"L":3}`, []string{`"lamda" is not known; perhaps you mean "lambda"`}},
		"no lambda":              {`{"x":[1],"target":1,"sigma":1,"L":3}`, []string{"lambda is missing; give the weight of the newest value"}},
		"a lambda above 1":       {`{"x":[1],"lambda":2,"target":1,"sigma":1,"L":3}`, []string{"lambda"}},
		"a limit below nought":   {`{"x":[1],"lambda":0.3,"target":1,"sigma":1,"L":-3}`, []string{"the limit L is -3; give it in standard deviations"}},
		"slack below nought":     {`{"x":[1],"target":1,"k":-1,"h":1}`, []string{"k is -1 and h 1; give 0 or more"}},
		"no limit":               {`{"x":[1],"target":1,"k":1}`, []string{"h is missing; give the limit of a sum"}},
		"no value":               {`{"x":[null],"target":1,"k":1,"h":1}`, []string{"x is empty"}},
		"no period":              {`{"y":[1,2,3]}`, []string{"x has 0 numbers and y 3"}},
		"too few months":         {`{"y":[1,2,3],"period":12}`, []string{"y has 3 values that are known; a line and a sine need 5"}},
		"a period of nought":     {`{"y":[1,2,3,4,5,6],"period":0}`, []string{"period: 0 can't be"}},
		"a wave of two values":   {`{"y":[1,2,3,4,5,6],"period":1}`, []string{"can't tell a line and a sine of 1 apart"}},
		"a weight below nought":  {`{"day":[1],"weight":[-1]}`, []string{"weight[0] is -1; give a mass above 0"}},
		"half a day":             {`{"day":[1.5],"weight":[1]}`, []string{"day[0] is 1.5; give a whole day"}},
		"a day that is null":     {`{"day":[null],"weight":[1]}`, []string{"day[0] is null"}},
		"other windows":          {`{"day":[1],"weight":[1],"windows":[14]}`, []string{"windows is [14]; the windows are of 7 and 30 days"}},
		"no key that is read":    {`{"masses":[1]}`, []string{"x y\n", "day weight windows"}},
	} {
		t.Run(name, func(t *testing.T) {
			figureRefuses(t, []string{"weights", "--in", figureFileOf(t, "weights.json", c.text)}, append(c.say, "weights.json")...)
		})
	}
}

func mustJSON(t *testing.T, v any) []byte {
	t.Helper()
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return raw
}
