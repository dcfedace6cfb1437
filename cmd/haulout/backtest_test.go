package main

import (
	"fmt"
	"math"
	"testing"
	"time"

	"haulout/cmd/haulout/colony"
	"haulout/projections"
)

// ahead is how many days a forecast of the back-test looks on.
const ahead = 30

// backtest counts how forecasts turned out.
type backtest struct {
	n, inside, silent int
	off, line         float64 // sums of errors, as shares of mass
}

func (b *backtest) String() string {
	return fmt.Sprintf("%d forecasts of %d days, %.1f %% of the weigh-ins inside the band of 90 %%, mean error %.2f %% of mass, %.2f %% by a straight line; %d not enough data",
		b.n, ahead, 100*float64(b.inside)/float64(b.n), 100*b.off/float64(b.n), 100*b.line/float64(b.n), b.silent)
}

// The invented colony lives its two years through the real log and archive once,
// and is asked several things.
func TestTheColonyThroughTheRealLog(t *testing.T) {
	until := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	n := settleColony(t, until)
	t.Run("forecasts hold what they promise", func(t *testing.T) { forecastsHold(t, n, until) })
	t.Run("the board shows what was planted", func(t *testing.T) { boardShowsWhatWasPlanted(t, n.store, until) })
	t.Run("the board is quiet about what is no problem", func(t *testing.T) { boardIsQuietAboutTheSeasons(t, n.store, until) })
	t.Run("the board names the scale that was off", func(t *testing.T) { boardNamesTheScale(t, n.store, until) })
}

// The forecast is held against the invented colony, through the real log and
// archive: on days three weeks apart it is asked what each animal will weigh 30
// days on, under the ration in force and knowing nothing later, and the weigh-ins
// of that day answer. The colony's animals live by their own rules (tissue of 16
// to 24 MJ/kg, needs that drift and swing, rations that change, scales that are
// off, digits that slip). A straight line through the weigh-ins of the last 30
// days is what a lead keeper draws by eye.
func forecastsHold(t *testing.T, n *node, until time.Time) {
	roster, err := n.store.Animals(time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	var b backtest
	last := projections.DayOf(until, time.UTC).Add(-1)
	for _, a := range roster {
		for origin := last.Add(-2*365 + 120); origin.Add(ahead) <= last; origin = origin.Add(21) {
			b.ask(t, n.store, a.ID, origin)
		}
	}
	t.Log(&b)
	if share := float64(b.inside) / float64(b.n); b.n < 200 || share < 0.85 || share > 0.95 {
		t.Errorf("%.1f %% of %d weigh-ins lie inside bands of 90 %%", 100*share, b.n)
	}
	if b.off >= b.line {
		t.Errorf("the forecast is off by more than a straight line: %s", &b)
	}
}

func settleColony(t *testing.T, until time.Time) *node {
	t.Helper()
	n := tryNode(t, t.TempDir())
	t.Cleanup(func() {
		if err := n.close(); err != nil {
			t.Error(err)
		}
	})
	w, size := settlers{node: n}, map[string]uint64{}
	for entry := range colony.Entries(7, until) {
		if err := w.take(t.Context(), entry); err != nil {
			t.Fatal(err)
		}
		size[entry.Facility] += uint64(len(entry.Facts))
	}
	if err := w.flush(); err != nil {
		t.Fatal(err)
	}
	for facility, records := range size {
		if !n.settled(t.Context(), facility, records, 5*time.Minute) {
			t.Fatalf("the rows of %s do not hold record %d", facility, records)
		}
	}
	return n
}

// ask foretells one animal's mass from a day on, and looks what came.
func (b *backtest) ask(t *testing.T, s *projections.Store, animal string, origin projections.Day) {
	t.Helper()
	came := weighedOn(t, s, animal, origin.Add(ahead-1), origin.Add(ahead+1))
	if math.IsNaN(came) {
		return
	}
	f, err := s.Forecast(animal, nil, origin, "", origin.End(time.UTC), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	line, ok := lineOf(t, s, animal, origin)
	if f.NotEnough != "" || !ok {
		b.silent++
		return
	}
	said := f.Days[ahead-1]
	b.n++
	if came >= said.Lo && came <= said.Hi {
		b.inside++
	}
	b.off += math.Abs(said.Kg-came) / came
	b.line += math.Abs(line-came) / came
}

// weighedOn is the mean of the weigh-ins of some days; not a number where there
// are none.
func weighedOn(t *testing.T, s *projections.Store, animal string, from, to projections.Day) float64 {
	t.Helper()
	list, err := s.Weights(animal, from, to, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for _, w := range list {
		sum += w.Kg
	}
	return sum / float64(len(list))
}

// lineOf extends the least-squares line of the weigh-ins of the last 30 days.
func lineOf(t *testing.T, s *projections.Store, animal string, origin projections.Day) (float64, bool) {
	t.Helper()
	list, err := s.Weights(animal, origin.Add(-29), origin, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	end := origin.End(time.UTC)
	var n, sx, sy, sxx, sxy float64
	for _, w := range list {
		x := w.Time.Sub(end).Hours() / 24
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+w.Kg, sxx+x*x, sxy+x*w.Kg
	}
	det := n*sxx - sx*sx
	if n < 3 || det == 0 {
		return 0, false
	}
	slope := (n*sxy - sx*sy) / det
	return (sy-slope*sx)/n + slope*ahead, true
}
