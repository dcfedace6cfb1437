package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"

	"haulout/events"
	"haulout/events/journal"
)

// chain follows the records of one facility, one after the other.
type chain struct {
	facility string
	head     journal.Head
}

// take checks that a line is the next record, and moves on to it.
func (c *chain) take(line []byte) error {
	ev, err := events.DecodeEnvelope(line)
	next := c.head.Number + 1
	switch {
	case err != nil:
		return fmt.Errorf("record %d can't be read: %w", next, err)
	case ev.Facility != c.facility:
		return fmt.Errorf("record %d is one of %s", next, ev.Facility)
	case ev.Number != next:
		return fmt.Errorf("record %d follows record %d", ev.Number, c.head.Number)
	case ev.Previous != c.head.Hash:
		return fmt.Errorf("record %d does not carry the hash of record %d: one of the two was altered", next, c.head.Number)
	}
	c.head = journal.Head{Number: next, Hash: events.LeafHash(line)}
	return nil
}

// check compares log and archive of every facility of a folder.
func (n *node) check(ctx context.Context, deep bool, errs io.Writer) ([]checked, error) {
	var out []checked
	codes := append(n.journal.Facilities(), n.store.Codes()...)
	slices.Sort(codes)
	for _, code := range slices.Compact(codes) {
		c := n.compare(ctx, code)
		if deep {
			n.compareAll(ctx, &c, errs)
		}
		if err := ctx.Err(); err != nil {
			return out, err
		}
		out = append(out, c)
	}
	return out, nil
}

// compare compares the ends. What kept the facility from taking facts when the
// folder was opened is damage as well.
func (n *node) compare(ctx context.Context, code string) checked {
	if !slices.Contains(n.journal.Facilities(), code) {
		return checked{Facility: code, Archive: endOf(archive{n.store}.Position(code)), Problem: "the archive holds its records, and the folder has no log of it"}
	}
	ends, err := n.journal.Compare(ctx, code)
	c := checked{Facility: code, Log: endOf(ends.Log), Archive: endOf(ends.Archive), Pages: ends.Pages, Problem: ends.Problem}
	if err != nil {
		c.Problem = err.Error()
	}
	if why := n.journal.ReadOnly(code); why != "" {
		c.Problem = why
	}
	return c
}

// compareAll reads both copies to their ends. Damage that it finds says where,
// so it is told before what the ends gave away.
func (n *node) compareAll(ctx context.Context, c *checked, errs io.Writer) {
	p := newProgress(errs, "read the records of "+c.Facility, int(c.Archive.Number))
	defer p.end()
	stored, stop := iter.Pull2(n.archived(c.Facility))
	defer stop()
	follow := chain{facility: c.Facility}
	err := n.follows(ctx, &follow, stored, p)
	c.Read = follow.head.Number
	if err != nil {
		c.Problem = err.Error()
	} else if c.Problem == "" && *endOf(follow.head) != *c.Archive {
		c.Problem = fmt.Sprintf("the archive says that it ends at %s and holds records up to %s", c.Archive, endOf(follow.head))
	}
}

// follows reads the log, and the archive beside it.
func (n *node) follows(ctx context.Context, follow *chain, stored func() ([]byte, error, bool), p *progress) error {
	for page, err := range n.journal.Pages(ctx, follow.facility, 0) {
		if err != nil {
			return fmt.Errorf("the log after record %d: %w", follow.head.Number, err)
		}
		for _, line := range page.Lines {
			copied, err, more := stored()
			if err != nil {
				return fmt.Errorf("the archive after record %d: %w", follow.head.Number, err)
			}
			if !more {
				return fmt.Errorf("the archive ends at record %d and the log goes on", follow.head.Number)
			}
			if err := follow.take(line); err != nil {
				return fmt.Errorf("the log: %w", err)
			}
			if !bytes.Equal(line, copied) {
				return fmt.Errorf("record %d in the archive is not the one in the log, whose chain is whole there", follow.head.Number)
			}
		}
		p.at(int(follow.head.Number))
	}
	if _, err, more := stored(); more || err != nil {
		return errors.Join(fmt.Errorf("the log ends at record %d and the archive goes on", follow.head.Number), err)
	}
	return nil
}

// archived reads every record that the archive holds of a facility.
func (n *node) archived(code string) iter.Seq2[[]byte, error] {
	return func(yield func([]byte, error) bool) {
		for after := uint64(0); ; {
			lines, err := n.storedLines(code, after)
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

// check reads every record of a server and holds it against what the server
// says of itself.
func (c *client) check(ctx context.Context, errs io.Writer) ([]checked, error) {
	var status struct {
		Facilities []struct {
			Facility string `json:"facility"`
			Head     end    `json:"head"`
			ReadOnly string `json:"read_only"`
		} `json:"facilities"`
	}
	if err := c.get(ctx, "/api/v1/status", &status); err != nil {
		return nil, err
	}
	var out []checked
	for _, f := range status.Facilities {
		one := checked{Facility: f.Facility, Said: &f.Head, Problem: f.ReadOnly}
		if err := c.readThrough(ctx, &one, errs); err != nil {
			return out, err
		}
		out = append(out, one)
	}
	return out, nil
}

// readThrough follows the chain of a facility to its end. Records that come in
// meanwhile only have to follow.
func (c *client) readThrough(ctx context.Context, one *checked, errs io.Writer) error {
	p := newProgress(errs, "read the records of "+one.Facility, int(one.Said.Number))
	defer p.end()
	follow, met := chain{facility: one.Facility}, one.Said.Number == 0
	for {
		raw, next, err := c.lines(ctx, one.Facility, follow.head.Number)
		if err != nil || next == follow.head.Number {
			if err == nil && !met && one.Problem == "" {
				one.Problem = fmt.Sprintf("the records end at %s, before the head that the server names", endOf(follow.head))
			}
			return err
		}
		for line := range bytes.Lines(raw) {
			if err := follow.take(bytes.TrimSuffix(line, []byte{'\n'})); err != nil {
				one.Problem = err.Error()
				return nil
			}
			if one.Read = follow.head.Number; one.Read != one.Said.Number {
				continue
			}
			if met = true; *endOf(follow.head) != *one.Said {
				one.Problem = fmt.Sprintf("record %d has the hash %s, and the server says %s", one.Read, follow.head.Hash, one.Said.Hash)
				return nil
			}
		}
		p.at(int(follow.head.Number))
	}
}
