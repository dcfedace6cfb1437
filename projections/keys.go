package projections

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"time"

	"haulout/events"
)

// The first byte of a key says what it holds. Parts of a key end with 0x00,
// which no code, id or word contains.
const (
	keyChunk      = 'l' // facility, first number → records, a line each
	keyID         = 'i' // record id → location
	keyIndex      = 'x' // reference, kind, UTC day, facility, number → entries
	keyCorrection = 'e' // entry id, facility, number → location of a correction
	keyHead       = 'h' // facility → head
	keyCount      = 'a' // facility, animal → its count of records
	keyVersion    = 'v' // projection → version and progress
	keyDirty      = 'd' // projection, version, reference → fold owed
	keyRow        = 'p' // projection, version, reference, day → row
)

func key(kind byte, parts ...string) []byte {
	n := 1
	for _, p := range parts {
		n += len(p) + 1
	}
	out := append(make([]byte, 0, n+16), kind)
	for _, p := range parts {
		out = append(append(out, p...), 0)
	}
	return out
}

func chunkKey(facility string, first uint64) []byte {
	return binary.BigEndian.AppendUint64(key(keyChunk, facility), first)
}

// location says where a record lies in the archive.
type location struct {
	facility string
	first    uint64 // number of the first record of its chunk
	offset   uint16 // place within the chunk
}

// compareLocations puts records in the order in which they lie.
func compareLocations(a, b location) int {
	return cmp.Or(cmp.Compare(a.facility, b.facility), cmp.Compare(a.first, b.first), cmp.Compare(a.offset, b.offset))
}

func (l location) number() uint64 { return l.first + uint64(l.offset) }

func (l location) encode() []byte {
	out := binary.BigEndian.AppendUint64(make([]byte, 0, 10+len(l.facility)), l.first)
	out = binary.BigEndian.AppendUint16(out, l.offset)
	return append(out, l.facility...)
}

func decodeLocation(b []byte) (location, error) {
	if len(b) < 11 {
		return location{}, fmt.Errorf("a location of %d bytes", len(b))
	}
	return location{string(b[10:]), binary.BigEndian.Uint64(b), binary.BigEndian.Uint16(b[8:])}, nil
}

// kindCode stands for a kind in index keys. Two kinds that share a code would
// be read together and told apart afterwards.
func kindCode(name string) [2]byte {
	h := fnv.New32a()
	h.Write([]byte(name))
	sum := h.Sum32()
	return [2]byte{byte(sum >> 8), byte(sum)}
}

func indexPrefix(ref events.Ref, kind string) []byte {
	code := kindCode(kind)
	return append(key(keyIndex, ref.Sort, ref.ID), code[:]...)
}

func indexKey(prefix []byte, utcDay int32, facility string, number uint64) []byte {
	out := append(make([]byte, 0, len(prefix)+14+len(facility)), prefix...)
	out = appendDay(out, utcDay)
	out = append(append(out, facility...), 0)
	return binary.BigEndian.AppendUint64(out, number)
}

// appendDay keeps the order of days before 1970 too.
func appendDay(out []byte, day int32) []byte {
	return binary.BigEndian.AppendUint32(out, uint32(day)^1<<31)
}

func utcDay(t time.Time) int32 {
	const day = 24 * 60 * 60
	s := t.Unix()
	if s < 0 {
		s -= day - 1
	}
	return int32(s / day)
}

// entry is one line of an index block: when, and where.
type entry struct {
	at     time.Time
	first  uint64
	offset uint16
}

const entrySize = 18

func appendEntry(out []byte, e entry) []byte {
	out = binary.BigEndian.AppendUint64(out, uint64(e.at.UnixMilli()))
	out = binary.BigEndian.AppendUint64(out, e.first)
	return binary.BigEndian.AppendUint16(out, e.offset)
}

func decodeEntry(b []byte) entry {
	return entry{
		at:     time.UnixMilli(int64(binary.BigEndian.Uint64(b))).UTC(),
		first:  binary.BigEndian.Uint64(b[8:]),
		offset: binary.BigEndian.Uint16(b[16:]),
	}
}

// Day is a date at a facility, such as 2026-03-01. Days sort as texts.
type Day string

// DayOf is the local day of a moment.
func DayOf(t time.Time, zone *time.Location) Day { return Day(t.In(zone).Format(time.DateOnly)) }

// ParseDay reads a date.
func ParseDay(s string) (Day, error) {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return "", fmt.Errorf("%q is no date; write it as 2026-03-01", s)
	}
	return Day(s), nil
}

// Add counts days on or back.
func (d Day) Add(n int) Day {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		return d
	}
	return Day(t.AddDate(0, 0, n).Format(time.DateOnly))
}

// Start is the first moment of the day in a zone, End the first moment after it.
func (d Day) Start(zone *time.Location) time.Time {
	t, err := time.ParseInLocation(time.DateOnly, string(d), zone)
	if err != nil {
		return time.Time{}
	}
	return t
}

// End is the first moment of the next day.
func (d Day) End(zone *time.Location) time.Time { return d.Add(1).Start(zone) }

// until counts the days from this one to a later one.
func (d Day) until(later Day) int { return int(later.number() - d.number()) }

// number is the day counted from 1970, as index keys count.
func (d Day) number() int32 { return utcDay(d.Start(time.UTC)) }
