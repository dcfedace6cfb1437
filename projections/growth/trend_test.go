package growth

import (
	"strings"
	"testing"
)

func trendOf(t testing.TB, w []Weighing) Trend {
	t.Helper()
	out, err := TrendOf(w)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestATrendNeedsWeighInsAndDays(t *testing.T) {
	for _, c := range []struct {
		situation string
		w         walk
		says      string
	}{
		{"never weighed", walk{}, "weighed on 0 days; needs 6"},
		{"weighed for four weeks, but five times", walk{days: 29, every: 7, start: 80}, "weighed on 5 days; needs 6"},
		{"weighed daily for two weeks", walk{days: 14, start: 80}, "weigh-ins of 13 days; needs 21"},
		{"only guessed", walk{days: 100, start: 80, method: "estimated"}, "weighed on 0 days"},
		{"weighed weekly for six weeks", walk{days: 43, every: 7, start: 80}, ""},
	} {
		got := trendOf(t, c.w.weighings(1)).NotEnough
		if (c.says == "") != (got == "") || !strings.Contains(got, c.says) {
			t.Errorf("%s: %q, want %q", c.situation, got, c.says)
		}
	}
}

func TestAWildReadingDoesNotMoveATrend(t *testing.T) {
	w := walk{days: 120, every: 3, start: 82, perDay: 0.05, sd: 0.4}.weighings(3)
	plain := trendOf(t, w).PerDay
	w[20].Kg *= 10
	if wild := trendOf(t, w).PerDay; wild.Value < plain.Lo || wild.Value > plain.Hi || wild.Value < 0.04 || wild.Value > 0.06 {
		t.Errorf("%+v with a slip of the decimal point, %+v without", wild, plain)
	}
}

// The interval holds the true trend about as often as it says, whether weigh-ins
// are alike or not; that of Sen alone would not.
func TestTheIntervalHoldsTheTrendAsOftenAsItSays(t *testing.T) {
	const tries = 400
	for _, alike := range []float64{0, 0.4, 0.7} {
		held, plain := 0, 0
		for seed := range uint64(tries) {
			s := walk{days: 180, every: 3, start: 82, perDay: 0.02, sd: 0.8, alike: alike}.weighings(seed)
			got := trendOf(t, s).PerDay
			if got.Lo <= 0.02 && 0.02 <= got.Hi {
				held++
			}
			if sen := daily(s).sen(0.9).slope; sen.Lo <= 0.02 && 0.02 <= sen.Hi {
				plain++
			}
		}
		share := float64(held) / tries
		if t.Logf("alike %.1f: held %.3f, by Sen alone %.3f", alike, share, float64(plain)/tries); share < 0.84 || share > 0.97 {
			t.Errorf("alike %.1f: %.3f of intervals held the trend, want about 0.9", alike, share)
		}
	}
}

func TestBadWeighInsAreNamed(t *testing.T) {
	for _, c := range []struct {
		w    Weighing
		says string
	}{
		{Weighing{Kg: 0}, "weighings[1]: kg is 0: give the mass in kilograms"},
		{Weighing{Kg: -3}, "weighings[1]: kg is -3"},
		{Weighing{Kg: 80, Coat: "damp"}, `weighings[1]: coat is "damp": use dry or wet`},
	} {
		if _, err := TrendOf([]Weighing{{Kg: 80}, c.w}); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v, want %q", err, c.says)
		}
	}
}
