package main

import (
	"context"
	"fmt"
	"io"
	"iter"

	"haulout/events"
	"haulout/events/journal"
)

// walk is a reading of one copy of a facility's records, from the first to the
// last. Each record carries the hash of the one before it, so two copies with
// whole chains and the same end are equal byte for byte.
type walk struct {
	Records uint64 `json:"records"`
	Hash    string `json:"hash"` // of the last one
	Problem string `json:"problem,omitempty"`
}

func (w *walk) String() string {
	if w.Problem != "" {
		return fmt.Sprintf("%d records in a whole chain, then the damage", w.Records)
	}
	return fmt.Sprintf("%s in a whole chain", counted(int(w.Records), "record", "records"))
}

func (w *walk) end() end { return end{w.Records, w.Hash} }

// walkThrough follows lines to their end or to the first that does not follow.
func walkThrough(facility string, lines iter.Seq2[[]byte, error], p *progress) *walk {
	var head journal.Head
	w := &walk{}
	for line, err := range lines {
		if err == nil {
			head, err = follow(facility, head, line)
		}
		if err != nil {
			w.Problem = fmt.Sprintf("after record %d: %v", head.Number, err)
			break
		}
		p.at(int(head.Number))
	}
	p.end()
	w.Records, w.Hash = head.Number, head.Hash.String()
	return w
}

// follow checks that a line is the next record of a facility.
func follow(facility string, head journal.Head, line []byte) (journal.Head, error) {
	ev, err := events.DecodeEnvelope(line)
	switch {
	case err != nil:
		return head, err
	case ev.Facility != facility:
		return head, fmt.Errorf("a record of %s comes next", ev.Facility)
	case ev.Number != head.Number+1:
		return head, fmt.Errorf("record %d comes next", ev.Number)
	case ev.Previous != head.Hash:
		return head, fmt.Errorf("the next one does not carry its hash; one of the two was altered")
	}
	return journal.Head{Number: ev.Number, Hash: events.LeafHash(line)}, nil
}

// logged reads every record of a facility's log.
func (n *node) logged(ctx context.Context, code string) iter.Seq2[[]byte, error] {
	return func(yield func([]byte, error) bool) {
		for page, err := range n.journal.Pages(ctx, code, 0) {
			if err != nil {
				yield(nil, err)
				return
			}
			for _, line := range page.Lines {
				if !yield(line, nil) {
					return
				}
			}
		}
	}
}

// archived reads every record that the archive holds of a facility.
func (n *node) archived(ctx context.Context, code string) iter.Seq2[[]byte, error] {
	return func(yield func([]byte, error) bool) {
		for after := uint64(0); ; {
			lines, err := n.storedLines(code, after)
			if err == nil {
				err = ctx.Err()
			}
			if err != nil {
				yield(nil, err)
				return
			}
			for _, line := range lines {
				if !yield(line, nil) {
					return
				}
			}
			if len(lines) == 0 {
				return
			}
			after += uint64(len(lines))
		}
	}
}

// storedLines turns a panic over a damaged table into an error: a check is to
// tell of it.
func (n *node) storedLines(code string, after uint64) (lines [][]byte, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("its files are damaged: %v", r)
		}
	}()
	return n.store.Lines(code, after, 5000)
}

func reading(errs io.Writer, facility string, total uint64) *progress {
	return newProgress(errs, "read the records of "+facility, int(total))
}
