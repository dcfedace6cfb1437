package projections

import (
	"time"

	"haulout/events"
)

// Watch is a period in which somebody watched an enclosure on purpose.
type Watch struct {
	ID      string         `json:"watch"`
	From    time.Time      `json:"from"`
	Until   time.Time      `json:"until"`
	Method  string         `json:"method"`
	By      string         `json:"by"`
	Animals []string       `json:"animals"` // in view
	Counts  []events.Tally `json:"counts,omitempty"`
}

// Hours is how long the watch went on.
func (w Watch) Hours() float64 { return max(0, w.Until.Sub(w.From).Hours()) }

// Effort says that rates may be taken from the watch: everything that happened
// to those in view was noted. Altmann 1974 (Behaviour 49:227-267).
func (w Watch) Effort() bool { return w.Method == "all_occurrences" || w.Method == "focal" }

// watchedRow is the watches of an enclosure that began on a local day.
type watchedRow struct {
	Watches []Watch `json:"watches"`
}

var watches = Daily("watches", 1, "enclosure", []string{"watch.held"}, foldWatches)

func foldWatches(_ Scope, recs []Record) *watchedRow {
	if len(recs) == 0 {
		return nil
	}
	out := &watchedRow{}
	for _, rec := range recs {
		b := rec.Body.(*events.WatchHeld)
		until, err := events.ParseTime(b.Until)
		if err != nil { // recorders take none that can't be read
			continue
		}
		w := Watch{ID: b.Watch, From: rec.Time, Until: until, Method: b.Method, By: b.Observer, Animals: b.Animals, Counts: b.Counts}
		if w.By == "" {
			w.By = rec.Author
		}
		out.Watches = append(out.Watches, w)
	}
	return out
}
