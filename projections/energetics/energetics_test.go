package energetics

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// published is a row of the USDA tables: grams in 100 g, kcal as printed.
type published struct {
	ndb, food, form, factors   string
	protein, fat, carbohydrate float64
	kcal                       float64
}

// publishedFoods reads the rows; the file's first line names their source.
func publishedFoods(t *testing.T) (out []published) {
	t.Helper()
	f, err := os.Open("../../testdata/vectors/energetics/usda-sr.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	number := func(s string) float64 {
		n, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	for _, l := range lines[1:] {
		out = append(out, published{l[0], l[1], l[2], l[9], number(l[4]), number(l[5]), number(l[7]), number(l[8])})
	}
	return out
}

// Worked examples: the kilocalories that USDA prints follow from its own
// factors. Printed values are whole, hence 0.5 kcal.
func TestPublishedKilocalories(t *testing.T) {
	// NDB 15050 is printed as 158; its factors give 156.87.
	tolerance := map[string]float64{"15050": 1.5}
	for _, p := range publishedFoods(t) {
		asked := ""
		if p.factors == "general" {
			asked = "general"
		}
		factors := FactorsFor(p.form, asked)
		if factors != factorSets[p.factors] {
			t.Errorf("%s %s uses %s", p.ndb, p.food, factors.Name)
		}
		allowed := 0.5
		if wider, listed := tolerance[p.ndb]; listed {
			allowed = wider
		}
		got := factors.Kilocalories(p.protein, p.fat, p.carbohydrate)
		if math.Abs(got-p.kcal) > allowed {
			t.Errorf("%s %s gives %.2f kcal in 100 g, USDA prints %g", p.ndb, p.food, got, p.kcal)
		}
	}
}

// Two rows carry no factors of their own, and only the general ones give what
// is printed. The specific ones would give 75.0 and 90.4.
func TestWhichFactorsApply(t *testing.T) {
	for _, p := range publishedFoods(t) {
		if p.factors != "general" {
			continue
		}
		want := map[string]float64{"15266": 75.0, "15270": 90.4}[p.ndb]
		specific := FactorsFor(p.form, "").Kilocalories(p.protein, p.fat, p.carbohydrate)
		if math.Abs(specific-want) > 0.05 || math.Abs(specific-p.kcal) <= 0.5 {
			t.Errorf("%s %s: specific factors give %.2f, want %.1f and not the %g printed", p.ndb, p.food, specific, want, p.kcal)
		}
	}
}

func TestFactorsWithoutAForm(t *testing.T) {
	for _, form := range []string{"", "other"} {
		if got := FactorsFor(form, "specific"); got != factorSets["general"] {
			t.Errorf("form %q uses %s", form, got.Name)
		}
	}
}

// Every set of constants says what it is, where it is from, and whether that
// was seen.
func TestEverySetOfFactorsNamesItsSource(t *testing.T) {
	for name, f := range factorSets {
		if f.Name == "" || f.Basis == "" || f.Source == "" || f.Protein <= 0 || f.Fat <= f.Protein || f.Carbohydrate <= 0 {
			t.Errorf("%s is %+v", name, f)
		}
	}
	if Gross().Verified || Gross().Basis != "gross" {
		t.Errorf("gross energy is %+v; its source is from memory", Gross())
	}
}
