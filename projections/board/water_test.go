package board

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// calm is an enclosure that nobody needs to see to.
func calm() Water { return Water{ID: "long", Name: "Long Pool", At: at, Heard: true} }

func exceeded() *Counts {
	return &Counts{First: ago(1), Last: ago(1), Due: ago(-1), Behind: []string{"1400"}, Words: "1400 is over 1000", Cited: "9 CFR 3.106(b)"}
}

var coliforms = Overdue{What: "total_coliform", Name: "coliforms", Since: ago(2), Words: "last tested on 9 February", Cited: "9 CFR 3.106(b)"}

var waterCauses = map[string]struct {
	change func(*Water)
	want   string // rule and harm, by harm
	says   string
}{
	"nothing":                         {func(w *Water) {}, "", ""},
	"chlorine over the house's limit": {func(w *Water) { w.Failing = []Reading{{"free_chlorine", "free chlorine", ago(0.1), "3", "the house"}} }, "water-fails 1", "Free chlorine is outside its limit"},
	"salt outside its limits":         {func(w *Water) { w.Failing = []Reading{{"salinity", "salinity", ago(0.1), "12", "9 CFR"}} }, "water-fails 2", "Salinity is outside"},
	"two that fail are two causes": {func(w *Water) {
		w.Failing = []Reading{{"salinity", "salinity", ago(3), "12", "9 CFR"}, {"ph", "pH", ago(1), "9", "the house"}}
	}, "water-fails 2 water-fails 2", ""},
	"a count with its next sample ahead": {func(w *Water) { w.Counts = exceeded() }, "coliform-exceeds 3", "the next sample is due Thu 19 February 18:30"},
	"its sample is due today":            {func(w *Water) { w.Counts = exceeded(); w.Counts.Due = ago(0.1) }, "coliform-exceeds 2", "is due Wed 18 February"},
	"its sample is late":                 {func(w *Water) { w.Counts = exceeded(); w.Counts.Due, w.Counts.Late = ago(1), true }, "coliform-exceeds 2", "was due Tue 17 February"},
	"counts that leave it open":          {func(w *Water) { w.Counts = exceeded(); w.Counts.Due = time.Time{} }, "coliform-exceeds 2", "can't be judged"},
	"a series that fails":                {func(w *Water) { w.Counts = exceeded(); w.Counts.Fails = true }, "coliform-fails 2", "unsatisfactory"},
	"one test overdue":                   {func(w *Water) { w.Overdue = []Overdue{coliforms} }, "water-due 2", "1 water test overdue: coliforms"},
	"two overdue are one line": {func(w *Water) {
		w.Overdue = []Overdue{coliforms, {"ph", "pH", ago(9), true, "never", "9 CFR 3.106(b)"}}
	}, "water-due 2", "2 water tests overdue: coliforms, pH (never tested)"},
	"a count that waits is not overdue":  {func(w *Water) { w.Overdue = []Overdue{coliforms}; w.Counts = exceeded() }, "coliform-exceeds 3", ""},
	"nothing is due where none is heard": {func(w *Water) { w.Overdue, w.Heard = []Overdue{coliforms}, false }, "", ""},
	"too small": {func(w *Water) {
		w.Space = &Space{ago(50), "dry area", []string{"dry area: 40 m² required"}, "2 weeks", "9 CFR 3.104(d) (to be verified)"}
	}, "space 3", "Less space than the rule asks"},
}

func TestEachRuleOfWaterFindsItsOwnCause(t *testing.T) {
	for name, c := range waterCauses {
		w := calm()
		c.change(&w)
		var got []string
		for _, call := range Ordered(w.Calls()) {
			got = append(got, call.Rule+" "+string('0'+rune(call.Harm)))
			if call.Place != "long" || call.Name != "Long Pool" || !strings.HasPrefix(call.Subject, "long") || call.Next == "" || call.Cited == "" || call.Evidence == "" || call.Since.IsZero() {
				t.Errorf("%s: %+v", name, call)
			}
			if !strings.Contains(call.What, c.says) {
				t.Errorf("%s: %q", name, call.What)
			}
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s: found %v; wanted %s", name, got, c.want)
		}
	}
}

func TestWhatIsOverdueIsTheOldestsAge(t *testing.T) {
	w := calm()
	w.Overdue = []Overdue{coliforms, {"ph", "pH", ago(9), false, "pH by 9 February", "9 CFR 3.106(b)"}}
	call := w.Calls()[0]
	if !call.Since.Equal(ago(9)) || len(call.Behind) != 2 || strings.Count(call.Cited, "3.106") != 1 || call.ID() != "water-due.long" {
		t.Errorf("%+v", call)
	}
}

// An answer to a count that exceeds does not hold for the series that fails.
func TestAFailedSeriesIsAnotherCall(t *testing.T) {
	w := calm()
	w.Counts = exceeded()
	before := w.Calls()[0]
	w.Counts.Fails, w.Counts.Last = true, ago(0.2)
	after := w.Calls()[0]
	if before.ID() == after.ID() || !after.Since.After(before.Since) || !slices.Equal(before.Behind, after.Behind) {
		t.Errorf("%+v, then %+v", before, after)
	}
}
