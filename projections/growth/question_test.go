package growth

import (
	"strings"
	"testing"
)

func asked(t testing.TB, history []Weighing, w Weighing) Question {
	t.Helper()
	out, err := Asked(history, w)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestWhatIsAskedOfANewWeighIn(t *testing.T) {
	daily := walk{days: 40, start: 82, sd: 0.4}.weighings(2)
	weekly := walk{days: 50, every: 7, start: 82, perDay: 0.1, sd: 0.4}.weighings(2)
	young := walk{days: 60, every: 5, start: 20, perDay: 0.12, sd: 0.2}.weighings(2)
	for _, c := range []struct {
		situation string
		history   []Weighing
		w         Weighing
		says      string
		slip      float64
	}{
		{"as ever", daily, Weighing{Day: 40, Kg: 82.6}, "", 0},
		{"growing as before", young, Weighing{Day: 62, Kg: 27.2}, "", 0},
		{"growing as before, after a gap", young, Weighing{Day: 70, Kg: 28.6}, "", 0},
		{"ten times too big", daily, Weighing{Day: 40, Kg: 824}, "824 kg is about ten times too big for it: about 82", 82.4},
		{"ten times too small", daily, Weighing{Day: 40, Kg: 8.1}, "8.1 kg is about ten times too small", 81},
		{"two digits turned round, 82 and 28", daily, Weighing{Day: 40, Kg: 28}, "28 kg is 54", 0},
		{"8 kg lost in a day", daily, Weighing{Day: 40, Kg: 74}, "less than expected 1 days after its last weigh-in. Read the scale again", 0},
		{"8 kg lost in a week, as in a fast", weekly, Weighing{Day: 56, Kg: 79}, "", 0},
		{"20 kg gained in a week", weekly, Weighing{Day: 56, Kg: 107}, "more than expected", 0},
	} {
		got := asked(t, c.history, c.w)
		if (c.says == "") != (got.Ask == "") || !strings.Contains(got.Ask, c.says) || got.NotEnough != "" {
			t.Errorf("%s: %+v, want %q", c.situation, got, c.says)
		}
		closeTo(t, c.situation, got.Slip, c.slip, 1e-9)
	}
}

func TestAShortHistoryShowsOnlyASlip(t *testing.T) {
	history := []Weighing{{Day: 10, Kg: 80}, {Day: 17, Kg: 81}}
	for kg, slip := range map[float64]float64{110: 0, 805: 80.5} {
		if got := asked(t, history, Weighing{Day: 20, Kg: kg}); got.Slip != slip || (got.Ask == "") != (slip == 0) || !strings.HasPrefix(got.NotEnough, "weighed on 2 of the 60 days before; needs 5") {
			t.Errorf("%v kg: %+v", kg, got)
		}
	}
	if got := asked(t, history, Weighing{Day: 200, Kg: 800}); got.Ask != "" || got.NotEnough != "not weighed in the 60 days before" {
		t.Errorf("half a year later: %+v", got)
	}
}

// Weighed as in the years of a steady animal, it is seldom asked.
func TestASteadyAnimalIsSeldomAsked(t *testing.T) {
	w := walk{days: 3650, every: 2, start: 200, amplitude: 30, peak: 100, sd: 1.2, alike: 0.5}.weighings(9)
	questions := 0
	for i := range w {
		if asked(t, w[max(0, i-40):i], w[i]).Ask != "" {
			questions++
		}
	}
	if t.Logf("%d questions in %d weigh-ins", questions, len(w)); questions > len(w)/200 {
		t.Errorf("%d questions in %d weigh-ins", questions, len(w))
	}
}
