package projections

import (
	"time"

	"haulout/events"
)

// WaterTest is one sample or reading of an enclosure's water.
type WaterTest struct {
	Entry    string                `json:"entry"`
	Time     time.Time             `json:"time"`
	Readings []events.WaterReading `json:"readings"`
	Sample   string                `json:"sample,omitempty"`
	Repeat   string                `json:"repeat,omitempty"` // the sample that it repeats
	Method   string                `json:"method,omitempty"`
	By       string                `json:"by"`
}

// waterRow is the tests of an enclosure's water on a local day.
type waterRow struct {
	Tests []WaterTest `json:"tests"`
}

var waters = Daily("waters", 1, "enclosure", []string{"water.tested"}, foldWaters)

func foldWaters(_ Scope, recs []Record) *waterRow {
	if len(recs) == 0 {
		return nil
	}
	out := &waterRow{}
	for _, rec := range recs {
		b := rec.Body.(*events.WaterTested)
		out.Tests = append(out.Tests, WaterTest{rec.ID, rec.Time, b.Readings, b.Sample, b.Repeat, b.Method, rec.Author})
	}
	return out
}
