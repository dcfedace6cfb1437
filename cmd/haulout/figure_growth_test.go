package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
)

// growthClaims say what of the vectors was published: what NIST certifies to 11
// digits, and what the help of R has of the logistic curve of chick 1.
func growthClaims(name string, got map[string]any, c claim) []claim {
	coef, se := got["coef"].(map[string]any), got["se"].(map[string]any)
	if name == "growth-logistic-chick1" && c.key == "coef" { // it stops where nls converges by default
		return []claim{c, {"published", "A", coef["A"], 937.03, 0.02 / 937, ""}, {"published", "xm", coef["xm"], 35.223, 0.0005 / 35, ""}, {"published", "s", coef["s"], 11.405, 0.0005 / 11, ""}}
	}
	if c.key != "certified" {
		return []claim{c}
	}
	if c.want == nil {
		c.skipped = "nothing of it is certified"
		return []claim{c}
	}
	var out []claim
	for key, want := range c.want.(map[string]any) {
		is := map[string]any{"rss": got["rss"]}[key]
		if name, ofError := strings.CutPrefix(key, "sd_"); ofError {
			is = se[name]
		} else if key != "rss" {
			is = coef[key]
		}
		out = append(out, claim{"published", "certified " + key, is, want, 1e-10, ""})
	}
	return out
}

func TestGrowthHasTheFiguresOfTheVectors(t *testing.T) {
	vectorsHold(t, "growth", "growth/growth-*.json", 5, 35, growthClaims)
}

// Each model may be named, written with other spaces and names, and begun from
// its own starts.
func TestGrowthReadsModels(t *testing.T) {
	const values = `"x":[3,5,10,15,20,25],"y":[4.51,10.89,28.72,41.74,52.7,60.92]`
	for model, key := range map[string]string{
		"gompertz": "A", "Gompertz": "A", "y ~ Asym*exp(-b2 * exp( -b3*x ))": "Asym", "final * exp(-b*exp(-k*x))": "final",
		"von Bertalanffy": "A", "y ~ L*(1 - exp(-k*(x - t0)))": "L", "logistic": "A", "Asym/(1+exp((xmid-x)/scal))": "Asym",
		"Richards": "A", "a/(1 + exp(b - k*x))^(1/m)": "a",
	} {
		got := figureJSON(t, "growth", figureFileOf(t, "fit.json", fmt.Sprintf(`{"model":%q,%s}`, model, values)))
		if final, _ := got["coef"].(map[string]any)[key].(float64); !(final > 60 && final < 100) && got["not_estimable"] == nil {
			t.Errorf("%s: a final value of %v, %v", model, final, got)
		}
	}
	holes := figureJSON(t, "growth", figureFileOf(t, "fit.json", `{"model":"Gompertz","x":[3,5,null,10,15,20,25],"y":[4.51,10.89,7,28.72,41.74,52.7,60.92]}`))
	whole := figureJSON(t, "growth", figureFileOf(t, "fit.json", `{"model":"Gompertz",`+values+`}`))
	if holes["left_out"] != 1.0 || holes["rss"] != whole["rss"] {
		t.Errorf("with what is not known %v, without it %v", holes, whole)
	}
}

// That no curve can be estimated is an answer.
func TestGrowthThatCannotBeEstimated(t *testing.T) {
	for text, say := range map[string]string{
		`{"model":"Gompertz","x":[1,2],"y":[3,4]}`:                    "The Gompertz curve is not estimable: 2 values for 3 parameters; needs 4.",
		`{"model":"Gompertz","x":1,"y":3}`:                            "is not estimable: 1 values for 3 parameters",
		`{"model":"logistic","x":[1,2,3,4,5],"y":[5,5,5,5,5]}`:        "The logistic curve is not estimable",
		"age,kg\n1,30\n2,50\n3,61\n":                                  "Of unknown sex, 3 masses of 1 animal (3 points): no curve of growth can be estimated: masses at 3 ages; needs 6.",
		"age,kg\n1,30\n2,40\n3,50\n4,60\n5,70\n6,80\n7,90\n8,100.1\n": "not estimable: ",
	} {
		if got := figureText(t, "growth", figureFileOf(t, "file", text)); !strings.Contains(got, say) || !strings.HasSuffix(got, growthCaution+"\n") {
			t.Errorf("of %s it says\n%sand nothing of %q", text, got, say)
		}
		got := figureJSON(t, "growth", figureFileOf(t, "file", text))
		if coef, is := got["coef"].(map[string]any); is {
			for name, v := range coef {
				if v != nil {
					t.Errorf("%s: %s is %v", text, name, v)
				}
			}
		}
	}
}

// grown are masses of an animal on a Gompertz curve of a known final mass.
func grown(name, sex string, final float64, dice *rand.Rand) string {
	var text strings.Builder
	for day := 30; day < 4000; day += 60 {
		years := float64(day) / daysOfYear
		fmt.Fprintf(&text, "%s,%s,%.4f,%.2f\n", name, sex, years, final*math.Exp(-2.3*math.Exp(-0.6*years))*(1+0.02*dice.NormFloat64()))
	}
	return text.String()
}

const grownHeader = "animal,sex,age,kg\n"

func TestGrowthFindsTheKnownCurve(t *testing.T) {
	dice := rand.New(rand.NewPCG(8, 8))
	text := grownHeader + grown("Marl", "female", 100, dice) + grown("Tern", "female", 100, dice) + grown("Skerry", "male", 280, dice)
	path := figureFileOf(t, "masses.csv", text)
	got := figureJSON(t, "growth", path, "--taxon", "zalophus californianus")
	for i, final := range []float64{100, 280} {
		group := got["groups"].([]any)[i].(map[string]any)
		best := group["curves"].([]any)[1].(map[string]any)["params"].([]any)[0].(map[string]any)
		if group["best"] != "Gompertz" || best["lo"].(float64) > final+1 || best["hi"].(float64) < final-1 {
			t.Errorf("%v: %v with %v", group["sex"], group["best"], best)
		}
	}
	place := got["places"].([]any)[0].(map[string]any)
	if place["animal"] != "Marl" || place["curve_kg"] == nil || place["published_kg"] == nil || !strings.Contains(place["caveat"].(string), "no norm") {
		t.Errorf("Marl stands %v", place)
	}
	for _, say := range []string{"Females, 134 masses of 2 animals (134 points): the Gompertz curve goes best", "kg published (2 masses from", "Published: Kastelein", "and is no norm"} {
		if said := figureText(t, "growth", path, "--taxon", "Zalophus californianus"); !strings.Contains(said, say) {
			t.Errorf("nothing of %q in\n%s", say, said)
		}
	}
	if a, b := figureText(t, "growth", path), figureText(t, "growth", figureFileOf(t, "masses.csv", turnedLines(text))); a != b {
		t.Errorf("the same lines in another order say\n%s", b)
	}
	other := figureText(t, "growth", path, "--taxon", "Odobenus rosmarus")
	if !strings.Contains(other, "not put beside published masses, no masses at age of female Odobenus rosmarus are in the reference file") {
		t.Errorf("of a kind that is not published it says\n%s", other)
	}
}

// A published table is read as it stands, but for the line with its source: its
// last mass is the published one, and all are taken as one animal's.
func TestGrowthOfAPublishedTable(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/vectors/growth/kastelein-2000.csv")
	if err != nil {
		t.Fatal(err)
	}
	_, table, _ := strings.Cut(string(raw), "\n")
	path := figureFileOf(t, "masses.csv", table)
	got := figureJSON(t, "growth", path, "--taxon", "Zalophus californianus")
	for _, p := range got["places"].([]any) {
		if place := p.(map[string]any); math.Abs(place["percent"].(float64)) > 1e-9 {
			t.Errorf("a published mass lies %v %% off what is published", place["percent"])
		}
	}
	if text := figureText(t, "growth", path); !strings.Contains(text, "Mind: no column names the animal") {
		t.Errorf("it says\n%s", text)
	}
}

// Ages in other units are the same ages, and a mass ten times too big is asked
// about by its line and kept.
func TestGrowthReadsAgesAndAsks(t *testing.T) {
	years, months, days := "age,kg\n", "age_months,kg\n", "age_days,kg\n"
	for i := range 14 {
		kg := 20 + 3*float64(i)
		if i == 9 {
			kg *= 10
		}
		years += fmt.Sprintf("%.6f,%g\n", float64(10*i+100)/daysOfYear, kg)
		months += fmt.Sprintf("%.6f,%g\n", float64(10*i+100)/daysOfYear*12, kg)
		days += fmt.Sprintf("%d,%g\n", 10*i+100, kg)
	}
	want := figureText(t, "growth", figureFileOf(t, "g.csv", years))
	for name, text := range map[string]string{"months": months, "days": days} {
		if got := figureText(t, "growth", figureFileOf(t, "g.csv", text)); got != want {
			t.Errorf("in %s\n%s, want\n%s", name, got, want)
		}
	}
	if !strings.HasPrefix(want, "Line 11, at 0.52 years, is kept, but asked about: 470 kg is about ten times too big") || !strings.Contains(want, "14 masses") {
		t.Errorf("it says\n%s", want)
	}
}

func TestGrowthRefusesWhatItCannotRead(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		say  []string
	}{
		"a mass below nought":     {"age,kg\n1,-30\n", []string{`line 2, kg "-30"`, "below 0; check the sign"}},
		"an age below nought":     {"age,kg\n-1,30\n", []string{`line 2, age "-1"`, "below 0"}},
		"an age of no animal":     {"age,kg\n1000,30\n", []string{`line 2, age "1000"`, "none lives as long", "age_days"}},
		"no age":                  {"age,kg\n,30\n", []string{`line 2, age ""`, "write the age"}},
		"no mass":                 {"age,kg\n1,\n", []string{`line 2, kg ""`}},
		"a sex that is not":       {"age,kg,sex\n1,30,femle\n", []string{`line 2, sex "femle"`, `perhaps you mean "female"`}},
		"an animal of two sexes":  {"animal,age,kg,sex\nMarl,1,30,female\nMarl,2,50,male\n", []string{`line 3, sex "male"`, "Marl is female on line 2"}},
		"two animals in a cell":   {"animal,age,kg\nMarl,1,30\nMarl and Tern,2,50\n", []string{`line 3, animal "Marl and Tern"`, "a line is about one"}},
		"no column of ages":       {"kg\n30\n", []string{`column "age" is missing; head it age or age_years`}},
		"another column":          {"agee,kg\n1,30\n", []string{`"agee" is not known; perhaps you mean "age"`}},
		"an empty file":           {"", []string{"the file is empty"}},
		"no model":                {`{"x":[1],"y":[2]}`, []string{"model is missing; write one as"}},
		"a model that is not":     {`{"model":"y ~ a + b*x","x":[1],"y":[2]}`, []string{"which is not known", "the models are von Bertalanffy"}},
		"a name twice":            {`{"model":"a*exp(-b*exp(-b*x))","x":[1],"y":[2]}`, []string{"two of its names are the same"}},
		"a start of another name": {`{"model":"Gompertz","x":[1],"y":[2],"start":{"B":1}}`, []string{`start has "B", which the model does not`}},
		"a start that is none":    {`{"model":"Gompertz","x":[1],"y":[2],"start":5}`, []string{"start is 5; give an object"}},
		"half a start":            {`{"model":"Gompertz","x":[1],"y":[2],"start":{"A":1}}`, []string{"start has no number for b"}},
		"lists of two lengths":    {`{"model":"Gompertz","x":[1,2],"y":[2]}`, []string{"x has 2 numbers and y 1"}},
		"nothing that is known":   {`{"model":"Gompertz","x":[null],"y":[2]}`, []string{"x and y are empty"}},
		"no key that is read":     {`{"masses":[1]}`, []string{"model x y start"}},
	} {
		t.Run(name, func(t *testing.T) {
			figureRefuses(t, []string{"growth", "--in", figureFileOf(t, "masses", c.text)}, append(c.say, "masses")...)
		})
	}
	path := figureFileOf(t, "g.csv", "age,kg,sex\n1,30,male\n")
	figureRefuses(t, []string{"growth"}, "--in is missing; name the file of masses at age")
	figureRefuses(t, []string{"growth", "--in", path, "--sex", "mal"}, `--sex "mal"`, `perhaps you mean "male"`)
	figureRefuses(t, []string{"growth", "--in", path, "--sex", "female"}, `line 2, sex "male"`, "does not go with --sex female")
	figureRefuses(t, []string{"growth", "--in", path, "--unit", "t"}, `--unit "t": use kg, g or lb`)
}
