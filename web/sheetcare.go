package web

import (
	"slices"
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
	zone := s.Store.Zone(h.Facility)
	today := projections.DayOf(now, zone)
	care, err := s.Store.CareOf(h.Animal.ID, today.Add(-lookBack), today, now, time.Time{})
	if care == nil || err != nil {
		return out, err
	}
	for _, f := range slices.SortedFunc(slices.Values(care.Open), func(a, b projections.OpenFinding) int { return a.Since.Compare(b.Since) }) {
		out.find(f)
	}
	for _, o := range care.Orders {
		// A single dose that was given on an earlier day is nobody's business here.
		done := o.Daily == 0 && o.Last != nil && projections.DayOf(*o.Last, zone) != today
		if o.Holds && o.Facility == h.Facility && !done {
			out.Orders = append(out.Orders, sheetOrderOf(o))
		}
	}
	for _, day := range care.Days {
		if n := len(day.Checks); n > 0 {
			out.Checked = &sheetChecked{day.Checks[n-1].Time, day.Checks[n-1].By}
			break
		}
	}
	return out, nil
}

func sheetOrderOf(o projections.OrderStanding) sheetOrder {
	return sheetOrder{
		Order: o.Order, Medication: o.Medication, Dose: o.Dose, Route: o.Route, Daily: o.Daily, Given: o.Given, Last: o.Last,
		Until: o.Until, Veterinarian: o.Veterinarian, Text: o.Text,
	}
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
