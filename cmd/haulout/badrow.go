package main

import (
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"haulout/events"
)

// badRow is one problem with one row of a file.
type badRow struct {
	Line    int    `json:"line"`
	Column  string `json:"column,omitempty"`
	Value   string `json:"value,omitempty"`
	Problem string `json:"problem"`
}

func (b badRow) String() string {
	at := fmt.Sprintf("line %d", b.Line)
	if b.Column != "" {
		at += fmt.Sprintf(", %s %q", b.Column, b.Value)
	}
	return at + ": " + b.Problem
}

// badLines counts the rows that have problems.
func badLines(list []badRow) int {
	lines := map[int]bool{}
	for _, b := range list {
		lines[b.Line] = true
	}
	return len(lines)
}

// problem notes what is wrong with a row. The column is named as the file does.
func (im *importer) problem(r *row, column, value, format string, args ...any) {
	r.bad = true
	if im.sheet != nil {
		column = cmp.Or(im.sheet.header[column], column)
	}
	im.bad = append(im.bad, badRow{r.line, column, value, fmt.Sprintf(format, args...)})
}

// refused notes what is wrong with a fact, at the row and column it came from.
func (im *importer) refused(e entry, p events.Problem) {
	r := e.rows[0]
	if i := itemOf(p.Field); i >= 0 && i < len(e.rows) {
		r = e.rows[i]
	}
	column, detail := im.columnOf(p.Field), p.Detail
	if column == "" && p.Field != "" {
		detail = p.Field + ": " + detail
	}
	im.problem(r, column, r.cell(column), "%s", detail)
	im.spoil(e.rows)
}

// spoil takes the rows of a fact with them when one of them is bad: a part of a
// feed would become a second feed once its other rows are mended.
func (im *importer) spoil(rows []*row) {
	i := slices.IndexFunc(rows, func(r *row) bool { return r.bad })
	if i < 0 {
		return
	}
	for _, r := range rows {
		if !r.bad {
			im.problem(r, "", "", "goes with line %d, which can't be taken", rows[i].line)
		}
	}
}

// columnOf finds the column that a field of a fact came from, "" where none
// did: data.items[1].offered.value → offered.
func (im *importer) columnOf(field string) string {
	if im.sheet == nil {
		return ""
	}
	for _, part := range slices.Backward(strings.Split(field, ".")) {
		if _, ok := im.sheet.header[part]; ok {
			return part
		}
	}
	return ""
}

var itemPattern = regexp.MustCompile(`items\[(\d+)\]`)

// itemOf finds which item of a feed a field is about, -1 where it is none.
func itemOf(field string) int {
	found := itemPattern.FindStringSubmatch(field)
	if found == nil {
		return -1
	}
	n, err := strconv.Atoi(found[1])
	if err != nil {
		return -1
	}
	return n
}

// writeBad writes the problems as CSV, in order of line.
func writeBad(path string, list []badRow) error {
	slices.SortStableFunc(list, func(a, b badRow) int { return cmp.Compare(a.Line, b.Line) })
	f, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("write the rows that can't be taken: %w", err)
	}
	w := csv.NewWriter(f)
	err = w.Write([]string{"line", "column", "value", "problem"})
	for _, b := range list {
		err = errors.Join(err, w.Write([]string{strconv.Itoa(b.Line), defused(b.Column), defused(b.Value), defused(b.Problem)}))
	}
	w.Flush()
	return errors.Join(err, w.Error(), f.Close())
}
