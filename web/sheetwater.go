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

func (s *site) sheetWaters(out *sheet) error {
	if err := s.sheetQuantities(out); err != nil {
		return err
	}
	names, err := s.names(asOf{})
	if err != nil {
		return err
	}
	all, err := s.Store.WatersOf(out.Facility.Code, out.Now, time.Time{})
	for i := range all {
		one := sheetWaterOf(&all[i])
		if one.Recent, err = s.recent(projections.Local("enclosure", out.Facility.Code, one.ID), []string{"water.tested"}, out.Now, names); err != nil {
			return err
		}
		out.Waters = append(out.Waters, one)
	}
	return err
}

func (s *site) sheetQuantities(out *sheet) error {
	set, err := s.Store.House(out.Facility.Code, out.Now, time.Time{})
	house := rules.House{}
	for rule, turn := range set {
		house[rule] = turn.Value.Float(turn.Value.Unit)
	}
	for _, what := range waterQuantities {
		one := sheetQuantity{what, rules.WaterUnits(what), []sheetLimit{}}
		for _, l := range rules.Limits(what, rules.Water{}, house) {
			one.Limits = append(one.Limits, sheetLimitOf(l))
		}
		out.Quantities = append(out.Quantities, one)
	}
	return err
}

// sheetLimitOf is a limit of law or house. What holds for some kinds alone says
// so: whether those of a pool are of them, the pad does not know.
func sheetLimitOf(l rules.Limit) sheetLimit {
	out := sheetLimit{Side: "most", Value: l.InForce, Unit: l.Unit, Words: "by " + briefly(l.Setting)}
	if l.Least {
		out.Side = "least"
	}
	if l.Doubt {
		out.Only = "for kinds that need salt water"
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

// sheetWaterOf is what a phone must know of an enclosure's water: what was read
// last, and the counts that are still to be repeated.
func sheetWaterOf(a *projections.WaterAnswer) sheetWater {
	out := sheetWater{ID: a.Enclosure, Name: a.Name, Readings: []sheetReading{}, Samples: []sheetSample{}}
	for _, value := range a.Last {
		out.Readings = append(out.Readings, sheetReading{readingOf(value), value.Time, value.By})
	}
	for _, series := range a.Open {
		due := slices.IndexFunc(a.Samples, func(s projections.SampleDue) bool { return s.Sample == series.Sample })
		if series.Sample == "" || due < 0 {
			continue
		}
		out.Samples = append(out.Samples, sheetSample{series.Sample, a.Samples[due].First, a.Samples[due].By, readingWords(readingOf(series.Counts[0]))})
	}
	return out
}

func readingOf(v projections.WaterValue) events.WaterReading {
	return events.WaterReading{What: v.What, Value: v.Value, Bound: v.Bound}
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
