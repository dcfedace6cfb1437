package growth

import (
	"slices"
	"strings"
	"testing"
)

func watchOf(t testing.TB, w []Weighing, today int) Watch {
	t.Helper()
	out, err := WatchOf(w, today)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// male swings by 15 % of his mass within the year, as grown males do.
var male = walk{days: 1460, every: 3, start: 200, perDay: 0.01, amplitude: 30, peak: 105, sd: 1.5, alike: 0.5}

// A chart on raw weights would signal every year; one on what trend and season
// leave does so about as seldom as its design says: once in some hundred
// weigh-ins, of which there are thirty.
func TestASteadyAnimalSeldomSignals(t *testing.T) {
	const tries = 200
	for _, alike := range []float64{0, 0.5, 0.8} {
		signalled := 0
		for seed := range uint64(tries) {
			w := male
			w.alike = alike
			if got := watchOf(t, w.weighings(seed), w.days-1); len(got.Signals) > 0 {
				signalled++
			} else if got.NotEnough != "" || len(got.Days) != 30 {
				t.Fatalf("%q, %d days", got.NotEnough, len(got.Days))
			}
		}
		if t.Logf("alike %.1f: %d of %d quarters of a year signalled", alike, signalled, tries); signalled > tries/4 {
			t.Errorf("alike %.1f: %d of %d quarters of a year signalled", alike, signalled, tries)
		}
	}
}

// He loses 6 % of his mass from one weigh-in to the next and stays there: both
// charts say so, and from when.
func TestALossIsSignalledWithTheDayItBegan(t *testing.T) {
	found := 0
	const tries, began = 50, 1400
	for seed := range uint64(tries) {
		w := male.weighings(seed)
		for i := range w {
			if w[i].Day >= began {
				w[i].Kg -= 12
			}
		}
		got := watchOf(t, w, male.days-1)
		for _, chart := range []string{"average", "sum"} {
			i := slices.IndexFunc(got.Signals, func(s Watched) bool { return s.Chart == chart && !s.Up && !s.Over })
			if i < 0 {
				t.Errorf("seed %d: the %s says nothing: %+v", seed, chart, got.Signals)
				continue
			}
			if s := got.Signals[i]; s.Began >= began-9 && s.Began <= began+6 && s.Seen >= began && s.Seen <= began+21 {
				found++
			}
		}
	}
	if t.Logf("%d of %d signals name the day within nine", found, 2*tries); found < 8*2*tries/10 {
		t.Errorf("%d of %d signals name the day", found, 2*tries)
	}
}

func TestALossThatIsMadeUpIsOver(t *testing.T) {
	w := male.weighings(4)
	for i := range w {
		if w[i].Day >= 1390 && w[i].Day < 1410 {
			w[i].Kg -= 15
		}
	}
	got := watchOf(t, w, male.days-1)
	i := slices.IndexFunc(got.Signals, func(s Watched) bool { return s.Chart == "average" && !s.Up })
	if i < 0 || !got.Signals[i].Over || got.Signals[i].Until < 1407 || got.Signals[i].Until > 1440 {
		t.Errorf("%+v", got.Signals)
	}
}

func TestAWatchNeedsYearsAndWeighIns(t *testing.T) {
	young := walk{days: 400, every: 3, start: 40}.weighings(1)
	if got := watchOf(t, young, 399).NotEnough; !strings.HasPrefix(got, "before the last 90 days: weigh-ins of") {
		t.Errorf("%q", got)
	}
	if got := watchOf(t, male.weighings(1), 1460+200).NotEnough; got != "no weigh-in in the last 90 days; weigh it" {
		t.Errorf("%q", got)
	}
	if _, err := EWMA([]float64{1}, 0, 0, 1, 3); err == nil || !strings.Contains(err.Error(), "lambda") {
		t.Errorf("a lambda of nought: %v", err)
	}
}
