package main

import (
	"bytes"
	"encoding/binary"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// column is what a sheet may have: its name and, where its values are masses,
// the units that its header may end in.
type column struct {
	name     string
	required bool
	units    []string // offered → offered_kg, offered_g, offered_lb
}

// headers lists how the column may be headed, the usual way first.
func (c column) headers() []string {
	if c.units == nil {
		return []string{c.name}
	}
	var out []string
	for _, unit := range c.units {
		out = append(out, c.name+"_"+unit)
	}
	if len(c.units) > 1 {
		out = append(out, c.name) // in the unit that --unit says
	}
	return out
}

// sheet is a CSV file read with the columns of its kind.
type sheet struct {
	rows   []*row
	header map[string]string // column → as it is headed in the file
	unit   map[string]string // column → the unit that its header says
	commas bool              // the separator is no comma, so commas are decimal ones
}

// row is one line of a sheet. It remembers whether anything is wrong with it.
type row struct {
	line   int
	cells  map[string]string
	excess string // a value that stands under no column
	bad    bool
}

func (r *row) cell(name string) string { return r.cells[name] }

func readSheet(path string, columns []column) (*sheet, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	sh, err := parseSheet(raw, columns)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return sh, nil
}

func parseSheet(raw []byte, columns []column) (*sheet, error) {
	text, err := plainText(raw)
	if err != nil {
		return nil, err
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.FieldsPerRecord = separatorOf(text), -1
	r.TrimLeadingSpace = r.Comma != '\t' // a tab is space: an empty cell would be trimmed away
	first, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, errors.New("the file is empty; its first line names the columns")
	}
	if err != nil {
		return nil, err
	}
	sh := &sheet{header: map[string]string{}, unit: map[string]string{}, commas: r.Comma != ','}
	names, err := sh.readHeader(first, columns)
	if err != nil {
		return nil, err
	}
	return sh, sh.readRows(r, names)
}

// plainText makes UTF-8 of what spreadsheets save: with or without a byte order
// mark, or UTF-16.
func plainText(raw []byte) ([]byte, error) {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(raw, []byte{0xef, 0xbb, 0xbf}):
		raw = raw[3:]
	case bytes.HasPrefix(raw, []byte{0xff, 0xfe}):
		order = binary.LittleEndian
	case bytes.HasPrefix(raw, []byte{0xfe, 0xff}):
		order = binary.BigEndian
	}
	if order != nil {
		units := make([]uint16, 0, len(raw)/2)
		for rest := raw[2:]; len(rest) > 1; rest = rest[2:] {
			units = append(units, order.Uint16(rest))
		}
		return []byte(string(utf16.Decode(units))), nil
	}
	for n, line := range bytes.Split(raw, []byte{'\n'}) {
		if !utf8.Valid(line) || bytes.IndexByte(line, 0) >= 0 {
			return nil, fmt.Errorf("line %d holds bytes that are not text; save the file as CSV in UTF-8", n+1)
		}
	}
	return raw, nil
}

// separatorOf takes what the first line has most of.
func separatorOf(text []byte) rune {
	line, _, _ := bytes.Cut(text, []byte{'\n'})
	best, most := ',', bytes.Count(line, []byte{','})
	for _, other := range []rune{';', '\t'} {
		if n := bytes.Count(line, []byte(string(other))); n > most {
			best, most = other, n
		}
	}
	return best
}

// readHeader finds out which column stands where, "" for one that has no name
// and must be empty. All that is wrong with it is told at once.
func (sh *sheet) readHeader(first []string, columns []column) ([]string, error) {
	var known []string
	for _, c := range columns {
		known = append(known, c.headers()...)
	}
	names, wrong := make([]string, len(first)), []string{}
	for i, text := range first {
		header := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(text)), " ", "_")
		if header == "" {
			continue
		}
		c, unit, ok := findColumn(columns, header)
		switch {
		case !ok:
			wrong = append(wrong, fmt.Sprintf("column %q is not known%s", text, meant(header, known)))
		case sh.header[c.name] != "":
			wrong = append(wrong, fmt.Sprintf("the columns %q and %q are the same", sh.header[c.name], text))
		default:
			names[i], sh.header[c.name], sh.unit[c.name] = c.name, strings.TrimSpace(text), unit
		}
	}
	for _, c := range columns {
		if c.required && sh.header[c.name] == "" {
			wrong = append(wrong, fmt.Sprintf("column %q is missing", c.headers()[0]))
		}
	}
	if len(wrong) > 0 {
		return nil, fmt.Errorf("%s; the columns are %s", strings.Join(wrong, "; "), listColumns(columns))
	}
	return names, nil
}

func findColumn(columns []column, header string) (c column, unit string, ok bool) {
	for _, c := range columns {
		if slices.Contains(c.headers(), header) {
			return c, strings.TrimPrefix(strings.TrimPrefix(header, c.name), "_"), true
		}
	}
	return c, "", false
}

func listColumns(columns []column) string {
	var out []string
	for _, c := range columns {
		name := c.headers()[0]
		if !c.required {
			name = "[" + name + "]"
		}
		out = append(out, name)
	}
	return strings.Join(out, ", ")
}

func (sh *sheet) readRows(r *csv.Reader, names []string) error {
	for {
		fields, err := r.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		line, _ := r.FieldPos(0)
		one := &row{line: line, cells: map[string]string{}}
		empty := true
		for i, text := range fields {
			text = harmless(strings.TrimSpace(text))
			empty = empty && text == ""
			switch {
			case text == "":
			case i >= len(names) || names[i] == "":
				one.excess = text
			default:
				one.cells[names[i]] = text
			}
		}
		if !empty {
			sh.rows = append(sh.rows, one)
		}
	}
}

// defused keeps a spreadsheet from running a text as a formula. Plain numbers
// stay as they are.
func defused(s string) string {
	if s == "" || !strings.ContainsRune("=+-@\t\r", rune(s[0])) || plainNumber(s) {
		return s
	}
	return "'" + s
}

// harmless takes back what defused did.
func harmless(s string) string {
	if rest, ok := strings.CutPrefix(s, "'"); ok && defused(rest) != rest {
		return rest
	}
	return s
}

func plainNumber(s string) bool {
	digits := strings.TrimPrefix(s, "-")
	whole, part, dot := strings.Cut(digits, ".")
	return allDigits(whole) && (!dot || allDigits(part))
}

func allDigits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// meant suggests the nearest of the known words, "" where none is near.
func meant(word string, known []string) string {
	if near := nearest(word, known); near != "" {
		return fmt.Sprintf("; perhaps you mean %q", near)
	}
	return ""
}

// nearest finds the known word that takes the fewest slips of the hand, at most
// a third of the word.
func nearest(word string, known []string) (best string) {
	least := max(len(word)/3, 1) + 1
	for _, k := range known {
		if n := slips([]rune(strings.ToLower(word)), []rune(strings.ToLower(k))); n < least {
			best, least = k, n
		}
	}
	return best
}

// slips counts the letters to change, add or drop between two words
// (Levenshtein distance).
func slips(a, b []rune) int {
	before := make([]int, len(b)+1)
	for j := range before {
		before[j] = j
	}
	for i, x := range a {
		now := []int{i + 1}
		for j, y := range b {
			change := before[j]
			if x != y {
				change++
			}
			now = append(now, min(change, before[j+1]+1, now[j]+1))
		}
		before = now
	}
	return before[len(b)]
}
