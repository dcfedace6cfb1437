package web

import (
	"time"

	"haulout/events"
	"haulout/projections"
)

// sheetCare is what a phone must know of an animal's care to log more of it
// with no line to the server.
type sheetCare struct {
	Findings []sheetFinding `json:"findings"` // open, the oldest first
	Orders   []sheetOrder   `json:"orders"`   // that hold now, the newest first
	Checked  *sheetChecked  `json:"checked,omitempty"`
}

// sheetFinding is what a check found at a region and nobody has closed. Words of
// several findings of one check at one region are one: they are closed together.
type sheetFinding struct {
	Check  string    `json:"check"`
	Since  time.Time `json:"since"`
	By     string    `json:"by"`
	Region string    `json:"region"`
	Word   string    `json:"word"`
	Urgent bool      `json:"urgent,omitempty"`
	Photo  string    `json:"photo,omitempty"`
}

// sheetOrder is what the veterinarian ordered, and how much of it is given.
type sheetOrder struct {
	Order        string          `json:"order"`
	Medication   string          `json:"medication"`
	Dose         events.Quantity `json:"dose"`
	Route        string          `json:"route,omitempty"`
	Daily        int             `json:"daily,omitempty"` // doses a day; 0 for a single one
	Given        int             `json:"given"`           // today, or in all of a single one; what was not taken is not given
	Last         *time.Time      `json:"last,omitempty"`  // when a dose was last given
	Until        *time.Time      `json:"until,omitempty"`
	Veterinarian string          `json:"veterinarian"`
	Text         string          `json:"text,omitempty"`
}

// sheetChecked is when the animal was last looked over.
type sheetChecked struct {
	Time time.Time `json:"time"`
	By   string    `json:"by"`
}

// careKinds are what the care pads of the Deck make of an animal.
var careKinds = []string{"check.made", "finding.closed", "medication.given"}

func (s *site) sheetCare(h projections.Housed, now time.Time) (out sheetCare, err error) {
	out = sheetCare{Findings: []sheetFinding{}, Orders: []sheetOrder{}}
	today := projections.DayOf(now, s.Store.Zone(h.Facility))
	days, open, err := s.Store.Checks(h.Animal.ID, today.Add(-lookBack), today, time.Time{})
	if err != nil {
		return out, err
	}
	for _, day := range days {
		for _, c := range day.Checks {
			out.Checked = &sheetChecked{c.Time, c.By}
		}
	}
	for _, f := range open {
		out.find(f)
	}
	return out, s.sheetOrders(&out, h, now, today)
}

// find adds an open finding to those of its check and region.
func (c *sheetCare) find(f projections.OpenFinding) {
	for i := range c.Findings {
		if old := &c.Findings[i]; old.Check == f.Check && old.Region == f.Region {
			old.Word += "; " + f.Word
			old.Urgent = old.Urgent || f.Urgent
			old.Photo = orElse(old.Photo, f.Photo)
			return
		}
	}
	c.Findings = append(c.Findings, sheetFinding{f.Check, f.Since, f.By, f.Region, f.Word, f.Urgent, f.Photo})
}

// singleDoses is how many days back a single dose is looked for.
const singleDoses = 400

func (s *site) sheetOrders(out *sheetCare, h projections.Housed, now time.Time, today projections.Day) error {
	list, doses, err := s.Store.Orders(h.Animal.ID, today.Add(-singleDoses), today, time.Time{})
	for _, o := range list {
		ended := o.Until != nil && o.Until.Before(now)
		if o.Facility != h.Facility || o.From.After(now) || ended {
			continue
		}
		one := sheetOrder{
			Order: o.Order, Medication: o.Medication, Dose: o.Dose, Route: o.Route, Daily: o.Daily,
			Until: o.Until, Veterinarian: o.Veterinarian, Text: o.Text,
		}
		one.count(doses, h.Facility, today, s.Store.Zone(h.Facility))
		done := one.Daily == 0 && one.Last != nil && projections.DayOf(*one.Last, s.Store.Zone(h.Facility)) != today
		if !done {
			out.Orders = append(out.Orders, one)
		}
	}
	return err
}

// count counts the doses of the order; what was offered and not taken is due still.
func (o *sheetOrder) count(doses []projections.Medicated, facility string, today projections.Day, zone *time.Location) {
	for _, d := range doses {
		if d.Order != o.Order || d.Facility != facility || d.Taken == "none" {
			continue
		}
		at := d.Time
		o.Last = &at
		if o.Daily == 0 || projections.DayOf(at, zone) == today {
			o.Given++
		}
	}
}

// careWords says what an entry of the care of an animal says; "" for any other.
func careWords(e events.Event) string {
	switch b := e.Body.(type) {
	case *events.FindingClosed:
		return "Closed, " + b.Region + ": " + wordsOf(outcomeWords, b.Outcome) + after(b.Text)
	case *events.MedicationGiven:
		return "Medication " + b.Medication + ", " + quantity(b.Dose) + takenWords[b.Taken]
	}
	return ""
}

var takenWords = map[string]string{"all": ", all taken", "part": ", part taken", "none": ", not taken"}
