package main

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
)

// summary is what an import came to.
type summary struct {
	Kind     string         `json:"kind"`
	File     string         `json:"file"`
	Facility string         `json:"facility,omitempty"`
	Rows     int            `json:"rows"`
	Facts    map[string]int `json:"facts"` // of the good rows, by kind
	Recorded int            `json:"recorded"`
	Repeated int            `json:"repeated"` // were there before
	LeftOut  int            `json:"left_out,omitempty"`
	Bad      int            `json:"bad_rows"`
	Problems []badRow       `json:"problems,omitempty"`
	Errors   string         `json:"errors_file,omitempty"`
	DryRun   bool           `json:"dry_run"`
	Notes    []string       `json:"notes,omitempty"`

	noon, twice, undated int // days without an hour, ambiguous times, animals without a time of entry
}

// told is how many problems a summary shows; the file has all of them.
const told = 5

func (s summary) write(out io.Writer, asJSON bool) error {
	if asJSON {
		return json.NewEncoder(out).Encode(s)
	}
	lines := append([]string{s.headline()}, s.Notes...)
	for i, b := range s.Problems {
		if i == told {
			lines = append(lines, fmt.Sprintf("… and %d more problems", len(s.Problems)-told))
			break
		}
		lines = append(lines, b.String())
	}
	_, err := fmt.Fprintln(out, strings.Join(lines, "\n"))
	return err
}

func (s summary) headline() string {
	to := s.File
	if s.Facility != "" {
		to += " for " + s.Facility
	}
	what := fmt.Sprintf("%s: %s, %s", to, rowsOf(s.Rows), s.factsLine())
	switch {
	case s.DryRun && s.Bad > 0:
		return what + fmt.Sprintf("; %s bad; nothing was recorded in this dry run", rowsOf(s.Bad))
	case s.DryRun:
		return what + " would be recorded, but for those that are there already; nothing was recorded in this dry run"
	}
	what += fmt.Sprintf("; recorded %d", s.Recorded)
	if s.Repeated > 0 {
		what += fmt.Sprintf(", %d were there before", s.Repeated)
	}
	if s.Bad > 0 {
		what += fmt.Sprintf("; %s bad", rowsOf(s.Bad))
	}
	return what
}

// factsLine counts the facts by kind: 3 facts (2 animal.entered, 1 animal.placed).
func (s summary) factsLine() string {
	total, parts := 0, []string{}
	for _, kind := range slices.Sorted(maps.Keys(s.Facts)) {
		total += s.Facts[kind]
		parts = append(parts, fmt.Sprintf("%d %s", s.Facts[kind], kind))
	}
	line := counted(total, "fact", "facts")
	if len(parts) > 0 {
		line += " (" + strings.Join(parts, ", ") + ")"
	}
	return line
}

// forget takes one fact of a kind back.
func (s *summary) forget(kind string) {
	if s.Facts[kind]--; s.Facts[kind] == 0 {
		delete(s.Facts, kind)
	}
}

// tell notes what had to be assumed.
func (im *importer) tell() {
	if im.sum.noon > 0 {
		im.note("%s without an hour, taken as noon in %s", counted(im.sum.noon, "day is", "days are"), im.where)
	}
	if im.sum.undated > 0 {
		im.note("%s no time of entry, taken as the first day that the birth allows, or 1 January 2000", counted(im.sum.undated, "animal has", "animals have"))
	}
	if im.sum.twice > 0 {
		im.note("%s twice when the clocks were put back, taken as the first", counted(im.sum.twice, "time was", "times were"))
	}
}

func (im *importer) note(format string, args ...any) {
	im.sum.Notes = append(im.sum.Notes, fmt.Sprintf(format, args...))
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func rowsOf(n int) string { return counted(n, "row", "rows") }
