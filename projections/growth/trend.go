package growth

import (
	"fmt"
	"math"
)

// Trend is how fast a mass rises or falls.
type Trend struct {
	PerDay    Interval // kg/d, the median slope of all pairs of days
	Start     float64  // kg, the line on the day From
	From, To  int      // days
	Weighings int      // off a scale
	Days      int      // with a weigh-in
	Rising    Kendall  // whether it rises at all
	Serial    float64  // how alike days that follow one another are off the line, 0 to 0.95
	NotEnough string
}

// At is the line on a day, in kg.
func (t Trend) At(day int) float64 { return t.Start + t.PerDay.Value*float64(day-t.From) }

// TrendOf is the trend of weigh-ins after Theil 1950 and Sen 1968 (J Am Stat
// Assoc 63:1379-1389): a few wild readings don't move it. The interval is
// Sen's, from Kendall's variance with ties, which is widened where days that
// follow one another are alike (after Yue & Wang 2004, Water Resour Manage
// 18:201, from memory); it knows nothing of season, so that over less than a
// year a trend may be part of the year's course. Errors: a mass or coat that
// can't be.
func TrendOf(weighings []Weighing) (Trend, error) {
	if err := check(weighings); err != nil {
		return Trend{}, err
	}
	s := daily(weighings)
	out := Trend{Weighings: len(read(weighings)), Days: len(s.day)}
	if out.NotEnough = tooShort(s, "trend_least", "trend_days"); out.NotEnough != "" {
		return out, nil
	}
	out.From, out.To = int(s.day[0]), int(s.day[len(s.day)-1])
	slopes := s.byRank()
	line := s.line(slopes)
	out.Serial = serial(s.off(line))
	s.bound(&line, slopes, assumed("level"), longRun(out.Serial))
	out.PerDay, out.Start = line.slope, line.at(s.day[0])
	out.Rising = s.kendall(longRun(out.Serial))
	return out, nil
}

// tooShort says in words what a series lacks.
func tooShort(s series, least, days string) string {
	if n, want := len(s.day), assumed(least); float64(n) < want {
		return fmt.Sprintf("weighed on %d days; needs %.0f", n, want)
	}
	if span, want := s.span(), assumed(days); span < want {
		return fmt.Sprintf("weigh-ins of %.0f days; needs %.0f", span, want)
	}
	return ""
}

// line is a robust straight line: kg at day 0 and kg/d.
type line struct {
	slope     Interval
	intercept float64
	ranks     [2]float64 // of the ends of the interval, from 1
}

func (l line) at(day float64) float64 { return l.intercept + l.slope.Value*day }

// line is that whose slope is the median of all pairs'.
func (s series) line(slopes func(rank int) float64) (out line) {
	n := s.pairs()
	if out.slope.Value = slopes((n - 1) / 2); n%2 == 0 {
		out.slope.Value = (out.slope.Value + slopes(n/2)) / 2
	}
	out.intercept = median(s.off(out))
	return out
}

// bound gives a line Sen's interval at a level. Wider multiplies the variance.
func (s series) bound(l *line, slopes func(rank int) float64, level, wider float64) {
	n := s.pairs()
	half := normalQuantile((1+level)/2) * math.Sqrt(wider*s.variance()) / 2
	l.ranks = [2]float64{float64(n)/2 - half, float64(n)/2 + half + 1}
	at := func(rank float64) int { return min(max(int(math.RoundToEven(rank))-1, 0), n-1) }
	l.slope.Lo, l.slope.Hi = slopes(at(l.ranks[0])), slopes(at(l.ranks[1]))
}

// off are the masses less a line.
func (s series) off(l line) []float64 {
	out := make([]float64, len(s.day))
	for i := range out {
		out[i] = s.kg[i] - l.at(s.day[i])
	}
	return out
}
