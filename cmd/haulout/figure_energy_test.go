package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// herringAndSquid are rows of USDA SR (NDB 15039 and 15175).
const herringAndSquid = "food,water_g,protein_g,fat_g,ash_g,carbohydrate_g,form\n" +
	"Herring,72.05,17.96,9.04,1.46,0,fish\nSquid,78.55,15.58,1.38,1.41,3.08,cephalopod\n"

// Energy of a kilogram by USDA's own factors for the two.
const (
	herringKcal = 10 * (4.27*17.96 + 9.02*9.04)
	squidKcal   = 10 * (4.27*15.58 + 9.02*1.38 + 4.11*3.08)
)

// lived is an invented animal that gains and loses by a known factor and a
// known energy of its tissue.
type lived struct {
	factor, tissue   float64 // times the basal rate; kcal/kg
	mass             float64
	intake, weights  strings.Builder
	dice             *rand.Rand
	began            time.Time
	herring, squidKg float64
}

const livedDays = 180

// live lets it eat 80 % of its first need as herring and the rest as squid,
// with appetite and scale that differ from day to day. Every 50th day nobody
// logs, every 40th it refuses, and its scale shows what it weighs to 0.5 %.
func live(seed uint64, factor, mjPerKg float64) *lived {
	l := &lived{factor: factor, tissue: mjPerKg * 1000 / 4.184, mass: 88, dice: rand.New(rand.NewPCG(seed, 5)), began: time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)}
	l.herring, l.squidKg = 0.8*l.need()/herringKcal, 0.2*l.need()/squidKcal
	l.intake.WriteString("time,food,eaten_kg\n")
	l.weights.WriteString("time,mass_kg\n")
	for day := range livedDays {
		share := 1.02 + 0.05*l.dice.NormFloat64()
		if day%40 == 39 {
			share = 0
		}
		l.day(day, share)
	}
	return l
}

func (l *lived) need() float64 { return l.factor * 70 * math.Pow(l.mass, 0.75) }

func (l *lived) day(day int, share float64) {
	herring, squid := math.Round(1000*share*l.herring)/1000, math.Round(1000*share*l.squidKg)/1000
	at := l.began.AddDate(0, 0, day)
	l.mass += (herring*herringKcal + squid*squidKcal - l.need()) / l.tissue
	if day%50 != 49 {
		fmt.Fprintf(&l.intake, "%s,squid,%.3f\n", at.Add(16*time.Hour).Format("2006-01-02 15:04"), squid)
		fmt.Fprintf(&l.intake, "%s,herring,%.3f\n", at.Add(9*time.Hour).Format(time.RFC3339), herring)
	}
	if day%3 == 0 {
		fmt.Fprintf(&l.weights, "%s,%.1f\n", at.Format(time.DateOnly), l.mass*(1+0.005*l.dice.NormFloat64()))
	}
}

// energyFiles writes the three files and gives the words of the command.
func energyFiles(t *testing.T, intake, weights, foods string, more ...string) []string {
	t.Helper()
	dir := t.TempDir()
	args := []string{"figure", "energy"}
	for name, text := range map[string]string{"intake": intake, "weights": weights, "foods": foods} {
		path := filepath.Join(dir, name+".csv")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		args = append(args, "--"+name, path)
	}
	return append(append(args, "--taxon", "Zalophus californianus", "--sex", "female", "--born", "2015-06-10"), more...)
}

// figured runs the command and reads its JSON.
func figured(t *testing.T, args []string) (out energyFigure) {
	t.Helper()
	var printed, errs bytes.Buffer
	if code := run(t.Context(), append(args, "--json"), &printed, &errs); code != exitGood {
		t.Fatalf("exits with %d: %s", code, errs.String())
	}
	read := json.NewDecoder(&printed)
	read.DisallowUnknownFields()
	if err := read.Decode(&out); err != nil {
		t.Fatal(err)
	}
	return out
}

// The known factor lies in the interval and the known mass to come in the band,
// for animals of different factors and tissues.
func TestFigureEnergyFindsTheKnownFactorAndMass(t *testing.T) {
	for i, known := range []struct{ factor, tissue float64 }{{2.2, 16}, {2.6, 20}, {3.3, 25}, {1.8, 22}} {
		l := live(uint64(i), known.factor, known.tissue)
		f := figured(t, energyFiles(t, l.intake.String(), l.weights.String(), herringAndSquid, "--ration", fmt.Sprintf("herring=%.3f,squid=%.3f", 0.9*l.herring, 0.9*l.squidKg)))
		if f.NotEnough != "" || f.Factor.Lo > known.factor || f.Factor.Hi < known.factor {
			t.Fatalf("%+v: factor %+v %s", known, f.Factor, f.NotEnough)
		}
		if f.Factor.Hi-f.Factor.Lo > 0.4*(f.Prior.Hi-f.Prior.Lo) || *f.FromPrior > 0.3 {
			t.Errorf("%+v: factor %+v of prior %+v, %.2f from it; little was learnt", known, f.Factor, f.Prior, *f.FromPrior)
		}
		if len(f.Ahead) != 60 {
			t.Fatalf("%d days ahead", len(f.Ahead))
		}
		for day, band := range f.Ahead {
			l.day(livedDays+day, 0.9)
			if l.mass < band.Lo || l.mass > band.Hi {
				t.Errorf("%+v: in %d days it weighs %.1f kg, foretold %.1f to %.1f", known, day+1, l.mass, band.Lo, band.Hi)
				break
			}
		}
	}
}

// Days that nobody logged are null, refusals are zeros, and the chain of energy
// of a day follows from what was eaten.
func TestFigureEnergyTellsRefusedFromNotLogged(t *testing.T) {
	l := live(3, 2.6, 20)
	f := figured(t, energyFiles(t, l.intake.String(), l.weights.String(), herringAndSquid, "--days", "7"))
	if len(f.Days) != livedDays || f.Days[0].Day != "2025-01-01" || f.Through != "2025-06-29" || len(f.Ahead) != 7 {
		t.Fatalf("%d days from %s through %s, %d ahead", len(f.Days), f.Days[0].Day, f.Through, len(f.Ahead))
	}
	refused, silent, fed := f.Days[39], f.Days[49], f.Days[50]
	if !refused.Logged || !refused.Used || refused.EatenKg == nil || *refused.EatenKg != 0 || *refused.Kcal != 0 || refused.Water.Preformed != 0 {
		t.Errorf("a refusal is %+v", refused)
	}
	if silent.Logged || silent.Used || silent.EatenKg != nil || silent.Kcal != nil || silent.Gross != nil || silent.Water != nil || silent.Mass == nil {
		t.Errorf("a day without a log is %+v", silent)
	}
	if !(*fed.Gross > *fed.Digestible && *fed.Digestible > *fed.Metabolizable && *fed.Metabolizable > *fed.Net && *fed.Net > 0) {
		t.Errorf("the chain runs %g %g %g %g", *fed.Gross, *fed.Digestible, *fed.Metabolizable, *fed.Net)
	}
	if !fed.Water.LowerBound || fed.Water.Preformed < 700**fed.EatenKg || fed.Water.Metabolic < 100**fed.EatenKg {
		t.Errorf("water %+v of %g kg", fed.Water, *fed.EatenKg)
	}
	if f.Balance == nil || f.Week == nil || f.Basis != "metabolizable_atwater" || !strings.Contains(f.BasisNote, "Herring: Atwater specific factors for fish, protein 4.27") {
		t.Errorf("balance %v %v, basis %q %q", f.Balance, f.Week, f.Basis, f.BasisNote)
	}
	for _, c := range f.Reasons {
		if c.Name == "" || c.Unit == "" || c.Source == "" {
			t.Errorf("an assumption is %+v", c)
		}
	}
}

// The example of the trade: 4.93 kg of Atlantic herring, see TestTheWholeChain
// in projections/energetics. Its digested share is that of fish in general here,
// as the file names no kind of fish.
func TestFigureEnergyOfADayOfHerring(t *testing.T) {
	f := figured(t, energyFiles(t, "time,food,eaten_kg\n2025-01-02,herring,4.9315\n", "time,mass_kg\n2025-01-01,90\n", herringAndSquid))
	day := f.Days[1]
	for what, pair := range map[string][2]float64{
		"gross": {*day.Gross, 9217}, "kcal": {*day.Kcal, 4.9315 * herringKcal}, "preformed water": {day.Water.Preformed, 3553}, "metabolic water": {day.Water.Metabolic, 840},
	} {
		if math.Abs(pair[0]-pair[1]) > 0.002*pair[1] {
			t.Errorf("%s is %.1f, want %.1f", what, pair[0], pair[1])
		}
	}
}

// fedAlike are files of an animal that eats alike and holds its mass, weighed
// every so many days.
func fedAlike(days, every int, eaten, kg float64) (intake, weights string) {
	var fed, weighed strings.Builder
	fed.WriteString("time,food,eaten_kg\n")
	weighed.WriteString("time,mass_kg\n")
	for day := range days {
		at := time.Date(2025, 3, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, day).Format(time.DateOnly)
		fmt.Fprintf(&fed, "%s,herring,%.4f\n", at, eaten)
		if day%every == 0 {
			fmt.Fprintf(&weighed, "%s,%.1f\n", at, kg)
		}
	}
	return fed.String(), weighed.String()
}

// Kastelein et al. 2000 (Zoo Biol 19:143): 1,800 kg a year for females outdoors
// and 4,000 kg a year for a male of 10, here all as Atlantic herring and with
// one weigh-in. Whether that is too much can't be told.
func TestFigureEnergyOfPublishedIntakesClaimsNoSurplus(t *testing.T) {
	for name, a := range map[string]struct {
		year, kg float64
		more     []string
	}{
		"female outdoors": {1800, 90, nil}, "male of 10": {4000, 269, []string{"--sex", "male", "--born", "2015-03"}},
	} {
		intake, weights := fedAlike(60, 1000, a.year/365, a.kg)
		args := energyFiles(t, intake, weights, herringAndSquid, a.more...)
		f := figured(t, args)
		if f.Balance == nil || f.Week == nil || f.Balance.Lo > 0 || f.Balance.Hi < 0 || f.Week.Lo > 0 || f.Week.Hi < 0 {
			t.Errorf("%s: balance %+v, week %+v claims to know", name, f.Balance, f.Week)
		}
		if len(f.Ahead) > 0 || f.NoAhead == "" || *f.FromPrior < 0.99 {
			t.Errorf("%s: %d days foretold from one weigh-in, %.2f from the prior", name, len(f.Ahead), *f.FromPrior)
		}
		var out bytes.Buffer
		if code := run(t.Context(), args, &out, &out); code != exitGood || !strings.Contains(out.String(), "A surplus or a deficit cannot be told") || !strings.Contains(out.String(), "No forecast: 1 weigh-in over 0 days") {
			t.Errorf("%s: %s", name, out.String())
		}
	}
}

// swapped replaces the n-th line of a file.
func swapped(text string, n int, line string) string {
	lines := strings.Split(text, "\n")
	lines[n-1] = line
	return strings.Join(lines, "\n")
}

// badEnergy is what can't be, and what is said of it. A file that is not named
// is good.
type badEnergy struct {
	intake, weights, foods string
	more                   []string
	say                    []string
}

// refuses insists that each is refused with file, line, field and remedy.
func refuses(t *testing.T, cases map[string]badEnergy) {
	t.Helper()
	fed, weighed := fedAlike(30, 3, 3.4, 90)
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			args := energyFiles(t, or(c.intake, fed), or(c.weights, weighed), or(c.foods, herringAndSquid), append(c.more, "--json")...)
			var out, errs bytes.Buffer
			if code := run(t.Context(), args, &out, &errs); code == exitGood || out.Len() > 0 {
				t.Errorf("exits with %d and prints %s", code, out.String())
			}
			for _, say := range c.say {
				if !strings.Contains(errs.String(), say) {
					t.Errorf("says %q, and nothing of %q", errs.String(), say)
				}
			}
		})
	}
}

func TestFigureEnergyRefusesBadFeedsAndWeighIns(t *testing.T) {
	fed, weighed := fedAlike(30, 3, 3.4, 90)
	refuses(t, map[string]badEnergy{
		"eaten more than offered":   {intake: "time,food,eaten_kg,offered_kg\n2025-03-01,herring,3.4,3.0\n", say: []string{`intake.csv line 2, eaten_kg "3.4"`, "3.0 kg offered"}},
		"nothing in eaten":          {intake: swapped(fed, 4, "2025-03-03,herring,"), say: []string{"line 4, eaten_kg", "is empty", "write 0 where it took nothing"}},
		"below zero":                {intake: swapped(fed, 4, "2025-03-03,herring,-3.4"), say: []string{"line 4, eaten_kg", "below 0"}},
		"not a number":              {intake: swapped(fed, 4, "2025-03-03,herring,NaN"), say: []string{"line 4, eaten_kg", "no number"}},
		"without end":               {weights: swapped(weighed, 3, "2025-03-04,Inf"), say: []string{"weights.csv line 3, mass_kg", "no number"}},
		"more than a machine holds": {weights: swapped(weighed, 3, "2025-03-04,"+strings.Repeat("9", 400)), say: []string{"line 3, mass_kg", "no number"}},
		"as powers of ten":          {weights: swapped(weighed, 3, "2025-03-04,9e1"), say: []string{"line 3, mass_kg", "no number"}},
		"a comma between thousands": {intake: swapped(fed, 4, `2025-03-03,herring,"1,500"`), say: []string{"line 4, eaten_kg", "write"}},
		"a space between thousands": {weights: swapped(weighed, 3, "2025-03-04,1 500"), say: []string{"line 3, mass_kg", "nothing between thousands"}},
		"point and comma":           {intake: "time;food;eaten_kg\n2025-03-01;herring;3,4\n2025-03-02;herring;1.500\n", say: []string{"line 3, eaten_kg", "decimal mark"}},
		"both in one number":        {intake: "time;food;eaten_kg\n2025-03-01;herring;1.500,5\n", say: []string{"line 2, eaten_kg", "no number"}},
		"a mass of zero":            {weights: swapped(weighed, 3, "2025-03-04,0"), say: []string{"line 3, mass_kg", "is 0"}},
		"a food that is not there":  {intake: swapped(fed, 4, "2025-03-03,hering,3.4"), say: []string{`line 4, food "hering"`, `perhaps you mean "Herring"`}},
		"no food":                   {intake: swapped(fed, 4, "2025-03-03,,3.4"), say: []string{"line 4, food", "is empty"}},
		"a day that is not":         {intake: swapped(fed, 4, "2025-02-30,herring,3.4"), say: []string{"line 4, time", "write a time as"}},
		"an unknown column":         {intake: strings.Replace(fed, "eaten_kg", "eatn_kg", 1), say: []string{"intake.csv", `"eatn_kg" is not known; perhaps you mean "eaten_kg"`}},
		"an empty file":             {weights: "\n", say: []string{"weights.csv", "the file is empty"}},
		"born after the records":    {more: []string{"--born", "2026-01-01"}, say: []string{"intake.csv line 2", "before the birth", "--born 2026-01-01"}},
		"a year far off":            {intake: swapped(fed, 4, "2205-03-03,herring,3.4"), say: []string{"line 4, time", "check the years"}},
		"a method that is not":      {weights: "time,mass_kg,method\n2025-03-01,90,estimate\n", say: []string{"line 2, method", `perhaps you mean "estimated"`}},
		"a value under no column":   {intake: swapped(fed, 4, "2025-03-03,herring,3,4"), say: []string{"line 4", "stands under no column"}},
	})
}

func TestFigureEnergyRefusesBadFoods(t *testing.T) {
	const header = "food,water_g,protein_g,fat_g,ash_g,carbohydrate_g"
	refuses(t, map[string]badEnergy{
		"no composition":         {foods: header + "\nherring,,,,,\n", say: []string{`foods.csv line 2, food "herring"`, "has no composition"}},
		"part of a composition":  {foods: header + "\nherring,72,18,,1.5,0\n", say: []string{"line 2, fat_g", "all five parts"}},
		"a sum too great":        {foods: header + "\nherring,72.05,17.96,90.4,1.46,0\n", say: []string{"line 2", "sum to 181.9 g", "95 and 105"}},
		"a sum too small":        {foods: header + "\nherring,7.2,1.8,0.9,0.15,0\n", say: []string{"line 2", "sum to 10.1 g"}},
		"kcal that are kJ":       {foods: header + ",kcal,basis\nherring,72.05,17.96,9.04,1.46,0,661,metabolizable_atwater\n", say: []string{"line 2, kcal", "comes to 158 kcal"}},
		"kcal above pure fat":    {foods: header + ",kcal,basis\nherring,,,,,,1580,gross\n", say: []string{"line 2, kcal", "pure fat"}},
		"kcal of what":           {foods: header + ",kcal,basis\nherring,,,,,,158,\n", say: []string{"line 2, basis", "use one of"}},
		"a food described twice": {foods: herringAndSquid + "herring,72.05,17.96,9.04,1.46,0,fish\n", say: []string{"line 4", "twice"}},
		"a form that is not":     {foods: strings.ReplaceAll(herringAndSquid, "cephalopod", "cefalopod"), say: []string{"line 3, form", `perhaps you mean "cephalopod"`}},
	})
}

func TestFigureEnergyRefusesBadWords(t *testing.T) {
	refuses(t, map[string]badEnergy{
		"a ration of what is not":      {more: []string{"--ration", "hering=2"}, say: []string{"--ration", `perhaps you mean "Herring"`}},
		"a ration without mass":        {more: []string{"--ration", "herring"}, say: []string{"--ration", "food=kilograms"}},
		"a ration with a comma":        {more: []string{"--ration", "herring=1,5"}, say: []string{"--ration", `at "5"`}},
		"a ration that names twice":    {more: []string{"--ration", "herring=1,Herring=2"}, say: []string{"twice"}},
		"a ration ten times too great": {more: []string{"--ration", "herring=34"}, say: []string{"--ration", "decimal point"}},
		"born no day":                  {more: []string{"--born", "yesterday"}, say: []string{"--born"}},
		"a sex that is not":            {more: []string{"--sex", "femal"}, say: []string{"--sex", `perhaps you mean "female"`}},
		"no taxon":                     {more: []string{"--taxon", " "}, say: []string{"--taxon is missing"}},
		"no days":                      {more: []string{"--days", "0"}, say: []string{"--days 0"}},
		"days past a year":             {more: []string{"--days", "366"}, say: []string{"--days 366"}},
		"a zone that is not":           {more: []string{"--zone", "Mars/Base"}, say: []string{"--zone"}},
	})
}

func or(text, usual string) string {
	if text == "" {
		return usual
	}
	return text
}

// slipped has the feeds from a line on ten times too small.
func slipped(fed string, from int) string {
	lines := strings.Split(fed, "\n")
	for i := from; i < len(lines); i++ {
		lines[i] = strings.Replace(lines[i], ",3.4", ",0.34", 1)
	}
	return strings.Join(lines, "\n")
}

// What can be read and comes to nothing says so and gives no number.
func TestFigureEnergyWithoutEnough(t *testing.T) {
	header := "time,mass_kg\n"
	fed, weighed := fedAlike(120, 4, 3.4, 90)
	fedThin, _ := fedAlike(150, 3, 0.34, 90)
	tenfold := func(eaten, kg float64) [2]string { a, b := fedAlike(120, 4, eaten, kg); return [2]string{a, b} }
	for name, c := range map[string]struct {
		files [2]string
		foods string
		say   string
	}{
		"never weighed":                           {[2]string{fed, header}, "", "no weigh-in"},
		"nothing eaten is logged":                 {[2]string{"time,food,eaten_kg\n", weighed}, "", "no feed is logged"},
		"nothing at all":                          {[2]string{"time,food,eaten_kg\n", header}, "", "no weigh-in"},
		"weights ten times too great":             {tenfold(3.4, 900), "", "decimal point"},
		"weights ten times too small":             {tenfold(3.4, 9), "", "decimal point"},
		"feeds ten times too great":               {tenfold(34, 90), "", "decimal point"},
		"feeds ten times too small":               {tenfold(0.34, 90), "", "decimal points"},
		"a part of the weights":                   {[2]string{fed, weighed + "2025-06-28,9\n2025-06-29,9\n2025-07-02,9\n2025-07-05,9\n2025-07-06,9\n"}, "", "do not go with what was logged"},
		"a month of the feeds":                    {[2]string{slipped(fed, 90), weighed}, "", "feeds that were not logged"},
		"feeds ten times too small, weighed once": {[2]string{fedThin, "time,mass_kg\n2025-03-01,90\n"}, "", "Weigh it"},
		"one day ten times too great":             {[2]string{"time,food,eaten_kg\n2025-03-01,herring,34\n", "time,mass_kg\n2025-03-01,90\n"}, "", "decimal point"},
		"one weigh-in ten times too small":        {[2]string{"time,food,eaten_kg\n2025-03-01,herring,3.4\n", "time,mass_kg\n2025-03-01,9\n"}, "", "decimal point"},
		"kcal ten times too small":                {[2]string{fed, weighed}, "food,water_g,protein_g,fat_g,ash_g,carbohydrate_g,kcal,basis\nherring,,,,,,15.8,metabolizable_atwater\n", "too little"},
		"kcal four times too great":               {[2]string{fed, weighed}, "food,water_g,protein_g,fat_g,ash_g,carbohydrate_g,kcal,basis\nherring,,,,,,661,metabolizable_atwater\n", "too much"},
	} {
		t.Run(name, func(t *testing.T) {
			f := figured(t, energyFiles(t, c.files[0], c.files[1], or(c.foods, herringAndSquid)))
			if !strings.Contains(f.NotEnough, c.say) {
				t.Errorf("says %q, and nothing of %q", f.NotEnough, c.say)
			}
			if f.Factor != nil || f.Prior != nil || f.Need != nil || f.Mass != nil || f.Balance != nil || f.Week != nil || f.FromPrior != nil || len(f.Ahead) > 0 {
				t.Errorf("gives numbers: %+v", f)
			}
			for _, day := range f.Days {
				if day.Used || day.Need != nil || day.Mass != nil {
					t.Fatalf("gives numbers for a day: %+v", day)
				}
			}
		})
	}
}

// One slip among good lines is set aside by its day, and moves nothing.
func TestFigureEnergySetsOneSlipAside(t *testing.T) {
	fed, weighed := fedAlike(120, 3, 3.4, 90)
	plain := figured(t, energyFiles(t, fed, weighed, herringAndSquid))
	for name, c := range map[string]struct{ intake, weights, what string }{
		"a feed of the last day": {swapped(fed, 121, "2025-06-28,herring,34"), weighed, "feeds"},
		"a weigh-in":             {fed, swapped(weighed, 30, "2025-05-27,9"), "weigh-in"},
	} {
		f := figured(t, energyFiles(t, c.intake, c.weights, herringAndSquid))
		if len(f.Flags) != 1 || f.Flags[0].What != c.what {
			t.Errorf("%s: set aside %+v", name, f.Flags)
			continue
		}
		if math.Abs(f.Factor.Mean-plain.Factor.Mean) > 0.05 || f.Week == nil || f.Week.Lo > 0 || f.Week.Hi < 0 {
			t.Errorf("%s: factor %+v, was %+v; week %+v", name, f.Factor, plain.Factor, f.Week)
		}
		if c.what == "feeds" && (f.Balance != nil || f.NoBalance == "" || f.Days[119].Used) {
			t.Errorf("%s: what can't be eaten makes the balance %+v", name, f.Balance)
		}
	}
}

// The same lines in another order, in another form of file, or with what is
// optional give the same figures.
func TestFigureEnergyReadsWhatSpreadsheetsSave(t *testing.T) {
	fed, weighed := fedAlike(40, 3, 3.4, 90)
	want := figured(t, energyFiles(t, fed, weighed, herringAndSquid))
	lines := strings.Split(strings.TrimSpace(fed), "\n")
	for i, j := 1, len(lines)-1; i < j; i, j = i+1, j-1 {
		lines[i], lines[j] = lines[j], lines[i]
	}
	continental := strings.ReplaceAll(strings.ReplaceAll(fed, ",", ";"), ".", ",")
	var turned strings.Builder
	for line := range strings.Lines(fed) {
		cell := strings.Split(strings.TrimSpace(line), ",")
		fmt.Fprintf(&turned, "%s,%s,%s\n", cell[2], cell[0], cell[1])
	}
	for name, intake := range map[string]string{
		"backwards": strings.Join(lines, "\n"), "semicolons and decimal commas": continental, "a byte order mark": "\ufeff" + fed,
		"UTF-16": string(utf16LE(fed)), "columns turned": turned.String(), "Windows lines": strings.ReplaceAll(fed, "\n", "\r\n"),
	} {
		got := figured(t, energyFiles(t, intake, weighed, herringAndSquid))
		a, _ := json.Marshal(want)
		b, _ := json.Marshal(got)
		if !bytes.Equal(a, b) {
			t.Errorf("%s: other figures", name)
		}
	}
}

// A zone decides the day: 23:30 UTC is the next day in Auckland. Two weigh-ins
// of one day both count.
func TestFigureEnergyDaysAreLocal(t *testing.T) {
	fed, weighed := "time,food,eaten_kg\n2025-03-01T23:30:00Z,herring,3.4\n", "time,mass_kg,method\n2025-03-01T23:10:00Z,90,crate\n2025-03-01T23:50:00Z,90.4,estimated\n"
	for zone, day := range map[string]string{"UTC": "2025-03-01", "Pacific/Auckland": "2025-03-02"} {
		f := figured(t, energyFiles(t, fed, weighed, herringAndSquid, "--zone", zone))
		if len(f.Days) != 1 || string(f.Days[0].Day) != day || len(f.Days[0].Weighs) != 2 || f.Weighed != 2 {
			t.Errorf("%s: %+v, %d weigh-ins", zone, f.Days, f.Weighed)
		}
	}
}

// Feeds in pounds under a header of kilograms lead far out of the class: there
// are numbers, with a warning.
func TestFigureEnergyWarnsOfAFactorOutsideTheClass(t *testing.T) {
	fed, weighed := fedAlike(120, 3, 3.4*2.2046, 90)
	f := figured(t, energyFiles(t, fed, weighed, herringAndSquid))
	if f.Factor == nil || f.Factor.Lo <= f.Prior.Hi || len(f.Warnings) != 1 || !strings.Contains(f.Warnings[0], "units") {
		t.Errorf("factor %+v of %+v, warnings %q", f.Factor, f.Prior, f.Warnings)
	}
}

// A ration that starves is foretold until half of the mass is gone.
func TestFigureEnergyOfAYearWithoutFood(t *testing.T) {
	fed, weighed := fedAlike(60, 3, 3.4, 90)
	f := figured(t, energyFiles(t, fed, weighed, herringAndSquid, "--ration", "herring=0", "--days", "365"))
	for _, day := range f.Ahead {
		if day.Lo < 0 || !(day.Lo <= day.Kg && day.Kg <= day.Hi) || day.Kg < 45 {
			t.Fatalf("%+v", day)
		}
	}
	if n := len(f.Ahead); n < 30 || n > 120 || !strings.Contains(f.NoAhead, "half of its mass would be gone") {
		t.Errorf("%d days, %q", n, f.NoAhead)
	}
}

// A kind that is not listed is taken with a warning, and known no better.
func TestFigureEnergyOfAKindThatIsNotListed(t *testing.T) {
	fed, weighed := fedAlike(40, 3, 3.4, 90)
	listed := figured(t, energyFiles(t, fed, weighed, herringAndSquid))
	other := figured(t, energyFiles(t, fed, weighed, herringAndSquid, "--taxon", "Odobenus rosmarus"))
	if other.Class.Known || len(other.Warnings) != 1 || !strings.Contains(other.Warnings[0], "Odobenus rosmarus") || len(listed.Warnings) > 0 {
		t.Errorf("%+v, warnings %q and %q", other.Class, other.Warnings, listed.Warnings)
	}
	if other.Prior.Hi/other.Prior.Lo <= listed.Prior.Hi/listed.Prior.Lo {
		t.Error("its need is known no worse than that of a listed one")
	}
}

// A balance needs logged days: with few there is none, and the reason.
func TestFigureEnergyWithoutLoggedDays(t *testing.T) {
	fed, weighed := fedAlike(40, 3, 3.4, 90)
	lines := strings.SplitAfter(fed, "\n")
	f := figured(t, energyFiles(t, strings.Join(lines[:32], ""), weighed, herringAndSquid))
	if f.NotEnough != "" || f.Balance != nil || f.Week != nil || !strings.Contains(f.NoBalance, "logged") || f.Factor == nil || len(f.Ahead) != 60 {
		t.Errorf("%q, balance %v %v, %q", f.NotEnough, f.Balance, f.Week, f.NoBalance)
	}
	if last := f.Days[len(f.Days)-1]; last.Logged || last.Kcal != nil || len(last.Weighs) != 1 {
		t.Errorf("the last day is %+v", last)
	}
}

// Energy that the source states goes before the composition, brought to
// metabolizable energy; without a composition the chain stays unknown.
func TestFigureEnergyOfStatedEnergy(t *testing.T) {
	fed, weighed := fedAlike(40, 3, 3.4, 90)
	foods := "food,water_g,protein_g,fat_g,ash_g,carbohydrate_g,kcal,basis\nherring,,,,,,158,metabolizable_atwater\n"
	f := figured(t, energyFiles(t, fed, weighed, foods, "--ration", "herring=2"))
	if day := f.Days[0]; math.Abs(*day.Kcal-3.4*1580) > 1e-6 || day.Gross != nil || day.Water != nil {
		t.Errorf("%+v", day)
	}
	if f.Kcal == nil || *f.Kcal != 3160 || len(f.Ration) != 1 || f.Ration[0].Food != "herring" || f.Ration[0].Grams != 2000 {
		t.Errorf("ration %+v, %v kcal", f.Ration, f.Kcal)
	}
	gross := figured(t, energyFiles(t, fed, weighed, strings.Replace(foods, "metabolizable_atwater", "gross", 1)))
	if *gross.Days[0].Kcal >= *f.Days[0].Kcal || gross.Basis != "metabolizable, from gross" {
		t.Errorf("158 kcal of gross energy count %g a day, %s", *gross.Days[0].Kcal, gross.Basis)
	}
}

func TestGroupedKilocalories(t *testing.T) {
	for kcal, want := range map[float64]string{0: "0", 994: "990", 5312: "5 310", 12345678: "12 345 680", 999.9: "1 000"} {
		if got := grouped(kcal); got != want {
			t.Errorf("%s is written %q, want %q", strconv.FormatFloat(kcal, 'f', -1, 64), got, want)
		}
	}
}
