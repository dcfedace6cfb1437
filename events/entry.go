package events

import "encoding/json"

// EntryCorrected replaces what an earlier entry of the same facility said. The
// original stays readable, struck through. Correcting a correction is allowed;
// of several corrections of one entry the latest by number counts.
type EntryCorrected struct {
	Entry  string          `json:"entry" ref:"entry" doc:"the id of the entry that was wrong"`
	Data   json.RawMessage `json:"data" doc:"the whole body as it should have been, of the same kind"`
	Type   string          `json:"type,omitempty" doc:"the wire name of that body, where it is a newer version than the entry's"`
	Time   string          `json:"time,omitempty" format:"instant" doc:"when it really happened, where the time was wrong"`
	Reason string          `json:"reason" len:"1000" doc:"why it is corrected"`
}

// EntryWithdrawn takes an earlier entry of the same facility out of every
// figure. An entry for the wrong animal is withdrawn and recorded anew.
type EntryWithdrawn struct {
	Entry   string `json:"entry" ref:"entry" doc:"the id of the entry that was wrong"`
	Reason  string `json:"reason" len:"1000" doc:"why it is withdrawn"`
	Instead string `json:"instead,omitempty" ref:"entry" doc:"the id of the entry that stands in its place"`
}

// Target is the entry that an event corrects or withdraws, "" for all others.
func (e Event) Target() string {
	switch body := e.Body.(type) {
	case *EntryCorrected:
		return body.Entry
	case *EntryWithdrawn:
		return body.Entry
	}
	return ""
}

// Corrected is the event as a correction of it says. The identity, the number
// and the recorder's part stay the original's.
func (e Event) Corrected(by *EntryCorrected) (Event, error) {
	out := e
	if by.Time != "" {
		at, err := ParseTime(by.Time)
		if err != nil {
			return Event{}, err
		}
		out.Time = at
	}
	if by.Type != "" {
		if KindName(by.Type) != KindName(e.Type) {
			return Event{}, Problems{{"type", "a correction keeps the kind of the entry; withdraw it and record anew instead"}}
		}
		out.Type = by.Type
	}
	data, err := Canonical(by.Data)
	if err != nil {
		return Event{}, err
	}
	out.Data = data
	if err := out.read(); err != nil {
		return Event{}, err
	}
	return out, nil
}
