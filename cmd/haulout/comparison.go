package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"iter"
	"slices"
)

// check compares log and archive of every facility of a folder.
func (n *node) check(ctx context.Context, dir string, deep bool, errs io.Writer) ([]checked, error) {
	var out []checked
	var files error
	if deep {
		files = n.store.Verify()
	}
	codes := append(n.journal.Facilities(), n.store.Codes()...)
	slices.Sort(codes)
	for _, code := range slices.Compact(codes) {
		c := n.compare(ctx, code)
		if deep {
			n.readBoth(ctx, &c, errs)
			n.readPhotos(ctx, &c)
		}
		if err := ctx.Err(); err != nil {
			return out, err
		}
		if c.Problem == "" && files != nil {
			c.Problem = files.Error()
		}
		if c.Problem != "" {
			c.Remedy = c.remedy(dir)
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

// readBoth reads both copies to their ends.
func (n *node) readBoth(ctx context.Context, c *checked, errs io.Writer) {
	c.Read = walkThrough(c.Facility, n.logged(ctx, c.Facility), reading(errs, c.Facility, c.Archive.Number))
	c.Stored = walkThrough(c.Facility, n.archived(ctx, c.Facility), reading(errs, c.Facility, c.Archive.Number))
	switch {
	case c.Read.Problem != "":
		c.Problem = "the log " + c.Read.Problem
	case c.Stored.Problem != "":
		c.Problem = "the archive " + c.Stored.Problem
	case c.Problem != "":
	case c.Read.end() != c.Stored.end():
		c.Problem = fmt.Sprintf("the log holds %d records and the archive %d, and they are not the same", c.Read.Records, c.Stored.Records)
	case c.Stored.end() != *c.Archive:
		c.Problem = fmt.Sprintf("the archive says that it ends at %s and holds %d records", c.Archive, c.Stored.Records)
	}
}

// remedy is what to do first. It never loses the good copy.
func (c checked) remedy(dir string) string {
	switch {
	case c.Read == nil:
		return "what to do: keep a copy of the folder as it is, then run haulout check --deep on it to learn which of the two is whole"
	case c.Read.Problem == "" && c.Log != nil && c.Read.end() == *c.Log && c.Read.Records >= c.Stored.Records:
		return fillAnew(dir)
	case c.Stored.Problem == "" && c.Stored.Records > 0:
		return fmt.Sprintf("what to do: keep a copy of the folder as it is; the archive is whole up to record %d, and haulout export --data %s --facility %s --records FILE writes it out",
			c.Stored.Records, dir, c.Facility)
	}
	return restore(dir)
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
		if one.Problem != "" {
			one.Remedy = "what to do: stop the server, keep a copy of its data folder as it is, and run haulout check --deep --data on it"
		}
		out = append(out, one)
	}
	return out, nil
}

// readThrough follows the chain of a facility up to the head that the server
// named before. What comes in meanwhile is left for the next check.
func (c *client) readThrough(ctx context.Context, one *checked, errs io.Writer) error {
	var asking error
	one.Read = walkThrough(one.Facility, c.recorded(ctx, one.Facility, one.Said.Number, &asking), reading(errs, one.Facility, one.Said.Number))
	switch {
	case asking != nil:
		return asking
	case one.Problem != "":
	case one.Read.Problem != "":
		one.Problem = one.Read.Problem
	case one.Read.end() != *one.Said:
		one.Problem = fmt.Sprintf("its records end at record %d with the hash %s, and the server says that its head is record %d with %s",
			one.Read.Records, one.Read.Hash, one.Said.Number, one.Said.Hash)
	}
	return nil
}

// recorded reads the records of a facility up to a number; failed is set where
// the server did not answer.
func (c *client) recorded(ctx context.Context, facility string, last uint64, failed *error) iter.Seq2[[]byte, error] {
	return func(yield func([]byte, error) bool) {
		for after := uint64(0); after < last; {
			raw, next, err := c.lines(ctx, facility, after)
			if err != nil {
				*failed = err
				return
			}
			if next == after {
				return
			}
			for line := range bytes.Lines(raw) {
				if after++; after > last || !yield(bytes.TrimSuffix(line, []byte{'\n'}), nil) {
					return
				}
			}
		}
	}
}
