package main

import (
	"encoding/binary"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"
)

// utf16LE is a text as spreadsheets save it when asked for Unicode.
func utf16LE(s string) []byte {
	out := []byte{0xff, 0xfe}
	for _, unit := range utf16.Encode([]rune(s)) {
		out = binary.LittleEndian.AppendUint16(out, unit)
	}
	return out
}

func utf16BE(s string) []byte {
	out := []byte{0xfe, 0xff}
	for _, unit := range utf16.Encode([]rune(s)) {
		out = binary.BigEndian.AppendUint16(out, unit)
	}
	return out
}

var weighing = func() []column {
	for _, k := range sheetKinds() {
		if k.name == "weights" {
			return k.columns
		}
	}
	return nil
}()

func TestWhatSpreadsheetsSaveReadsAlike(t *testing.T) {
	const plain = "time,animal,mass_kg\n2026-03-01,Färö,81.50\n"
	for name, raw := range map[string][]byte{
		"UTF-8":                 []byte(plain),
		"a byte order mark":     []byte("\ufeff" + plain),
		"UTF-16, low end first": utf16LE(plain),
		"UTF-16, big end first": utf16BE(plain),
		"CRLF":                  []byte(strings.ReplaceAll(plain, "\n", "\r\n")),
		"no last line feed":     []byte(strings.TrimSuffix(plain, "\n")),
		"quotes":                []byte("\"time\",\"animal\",\"mass_kg\"\n\"2026-03-01\",\"Färö\",\"81.50\"\n"),
		"spaces and capitals":   []byte("Time, Animal, Mass kg\n2026-03-01, Färö, 81.50\n"),
		"empty rows":            []byte("time,animal,mass_kg\n\n,,\n2026-03-01,Färö,81.50\n,,\n"),
		"an unnamed column":     []byte("time,animal,mass_kg,\n2026-03-01,Färö,81.50,\n"),
		"tabs":                  []byte(strings.ReplaceAll(plain, ",", "\t")),
		"an empty cell, tabs":   []byte("time\tanimal\tscale\tmass_kg\n2026-03-01\tFärö\t\t81.50\n"),
		"semicolons":            []byte("time;animal;mass_kg\n2026-03-01;Färö;81,50\n"),
	} {
		sh, err := parseSheet(raw, weighing)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		im := importer{sheet: sh}
		got := []string{sh.rows[0].cell("time"), sh.rows[0].cell("animal"), im.number(sh.rows[0], "mass"), sh.unit["mass"]}
		if diff := cmp.Diff([]string{"2026-03-01", "Färö", "81.50", "kg"}, got); diff != "" || len(sh.rows) != 1 || len(im.bad) > 0 {
			t.Errorf("%s: %d rows, %s%v", name, len(sh.rows), diff, im.bad)
		}
	}
}

func TestASheetThatIsNoneIsRefused(t *testing.T) {
	for name, c := range map[string]struct{ raw, want string }{
		"empty":               {"", "the file is empty"},
		"other bytes":         {"time,animal,mass_kg\n2026-03-01,F\xe4r\xf6,81\n", "line 2 holds bytes that are not text; save the file as CSV in UTF-8"},
		"a misspelt column":   {"time,animl,mass_kg\n", `column "animl" is not known; perhaps you mean "animal"; column "animal" is missing`},
		"a column twice":      {"time,animal,mass_kg,mass_lb\n", `the columns "mass_kg" and "mass_lb" are the same`},
		"a far-off column":    {"time,animal,mass_kg,remarks\n", `column "remarks" is not known; the columns are`},
		"an open quote":       {"time,animal,mass_kg\n2026-03-01,\"Marl,81\n", "line 2"},
		"nothing but a title": {"Weights of March\n", `column "time" is missing`},
	} {
		if _, err := parseSheet([]byte(c.raw), weighing); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", name, err, c.want)
		}
	}
}

func TestDecimalCommasAreReadWhereTheyAreNothingElse(t *testing.T) {
	for _, c := range []struct {
		text      string
		semicolon bool
		want      string
		doubtful  bool
	}{
		{"1,5", true, "1.5", false},
		{"1,500", true, "1.500", false},
		{"1,50", false, "1.50", false},
		{"0,500", false, "0.500", false},
		{"1,500", false, "1.500", true},
		{"1.500,5", true, "1.500,5", false}, // the vocabulary refuses what is no plain decimal
		{"1,500,000", false, "1,500,000", false},
		{"1.50", true, "1.50", false},
	} {
		im := importer{sheet: &sheet{commas: c.semicolon}}
		r := &row{cells: map[string]string{"mass": c.text}}
		if got := im.number(r, "mass"); got != c.want || r.bad != c.doubtful {
			t.Errorf("%q (semicolons %v) is %q, bad %v; want %q, bad %v", c.text, c.semicolon, got, r.bad, c.want, c.doubtful)
		}
	}
}

func TestNoCellRunsAsAFormula(t *testing.T) {
	for text, want := range map[string]string{
		"=1+1": "'=1+1", "+44": "'+44", "-cmd": "'-cmd", "@x": "'@x", "-1.5": "-1.5", "-2": "-2", "-": "'-", "-1.5e3": "'-1.5e3", "Marl": "Marl", "'quoted": "'quoted", "": "",
	} {
		got := defused(text)
		if got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
		if back := harmless(got); back != text {
			t.Errorf("%q comes back as %q", text, back)
		}
	}
}

func TestTheNearestWordIsSuggested(t *testing.T) {
	known := []string{"Marl", "Sorrel", "Osier"}
	for word, want := range map[string]string{"Marll": "Marl", "marl": "Marl", "Sorel": "Sorrel", "Quillon": "", "X": ""} {
		if got := nearest(word, known); got != want {
			t.Errorf("%q is nearest to %q, want %q", word, got, want)
		}
	}
}
