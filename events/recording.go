package events

import (
	"errors"
	"fmt"
	"time"
)

// Batch is what one caller wants recorded: all of it or nothing.
type Batch struct {
	Facility       string
	Author, Device string
	Facts          []Event   // checked
	Recorded       time.Time // zero: now. Set when history is taken in
}

// Receipt says that a record is on disk.
type Receipt struct {
	ID       string
	Facility string
	Number   uint64
	Hash     Hash
	Repeated bool // it had been there before
}

// Why recording may fail although nothing is wrong with the facts.
var (
	// ErrReadOnly says that a facility takes no facts, and why.
	ErrReadOnly = errors.New("read-only")
	// ErrFilling says that the archive is still taking the log in.
	ErrFilling = errors.New("the archive is still being filled from the log; try again soon")
	// ErrStopping says that the process is ending.
	ErrStopping = errors.New("the server is stopping")
	// ErrNotWritten says that facts are not known to be on disk: send them again.
	ErrNotWritten = errors.New("not written")
	// ErrNotOpen says that a facility is not open.
	ErrNotOpen = errors.New("no such facility is open")
	// ErrNoPhoto says that a facility keeps no photo of a digest.
	ErrNoPhoto = errors.New("no such photo is kept")
	// ErrSpace says that the disk is too full to record safely.
	ErrSpace = errors.New("too little disk space to record")
)

// EntryProblem is what is wrong with one fact of a batch.
type EntryProblem struct {
	Index int    `json:"index"`
	ID    string `json:"id"`
	Problem
}

// Refused lists why a batch can never be taken as it is. Nothing of it was
// recorded.
type Refused []EntryProblem

func (r Refused) Error() string {
	return fmt.Sprintf("%d problems, the first with entry %d: %s: %s", len(r), r[0].Index, r[0].Field, r[0].Detail)
}

// Conflict says that an id was used before, for something else.
type Conflict struct {
	Index    int
	ID       string
	Facility string
	Number   uint64
}

func (c *Conflict) Error() string {
	return fmt.Sprintf("entry %d: id %s is record %d of %s, with other content; make a new id", c.Index, c.ID, c.Number, c.Facility)
}
