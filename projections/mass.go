package projections

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections/energetics"
	"haulout/projections/growth"
)

// MassAnswer is how the mass of an animal goes. Each part says what it rests on,
// or what is missing for it.
type MassAnswer struct {
	Animal string   `json:"animal"`
	Name   string   `json:"name"`
	Day    Day      `json:"day"` // that is asked from
	Taxon  string   `json:"taxon"`
	Sex    string   `json:"sex"`
	Years  *float64 `json:"age_years"` // null where its birth is not known

	Last     *Weighing    `json:"last"`
	Changes  []MassChange `json:"changes"`
	Expected []string     `json:"expected"` // what is published of its class at this time
	Trend    MassTrend    `json:"trend"`
	Season   MassSeason   `json:"season"`
	Watch    MassWatch    `json:"watch"`
	Curve    MassCurve    `json:"curve"`
	Place    MassPlace    `json:"place"`
	Scales   []MassScale  `json:"scales"` // that it was weighed on lately

	Assumptions []growth.Constant `json:"assumptions"`
	Caution     string            `json:"caution"`
}

// MassCaution stands beside every answer about a mass.
const MassCaution = "Worked out from the weigh-ins on record. It is no diagnosis: a loss that nothing explains is for the veterinarian, and nothing here says what an animal should weigh."

// MassOf answers how the mass of an animal goes, by its weigh-ins up to a
// moment. It is nil where no such animal is known.
func (s *Store) MassOf(animal string, now, asOf time.Time) (out *MassAnswer, err error) {
	err = s.at(asOf, func(v view) error {
		all, err := every[Animal](v, &animals)
		if err != nil {
			return err
		}
		i := slices.IndexFunc(all, func(a Animal) bool { return a.ID == animal })
		if i < 0 {
			return nil
		}
		m := &massing{v: v, animal: &all[i], all: all, home: all[i].homeAt(now)}
		m.zone = v.zoneOr(m.home)
		m.now, m.today = now.In(m.zone), DayOf(now, m.zone)
		out, err = m.answer()
		return err
	})
	return out, err
}

// massing is an answer about a mass on its way.
type massing struct {
	v      view
	animal *Animal
	all    []Animal
	home   string // the facility that cares for it, or last did
	zone   *time.Location
	now    time.Time
	today  Day
	series []growth.Weighing // up to now, in order of time
	scales []growth.Scale
	out    *MassAnswer
}

func (m *massing) answer() (*MassAnswer, error) {
	a := m.animal
	m.out = &MassAnswer{
		Animal: a.ID, Name: a.Name, Day: m.today, Taxon: a.Taxon, Sex: a.Sex, Changes: []MassChange{}, Expected: []string{}, Scales: []MassScale{},
		Assumptions: massAssumptions(), Caution: MassCaution,
	}
	if years, known := a.yearsOn(m.today); known {
		m.out.Years = &years
	}
	for _, part := range []func() error{m.weighed, m.changed, m.course, m.watched, m.grown} {
		if err := part(); err != nil {
			return nil, err
		}
	}
	return m.out, nil
}

// massAssumptions are the constants that the answer rests on.
func massAssumptions() (out []growth.Constant) {
	for _, key := range []string{"level", "fall_short", "fall_short_days", "fall_long", "fall_long_days", "trend_least", "trend_days", "season_days", "season_least", "watched", "baseline", "ewma_lambda", "ewma_limit", "cusum_slack", "cusum_limit", "curve_spacing", "final_most", "final_width", "scale_days", "step_animals", "step_sd"} {
		out = append(out, growth.Assumed(key))
	}
	return out
}

// born is the middle of what is known of an animal's birth.
func (a *Animal) born() (at time.Time, known bool) {
	span, ok := events.ParseSpan(a.Born)
	if !ok {
		return at, false
	}
	return span.Middle()
}

// yearsOn is an animal's age on a day, in years of 365.25 days.
func (a *Animal) yearsOn(day Day) (years float64, known bool) {
	born, known := a.born()
	if !known {
		return 0, false
	}
	years = float64(DayOf(born, time.UTC).until(day)) / 365.25
	return years, years >= 0
}

// weighed reads all weigh-ins up to the moment.
func (m *massing) weighed() error {
	list, err := shared[weighings](m.v, &weights, events.Ref{Sort: "animal", ID: m.animal.ID}, "0001-01-01", m.today)
	for _, day := range list {
		for _, w := range day.Row.List {
			if !w.Time.After(m.now) {
				m.series, m.out.Last = append(m.series, beside(m.home, day.Day, w)), &w
			}
		}
	}
	return err
}

// changed holds the last day against the weeks before it, beside what the season
// and the scales explain.
func (m *massing) changed() (err error) {
	m.out.Expected = append(m.out.Expected, energetics.Expected(m.animal.classOn(m.now), m.now.Month(), sinceBirth(m.all, m.animal.ID, m.now, m.zone))...)
	house, err := m.v.houseValues(m.home, m.now)
	if err != nil {
		return err
	}
	if m.scales, err = m.v.namedSteps(m.home, m.all, m.today, house); err != nil || len(m.series) == 0 {
		return err
	}
	changes, err := changesOf(m.series, m.scales)
	for _, c := range changes {
		m.out.Changes = append(m.out.Changes, massChanged(c))
	}
	from := int(m.today.number()) - int(growth.Assumed("scale_days").Value)
	for _, s := range m.scales {
		last := -1
		for _, w := range m.series {
			if w.Scale == s.Scale && w.Day > from {
				last = w.Day
			}
		}
		if last >= 0 {
			m.out.Scales = append(m.out.Scales, massScale(s, dayNumbered(last)))
		}
	}
	return err
}

// since are the weigh-ins of the last days.
func (m *massing) since(days float64) []growth.Weighing {
	from := int(m.today.number()) - int(days)
	return slices.DeleteFunc(slices.Clone(m.series), func(w growth.Weighing) bool { return w.Day <= from })
}

// course is the trend of the last weeks, and the year's course of the last years.
func (m *massing) course() error {
	lately := growth.Assumed("watched").Value
	trend, err := growth.TrendOf(m.since(lately))
	if err != nil {
		return err
	}
	m.out.Trend = massTrend(trend, int(lately))
	season, err := growth.SeasonOf(m.since(growth.Assumed("baseline").Value))
	m.out.Season = massSeason(season)
	return err
}

func (m *massing) watched() error {
	watch, err := growth.WatchOf(m.series, int(m.today.number()))
	m.out.Watch = massWatch(watch)
	return err
}

// grown sets the mass beside the curve of its kind and sex on this node, and
// beside published masses.
func (m *massing) grown() error {
	g, err := m.growth()
	if err != nil {
		return err
	}
	m.out.Curve = massCurve(g)
	last, ok := m.lastRead()
	years, known := m.animal.yearsOn(dayNumbered(last.Day))
	switch {
	case !ok:
		m.out.Curve.NoPlace, m.out.Place.NotEnough = "never weighed on a scale", "never weighed on a scale"
		return nil
	case !known:
		m.out.Curve.NoPlace, m.out.Place.NotEnough = "its birth is not known", "its birth is not known"
		return nil
	}
	m.out.Curve.place(g, years, last.Kg)
	m.out.Curve.Own = m.own()
	place, err := growth.PlaceOf(m.animal.Taxon, m.animal.Sex, years, last.Kg)
	m.out.Place = massPlace(place)
	return err
}

// lastRead is the last weigh-in off a scale.
func (m *massing) lastRead() (last growth.Weighing, ok bool) {
	for _, w := range m.series {
		if w.Method != "estimated" {
			last, ok = w, true
		}
	}
	return last, ok
}

// own are its masses at age, one a month, the median of what the month shows.
func (m *massing) own() []MassAtAge {
	byMonth := map[string][]float64{}
	for _, w := range m.series {
		if w.Method != "estimated" {
			month := string(dayNumbered(w.Day)[:7])
			byMonth[month] = append(byMonth[month], w.Kg)
		}
	}
	out := []MassAtAge{}
	for _, month := range sortedKeys(byMonth) {
		if years, known := m.animal.yearsOn(Day(month + "-15")); known {
			slices.Sort(byMonth[month])
			out = append(out, MassAtAge{years, byMonth[month][len(byMonth[month])/2]})
		}
	}
	return out
}

// growth fits the curves of all animals of its kind and sex whose birth is known.
func (m *massing) growth() (growth.Growth, error) {
	of := stretch{p: &weights, from: "0001-01-01", to: m.today}
	name := []string{"growth of", m.animal.Taxon, m.animal.Sex, string(m.today)}
	var herd []*Animal
	for i := range m.all {
		a := &m.all[i]
		if _, known := a.born(); known && a.Taxon == m.animal.Taxon && a.Sex == m.animal.Sex {
			herd, name = append(herd, a), append(name, a.ID, a.Born)
			of.refs = append(of.refs, events.Ref{Sort: "animal", ID: a.ID})
		}
	}
	return madeOf(m.v, strings.Join(name, "\n"), of, func() (growth.Growth, error) {
		masses, err := m.v.massesAtAge(herd, of)
		if err != nil {
			return growth.Growth{}, err
		}
		list, err := growth.BySex(masses)
		if err != nil || len(list) == 0 {
			return growth.Growth{NotEnough: "no animal of its kind and sex with a known birth was weighed on a scale"}, err
		}
		return list[0], nil
	})
}

func (v view) massesAtAge(herd []*Animal, of stretch) (out []growth.Aged, err error) {
	for i, a := range herd {
		list, err := rows[weighings](v, of.p, of.refs[i], of.from, of.to)
		if err != nil {
			return nil, err
		}
		for _, day := range list {
			years, known := a.yearsOn(day.Day)
			for _, w := range day.Row.List {
				if known && w.Method != "estimated" {
					out = append(out, growth.Aged{Animal: a.ID, Sex: cmp.Or(a.Sex, "unknown"), Years: years, Kg: w.Kg})
				}
			}
		}
	}
	return out, nil
}
