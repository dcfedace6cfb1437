package growth

import (
	"fmt"
	"math"
)

// Watch is what charts say of the last days against the time before them.
type Watch struct {
	Season    Season // learnt from the days before the watched ones
	Days      []Seen // the watched days with a weigh-in
	Signals   []Watched
	NotEnough string
}

// Seen is a watched day: its mass, what trend and season expected, how far it
// is off in standard deviations of the time before, and what the charts make
// of that, in the same unit.
type Seen struct {
	Day          int
	Kg, Expected float64
	Off          float64
	Average      Average
	Sums         Sums
}

// Watched is a change that a chart signals.
type Watched struct {
	Chart string // average or sum
	Up    bool   // heavier than expected
	Began int    // day from which it may have been so: the first after the chart last lay at nought
	Seen  int    // day on which it passed the limit
	Until int    // last day with a weigh-in before the chart was back at nought
	Over  bool   // it was back by today
}

// WatchOf holds the last days, as many as the reference file watches, against
// trend and season of the years before: an exponentially weighted average finds
// a change of some size soon, a cumulative sum a small one that stays. Where
// days are alike, limits are wider by what that does to average and sum (Schmid
// 1997, Stat Papers 38:3; long-run variance, from memory). A steady animal still
// signals now and then: these charts give a false signal every few hundred
// weigh-ins. Errors: a mass or coat that can't be.
func WatchOf(weighings []Weighing, today int) (Watch, error) {
	from := today - int(assumed("watched")) + 1
	season, err := SeasonOf(within(weighings, from-int(assumed("baseline")), from))
	if err != nil {
		return Watch{}, err
	}
	if err := check(weighings); err != nil {
		return Watch{}, err
	}
	out := Watch{Season: season}
	lately := daily(within(weighings, from, today+1))
	switch {
	case season.NotEnough != "":
		out.NotEnough = fmt.Sprintf("before the last %.0f days: %s", assumed("watched"), season.NotEnough)
	case len(lately.day) == 0:
		out.NotEnough = fmt.Sprintf("no weigh-in in the last %.0f days; weigh it", assumed("watched"))
	}
	if out.NotEnough != "" {
		return out, nil
	}
	out.chart(lately)
	return out, nil
}

// chart lays average and sums over the days.
func (w *Watch) chart(s series) {
	sd := max(w.Season.SD, assumed("scale_least"))
	off := make([]float64, len(s.day))
	for i, day := range s.day {
		expected := w.Season.Expected(int(day))
		off[i] = (s.kg[i] - expected) / sd
		w.Days = append(w.Days, Seen{Day: int(day), Kg: s.kg[i], Expected: expected, Off: off[i]})
	}
	lambda, serial := assumed("ewma_lambda"), w.Season.Serial
	wider := math.Sqrt(longRun(serial * (1 - lambda)))
	averages, err := EWMA(off, lambda, 0, wider, assumed("ewma_limit"))
	if err != nil {
		panic("growth: a reference file: " + err.Error())
	}
	unit := math.Sqrt(longRun(serial))
	sums := CUSUM(off, 0, assumed("cusum_slack")*unit)
	for i := range w.Days {
		w.Days[i].Average, w.Days[i].Sums = averages[i], sums[i]
	}
	w.signal(assumed("cusum_limit") * unit)
}

func (w *Watch) signal(limit float64) {
	d, n := w.Days, len(w.Days)
	w.add("average", true, runs(n, func(i int) bool { return d[i].Average.Value > 0 }, func(i int) bool { return d[i].Average.Value > d[i].Average.Hi }))
	w.add("average", false, runs(n, func(i int) bool { return d[i].Average.Value < 0 }, func(i int) bool { return d[i].Average.Value < d[i].Average.Lo }))
	w.add("sum", true, runs(n, func(i int) bool { return d[i].Sums.High > 0 }, func(i int) bool { return d[i].Sums.High > limit }))
	w.add("sum", false, runs(n, func(i int) bool { return d[i].Sums.Low > 0 }, func(i int) bool { return d[i].Sums.Low > limit }))
}

func (w *Watch) add(chart string, up bool, found []run) {
	for _, r := range found {
		w.Signals = append(w.Signals, Watched{
			Chart: chart, Up: up, Began: w.Days[r.began].Day, Seen: w.Days[r.seen].Day,
			Until: w.Days[r.back-1].Day, Over: r.back < len(w.Days),
		})
	}
}
