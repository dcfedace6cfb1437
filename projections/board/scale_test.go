package board

import (
	"slices"
	"strings"
	"testing"
	"time"
)

func date(days int) time.Time { return midnight(at).AddDate(0, 0, -days) }

// heavy is a deck scale that reads about 4 % more since a week.
func heavy() Stepped {
	return Stepped{
		Scale: "deck", Since: date(7), First: date(9), Last: date(7), Percent: Range{4.1, 2.2, 6}, Kg: Range{5.7, 2.1, 9.4}, Same: "percent", Weighings: 51,
		Animals:   []Jumped{{"Marl", 8.2, 4.2}, {"Osier", 3.1, 3.9}, {"Thrift", 4, 4.1}},
		Elsewhere: "none of them was weighed on another scale about that day",
	}
}

func TestAScaleThatStepsIsOneCall(t *testing.T) {
	calls := ScaleSteps([]Stepped{heavy()}, at, nil)
	if len(calls) != 1 {
		t.Fatalf("%+v", calls)
	}
	c := calls[0]
	want := "from 9 February or later, seen by 11 February; +2.2 to +6.0 %, 9 in 10, by 3 animals and 51 weigh-ins; none of them was weighed on another scale about that day. Masses that fell no further than that are not listed besides"
	if c.ID() != "scale.deck" || c.What != "Reads about 4.1 % more for all animals weighed on it" || c.Evidence != want || c.Next != "Put a known mass on it" || c.Harm != Today || !c.Since.Equal(date(7)) {
		t.Errorf("%+v", c)
	}
	if !slices.Equal(c.Behind, []string{"Marl: +4.2 %, +8.2 kg", "Osier: +3.9 %, +3.1 kg", "Thrift: +4.1 %, +4.0 kg"}) || !strings.Contains(c.Cited, "28 days") {
		t.Errorf("%q, %q", c.Behind, c.Cited)
	}
}

func TestAScaleThatIsOffByKilogramsSaysSo(t *testing.T) {
	s := heavy()
	s.Same, s.Percent, s.Kg, s.First = "kg", Range{-2.1, -3, -1.2}, Range{-1.5, -1.9, -1.1}, s.Last
	c := ScaleSteps([]Stepped{s}, at, nil)[0]
	if c.What != "Reads about 1.5 kg less for all animals weighed on it" || !strings.HasPrefix(c.Evidence, "from 11 February; \u22121.9 to \u22121.1 kg, 9 in 10") {
		t.Errorf("%+v", c)
	}
}

// A scale that was set right again has stepped twice, and is one call: the last.
func TestOneCallAScaleByItsLastStep(t *testing.T) {
	back, other := heavy(), heavy()
	back.Since, back.Percent = date(2), Range{-3.9, -5, -2}
	other.Scale, other.Since = "crate", date(20)
	calls := ScaleSteps([]Stepped{back, heavy(), other}, at, nil)
	if len(calls) != 2 || calls[0].ID() != "scale.crate" || calls[1].ID() != "scale.deck" || !strings.Contains(calls[1].What, "3.9 % less") {
		t.Errorf("%+v", calls)
	}
}

// What gut and coat weigh is no fault of a scale.
func TestASmallStepIsNotNamed(t *testing.T) {
	s := heavy()
	s.Percent = Range{1.9, 1.5, 2.3}
	if calls := ScaleSteps([]Stepped{s}, at, nil); len(calls) != 0 {
		t.Errorf("%+v", calls)
	}
	if calls := ScaleSteps([]Stepped{s}, at, House{"scale_least": 1}); len(calls) != 1 {
		t.Error("a house that asks for one per cent is not told")
	}
}

func TestAStepIsNamedForAWhile(t *testing.T) {
	s := heavy()
	for days, want := range map[int]int{0: 1, 28: 1, 29: 0, 90: 0} {
		if s.Since = date(days); len(ScaleSteps([]Stepped{s}, at, nil)) != want {
			t.Errorf("%d days after: wanted %d", days, want)
		}
	}
	if s.Since = date(40); len(ScaleSteps([]Stepped{s}, at, House{"scale_days": 60})) != 1 {
		t.Error("a house that wants to hear of it for longer")
	}
	if calls := ScaleSteps(nil, at, nil); len(calls) != 0 {
		t.Errorf("%+v", calls)
	}
}
