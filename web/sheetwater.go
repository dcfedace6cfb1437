package web

import (
	"slices"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections"
	"haulout/projections/rules"
)

// sheetWater is an enclosure of the facility, with animals or without, and what
// its water was like last.
type sheetWater struct {
	ID       string         `json:"id"`
	Name     string         `json:"name"`
	Readings []sheetReading `json:"readings"` // the last of each quantity
	Samples  []sheetSample  `json:"samples"`  // that wait to be repeated, the newest first
	Recent   []sheetEntry   `json:"recent"`
}

type sheetReading struct {
	events.WaterReading
	Time time.Time `json:"time"`
	By   string    `json:"by"`
}

// sheetSample is a count that does not pass by itself and is to be repeated.
type sheetSample struct {
	Sample string    `json:"sample"`
	Time   time.Time `json:"time"`
	Due    time.Time `json:"due"`  // the next of its repeats
	Says   string    `json:"says"` // its result
}

// sheetQuantity is something that is measured in water, with the units that go
// with it and the limits in force in this house.
type sheetQuantity struct {
	What   string       `json:"what"`
	Units  []string     `json:"units"`
	Limits []sheetLimit `json:"limits"`
}

type sheetLimit struct {
	Side  string  `json:"side"` // least or most
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	Words string  `json:"words"` // whose it is
	Only  string  `json:"only,omitempty"`
}

// waterQuantities are in the order in which they are mostly measured.
var waterQuantities = []string{
	"temperature", "ph", "salinity", "free_chlorine", "total_coliform", "total_chlorine", "ozone",
	"turbidity", "ammonia", "nitrate", "faecal_coliform", "enterococci",
}

// waterBack is how far back a last reading is looked for, and a sample that is
// not repeated yet.
const waterBack, sampleBack = 30, 14

func (s *site) sheetWaters(out *sheet) error {
	house, err := s.sheetQuantities(out)
	if err != nil {
		return err
	}
	names, err := s.names(asOf{})
	if err != nil {
		return err
	}
	enclosures, err := s.Store.Enclosures(out.Facility.Code, time.Time{})
	for _, e := range enclosures {
		one, err := s.sheetWater(e, out.Now, house)
		if err != nil {
			return err
		}
		if one.Recent, err = s.recent(projections.Local("enclosure", e.Facility, e.ID), []string{"water.tested"}, out.Now, names); err != nil {
			return err
		}
		out.Waters = append(out.Waters, one)
	}
	return err
}

func (s *site) sheetQuantities(out *sheet) (rules.House, error) {
	set, err := s.Store.House(out.Facility.Code, out.Now, time.Time{})
	house := rules.House{}
	for rule, turn := range set {
		house[rule] = turn.Value.Float(turn.Value.Unit)
	}
	for _, what := range waterQuantities {
		out.Quantities = append(out.Quantities, sheetQuantity{what, rules.WaterUnits(what), limitsOf(what, house)})
	}
	return house, err
}

// limitsOf are those of the law and of the house on each side of a quantity.
func limitsOf(what string, house rules.House) []sheetLimit {
	out, of := []sheetLimit{}, what
	if what == "total_coliform" {
		of = "coliform" // as the law speaks of them
	}
	for _, side := range []string{"least", "most"} {
		name := of + "_" + side
		own, set := house[name]
		switch {
		case slices.Contains(rules.WaterNames(), name):
			l := house.Setting(name)
			one := sheetLimit{Side: side, Value: l.InForce, Unit: l.Unit, Words: "by " + briefly(l)}
			if what == "salinity" {
				one.Only = "for kinds that need salt water"
			}
			out = append(out, one)
		case set:
			unit := rules.WaterUnits(what)[0]
			out = append(out, sheetLimit{Side: side, Value: own, Unit: unit, Words: "by the house’s own rule"})
		}
	}
	return out
}

// briefly is whose rule it is, as a small screen has room for; the Water page
// has the source in full.
func briefly(l rules.Setting) string {
	if l.By == "house" {
		return "the house’s own rule"
	}
	law, _, _ := strings.Cut(l.Source, ", ")
	if !l.Verified {
		law += " (to be verified)"
	}
	return law
}

// sheetWater reads the tests of an enclosure's water, the newest first.
func (s *site) sheetWater(e projections.Enclosure, now time.Time, house rules.House) (sheetWater, error) {
	out := sheetWater{ID: e.ID, Name: e.Name, Readings: []sheetReading{}, Samples: []sheetSample{}}
	today := projections.DayOf(now, s.Store.Zone(e.Facility))
	list, err := s.Store.WaterTests(e.Facility, e.ID, today.Add(-waterBack), today, time.Time{})
	repeats := map[string][]rules.Sample{}
	for i := range slices.Backward(list) {
		if test := &list[i]; !test.Time.After(now) {
			out.read(test)
			out.sample(test, now, repeats, house)
		}
	}
	return out, err
}

// read takes the readings of a test, where no later one has them.
func (w *sheetWater) read(test *projections.WaterTest) {
	for _, r := range test.Readings {
		if !slices.ContainsFunc(w.Readings, func(known sheetReading) bool { return known.What == r.What }) {
			w.Readings = append(w.Readings, sheetReading{r, test.Time, test.By})
		}
	}
}

// sample keeps a repeat for the sample that it repeats, and a sample that is
// still to be repeated. Tests come the newest first, so the repeats are known.
func (w *sheetWater) sample(test *projections.WaterTest, now time.Time, repeats map[string][]rules.Sample, house rules.House) {
	for _, r := range test.Readings {
		if r.What != "total_coliform" {
			continue
		}
		counted := rules.Sample{Time: test.Time, Reading: rules.Reading{What: r.What, Value: r.Value.Float(r.Value.Unit), Unit: r.Value.Unit, Bound: r.Bound}}
		if test.Repeat != "" {
			repeats[test.Repeat] = append(repeats[test.Repeat], counted)
			continue
		}
		series, err := rules.Coliforms(append(repeats[test.Sample], counted), house)
		if err == nil && len(series.Due) > 0 && test.Sample != "" && test.Time.After(now.AddDate(0, 0, -sampleBack)) {
			w.Samples = append(w.Samples, sheetSample{test.Sample, test.Time, series.Due[0], readingWords(r)})
		}
	}
}

// waterWords says what a test of water says.
func (n names) waterWords(b *events.WaterTested, facility string) string {
	parts := make([]string, len(b.Readings))
	for i, r := range b.Readings {
		parts[i] = readingWords(r)
	}
	out := "Water of " + n.in("enclosure", facility, b.Enclosure) + ": " + strings.Join(parts, ", ")
	if b.Sample != "" {
		out += ", sample " + b.Sample
	}
	if b.Repeat != "" {
		out += ", repeats " + b.Repeat
	}
	return out
}

// readingWords writes a reading as the Deck does: pH 7.9, temperature 14.2 °C,
// total coliform <1 MPN/dL, or that there were too many to count.
func readingWords(r events.WaterReading) string {
	value := quantity(r.Value)
	switch {
	case r.What == "ph":
		return "pH" + nb + boundSigns[r.Bound] + strings.TrimSuffix(value, nb+"pH")
	case r.Bound == "above" && r.Value.Float(r.Value.Unit) == 0:
		return spaced(r.What) + " too many to count"
	}
	return spaced(r.What) + " " + boundSigns[r.Bound] + value
}

var boundSigns = map[string]string{"below": "<", "above": ">"}
