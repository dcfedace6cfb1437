package dominance

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestEncountersAreCountedIntoAMatrix(t *testing.T) {
	m, err := FromEvents([]string{"Ada", "Bo", "Cy"}, []Encounter{
		{Winner: "Ada", Loser: "Cy"}, {Winner: "Cy", Loser: "Ada", Undecided: true},
		{Winner: "Ada", Loser: "Bo"}, {Winner: "Ada", Loser: "Bo"}, {Winner: "Bo", Loser: "Ada"},
		{Winner: "Bo", Loser: "Ada", Undecided: true}, {Winner: "Cy", Loser: "Bo", Undecided: true},
	})
	if err != nil {
		t.Fatal(err)
	}
	want := Matrix{
		IDs:       []string{"Ada", "Bo", "Cy"},
		Wins:      [][]float64{{0, 2.5, 1.5}, {1.5, 0, 0.5}, {0.5, 0.5, 0}},
		Undecided: [][]int{{0, 1, 1}, {1, 0, 1}, {1, 1, 0}},
	}
	if diff := cmp.Diff(want, m); diff != "" {
		t.Error(diff)
	}
	if got := m.Decided(0, 1); got != 2 {
		t.Errorf("Ada won %v encounters that were decided, want 2", got)
	}
	counts := Counts{Animals: 3, Interactions: 7, Undecided: 3, Dyads: 3, Tied: 1, OneWay: 1, TwoWay: 1}
	if diff := cmp.Diff(counts, m.Counts()); diff != "" {
		t.Error(diff)
	}
}

func TestEncountersThatCantBeCountedAreRefused(t *testing.T) {
	pair := []string{"Ada", "Bo"}
	for name, c := range map[string]struct {
		ids  []string
		seen Encounter
		says string
	}{
		"an animal listed twice": {[]string{"Ada", "Ada"}, Encounter{}, `ids: "Ada" is listed twice: list`},
		"a winner not listed":    {pair, Encounter{Winner: "Cy", Loser: "Bo"}, `encounter 1: winner "Cy" is not listed: add`},
		"a loser not listed":     {pair, Encounter{Winner: "Bo", Loser: "Cy"}, `encounter 1: loser "Cy" is not listed: add`},
		"an animal with itself":  {pair, Encounter{Winner: "Bo", Loser: "Bo"}, `"Bo" can't meet itself: name two`},
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := FromEvents(c.ids, []Encounter{c.seen}); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%v, want %q", err, c.says)
			}
		})
	}
}

func TestMatricesThatDoNotFitAreRefused(t *testing.T) {
	pair, none := []string{"Ada", "Bo"}, [][]int{{0, 0}, {0, 0}}
	nan := 0.0
	nan /= nan
	for name, c := range map[string]struct {
		m    Matrix
		says string
	}{
		"a row too few":                {Matrix{pair, [][]float64{{0, 1}}, nil}, "2 animals but 1 rows"},
		"a column too few":             {Matrix{pair, [][]float64{{0, 1}, {0}}, nil}, `the row of "Bo"`},
		"an animal twice":              {Matrix{[]string{"Bo", "Bo"}, [][]float64{{0, 1}, {0, 0}}, nil}, "listed twice"},
		"a row of undecided too few":   {Matrix{pair, [][]float64{{0, 1}, {0, 0}}, none[:1]}, "1 of undecided"},
		"wins below zero":              {Matrix{pair, [][]float64{{0, -1}, {0, 0}}, none}, `"Ada" over "Bo": -1 is out of range: give`},
		"wins that are not a number":   {Matrix{pair, [][]float64{{0, nan}, {0, 0}}, none}, "NaN is out of range"},
		"more wins than are exact":     {Matrix{pair, [][]float64{{0, 1e18}, {0, 0}}, none}, "1e+18 is out of range"},
		"wins over itself":             {Matrix{pair, [][]float64{{1, 1}, {0, 0}}, none}, "can't meet itself"},
		"half a win":                   {Matrix{pair, [][]float64{{0, 1.5}, {0.5, 0}}, none}, "not whole encounters: give"},
		"undecided for one of two":     {Matrix{pair, [][]float64{{0, 1.5}, {0.5, 0}}, [][]int{{0, 1}, {0, 0}}}, "undecided: count"},
		"undecided that did not count": {Matrix{pair, [][]float64{{0, 1}, {0, 0}}, [][]int{{0, 1}, {1, 0}}}, "not whole encounters: give"},
	} {
		t.Run(name, func(t *testing.T) {
			if err := c.m.Check(); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%v, want %q", err, c.says)
			}
		})
	}
}

// The bonobos of Vervaecke et al. 2000, table 2, are recorded by who fled. By
// the paper's direction, which the transposed matrix has, Dz comes first.
func TestFleeingIsTransposedBeforeItIsRanked(t *testing.T) {
	fled := readVector(t, "vervaecke2000_bonobo_fleeing.json").group(t)
	isi, err := fled.Transposed().InconsistenciesAndStrengths()
	if err != nil {
		t.Fatal(err)
	}
	if first := fled.IDs[isi.Order[0]]; first != "Dz" || isi.I != 0 {
		t.Errorf("%s comes first, with %d inconsistencies", first, isi.I)
	}
}
