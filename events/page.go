package events

import (
	"bytes"
	"errors"
)

// Page is what one flush to disk carries: consecutive records of one facility.
// On the wire it is a CloudEvents JSON batch.
type Page struct {
	Facility string
	First    uint64   // number of the first record
	Lines    [][]byte // canonical records in order
}

// PageType is the media type of an encoded page.
const PageType = "application/cloudevents-batch+json"

// Last is the number of the last record.
func (p Page) Last() uint64 { return p.First + uint64(len(p.Lines)) - 1 }

// Encode writes the page. Canonical records hold no line feed, so one between
// them lets a reader split the page without parsing it.
func (p Page) Encode() []byte {
	n := 2
	for _, line := range p.Lines {
		n += len(line) + 2
	}
	out := append(make([]byte, 0, n), '[')
	for i, line := range p.Lines {
		if i > 0 {
			out = append(out, ",\n"...)
		}
		out = append(out, line...)
	}
	return append(out, ']')
}

// SplitPage takes an encoded page apart.
func SplitPage(raw []byte) ([][]byte, error) {
	if len(raw) < 4 || raw[0] != '[' || raw[len(raw)-1] != ']' {
		return nil, errors.New("not a page of records")
	}
	return bytes.Split(raw[1:len(raw)-1], []byte(",\n")), nil
}
