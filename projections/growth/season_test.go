package growth

import (
	"math"
	"strings"
	"testing"
	"time"
)

func seasonOf(t testing.TB, w []Weighing) Season {
	t.Helper()
	out, err := SeasonOf(w)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func dayOf(year int, month time.Month, day int) int {
	return int(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// A male in the north is heaviest in April, as captive Steller sea lions are
// (Allen 2009, thesis, University of British Columbia), one in the south half a
// year later; the same numbers come of both, but for the day.
func TestTheTopOfTheYearInBothHemispheres(t *testing.T) {
	for hemisphere, top := range map[string]int{"north": dayOf(2021, 4, 15), "south": dayOf(2021, 10, 15)} {
		for _, from := range []int{dayOf(2019, 1, 1), dayOf(2018, 7, 9), dayOf(1969, 3, 1)} {
			w := walk{days: 1400, every: 4, start: 240, perDay: 0.02, amplitude: 30, peak: float64(top), sd: 2, from: from}
			got := seasonOf(t, w.weighings(5))
			want := float64(top - dayOf(2021, 1, 1))
			closeTo(t, hemisphere+": top", got.Peak.Value, want, 2)
			closeTo(t, hemisphere+": amplitude", got.Amplitude.Value, 30, 1)
			closeTo(t, hemisphere+": trend", got.PerYear.Value, 0.02*365.2425, 1)
			if got.NotEnough != "" || got.Amplitude.Lo < 25 {
				t.Errorf("%s from %d: %+v", hemisphere, from, got)
			}
		}
	}
}

func TestTheIntervalsHoldTheYearAsOftenAsTheySay(t *testing.T) {
	const tries = 300
	for _, alike := range []float64{0, 0.6} {
		top, amplitude := 0, 0
		for seed := range uint64(tries) {
			got := seasonOf(t, walk{days: 1100, every: 7, start: 90, amplitude: 4, peak: 200, sd: 1, alike: alike}.weighings(seed))
			if got.Peak.Lo <= 200 && 200 <= got.Peak.Hi {
				top++
			}
			if got.Amplitude.Lo <= 4 && 4 <= got.Amplitude.Hi {
				amplitude++
			}
		}
		for what, held := range map[string]int{"top": top, "amplitude": amplitude} {
			share := float64(held) / tries
			if t.Logf("alike %.1f: %s held %.3f", alike, what, share); share < 0.83 || share > 0.97 {
				t.Errorf("alike %.1f: %.3f of intervals held the %s, want about 0.9", alike, share, what)
			}
		}
	}
}

func TestASlipOfTheDecimalPointDoesNotMoveTheYear(t *testing.T) {
	w := walk{days: 1400, every: 7, start: 240, amplitude: 30, peak: 100, sd: 2}.weighings(5)
	w[50].Kg *= 10
	got := seasonOf(t, w)
	closeTo(t, "top", got.Peak.Value, 100, 3)
	closeTo(t, "amplitude", got.Amplitude.Value, 30, 1.5)
	closeTo(t, "spread", got.SD, 2, 0.5)
}

func TestAnAnimalWithoutASeason(t *testing.T) {
	seen := 0
	for seed := range uint64(100) {
		if got := seasonOf(t, walk{days: 1000, every: 7, start: 80, sd: 0.6, alike: 0.5}.weighings(seed)); got.Amplitude.Lo > 0 {
			seen++
		}
	}
	if t.Logf("a season seen in %d of 100 animals without one", seen); seen > 17 {
		t.Errorf("a season is seen in %d of 100 animals that have none", seen)
	}
	steady := seasonOf(t, walk{days: 1000, every: 7, start: 80}.weighings(1))
	if steady.NotEnough != "" || steady.Amplitude.Lo != 0 || math.IsNaN(steady.Peak.Hi) {
		t.Errorf("an animal that never changes: %+v", steady)
	}
}

func TestASeasonNeedsItsYears(t *testing.T) {
	months := func(w []Weighing) (out []Weighing) { // April to August of each year
		for _, one := range w {
			if part := math.Mod(float64(one.Day), 365.2425); part > 90 && part < 240 {
				out = append(out, one)
			}
		}
		return out
	}
	for _, c := range []struct {
		situation string
		w         []Weighing
		says      string
	}{
		{"a year of weigh-ins", walk{days: 380, every: 7, start: 80}.weighings(1), "weigh-ins of 378 days; needs 700"},
		{"ten weigh-ins in years", walk{days: 1000, every: 100, start: 80}.weighings(1), "weighed on 10 days; needs 24"},
		{"summers only", months(walk{days: 1400, every: 7, start: 80}.weighings(1)), "months of the year; needs 9"},
	} {
		if got := seasonOf(t, c.w).NotEnough; !strings.Contains(got, c.says) {
			t.Errorf("%s: %q, want %q", c.situation, got, c.says)
		}
	}
}
