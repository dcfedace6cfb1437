package web

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"haulout/projections"
	"haulout/projections/energetics"
	"haulout/projections/growth"
)

// massSection is how the mass of an animal goes: what stands out, the weeks
// before, the course of the years and the curve of its kind.
type massSection struct {
	Answer, More string
	Scales       []massWarning
	Published    string // what is published of its class at this time, where it fell
	Changes      []massChangeRow
	Said         bool   // something is said of a change
	Trend        bool   // it goes one way for certain
	Season       string // the year's course in a sentence, or why there is none
	Watch        string // what the charts of the last weeks show
	Courses      []massCourseChart
	Months       []massMonthRow // behind the course, newest first
	Signals      []massSignalRow
	Curve        string // its place on the curve, or why it has none
	Place        string // beside published masses
	Caveat       string
	Curves       []massCurveChart
	Ages         []massAgeRow
	Forms        []massFormRow
	Reasons      []reasonRow
	Caution      string
}

// massWarning is a scale whose readings step.
type massWarning struct{ Says, Evidence, Next string }

type massChangeRow struct {
	Window, Median, Change, Of, Limit string
	Says                              string
	Look                              bool
	Missing                           string
}

type massMonthRow struct{ Day, Expected, Range string }

type massSignalRow struct{ Chart, Way, Began, Seen, Until string }

type massAgeRow struct{ Age, Kg, Range string }

type massFormRow struct{ Form, Says string }

func (s *site) mass(f file) (massSection, error) {
	m, err := s.Store.MassOf(f.animal.ID, f.now, f.asOf.moment)
	if err != nil || m == nil {
		return massSection{}, err
	}
	weights, err := s.Store.Weights(f.animal.ID, f.today.Add(1-massDeskDays), f.today, f.asOf.moment)
	return massSectionOf(m, weights, f), err
}

func massSectionOf(m *projections.MassAnswer, weights []projections.Weighing, f file) massSection {
	out := massSection{Caution: m.Caution, Reasons: massReasons(m.Assumptions), Season: massSeasonWords(m.Season), Watch: massWatchWords(m.Watch)}
	out.Answer, out.More = massAnswer(m)
	out.Published, out.Trend = massPublished(m), m.Trend.Going != ""
	for _, c := range m.Changes {
		row := massChangeRowOf(c)
		out.Changes, out.Said = append(out.Changes, row), out.Said || row.Says != ""
	}
	for _, s := range m.Scales {
		for _, step := range s.Steps {
			out.Scales = append(out.Scales, massWarningOf(s.Scale, step))
		}
	}
	if m.Trend.NotEnough == "" || m.Season.NotEnough == "" {
		out.Courses = []massCourseChart{massCourseOf("phone", massPhoneDays, m, weights, f), massCourseOf("desk", massDeskDays, m, weights, f)}
	}
	out.Months, out.Signals = massMonths(m.Season), massSignals(m.Watch)
	out.Curve, out.Place, out.Caveat = massCurveWords(m), massPlaceWords(m), massCaveat(m.Place)
	if m.Curve.NotEnough == "" {
		out.Curves = []massCurveChart{massCurveOf("phone", m), massCurveOf("desk", m)}
		out.Ages, out.Forms = massAges(m.Curve), massForms(m.Curve)
	}
	return out
}

// massAnswer says how the last weigh-in stands beside the weeks before, and
// where the mass has been going.
func massAnswer(m *projections.MassAnswer) (bold, more string) {
	if m.Last == nil {
		return "Never weighed.", " The first weight begins this."
	}
	var parts []string
	for _, c := range m.Changes {
		if c.NotEnough == "" {
			parts = append(parts, fmt.Sprintf("%s the median of the %d days before", massBeside(*c.Percent), c.Window))
		}
	}
	bold = "Too few weights to compare with."
	if len(parts) > 0 {
		bold = sentence(listed(parts)) + "."
	}
	return bold, " " + massTrendWords(m.Trend)
}

// massBeside says how far a mass lies over or under another.
func massBeside(percent float64) string {
	switch {
	case math.Abs(percent) < 0.05:
		return "level with"
	case percent < 0:
		return fmt.Sprintf("%.1f%s%% under", -percent, nb)
	}
	return fmt.Sprintf("%.1f%s%% over", percent, nb)
}

func massTrendWords(t projections.MassTrend) string {
	if t.NotEnough != "" {
		return fmt.Sprintf("No trend of the last %d days: %s.", t.Window, t.NotEnough)
	}
	a, b := 7*t.PerDay.Lo, 7*t.PerDay.Hi
	rests := fmt.Sprintf("9\u00a0in\u00a010, from %s, season and all", plural(t.Days, "day", "days")+" with a weight")
	switch t.Going {
	case "up":
		return fmt.Sprintf("Over the last %d days it gained about %.2f%skg a week (%.2f to %.2f, %s).", t.Window, 7*t.PerDay.Mean, nb, a, b, rests)
	case "down":
		return fmt.Sprintf("Over the last %d days it lost about %.2f%skg a week (%.2f to %.2f, %s).", t.Window, -7*t.PerDay.Mean, nb, -b, -a, rests)
	}
	return fmt.Sprintf("Whether it gained or lost over the last %d days cannot be told: %s to %s%skg a week (%s).", t.Window, massSigned(a, 2), massSigned(b, 2), nb, rests)
}

// massSigned writes a number with its sign.
func massSigned(v float64, digits int) string {
	return strings.Replace(fmt.Sprintf("%+.*f", digits, v), "-", "\u2212", 1)
}

// massPublished names what is published of its class where the mass fell.
func massPublished(m *projections.MassAnswer) string {
	fell := slices.ContainsFunc(m.Changes, func(c projections.MassChange) bool { return c.NotEnough == "" && *c.Percent < 0 })
	if !fell || len(m.Expected) == 0 {
		return ""
	}
	return "At this time is published of its class: " + strings.Join(m.Expected, "; ") + ". That explains a loss and excuses none: the veterinarian decides."
}

func massChangeRowOf(c projections.MassChange) massChangeRow {
	row := massChangeRow{Window: fmt.Sprintf("%d days", c.Window), Limit: fmt.Sprintf("\u2212%.0f%s%%", c.Limit, nb), Missing: c.NotEnough, Look: c.Look}
	if c.NotEnough != "" {
		return row
	}
	row.Median, row.Of = fmt.Sprintf("%.1f", *c.Median), fmt.Sprint(c.WeighIns)
	row.Change = massSigned(*c.Percent, 1) + nb + "%"
	switch {
	case c.Look:
		row.Says = "Weigh again, and tell the veterinarian if it holds"
	case c.Explained >= 0.05:
		row.Says = fmt.Sprintf("a scale that steps explains %.1f%s%%", c.Explained, nb)
	}
	return row
}

func massWarningOf(scale string, step projections.MassStep) massWarning {
	way := "more"
	if step.Percent.Mean < 0 {
		way = "less"
	}
	size, span := fmt.Sprintf("%.1f%s%%", math.Abs(step.Percent.Mean), nb), massSpan(step.Percent, "%")
	if step.Same == "kg" {
		size, span = fmt.Sprintf("%.1f%skg", math.Abs(step.Kg.Mean), nb), massSpan(step.Kg, "kg")
	}
	return massWarning{
		Says:     fmt.Sprintf("Scale %s reads about %s %s since %s, for all animals weighed on it", scale, size, way, dayAs(step.Since, "2"+nb+"January"+nb+"2006")),
		Evidence: fmt.Sprintf("%s, 9\u00a0in\u00a010, by %s and %s; %s", span, plural(step.Animals, "animal", "animals"), plural(step.WeighIns, "weigh-in", "weigh-ins"), step.Elsewhere),
		Next:     "Put a known mass on it",
	}
}

func massSpan(i *energetics.Interval, unit string) string {
	return massSigned(i.Lo, 1) + " to " + massSigned(i.Hi, 1) + nb + unit
}

func massSeasonWords(s projections.MassSeason) string {
	switch {
	case s.NotEnough != "":
		return "No course of the year yet: " + s.NotEnough + "."
	case !s.Seen:
		return fmt.Sprintf("No season is seen in %s with a weight from %s to %s.", plural(s.Days, "day", "days"), dayAs(s.From, "January"+nb+"2006"), dayAs(s.To, "January"+nb+"2006"))
	}
	return fmt.Sprintf("In a year heaviest about %s (%s to %s, 9\u00a0in\u00a010), and %.1f%skg lighter half a year on (%.1f to %.1f).",
		massMonthDay(s.Peak.Likely), massMonthDay(s.Peak.From), massMonthDay(s.Peak.To), 2*s.Amplitude.Mean, nb, 2*s.Amplitude.Lo, 2*s.Amplitude.Hi)
}

// massMonthDay writes a month and day such as 04-18.
func massMonthDay(text string) string {
	return dayAs(projections.Day("2026-"+text), "2"+nb+"January")
}

func massWatchWords(w projections.MassWatch) string {
	if w.NotEnough != "" {
		return "Not watched: " + w.NotEnough + "."
	}
	over := plural(len(w.Days), "day", "days") + " with a weight of the last weeks"
	if len(w.Signals) == 0 {
		return "Watched on " + over + " against trend and season of the years before: nothing that chance does not bring."
	}
	last := w.Signals[len(w.Signals)-1]
	way := "lighter"
	if last.Up {
		way = "heavier"
	}
	since := fmt.Sprintf("%s than trend and season of the years before since %s", way, dayAs(last.Began, "2"+nb+"January"))
	if last.Over {
		since = fmt.Sprintf("%s from %s to %s, and back since", way, dayAs(last.Began, "2"+nb+"January"), dayAs(last.Until, "2"+nb+"January"))
	}
	return fmt.Sprintf("Watched on %s: %s. A steady animal gives such a signal once in a few hundred weigh-ins.", over, since)
}

func massSignals(w projections.MassWatch) (out []massSignalRow) {
	for _, s := range slices.Backward(w.Signals) {
		row := massSignalRow{"weighted average", "lighter", longDay(s.Began), longDay(s.Seen), longDay(s.Until)}
		if s.Chart == "sum" {
			row.Chart = "cumulative sum"
		}
		if s.Up {
			row.Way = "heavier"
		}
		if !s.Over {
			row.Until = "goes on"
		}
		out = append(out, row)
	}
	return out
}

// massMonths is the expected mass about the middle of each month.
func massMonths(s projections.MassSeason) (out []massMonthRow) {
	month := ""
	for _, e := range slices.Backward(s.Course) {
		if string(e.Day[:7]) != month && e.Day[8:] <= "18" {
			month = string(e.Day[:7])
			out = append(out, massMonthRow{dayAs(e.Day, "2"+nb+"Jan"+nb+"2006"), fmt.Sprintf("%.1f", e.Kg), fmt.Sprintf("%.1f to %.1f", e.Lo, e.Hi)})
		}
	}
	return out
}

func massCurveWords(m *projections.MassAnswer) string {
	c := m.Curve
	herd := fmt.Sprintf("%s of its kind and sex on record here (%s)", plural(c.Animals, "animal", "animals"), plural(c.WeighIns, "weight", "weights"))
	switch {
	case c.NotEnough != "":
		return "No curve of growth: " + strings.TrimPrefix(c.NotEnough, "no curve of growth can be estimated: ") + "."
	case c.NoPlace != "":
		return fmt.Sprintf("A curve of growth from %s; it has no place on it: %s.", herd, c.NoPlace)
	}
	return fmt.Sprintf("At %.1f years the curve of %s is at %.1f%skg (%.1f to %.1f, 9\u00a0in\u00a010); it is %s it. Nine of ten masses lie within %.0f%skg of the curve.",
		c.At.Years, herd, c.At.Mean, nb, c.At.Lo, c.At.Hi, massBeside(*c.Percent), *c.Nine, nb)
}

func massPlaceWords(m *projections.MassAnswer) string {
	p := m.Place
	if p.NotEnough != "" {
		return "Beside published masses: " + p.NotEnough + "."
	}
	between := fmt.Sprintf("on the line between %s published at %.1f and %.1f years", plural(p.Animals, "mass", "masses"), p.Ages[0], p.Ages[1])
	return fmt.Sprintf("Published: %.1f%skg at its age, %s; it is %s that.", *p.Kg, nb, between, massBeside(*p.Percent))
}

func massCaveat(p projections.MassPlace) string {
	if p.Source == "" {
		return ""
	}
	text := "Source: " + p.Source
	if p.NotEnough != p.Caveat {
		text = sentence(p.Caveat) + ". " + text
	}
	if !p.Verified {
		text += ", to be verified"
	}
	return text + "."
}

// massAges reads the curve at whole years.
func massAges(c projections.MassCurve) (out []massAgeRow) {
	year := -1
	for _, at := range c.Line {
		if int(at.Years) != year {
			year = int(at.Years)
			out = append(out, massAgeRow{fmt.Sprintf("%.1f", at.Years), fmt.Sprintf("%.1f", at.Mean), fmt.Sprintf("%.1f to %.1f", at.Lo, at.Hi)})
		}
	}
	return out
}

func massForms(c projections.MassCurve) (out []massFormRow) {
	for _, form := range c.Forms {
		says := "not estimable: " + form.NotEstimable
		if form.NotEstimable == "" {
			says = fmt.Sprintf("%.0f in 100 of the belief", 100*form.Weight)
		}
		out = append(out, massFormRow{sentence(string(form.Form)), says})
	}
	return out
}

func massReasons(list []growth.Constant) (out []reasonRow) {
	for _, c := range list {
		row := reasonRow{Name: sentence(c.Name), Value: plainFigure(c.Value) + massUnit(c.Unit), Source: c.Source, Verified: c.Verified}
		if c.Low != c.High {
			row.Range = plainFigure(c.Low) + " to " + plainFigure(c.High)
		}
		out = append(out, row)
	}
	return out
}

// massUnit leaves out units that only name what is counted.
func massUnit(ucum string) string {
	if strings.HasPrefix(ucum, "{") {
		return ""
	}
	return unitOf(ucum)
}
