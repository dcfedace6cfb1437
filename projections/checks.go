package projections

import (
	"slices"
	"time"

	"haulout/events"
)

// Checked is one look over an animal.
type Checked struct {
	Entry    string           `json:"entry"`
	Time     time.Time        `json:"time"`
	Facility string           `json:"facility"`
	By       string           `json:"by"`
	Regions  []string         `json:"regions,omitempty"` // all of them where it is empty
	Findings []events.Finding `json:"findings,omitempty"`
	Text     string           `json:"text,omitempty"`
}

// OpenFinding is what was found in a check and nobody has closed.
type OpenFinding struct {
	Check    string    `json:"check"` // the entry that found it
	Since    time.Time `json:"since"`
	Facility string    `json:"facility"`
	By       string    `json:"by"`
	Region   string    `json:"region"`
	Word     string    `json:"word"`
	Urgent   bool      `json:"urgent,omitempty"`
	Photo    string    `json:"photo,omitempty"`
}

// checkedRow is the looks over an animal on a day, and what is open after it.
type checkedRow struct {
	Checks []Checked     `json:"checks,omitempty"`
	Closed []Closed      `json:"closed,omitempty"`
	Open   []OpenFinding `json:"open,omitempty"`
}

// Closed says why a finding needs nobody any more.
type Closed struct {
	Check    string    `json:"check"`
	Region   string    `json:"region"`
	Outcome  string    `json:"outcome"`
	Text     string    `json:"text,omitempty"`
	Time     time.Time `json:"time"`
	Facility string    `json:"facility"`
	By       string    `json:"by"`
}

var checks = Running("checks", 2, "animal", []string{"check.made", "finding.closed"}, stepChecks)

func stepChecks(before *checkedRow, _ Scope, recs []Record) *checkedRow {
	if len(recs) == 0 {
		return before
	}
	out := &checkedRow{}
	if before != nil {
		out.Open = slices.Clone(before.Open)
	}
	// A finding may be closed within the minute of its check: looks come first.
	for i := range recs {
		if body, ok := recs[i].Body.(*events.CheckMade); ok {
			out.look(body, &recs[i])
		}
	}
	for i := range recs {
		if body, ok := recs[i].Body.(*events.FindingClosed); ok {
			out.close(body, &recs[i])
		}
	}
	return out
}

func (c *checkedRow) look(b *events.CheckMade, rec *Record) {
	c.Checks = append(c.Checks, Checked{rec.ID, rec.Time, rec.Facility, rec.Author, b.Regions, b.Findings, b.Text})
	for _, f := range b.Findings {
		c.Open = append(c.Open, OpenFinding{rec.ID, rec.Time, rec.Facility, rec.Author, f.Region, f.Word, f.Urgent, f.Photo})
	}
}

// close takes away what a check found at a region.
func (c *checkedRow) close(b *events.FindingClosed, rec *Record) {
	c.Closed = append(c.Closed, Closed{b.Check, b.Region, b.Outcome, b.Text, rec.Time, rec.Facility, rec.Author})
	c.Open = slices.DeleteFunc(c.Open, func(f OpenFinding) bool { return f.Check == b.Check && f.Region == b.Region })
}

// CheckDay is the looks over an animal on a day.
type CheckDay struct {
	Day    Day       `json:"day"`
	Checks []Checked `json:"checks"`
	Closed []Closed  `json:"closed"`
}
