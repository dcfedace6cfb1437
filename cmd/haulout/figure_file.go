package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"haulout/projections"
)

// figureFile is a file that figures are worked out from: a sheet, or a JSON
// object.
type figureFile struct {
	path string
	text []byte
}

func openFigure(path string) (*figureFile, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	text, err := plainText(raw)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return &figureFile{path, text}, nil
}

func (f *figureFile) isObject() bool {
	begins := bytes.TrimSpace(f.text)
	return len(begins) > 0 && bytes.IndexByte([]byte("{["), begins[0]) >= 0
}

// lines is a sheet that holds a line or more.
func (f *figureFile) lines(columns []column, unit string, where *time.Location) (*figureSheet, error) {
	s, err := f.sheet(columns, unit, where)
	if err == nil && len(s.sheet.rows) == 0 {
		err = fmt.Errorf("%s: there is no line below the columns; write one for each value", f.path)
	}
	return s, err
}

// sheet reads the file with some columns. Unit is that of masses whose header
// says none, and where the zone of times without an offset.
func (f *figureFile) sheet(columns []column, unit string, where *time.Location) (*figureSheet, error) {
	sh, err := parseSheet(f.text, columns)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.path, err)
	}
	s := &figureSheet{importer: importer{sheet: sh, where: where, importOptions: importOptions{unit: unit}}}
	s.sum.File = f.path
	if err := s.settleUnits(columns); err != nil {
		return nil, useError{fmt.Errorf("%s: %w", f.path, err)}
	}
	for _, r := range sh.rows {
		if r.excess != "" {
			s.problem(r, "", r.excess, "stands under no column; put values that hold the separator in quotes")
		}
	}
	return s, nil
}

// shape is one form of object that a figure takes, told by its keys.
type shape struct {
	keys   string
	answer func(object) (answer, error)
}

// answerObject answers the file by the shape that it has most keys of.
func (f *figureFile) answerObject(shapes []shape) (answer, error) {
	var o object
	if err := json.Unmarshal(f.text, &o); err != nil {
		return nil, fmt.Errorf("%s is no JSON object: %w", f.path, err)
	}
	o, err := o.unwrapped()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.path, err)
	}
	best, most, keys := shape{}, 0, []string{}
	for _, s := range shapes {
		keys = append(keys, s.keys)
		if n := o.count(s.keys); n > most {
			best, most = s, n
		}
	}
	if most == 0 {
		return nil, fmt.Errorf("%s: the object has none of the keys that are read here; give those of one line:\n  %s", f.path, strings.Join(keys, "\n  "))
	}
	a, err := best.answer(o)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.path, err)
	}
	return a, nil
}

func (o object) count(keys string) (n int) {
	for key := range strings.FieldsSeq(keys) {
		if _, has := o[key]; has {
			n++
		}
	}
	return n
}

// figureFrom answers from the file of --in. Wanted says in words what it is to
// be.
func figureFrom(path, wanted string, asJSON bool, out io.Writer, of func(*figureFile) (answer, error)) error {
	if path == "" {
		return useError{errors.New("--in is missing; name the file of " + wanted + ", CSV or JSON")}
	}
	f, err := openFigure(path)
	if err != nil {
		return err
	}
	a, err := of(f)
	if err != nil {
		return err
	}
	if asJSON {
		return json.NewEncoder(out).Encode(a)
	}
	return a.print(out)
}

// one is which of several columns the sheet has; it may have no two of them.
func (s *figureSheet) one(columns ...string) (string, error) {
	has := slices.DeleteFunc(slices.Clone(columns), func(c string) bool { return s.sheet.header[c] == "" })
	switch len(has) {
	case 0:
		return "", fmt.Errorf("%s: column %q is missing; head it %s", s.sum.File, columns[0], strings.Join(columns, " or "))
	case 1:
		return has[0], nil
	}
	return "", fmt.Errorf("%s: the columns %q and %q say the same; leave one out", s.sum.File, s.sheet.header[has[0]], s.sheet.header[has[1]])
}

// animal finds the animal of a row, "" where the sheet has no such column.
func (s *figureSheet) animal(r *row, names sheetNames) string {
	cell := r.cell("animal")
	switch {
	case s.sheet.header["animal"] == "":
		return ""
	case cell == "":
		s.problem(r, "animal", "", "is empty; name the animal")
	case names.several(cell):
		s.problem(r, "animal", cell, "names two animals; a line is about one: write a line for each")
	}
	return names.called(cell)
}

// known holds a cell against the few words that it may be; an empty one is none
// of them.
func (s *figureSheet) known(r *row, column string, words ...string) string {
	is := word(r, column)
	if is != "" && !slices.Contains(words, is) {
		s.problem(r, column, r.cell(column), "is not known; use one of %s, or leave it empty%s", strings.Join(words, ", "), meant(is, words))
	}
	return is
}

// day reads the local day of a row, in days since 1 January 1970.
func (s *figureSheet) day(r *row, column string) int {
	text := r.cell(column)
	if text == "" {
		s.problem(r, column, "", "is empty; write a day as 2026-03-01")
		return 0
	}
	m, err := parseMoment(text, s.where)
	if err != nil {
		s.problem(r, column, text, "%v", err)
		return 0
	}
	if m.twice {
		s.sum.twice++
	}
	return dayNumber(projections.DayOf(m.at, s.where))
}

// dayNumber counts days from 1 January 1970.
func dayNumber(day projections.Day) int {
	return int(day.Start(time.UTC).Unix() / (24 * 60 * 60))
}

func dayText(number int) string {
	return time.Unix(int64(number)*24*60*60, 0).UTC().Format(time.DateOnly)
}

// taxonOf writes a scientific name as it is written: the genus with a capital.
func taxonOf(text string) string {
	name := strings.ToLower(strings.Join(strings.Fields(text), " "))
	if name == "" {
		return ""
	}
	return capital(name)
}

// finite is a number as JSON can have it: null where it is none.
func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// printLines writes an answer with its caution at the end.
func printLines(out io.Writer, caution string, lines ...string) error {
	_, err := fmt.Fprintln(out, strings.Join(append(lines, "", caution), "\n"))
	return err
}

// must says that an object lacks a number, nil where it does not.
func must(v *float64, key, remedy string) error {
	if v == nil {
		return fmt.Errorf("%s is missing; give %s", key, remedy)
	}
	return nil
}

// known are the numbers of a list that are not null, and their places in it.
func (n numbers) known() (values []float64, at []int) {
	for i, v := range n {
		if v != nil {
			values, at = append(values, *v), append(at, i)
		}
	}
	return values, at
}

// beside are the pairs of two lists of which both are known, and how many were
// left out.
func (n numbers) beside(other numbers, name, otherName string) (a, b []float64, left int, err error) {
	if len(n) != len(other) {
		return nil, nil, 0, fmt.Errorf("%s has %s and %s %d; give as many of both, null for what is not known", name, counted(len(n), "number", "numbers"), otherName, len(other))
	}
	for i := range n {
		if n[i] != nil && other[i] != nil {
			a, b = append(a, *n[i]), append(b, *other[i])
		}
	}
	return a, b, len(n) - len(a), nil
}

// marshalOrdered writes an object whose keys are worked out: key, value, key,
// value, as they are listed.
func marshalOrdered(pairs ...any) ([]byte, error) {
	out := bytes.NewBufferString("{")
	for i, one := range pairs {
		raw, err := json.Marshal(one)
		if err != nil {
			return nil, err
		}
		if i > 0 {
			out.WriteByte(",:"[i%2])
		}
		out.Write(raw)
	}
	out.WriteByte('}')
	return out.Bytes(), nil
}
