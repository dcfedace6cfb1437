package projections

import (
	"fmt"
	"time"

	"haulout/events"
	"haulout/projections/rules"
)

// WaterAnswer is how the water of an enclosure stands by the rules in force.
type WaterAnswer struct {
	Facility  string          `json:"facility"`
	Enclosure string          `json:"enclosure"`
	Name      string          `json:"name"`
	At        time.Time       `json:"at"`
	Salt      string          `json:"salt,omitempty"`  // where its salt comes from: sea, made or fresh
	Added     []string        `json:"added,omitempty"` // to the water; none where nothing is
	Standing  rules.Standing  `json:"standing"`        // the gravest of what counts
	NotEnough string          `json:"not_enough,omitempty"`
	Last      []WaterValue    `json:"last"`        // of each that was measured in the last WaterDays days
	Open      []WaterSeries   `json:"open"`        // series of coliforms that are not settled, newest first
	Samples   []SampleDue     `json:"samples_due"` // of those
	Due       []rules.Due     `json:"due"`         // tests, the soonest first
	WeekEnds  Day             `json:"week_ends"`   // the Sunday of this week
	Notes     []string        `json:"notes"`       // tests that are not asked for, and why
	From      Day             `json:"from"`        // of history and series
	To        Day             `json:"to"`
	Series    []WaterSeries   `json:"series"` // newest first
	History   []WaterHistory  `json:"history"`
	Rules     []rules.Setting `json:"rules"`
	Caution   string          `json:"caution"`
}

// WaterValue is a reading with its verdict. A count of coliforms has that of its
// series.
type WaterValue struct {
	Entry   string          `json:"entry"`
	Time    time.Time       `json:"time"`
	By      string          `json:"by"`
	Sample  string          `json:"sample,omitempty"`
	Repeat  string          `json:"repeat,omitempty"`
	Method  string          `json:"method,omitempty"`
	What    string          `json:"what"`
	Value   events.Quantity `json:"value"`
	Bound   string          `json:"bound,omitempty"`
	Verdict rules.Verdict   `json:"verdict"`
}

// WaterHistory is what was measured of one thing in the days of the history.
type WaterHistory struct {
	What   string        `json:"what"`
	Unit   string        `json:"unit"`   // of limits and levels
	Limits []rules.Limit `json:"limits"` // in force
	Values []WaterLevel  `json:"values"` // in order of time
}

// WaterLevel is a reading as it was written, and its level in the unit of the
// limits. It is judged by itself, not with those that repeat it.
type WaterLevel struct {
	Entry    string          `json:"entry"`
	Time     time.Time       `json:"time"`
	Value    events.Quantity `json:"value"`
	Bound    string          `json:"bound,omitempty"`
	Level    float64         `json:"level"`
	Standing rules.Standing  `json:"standing"`
}

// WaterCaution stands beside everything that is said of water.
const WaterCaution = "Verdicts are worked out from what was written down, by the rules that stand beside them. Local law and permits come first; a rule that is to be verified was written down from memory. Whether animals go into water is for the veterinarian and the people responsible."

// WaterDays is for how many days a reading tells of the water of today, and
// waterHistory how many days of history are told of where nobody asks for
// others. Assumptions, no published standard.
const (
	WaterDays    = 35
	waterHistory = 90
)

// WaterOf says how an enclosure's water stands, with the last 90 days of its
// history; nil where the enclosure is not known. Now is the moment that is asked
// from.
func (s *Store) WaterOf(facility, enclosure string, now, asOf time.Time) (*WaterAnswer, error) {
	return s.WaterOver(facility, enclosure, "", "", now, asOf)
}

// WaterOver is WaterOf with the history of other days. Left out, to is today and
// from 89 days before to.
func (s *Store) WaterOver(facility, enclosure string, from, to Day, now, asOf time.Time) (out *WaterAnswer, err error) {
	err = s.at(asOf, func(v view) error {
		e, err := v.enclosure(facility, enclosure)
		if e == nil || err != nil {
			return err
		}
		set, err := v.houseValues(facility, now)
		if err != nil {
			return err
		}
		w := newWatered(*e, set, now.In(v.zone(facility)))
		w.setDays(from, to)
		if err := w.read(v); err != nil {
			return err
		}
		out = w.answer()
		return nil
	})
	return out, err
}

// WatersOf says how the water of every enclosure of a facility stands, without
// history.
func (s *Store) WatersOf(facility string, now, asOf time.Time) (out []WaterAnswer, err error) {
	err = s.at(asOf, func(v view) error {
		all, err := every[Enclosure](v, &enclosures)
		if err != nil {
			return err
		}
		set, err := v.houseValues(facility, now)
		for _, e := range all {
			if e.Facility != facility || err != nil {
				continue
			}
			w := newWatered(e, set, now.In(v.zone(facility)))
			if err = w.read(v); err == nil {
				out = append(out, *w.answer())
			}
		}
		return err
	})
	return out, err
}

func (v view) enclosure(facility, id string) (*Enclosure, error) {
	if v.zone(facility) == nil {
		return nil, nil
	}
	return row[Enclosure](v, &enclosures, Scope{Ref: Local("enclosure", facility, id)})
}

// answer puts together what was worked out.
func (w *watered) answer() *WaterAnswer {
	plan := rules.WaterDue(w.water, w.tested, w.now, w.house)
	out := &WaterAnswer{
		Facility: w.e.Facility, Enclosure: w.e.ID, Name: w.e.Name, At: w.now.UTC(), Salt: w.e.Salt, Added: w.e.Added, Last: w.last(),
		Due: plan.Due, Notes: append(plan.Notes, w.stray...), WeekEnds: weekEnds(w.today), From: w.from, To: w.to,
		Open: []WaterSeries{}, Samples: []SampleDue{}, Series: []WaterSeries{}, History: w.history(), Caution: WaterCaution, Rules: []rules.Setting{},
	}
	for _, s := range w.unsettled() {
		out.Open, out.Samples = append(out.Open, s), append(out.Samples, w.samplesDue(s)...)
	}
	for i := len(w.series) - 1; i >= 0; i-- {
		if day := DayOf(w.series[i].Counts[0].Time, w.zone); day >= w.from && day <= w.to {
			out.Series = append(out.Series, w.series[i])
		}
	}
	for _, name := range rules.WaterNames() {
		out.Rules = append(out.Rules, w.house.Setting(name))
	}
	out.conclude()
	return out
}

// conclude takes the gravest of what counts. A count that repeats another counts
// with its series alone.
func (a *WaterAnswer) conclude() {
	a.Standing = rules.NoLimit
	grave := func(s rules.Standing) {
		if rules.Graver(s, a.Standing) {
			a.Standing = s
		}
	}
	for _, value := range a.Last {
		grave(value.Verdict.Standing)
	}
	for _, s := range a.Open {
		grave(s.Standing)
	}
	if len(a.Last) == 0 {
		a.Standing, a.NotEnough = rules.Undecided, fmt.Sprintf("no test of its water in the last %d days is on record", WaterDays)
	}
}

// weekEnds is the Sunday of a day's week (ISO 8601).
func weekEnds(day Day) Day { return day.Add((7 - int(day.Start(time.UTC).Weekday())) % 7) }
