package projections

import (
	"math"

	"haulout/projections/energetics"
	"haulout/projections/growth"
)

// MassChange is the last weighed day against the median of the days before it.
type MassChange struct {
	Window    int      `json:"window_days"`
	Kg        float64  `json:"mass_kg"`
	Median    *float64 `json:"median_kg"`
	Percent   *float64 `json:"change_percent"` // below nought where it fell
	Explained float64  `json:"scale_explains"` // percentage points of a fall that come from a scale which steps
	WeighIns  int      `json:"weigh_ins"`      // behind the median
	Limit     float64  `json:"limit_percent"`  // the fall at which a person should look
	Look      bool     `json:"look"`           // it fell that far, beside what the scale explains
	NotEnough string   `json:"not_enough,omitempty"`
}

func massChanged(c massChange) MassChange {
	out := MassChange{Window: c.Window, Kg: c.Kg, WeighIns: len(c.Of), Limit: c.Limit, NotEnough: c.NotEnough}
	if c.NotEnough == "" {
		out.Median, out.Percent, out.Explained = &c.Median, &c.Percent, c.Explained
		out.Look = c.Percent+c.Explained <= -c.Limit
	}
	return out
}

// MassOn is a mass on a day.
type MassOn struct {
	Day Day     `json:"day"`
	Kg  float64 `json:"mass_kg"`
}

// MassTrend is how fast the mass rose or fell lately.
type MassTrend struct {
	Window    int                  `json:"window_days"`
	PerDay    *energetics.Interval `json:"kg_a_day"`
	Line      []MassOn             `json:"line"`  // its two ends
	Going     string               `json:"going"` // up, down, or "" where the interval holds both
	WeighIns  int                  `json:"weigh_ins"`
	Days      int                  `json:"days_weighed"`
	NotEnough string               `json:"not_enough,omitempty"`
}

func massTrend(t growth.Trend, window int) MassTrend {
	out := MassTrend{Window: window, Line: []MassOn{}, WeighIns: t.Weighings, Days: t.Days, NotEnough: t.NotEnough}
	if t.NotEnough != "" {
		return out
	}
	out.PerDay = ranged(t.PerDay)
	for _, day := range []int{t.From, t.To} {
		out.Line = append(out.Line, MassOn{dayNumbered(day), t.At(day)})
	}
	switch {
	case t.PerDay.Lo > 0:
		out.Going = "up"
	case t.PerDay.Hi < 0:
		out.Going = "down"
	}
	return out
}

// ranged is an interval as answers write it.
func ranged(i growth.Interval) *energetics.Interval {
	return &energetics.Interval{Mean: i.Value, Lo: i.Lo, Hi: i.Hi}
}

// MassSeason is the year's course of the mass, beside a straight trend.
type MassSeason struct {
	PerYear   *energetics.Interval `json:"kg_a_year"`
	Amplitude *energetics.Interval `json:"amplitude_kg"` // half of what lies between top and bottom
	Seen      bool                 `json:"seen"`         // the course is more than chance
	Peak      *MassPeak            `json:"peak"`         // null where no season is seen
	SD        *float64             `json:"sd_kg"`        // of a day's mass off the course
	From      Day                  `json:"from,omitempty"`
	To        Day                  `json:"to,omitempty"`
	Days      int                  `json:"days_weighed"`
	Course    []MassExpected       `json:"course"` // a point a week
	NotEnough string               `json:"not_enough,omitempty"`
}

// MassPeak is when the mass is greatest, as month and day.
type MassPeak struct {
	Likely string `json:"likely"`
	From   string `json:"from"`
	To     string `json:"to"`
}

// MassExpected is a mass that trend and season expect of a day: of ten days nine
// lie within.
type MassExpected struct {
	Day Day     `json:"day"`
	Kg  float64 `json:"mass_kg"`
	Lo  float64 `json:"lo90"`
	Hi  float64 `json:"hi90"`
}

// courseStep is how many days lie between two points of the year's course.
const courseStep = 7

func massSeason(s growth.Season) MassSeason {
	out := MassSeason{Days: s.Days, Course: []MassExpected{}, NotEnough: s.NotEnough}
	if s.NotEnough != "" {
		return out
	}
	out.PerYear, out.Amplitude, out.SD, out.Seen = ranged(s.PerYear), ranged(s.Amplitude), &s.SD, s.Amplitude.Lo > 0
	out.From, out.To = dayNumbered(s.From), dayNumbered(s.To)
	if out.Seen {
		out.Peak = &MassPeak{monthDay(s.Peak.Value), monthDay(s.Peak.Lo), monthDay(s.Peak.Hi)}
	}
	half := nineOfTen(s.SD)
	for day := s.From; day <= s.To; day += courseStep {
		kg := s.Expected(day)
		out.Course = append(out.Course, MassExpected{dayNumbered(day), kg, kg - half, kg + half})
	}
	return out
}

// nineOfTen is how far nine in ten lie from the middle at most, as the level of
// the reference file has it.
func nineOfTen(sd float64) float64 {
	return math.Sqrt2 * math.Erfinv(growth.Assumed("level").Value) * sd
}

// monthDay is a day of the year, counted from 0 on 1 January, as month and day;
// days beyond the year lie in the ones beside it.
func monthDay(day float64) string {
	return string(Day("2026-01-01").Add(int(math.Round(day))))[5:]
}

// MassWatch is what two charts make of the last weeks, against trend and season
// of the years before.
type MassWatch struct {
	Days      []MassSeen   `json:"days"`
	Signals   []MassSignal `json:"signals"`
	NotEnough string       `json:"not_enough,omitempty"`
}

// MassSeen is a watched day. What is off is in standard deviations of the time
// before.
type MassSeen struct {
	Day      Day        `json:"day"`
	Kg       float64    `json:"mass_kg"`
	Expected float64    `json:"expected_kg"`
	Off      float64    `json:"off"`
	Average  float64    `json:"average"`
	Limits   [2]float64 `json:"average_limits"`
	Up       float64    `json:"sum_up"`
	Down     float64    `json:"sum_down"`
}

// MassSignal is a change that a chart shows.
type MassSignal struct {
	Chart string `json:"chart"` // average or sum
	Up    bool   `json:"up"`
	Began Day    `json:"began"` // from when it may have been so
	Seen  Day    `json:"seen"`  // when it passed the limit
	Until Day    `json:"until"`
	Over  bool   `json:"over"`
}

func massWatch(w growth.Watch) MassWatch {
	out := MassWatch{Days: []MassSeen{}, Signals: []MassSignal{}, NotEnough: w.NotEnough}
	for _, d := range w.Days {
		out.Days = append(out.Days, MassSeen{
			Day: dayNumbered(d.Day), Kg: d.Kg, Expected: d.Expected, Off: d.Off, Average: d.Average.Value,
			Limits: [2]float64{d.Average.Lo, d.Average.Hi}, Up: d.Sums.High, Down: d.Sums.Low,
		})
	}
	for _, s := range w.Signals {
		out.Signals = append(out.Signals, MassSignal{s.Chart, s.Up, dayNumbered(s.Began), dayNumbered(s.Seen), dayNumbered(s.Until), s.Over})
	}
	return out
}

// MassCurve is the curve of growth of a kind and sex, from all animals on this
// node, with the place of one of them.
type MassCurve struct {
	Animals    int             `json:"animals"`
	WeighIns   int             `json:"weigh_ins"`
	Points     int             `json:"points"` // medians of a month of one animal's life
	Form       growth.Form     `json:"form,omitempty"`
	SD         *float64        `json:"sd_kg"`          // of a mass off the curve
	Nine       *float64        `json:"nine_in_ten_kg"` // so near to the curve lie nine of ten masses
	Parameters []MassParameter `json:"parameters"`
	Forms      []MassForm      `json:"forms"`
	Line       []MassAt        `json:"line"`
	Own        []MassAtAge     `json:"own"` // its own masses, one a month
	At         *MassAt         `json:"at"`  // the curve at its age at the last weigh-in
	Percent    *float64        `json:"percent"`
	NoPlace    string          `json:"no_place,omitempty"` // why it has none on the curve
	NotEnough  string          `json:"not_enough,omitempty"`
}

// MassParameter is a parameter of a curve.
type MassParameter struct {
	Name string `json:"name"`
	Unit string `json:"unit"` // UCUM
	energetics.Interval
}

// MassForm is a form that was tried.
type MassForm struct {
	Form         growth.Form `json:"form"`
	Weight       float64     `json:"weight"` // share of belief among those that could be estimated
	NotEstimable string      `json:"not_estimable,omitempty"`
}

// MassAt is a curve at an age.
type MassAt struct {
	Years float64 `json:"age_years"`
	energetics.Interval
}

// MassAtAge is a mass at an age.
type MassAtAge struct {
	Years float64 `json:"age_years"`
	Kg    float64 `json:"mass_kg"`
}

// linePoints is how many steps a curve is drawn with.
const linePoints = 60

func massCurve(g growth.Growth) MassCurve {
	out := MassCurve{
		Animals: g.Animals, WeighIns: g.Weighings, Points: g.Points, Parameters: []MassParameter{}, Forms: []MassForm{}, Line: []MassAt{}, Own: []MassAtAge{}, NotEnough: g.NotEnough,
	}
	for _, c := range g.Curves {
		out.Forms = append(out.Forms, MassForm{c.Form, c.Weight, c.NotEstimable})
	}
	c, ok := g.Chosen()
	if !ok {
		return out
	}
	nine := nineOfTen(c.SD)
	out.Form, out.SD, out.Nine = c.Form, &c.SD, &nine
	for _, p := range c.Params {
		out.Parameters = append(out.Parameters, MassParameter{p.Name, p.Unit, *ranged(p.Interval)})
	}
	youngest, oldest := c.Ages()
	for i := range linePoints + 1 {
		years := min(youngest+(oldest-youngest)*float64(i)/linePoints, oldest)
		if kg, ok := c.At(years); ok {
			out.Line = append(out.Line, MassAt{years, *ranged(kg)})
		}
	}
	return out
}

// place puts a mass beside the curve at its age.
func (m *MassCurve) place(g growth.Growth, years, kg float64) {
	c, ok := g.Chosen()
	if !ok {
		m.NoPlace = m.NotEnough
		return
	}
	at, ok := c.At(nearest(c, years))
	if !ok {
		m.NoPlace = "its age is beyond those that the curve was fitted to"
		return
	}
	percent := 100 * (kg/at.Value - 1)
	m.At, m.Percent = &MassAt{years, *ranged(at)}, &percent
}

// nearest is an age that the curve was fitted to. The ages of its points are
// medians of a month, so that the oldest animal is some days beyond them all.
func nearest(c growth.Curve, years float64) float64 {
	youngest, oldest := c.Ages()
	if within := min(max(years, youngest), oldest); math.Abs(years-within)*365.25 <= growth.Assumed("curve_spacing").Value {
		return within
	}
	return years
}

// MassPlace is where the mass stands beside published ones.
type MassPlace struct {
	Kg        *float64    `json:"published_kg"`
	Band      *[2]float64 `json:"published_band_kg"` // lightest and heaviest; null where single animals were published
	Percent   *float64    `json:"percent"`           // of the published mass; below nought where it is lighter
	Ages      *[2]float64 `json:"ages_years"`
	Animals   int         `json:"animals"`
	Source    string      `json:"source,omitempty"`
	Caveat    string      `json:"caveat,omitempty"`
	Verified  bool        `json:"verified"`
	NotEnough string      `json:"not_enough,omitempty"`
}

func massPlace(p growth.Place) MassPlace {
	out := MassPlace{Animals: p.Animals, Source: p.Source, Caveat: p.Caveat, Verified: p.Verified, NotEnough: p.NotEnough}
	if p.NotEnough == "" {
		out.Kg, out.Band, out.Percent, out.Ages = &p.Published, p.Band, &p.Percent, &p.Ages
	}
	return out
}

// MassScale is a scale that the animal was weighed on lately, and what all
// animals weighed on it say of it.
type MassScale struct {
	Scale     string     `json:"scale"`
	Last      Day        `json:"last"` // it was weighed on it
	Animals   int        `json:"animals"`
	WeighIns  int        `json:"weigh_ins"`
	Steps     []MassStep `json:"steps"`
	NotEnough string     `json:"not_enough,omitempty"`
}

// MassStep is a day from which on a scale reads otherwise for all animals.
type MassStep struct {
	Since     Day                  `json:"since"`
	Between   [2]Day               `json:"between"` // the days that it may have been
	Percent   *energetics.Interval `json:"percent"`
	Kg        *energetics.Interval `json:"kg"`
	Same      string               `json:"same,omitempty"` // kg or percent, whichever the animals agree on
	Animals   int                  `json:"animals"`
	WeighIns  int                  `json:"weigh_ins"`
	Elsewhere string               `json:"elsewhere"`
}

func massScale(s growth.Scale, last Day) MassScale {
	out := MassScale{Scale: s.Scale, Last: last, Animals: s.Animals, WeighIns: s.Weighings, Steps: []MassStep{}, NotEnough: s.NotEnough}
	for _, step := range s.Steps {
		out.Steps = append(out.Steps, MassStep{
			Since: dayNumbered(step.Since), Between: [2]Day{dayNumbered(step.Between[0]), dayNumbered(step.Between[1])}, Percent: ranged(step.Percent), Kg: ranged(step.Kg),
			Same: step.Same, Animals: len(step.Of), WeighIns: step.Weighings, Elsewhere: step.Elsewhere,
		})
	}
	return out
}
