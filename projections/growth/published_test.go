package growth

import (
	"slices"
	"strings"
	"testing"
)

func placeOf(t testing.TB, taxon, sex string, years, kg float64) Place {
	t.Helper()
	out, err := PlaceOf(taxon, sex, years, kg)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

const zalophus = "Zalophus californianus"

// The reference file has the published masses and no others.
func TestThePublishedMassesAreThoseOfTheTable(t *testing.T) {
	for _, sex := range []string{"female", "male"} {
		i := slices.IndexFunc(published, func(c publishedCurve) bool { return c.Taxon == zalophus && c.Sex == sex })
		var want [][2]float64
		for _, m := range kastelein(t, sex) {
			want = append(want, [2]float64{m.Years, m.Kg})
		}
		if !slices.Equal(published[i].Masses, want) {
			t.Errorf("%s: %v, want %v", sex, published[i].Masses, want)
		}
	}
}

// Between published ages it goes on a straight line: a female of 8 years lies
// between 90.0 kg at 6.08 and 107.3 kg at 10.07.
func TestAPlaceBetweenPublishedAges(t *testing.T) {
	got := placeOf(t, zalophus, "female", 8, 94)
	want := 90.0 + (8-6.08)/(10.07-6.08)*(107.3-90.0)
	closeTo(t, "published", got.Published, want, 1e-9)
	closeTo(t, "percent", got.Percent, 100*(94/want-1), 1e-9)
	if got.Ages != [2]float64{6.08, 10.07} || got.Band != nil || got.Animals != 2 || !got.Verified || !strings.Contains(got.Caveat, "no norm") || !strings.Contains(got.Source, "19:143") {
		t.Errorf("%+v", got)
	}
}

// At 0.106 years three males weighed 5.7, 7.6 and 12.3 kg; at 2.01 and about 4
// years two each, and between these there is a band.
func TestABandWhereOneIsPublished(t *testing.T) {
	young := placeOf(t, zalophus, "male", 0.106, 9)
	closeTo(t, "youngest", young.Published, (5.7+7.6+12.3)/3, 1e-9)
	if young.Band == nil || *young.Band != [2]float64{5.7, 12.3} || young.Animals != 3 {
		t.Errorf("%+v", young)
	}
	got := placeOf(t, zalophus, "male", 3, 100)
	share := (3 - 2.01) / (3.995 - 2.01)
	if got.Band == nil || got.Animals != 4 {
		t.Fatalf("%+v", got)
	}
	closeTo(t, "lightest", got.Band[0], 67.9+share*(102.6-67.9), 1e-9)
	closeTo(t, "heaviest", got.Band[1], 100.1+share*(109.2-100.1), 1e-9)
	if alone := placeOf(t, zalophus, "male", 10, 250); alone.Band != nil {
		t.Errorf("a band between single animals: %+v", alone)
	}
	if last := placeOf(t, zalophus, "male", 19.13, 400); last.Published != 402.3 || last.Animals != 1 {
		t.Errorf("the oldest: %+v", last)
	}
}

// Every published age gives its own mass, whatever else the file holds.
func TestEveryPublishedAgeHasItsMass(t *testing.T) {
	for _, c := range published {
		for _, a := range c.ages() {
			got := placeOf(t, c.Taxon, c.Sex, a.years, a.kg)
			closeTo(t, "published", got.Published, a.kg, 1e-9)
			closeTo(t, "percent", got.Percent, 0, 1e-9)
			if got.NotEnough != "" || got.Animals != a.animals || (got.Band != nil) != (a.animals > 1) {
				t.Errorf("%s at %v years: %+v, want %+v", c.Sex, a.years, got, a)
			}
		}
		if c.Source == "" || c.Caveat == "" {
			t.Errorf("%+v", c)
		}
	}
}

func TestNoPlaceWhereNothingIsPublished(t *testing.T) {
	for _, c := range []struct {
		taxon, sex string
		years      float64
		says       string
	}{
		{zalophus, "female", 0.05, "masses are published from 0.11 to 22.1 years, and it is 0.05"},
		{zalophus, "female", 25, "and it is 25"},
		{zalophus, "unknown", 3, "no masses at age of unknown Zalophus californianus"},
		{"Otaria flavescens", "male", 3, "no masses at age of male Otaria flavescens"},
		{"Phoca vitulina", "male", 5, "there is no mass at age to compare with"},
	} {
		got := placeOf(t, c.taxon, c.sex, c.years, 80)
		if !strings.Contains(got.NotEnough, c.says) || got.Published != 0 {
			t.Errorf("%+v, want %q", got, c.says)
		}
	}
	if got := placeOf(t, "Phoca vitulina", "male", 5, 80); got.Verified {
		t.Error("a source from memory counts as verified")
	}
	if _, err := PlaceOf(zalophus, "male", -1, 80); err == nil || !strings.Contains(err.Error(), "age from nought") {
		t.Errorf("before birth: %v", err)
	}
}

// Every constant says what it is, in what unit, and where from; its value lies
// in its range.
func TestEveryConstantHasItsSource(t *testing.T) {
	for key, c := range assumptions.Constants {
		if c.Name == "" || c.Unit == "" || c.Source == "" || c.Value < c.Low || c.Value > c.High {
			t.Errorf("%s: %+v", key, c)
		}
		if memory := strings.Contains(c.Source, "from memory") || strings.HasPrefix(c.Source, "assumption") || strings.HasPrefix(c.Source, "common practice"); memory == c.Verified {
			t.Errorf("%s: verified is %v, and its source is %q", key, c.Verified, c.Source)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("an unknown key is taken")
		}
	}()
	Assumed("no such thing")
}
