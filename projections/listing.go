package projections

import (
	"cmp"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"iter"
	"slices"
	"strconv"
	"strings"
	"time"

	"haulout/events"
)

// Listed is a stored record and what became of it.
type Listed struct {
	Record  json.RawMessage `json:"record"`             // as stored
	State   string          `json:"state"`              // counts, corrected, withdrawn
	Now     json.RawMessage `json:"now,omitempty"`      // its data as it counts, where corrected
	NowTime *time.Time      `json:"now_time,omitempty"` // its time as it counts, where corrected
	Fixes   []string        `json:"fixes,omitempty"`    // ids of its corrections and withdrawals
	ev      events.Event
}

// Event is the record decoded.
func (l Listed) Event() events.Event { return l.ev }

// Query asks for the records about something, newest first.
type Query struct {
	Ref    events.Ref
	Kinds  []string // kind names; all when empty
	From   time.Time
	To     time.Time // must be set
	AsOf   time.Time
	Cursor string // where the page before ended
	Limit  int
}

type dot struct {
	when time.Time
	at   location
}

func (a dot) before(b dot) int {
	return cmp.Or(b.when.Compare(a.when), cmp.Compare(a.at.facility, b.at.facility), cmp.Compare(b.at.number(), a.at.number()))
}

// Records lists a page of records and the cursor of the next, "" at the end.
func (s *Store) Records(q Query) (out []Listed, next string, err error) {
	if len(q.Kinds) == 0 {
		for _, wire := range events.Kinds() {
			q.Kinds = append(q.Kinds, events.KindName(wire))
		}
	}
	mark, err := parseCursor(q.Cursor)
	if err != nil {
		return nil, "", err
	}
	err = s.at(q.AsOf, func(v view) error {
		for d, err := range v.dots(q, mark) {
			if err != nil {
				return err
			}
			line, err := v.listed(d.at)
			if err != nil {
				return err
			}
			// An entry whose time or references were corrected is indexed under
			// both; it is listed once, at the time it was recorded with.
			if line == nil || line.ev.Time.UnixMilli() != d.when.UnixMilli() {
				continue
			}
			if len(out) == q.Limit {
				next = fmt.Sprintf("%d.%s.%d", mark.when.UnixMilli(), mark.at.facility, mark.at.number())
				return nil
			}
			mark, out = d, append(out, *line)
		}
		return nil
	})
	return out, next, err
}

func parseCursor(s string) (d dot, err error) {
	if s == "" {
		return d, nil
	}
	var ms int64
	if _, err := fmt.Sscanf(strings.ReplaceAll(s, ".", " "), "%d %s %d", &ms, &d.at.facility, &d.at.first); err != nil {
		return d, fmt.Errorf("cursor %q is not one that a listing gave", s)
	}
	if d.when = time.UnixMilli(ms).UTC(); d.when.Year() < 1900 || d.when.Year() > 9999 {
		return d, fmt.Errorf("cursor %q is not one that a listing gave", s)
	}
	return d, nil
}

// dots visits the places after the cursor, newest first, looking back over
// longer and longer stretches.
func (v view) dots(q Query, mark dot) iter.Seq2[dot, error] {
	to := q.To
	if q.Cursor != "" {
		to = mark.when
	}
	first, last := utcDay(time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC)), utcDay(to)
	if !q.From.IsZero() {
		first = utcDay(q.From)
	}
	return func(yield func(dot, error) bool) {
		for span := int32(16); last >= first; span *= 2 {
			found, err := v.dotsIn(q, max(first, last-span), last)
			if err != nil {
				yield(dot{}, err)
				return
			}
			for _, d := range found {
				inside := !d.when.After(to) && !d.when.Before(q.From) && (q.Cursor == "" || mark.before(d) < 0)
				if inside && !yield(d, nil) {
					return
				}
			}
			last -= span + 1
		}
	}
}

func (v view) dotsIn(q Query, first, last int32) ([]dot, error) {
	seen := map[dot]bool{}
	var out []dot
	for _, kind := range q.Kinds {
		err := v.entries(q.Ref, kind, first, last, func(at location, when time.Time) error {
			if d := (dot{when, at}); !seen[d] {
				seen[d] = true
				out = append(out, d)
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	slices.SortFunc(out, dot.before)
	return out, nil
}

func (v view) listed(at location) (*Listed, error) {
	line, err := v.line(at)
	if err != nil {
		return nil, err
	}
	ev, err := events.Decode(line)
	if err != nil || !v.holds(ev) {
		return nil, err
	}
	out := &Listed{Record: line, State: "counts", ev: ev}
	fixes, err := v.corrections(ev)
	if err != nil {
		return nil, err
	}
	for _, fix := range fixes {
		out.Fixes = append(out.Fixes, fix.ev.ID)
	}
	if len(fixes) == 0 {
		return out, nil
	}
	return out, out.judge(v)
}

func (l *Listed) judge(v view) error {
	now, err := v.effective(l.ev)
	switch {
	case err != nil:
		return err
	case now == nil:
		l.State = "withdrawn"
	case string(now.Data) != string(l.ev.Data) || !now.Time.Equal(l.ev.Time):
		l.State, l.Now, l.NowTime = "corrected", now.Data, &now.Time
	}
	return nil
}

// Standing is where a projection stands.
type Standing struct {
	Name      string            `json:"name"`
	Version   int               `json:"version"`
	Ready     bool              `json:"ready"`
	Positions map[string]uint64 `json:"positions"` // facility → number of the last record in its rows
}

// Standings says how far every projection is.
func (s *Store) Standings() []Standing {
	s.mu.RLock()
	defer s.mu.RUnlock()
	out := make([]Standing, 0, len(s.list))
	for _, p := range s.list {
		one := Standing{Name: p.Name, Version: p.Version, Ready: p.ready, Positions: map[string]uint64{}}
		for code, head := range s.heads {
			one.Positions[code] = head.Number
			if !p.ready {
				one.Positions[code] = p.done[code]
			}
		}
		out = append(out, one)
	}
	return out
}

// Fingerprint is one hash over all rows as they stand. Two archives of the same
// records have the same one, whatever way the records came in.
func (s *Store) Fingerprint() (sum events.Hash, err error) {
	h := sha256.New()
	err = s.at(time.Time{}, func(v view) error {
		for _, p := range s.list {
			err := scan(v.txn, key(keyRow, p.Name, strconv.Itoa(p.Version)), func(k, row []byte) error {
				if len(row) > 0 {
					h.Write(k)
					h.Write(row)
				}
				return nil
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
	h.Sum(sum[:0])
	return sum, err
}
