package events

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/mod/sumdb/tlog"
)

// RFC 6962, section 2.1: the leaf hash is SHA-256 of 0x00 and the leaf. The
// value is the root of the one-leaf tree, with the leaf "", of Certificate
// Transparency's reference data (transparency-dev/merkle v0.0.2, testonly). The
// other implementation is golang.org/x/mod/sumdb/tlog.
func TestLeafHashFollowsRFC6962(t *testing.T) {
	if got, want := LeafHash(nil).String(), "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"; got != want {
		t.Errorf("the empty leaf has hash %s, wanted %s", got, want)
	}
	for wire, line := range golden(t) {
		if LeafHash(line) != Hash(tlog.RecordHash(line)) {
			t.Errorf("%s: %s and elsewhere %x", wire, LeafHash(line), tlog.RecordHash(line))
		}
	}
}

// Three canonical lines, each naming the leaf hash of the one before. The
// hashes were computed outside of this program, with Python's hashlib.
func TestChainOfThreeLines(t *testing.T) {
	lines := strings.Split(strings.TrimSpace(string(read(t, "../testdata/vectors/chain/lines.jsonl"))), "\n")
	leaves := strings.Fields(string(read(t, "../testdata/vectors/chain/leaves.txt")))
	if len(lines) != 3 || len(leaves) != 3 {
		t.Fatalf("%d lines and %d leaves", len(lines), len(leaves))
	}
	previous := Hash{}.String()
	for i, line := range lines {
		if canonical, err := Canonical([]byte(line)); err != nil || string(canonical) != line {
			t.Errorf("line %d is not canonical (%v): %s", i+1, err, canonical)
		}
		if got := object(t, []byte(line))["prevleaf"]; got != previous {
			t.Errorf("line %d follows %v, wanted %s", i+1, got, previous)
		}
		previous = LeafHash([]byte(line)).String()
		if previous != leaves[i] {
			t.Errorf("line %d has leaf hash %s, wanted %s", i+1, previous, leaves[i])
		}
	}
}

func TestHashReadsWhatItWrites(t *testing.T) {
	h := LeafHash([]byte("{}"))
	if again, err := ParseHash(h.String()); err != nil || again != h {
		t.Errorf("%s is read as %s, %v", h, again, err)
	}
	for name, s := range map[string]string{
		"too short": h.String()[1:], "too long": h.String() + "0", "upper case": strings.ToUpper(h.String()), "not hexadecimal": strings.Repeat("g", 64),
	} {
		if _, err := ParseHash(s); err == nil {
			t.Errorf("%s is taken: %s", name, s)
		}
	}
}

// Decode takes exactly what Encode writes: every other way to write the same
// envelope would give the record another hash.
func TestDecodeRefusesOtherWritings(t *testing.T) {
	line := string(golden(t)["haulout.feed.given.v1"])
	for name, swap := range map[string][2]string{
		"a space":                      {`,"author"`, `, "author"`},
		"an empty list of animals":     {marl + "=5", ``},
		"a count with a leading zero":  {"=5", "=05"},
		"a count that is no number":    {"=5", "=five"},
		"a count without number":       {"=5", ""},
		"two spaces between counts":    {"=5", "=5  " + osier + "=1"},
		"an author with an escape":     {`"author":"rk"`, `"author":"r\u006b"`},
		"an author with a line feed":   {`"author":"rk"`, "\"author\":\"r\nk\""},
		"an upper-case hash":           {`"previous":"99`, `"previous":"FF`},
		"a short hash":                 {`"previous":"99`, `"previous":"9`},
		"a sequence without zeros":     {`"0000000013"`, `"13"`},
		"a sequence with a sign":       {`"0000000013"`, `"+000000013"`},
		"a sequence too long":          {`"0000000013"`, `"00000000013"`},
		"a time with an offset":        {`12:15:00Z`, `12:15:00+00:00`},
		"a time in another zone":       {`12:15:00Z`, `13:15:00+01:00`},
		"a time with an idle fraction": {`12:15:00Z`, `12:15:00.0Z`},
		"a time with a comma":          {`10.25Z`, `10,25Z`},
		"a fraction with idle zeros":   {`10.25Z`, `10.250Z`},
		"a source of another facility": {`/facility/saltgarth/device`, `/facility/wrackline-bay/device`},
		"another version of the form":  {`"specversion":"1.0"`, `"specversion":"2.0"`},
		"a missing attribute":          {`,"datacontenttype":"application/json"`, ``},
		"letters behind the record":    {`given.v1"}`, `given.v1"}x`},
		"a record cut short":           {`given.v1"}`, `given.v1"`},
	} {
		t.Run(name, func(t *testing.T) {
			other := strings.Replace(line, swap[0], swap[1], 1)
			if other == line {
				t.Fatalf("nothing to swap for %q", swap[0])
			}
			if e, err := DecodeEnvelope([]byte(other)); !errors.Is(err, errNotRecord) {
				t.Errorf("taken as %+v, %v", e, err)
			}
		})
	}
}

func TestDecodeRefusesBodiesThatAreNotCanonical(t *testing.T) {
	line := string(golden(t)["haulout.feed.given.v1"])
	for name, swap := range map[string][2]string{
		"names out of order":    {`"unit":"kg","value":"1.35"`, `"value":"1.35","unit":"kg"`},
		"a name that is double": {`"how":"training"`, `"how":"hand","how":"training"`},
		"a name in capitals":    {`"how":"training"`, `"How":"training"`},
		"null":                  {`"how":"training"`, `"how":null`},
	} {
		if _, err := Decode([]byte(strings.Replace(line, swap[0], swap[1], 1))); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
}

func TestDecodeStopsAtWhatItDoesNotKnow(t *testing.T) {
	line := string(golden(t)["haulout.feed.given.v1"])
	for _, wire := range []string{"haulout.feed.given.v2", "haulout.feed.stolen.v1", "haulout.feed.given", "other.feed.given.v1", "haulout.feed.given.v01", "haulout.feed.given.v0", ""} {
		_, err := Decode([]byte(strings.Replace(line, "haulout.feed.given.v1", wire, 1)))
		if !errors.Is(err, ErrUnknown) || !strings.Contains(err.Error(), `"`+wire+`"`) || !strings.Contains(err.Error(), "saltgarth") {
			t.Errorf("%q: %v", wire, err)
		}
	}
}

func TestEncodeKeepsWholeNanoseconds(t *testing.T) {
	e := decoded(t, golden(t)["haulout.note.v1"])
	e.Time = time.Date(2026, 3, 1, 17, 0, 0, 123456789, time.FixedZone("", 3600))
	again := decoded(t, e.Encode())
	if !again.Time.Equal(e.Time) || again.Time.Location() != time.UTC {
		t.Errorf("%v became %v", e.Time, again.Time)
	}
}

func TestSameFactLooksAtWhatTheDeviceMade(t *testing.T) {
	e := decoded(t, golden(t)["haulout.feed.given.v1"])
	again, err := goldenDraft(t, "feed.given").Fact()
	if err != nil || !e.SameFact(again) {
		t.Errorf("a fact sent again is another one (%v)", err)
	}
	for name, change := range map[string]func(*Event){
		"id":       func(e *Event) { e.ID = goldenID(e.Time, 999) },
		"type":     func(e *Event) { e.Type = "haulout.note.v1" },
		"facility": func(e *Event) { e.Facility = "wrackline-bay" },
		"time":     func(e *Event) { e.Time = e.Time.Add(time.Second) },
		"data":     func(e *Event) { e.Data = bytes.Replace(e.Data, []byte("1.35"), []byte("1.30"), 1) },
	} {
		other := again
		if change(&other); e.SameFact(other) {
			t.Errorf("with another %s it is the same fact", name)
		}
	}
}

func TestRefsNameEverythingOnce(t *testing.T) {
	want := []Ref{{"animal", marl}, {"food", herring}, {"lot", lotA}, {"session", session}}
	if diff := cmp.Diff(want, decoded(t, golden(t)["haulout.feed.given.v1"]).Refs()); diff != "" {
		t.Errorf("feed (-want +got):\n%s", diff)
	}
	scan := decoded(t, golden(t)["haulout.company.scanned.v1"])
	if diff := cmp.Diff([]string{marl, quillon, osier}, scan.Animals()); diff != "" {
		t.Errorf("company (-want +got):\n%s", diff)
	}
	if refs := (Event{Type: "haulout.unknown.v1"}).Refs(); refs != nil {
		t.Errorf("an unknown kind is about %v", refs)
	}
}

// Quotes, backslashes and brackets in a text don't end the data.
func TestTextsMayHoldAnything(t *testing.T) {
	for _, text := range []string{`"`, `\`, `\"`, `]}`, `{["`, `\\"}`, "line\nfeed", "😂 \u2028", `"},"datacontenttype":"`} {
		data, err := MakeData(&Note{Text: text})
		if err != nil {
			t.Fatal(err)
		}
		draft := goldenDraft(t, "note")
		draft.Data = data
		e, err := draft.Fact()
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if got := decoded(t, e.Encode()).Body.(*Note).Text; got != text {
			t.Errorf("%q is read as %q", text, got)
		}
	}
}
