package events

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Body is the content of a fact, one struct a kind.
type Body interface{}

// Hash is the SHA-256 of 0x00 and a record's canonical bytes: the leaf hash of
// RFC 6962, section 2.1. The next record carries it as `previous`.
type Hash [sha256.Size]byte

func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// ParseHash reads 64 lower-case hexadecimal digits.
func ParseHash(s string) (Hash, error) { return parseHash([]byte(s)) }

func parseHash(digits []byte) (h Hash, err error) {
	if len(digits) != 2*len(h) || bytes.ContainsAny(digits, "ABCDEF") {
		return h, fmt.Errorf("a hash has %d hexadecimal digits in lower case", 2*len(h))
	}
	_, err = hex.Decode(h[:], digits)
	return h, err
}

// LeafHash hashes a record's canonical bytes.
func LeafHash(line []byte) (h Hash) {
	sum := sha256.New()
	sum.Write([]byte{0})
	sum.Write(line)
	sum.Sum(h[:0])
	return h
}

// Count is an animal's own dense number at a facility: this is the n-th record
// about it. It lets a receiving team prove that nothing about it was left out.
type Count struct {
	Animal string
	N      uint64
}

// Event is a fact, and once recorded a record. What the device makes stands
// first; the facility's recorder adds the rest.
type Event struct {
	ID       string // UUID, made by the device
	Type     string // haulout.feed.given.v1
	Facility string
	Time     time.Time // when it happened, UTC
	Data     []byte    // canonical, as sent
	Body     Body      // Data in its newest version

	Author   string
	Device   string
	Recorded time.Time
	Number   uint64 // 1, 2, 3 … within the facility; 0 until recorded
	Previous Hash
	Counts   []Count
}

// Skew is how far a device's clock may run ahead before its facts are refused.
const Skew = 5 * time.Minute

// Draft is a fact on the wire, before it is checked.
type Draft struct {
	ID       string          `json:"id"`
	Type     string          `json:"type"`
	Time     string          `json:"time"`
	Facility string          `json:"facility"`
	Data     json.RawMessage `json:"data"`
}

// Fact checks a draft and makes it an event. The error is Problems that name
// every field at fault.
func (d Draft) Fact() (Event, error) {
	var out Problems
	id := strings.ToLower(d.ID)
	if !ValidID(id) {
		out.add("id", "is %q; give a UUID, version 7, made by the device", short(d.ID))
	}
	at, err := ParseTime(d.Time)
	if err != nil {
		out.add("time", "is %q; %v", short(d.Time), err)
	}
	if !ValidCode(d.Facility) {
		out.add("facility", "is %q; give the code of a facility", short(d.Facility))
	}
	e := Event{ID: id, Type: d.Type, Facility: d.Facility, Time: at}
	if len(d.Data) == 0 {
		out.add("data", "is missing; give the body of the fact")
	} else if e.Data, err = Canonical(d.Data); err != nil {
		out.add("data", "can't be read: %v", err)
	} else if err := e.read(); err != nil {
		out = append(out, asProblems(err)...)
	}
	if len(out) > 0 {
		return Event{}, out
	}
	return e, nil
}

func short(s string) string {
	if len(s) > 80 {
		return s[:80] + "…"
	}
	return s
}

func asProblems(err error) Problems {
	if p, ok := errors.AsType[Problems](err); ok {
		return p
	}
	return Problems{{"type", err.Error()}}
}

// read decodes and checks the body.
func (e *Event) read() error {
	kind, version, err := kindOf(e.Type)
	if err != nil {
		return err
	}
	e.Body, err = kind.decode(e.Data, version)
	if err != nil {
		return err
	}
	return kind.check(e.Body)
}

// Refs lists everything the event is about, once each, in the order in which
// its fields stand.
func (e Event) Refs() []Ref {
	kind, _, err := kindOf(e.Type)
	if err != nil {
		return nil
	}
	return kind.refs(e.Body)
}

// Animals lists the ids of the animals the event is about.
func (e Event) Animals() (ids []string) {
	for _, ref := range e.Refs() {
		if ref.Sort == "animal" {
			ids = append(ids, ref.ID)
		}
	}
	return ids
}

// SameFact says whether two events are the same fact: what the device made is
// alike in both.
func (e Event) SameFact(o Event) bool {
	return e.ID == o.ID && e.Type == o.Type && e.Facility == o.Facility && e.Time.Equal(o.Time) && bytes.Equal(e.Data, o.Data)
}

// Encode writes the record: a CloudEvents 1.0 envelope as RFC 8785 canonical
// JSON. The names are written in their sorted order, and only data, which is
// canonical already, and texts without characters to escape go in.
func (e Event) Encode() []byte {
	out := make([]byte, 0, 480+len(e.Data))
	put := func(name, value string) { out = append(append(append(append(out, name...), '"'), value...), '"') }
	out = append(out, '{')
	if len(e.Counts) > 0 {
		put(`"animals":`, encodeCounts(e.Counts))
		out = append(out, ',')
	}
	put(`"author":`, e.Author)
	out = append(append(out, `,"data":`...), e.Data...)
	put(`,"datacontenttype":`, "application/json")
	put(`,"facility":`, e.Facility)
	put(`,"id":`, e.ID)
	put(`,"previous":`, e.Previous.String())
	put(`,"recordedtime":`, e.Recorded.UTC().Format(time.RFC3339Nano))
	put(`,"sequence":`, fmt.Sprintf("%010d", e.Number))
	put(`,"source":`, "/facility/"+e.Facility+"/device/"+e.Device)
	put(`,"specversion":`, "1.0")
	put(`,"time":`, e.Time.UTC().Format(time.RFC3339Nano))
	put(`,"type":`, e.Type)
	return append(out, '}')
}

func encodeCounts(counts []Count) string {
	parts := make([]string, len(counts))
	for i, c := range counts {
		parts[i] = c.Animal + "=" + strconv.FormatUint(c.N, 10)
	}
	return strings.Join(parts, " ")
}

func decodeCounts(s string) ([]Count, error) {
	if s == "" {
		return nil, nil
	}
	parts := strings.Split(s, " ")
	out := make([]Count, len(parts))
	for i, part := range parts {
		animal, n, _ := strings.Cut(part, "=")
		number, err := strconv.ParseUint(n, 10, 64)
		if err != nil || (n[0] == '0' && len(n) > 1) {
			return nil, fmt.Errorf("animals: %q is no count", part)
		}
		out[i] = Count{animal, number}
	}
	return out, nil
}

// Decode reads a record written by Encode and its body in the newest version.
// An unknown kind, or a version newer than this program's, is an error that
// names it: a projection must stop there, never skip it.
func Decode(line []byte) (Event, error) {
	e, err := DecodeEnvelope(line)
	if err != nil {
		return Event{}, err
	}
	kind, version, err := kindOf(e.Type)
	if err != nil {
		return Event{}, fmt.Errorf("record %s of %s: %w", e.ID, e.Facility, err)
	}
	if e.Body, err = kind.decode(e.Data, version); err != nil {
		return Event{}, fmt.Errorf("record %s of %s: %w", e.ID, e.Facility, err)
	}
	return e, nil
}

// DecodeEnvelope reads a record and leaves its body alone. It takes exactly
// what Encode writes: whatever it reads is written again as the same bytes.
func DecodeEnvelope(line []byte) (Event, error) {
	s := scanner{rest: line}
	var e Event
	if s.literal(`{`); s.optional(`"animals":"`) {
		e.Counts = s.counts()
		s.literal(`,`)
	}
	s.literal(`"author":"`)
	e.Author = s.text()
	s.literal(`,"data":`)
	e.Data = s.value()
	s.literal(`,"datacontenttype":"application/json","facility":"`)
	e.Facility = s.text()
	s.literal(`,"id":"`)
	e.ID = s.text()
	s.literal(`,"previous":"`)
	e.Previous = s.hash()
	s.literal(`,"recordedtime":"`)
	e.Recorded = s.time()
	s.literal(`,"sequence":"`)
	e.Number = s.number()
	s.literal(`,"source":"/facility/`)
	s.literal(e.Facility)
	s.literal(`/device/`)
	e.Device = s.text()
	s.literal(`,"specversion":"1.0","time":"`)
	e.Time = s.time()
	s.literal(`,"type":"`)
	e.Type = s.text()
	s.literal(`}`)
	if s.broken || len(s.rest) > 0 {
		return Event{}, errNotRecord
	}
	return e, nil
}

var errNotRecord = errors.New("not a record of haulout in canonical form")

// scanner walks the fixed layout that Encode writes, without a general parser:
// replaying millions of records spends most of its time here.
type scanner struct {
	rest   []byte
	broken bool
}

func (s *scanner) optional(want string) bool {
	if !bytes.HasPrefix(s.rest, []byte(want)) {
		return false
	}
	s.rest = s.rest[len(want):]
	return true
}

func (s *scanner) literal(want string) {
	if !s.optional(want) {
		s.broken = true
	}
}

// text reads to the closing quote; the envelope's texts need no escapes.
func (s *scanner) text() string { return string(s.bytes()) }

func (s *scanner) bytes() []byte {
	for i, b := range s.rest {
		switch {
		case b == '"':
			out := s.rest[:i]
			s.rest = s.rest[i+1:]
			return out
		case b == '\\' || b < 0x20:
			s.broken = true
			return nil
		}
	}
	s.broken = true
	return nil
}

func (s *scanner) hash() Hash {
	h, err := parseHash(s.bytes())
	s.broken = s.broken || err != nil
	return h
}

func (s *scanner) time() (t time.Time) {
	written := s.bytes()
	err := t.UnmarshalText(written)
	t = t.UTC()
	again := t.AppendFormat(make([]byte, 0, len(time.RFC3339Nano)), time.RFC3339Nano)
	s.broken = s.broken || err != nil || !bytes.Equal(again, written)
	return t
}

// number reads a sequence: ten digits, more only where they are needed.
func (s *scanner) number() uint64 {
	digits := s.text()
	n, err := strconv.ParseUint(digits, 10, 64)
	s.broken = s.broken || err != nil || len(digits) < 10 || (len(digits) > 10 && digits[0] == '0')
	return n
}

func (s *scanner) counts() []Count {
	out, err := decodeCounts(s.text())
	s.broken = s.broken || err != nil || out == nil
	return out
}

// value passes over one JSON value.
func (s *scanner) value() []byte {
	depth := 0
	for i := 0; i < len(s.rest); i++ {
		switch s.rest[i] {
		case '"':
			i += 1 + textEnd(s.rest[i+1:])
		case '{', '[':
			depth++
		case '}', ']':
			depth--
		}
		if depth == 0 && i < len(s.rest) {
			out := s.rest[:i+1]
			s.rest = s.rest[i+1:]
			return out
		}
	}
	s.broken = true
	return nil
}

// textEnd finds the quote that closes a text, or the end.
func textEnd(b []byte) int {
	end := bytes.IndexByte(b, '"')
	if end >= 0 && bytes.IndexByte(b[:end], '\\') < 0 {
		return end
	}
	for i := 0; i < len(b); i++ {
		switch b[i] {
		case '"':
			return i
		case '\\':
			i++
		}
	}
	return len(b)
}
