package projections

import (
	"encoding/json"
	"fmt"

	"haulout/events"
)

// Scope is what one row is about: a reference, and for daily rows a local day.
type Scope struct {
	Ref events.Ref
	Day Day
}

// Record is one fact as a fold sees it: as corrected, with the original kept
// beside it where there was a correction.
type Record struct {
	events.Event
	Original *events.Event
	Zone     zone
}

// Projection answers one question. It is a value: a name, a version, the sort
// of reference its rows are about, the kinds it reads, and a pure fold.
type Projection struct {
	Name    string
	Version int // raise it when the fold or the row changes: the rows are built anew beside the old ones
	shape   shape
	sort    string
	kinds   []string
	fold    func(prev []byte, sc Scope, recs []Record) ([]byte, error)
}

type shape int

const (
	daily   shape = iota // one reference, one local day
	whole                // one reference, all its records
	running              // one reference, day after day, with a state carried on
)

// Daily folds the records of one reference and one local day. A nil row is no row.
func Daily[R any](name string, version int, sort string, kinds []string, fold func(Scope, []Record) *R) Projection {
	return Projection{name, version, daily, sort, kinds, func(_ []byte, sc Scope, recs []Record) ([]byte, error) {
		return encodeRow(fold(sc, recs))
	}}
}

// Whole folds all records of one reference.
func Whole[R any](name string, version int, sort string, kinds []string, fold func(Scope, []Record) *R) Projection {
	p := Daily(name, version, sort, kinds, fold)
	p.shape = whole
	return p
}

// Running folds day after day: the row of a day is the state after it, made
// from the state of the last day that had records and this day's records. A
// late record runs it again from its day on.
func Running[R any](name string, version int, sort string, kinds []string, step func(*R, Scope, []Record) *R) Projection {
	return Projection{name, version, running, sort, kinds, func(prev []byte, sc Scope, recs []Record) ([]byte, error) {
		before, err := decodeRow[R](prev)
		if err != nil {
			return nil, err
		}
		return encodeRow(step(before, sc, recs))
	}}
}

func encodeRow[R any](row *R) ([]byte, error) {
	if row == nil {
		return nil, nil
	}
	out, err := json.Marshal(row)
	if err != nil {
		return nil, fmt.Errorf("encode a row: %w", err)
	}
	return out, nil
}

func decodeRow[R any](raw []byte) (*R, error) {
	if len(raw) == 0 {
		return nil, nil
	}
	row := new(R)
	if err := json.Unmarshal(raw, row); err != nil {
		return nil, fmt.Errorf("decode a row: %w", err)
	}
	return row, nil
}

func (p *Projection) reads(kind string) bool {
	for _, k := range p.kinds {
		if k == kind {
			return true
		}
	}
	return false
}

// refsOf lists everything the archive indexes a record by. Animals keep their
// id wherever they live; everything else belongs to one facility, so two
// facilities may both call a food herring.
func refsOf(e events.Event) []events.Ref {
	made := e.Refs()
	out := make([]events.Ref, 0, len(made)+3)
	for _, ref := range made {
		switch ref.Sort {
		case "animal":
			out = append(out, ref)
		case "entry":
		default:
			out = append(out, Local(ref.Sort, e.Facility, ref.ID))
		}
	}
	if e.Defines() {
		out = append(out, events.Ref{Sort: "facility", ID: e.Facility})
	}
	return append(out, Local("staff", e.Facility, e.Author), Local("device", e.Facility, e.Device))
}

// Local is a reference to something that one facility named.
func Local(sort, facility, id string) events.Ref {
	return events.Ref{Sort: sort, ID: facility + "/" + id}
}
