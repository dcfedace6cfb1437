package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"haulout/events/journal"
	"haulout/projections"
)

type checkOptions struct {
	place
	deep, json bool
}

func newCheck() *cobra.Command {
	var o checkOptions
	cmd := &cobra.Command{
		Use: "check", Short: "Compare the copies of every record", Args: noArgs,
		Long: "On a data folder: compares the end of each facility's log with the archive. With --deep it reads every record of both,\n" +
			"checks numbers, chain and hashes, that the copies are equal byte for byte, and that photos are what was handed in.\n" +
			"On a running server: reads every record and checks that the chain ends where the server says its head is.\n" +
			"Damage is told in a line and by exit code 3.",
		Example: "  haulout check --data /var/lib/haulout --deep\n  haulout check --server http://127.0.0.1:8080 --token …",
		RunE: func(cmd *cobra.Command, _ []string) error {
			return check(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	o.flags(cmd)
	cmd.Flags().BoolVar(&o.deep, "deep", false, "read every record (on a server that is always so)")
	cmd.Flags().BoolVar(&o.json, "json", false, "print what was compared as JSON")
	return cmd
}

// checked is what was compared for one facility.
type checked struct {
	Facility string      `json:"facility"`
	Log      *end        `json:"log,omitempty"`     // of a folder
	Archive  *end        `json:"archive,omitempty"` // of a folder
	Said     *end        `json:"said,omitempty"`    // what a server says its head is
	Pages    uint64      `json:"pages,omitempty"`
	Read     *walk       `json:"read,omitempty"`     // of a server, or the log of a folder
	Stored   *walk       `json:"archived,omitempty"` // the archive of a folder
	Photos   *photosRead `json:"photos,omitempty"`   // of a folder
	Problem  string      `json:"problem,omitempty"`
	Remedy   string      `json:"remedy,omitempty"`
}

// end is the last record of a copy.
type end struct {
	Number uint64 `json:"number"`
	Hash   string `json:"hash"`
}

func endOf(h journal.Head) *end { return &end{h.Number, h.Hash.String()} }

// findings is what a check came to.
type findings struct {
	Where      string    `json:"where"`
	Deep       bool      `json:"deep"`
	Facilities []checked `json:"facilities"`
	Damage     bool      `json:"damage"`
}

// damageError says that damage was found, wherever it is.
type damageError struct{ error }

func (d damageError) Is(target error) bool { return target == journal.ErrDamage }

func (d damageError) Unwrap() error { return d.error }

func check(ctx context.Context, o checkOptions, out, errs io.Writer) (err error) {
	if err := errors.Join(o.settle(), o.exists()); err != nil {
		return err
	}
	c, err := o.open(ctx, slog.New(slog.DiscardHandler), errs) // what it would log is in the findings
	if err != nil {
		return unopened(err, o.data)
	}
	defer func() { err = errors.Join(err, c.close()) }()
	f := findings{Where: c.where, Deep: o.deep || c.node == nil}
	if c.node != nil {
		f.Facilities, err = c.node.check(ctx, o.data, o.deep, errs)
	} else {
		f.Facilities, err = c.check(ctx, errs)
	}
	if err != nil {
		return err
	}
	f.Damage = slices.ContainsFunc(f.Facilities, func(c checked) bool { return c.Problem != "" })
	if err := f.write(out, o.json); err != nil {
		return err
	}
	if f.Damage {
		return damageError{fmt.Errorf("damage was found at %s", c.where)}
	}
	return nil
}

// unopened says what to do about a folder whose damage keeps it from opening.
func unopened(err error, dir string) error {
	switch {
	case errors.Is(err, fs.ErrPermission), errors.Is(err, journal.ErrHeld):
		return err
	case errors.Is(err, projections.ErrFiles):
		return damageError{fmt.Errorf("%w\n%s", err, fillAnew(dir))}
	case errors.Is(err, journal.ErrDamage):
		return fmt.Errorf("%w\n%s", err, restore(dir))
	}
	return err
}

func fillAnew(dir string) string {
	return fmt.Sprintf("what to do: move %s aside and start the server; it fills a new archive from the log", filepath.Join(dir, "archive"))
}

func restore(dir string) string {
	return fmt.Sprintf("what to do: keep %s as it is, and restore the last good backup into another folder", dir)
}

func (f findings) write(out io.Writer, asJSON bool) error {
	if f.Facilities == nil {
		f.Facilities = []checked{}
	}
	if asJSON {
		return json.NewEncoder(out).Encode(f)
	}
	lines := []string{}
	for _, c := range f.Facilities {
		lines = append(lines, c.String())
	}
	if len(lines) == 0 {
		lines = []string{f.Where + " holds no facility"}
	}
	_, err := fmt.Fprintln(out, strings.Join(lines, "\n"))
	return err
}

func (c checked) String() string {
	var compared []string
	say := func(format string, args ...any) { compared = append(compared, fmt.Sprintf(format, args...)) }
	switch {
	case c.Log != nil && c.Log.Number == 0 && c.Pages > 0:
		say("the end of the log can't be read, it has %d pages", c.Pages)
	case c.Log != nil:
		say("the log ends at %s on %s", c.Log, counted(int(c.Pages), "page", "pages"))
	case c.Said != nil:
		say("the server says that its head is %s", c.Said)
	}
	if c.Archive != nil {
		say("the archive ends at %s", c.Archive)
	}
	switch {
	case c.Stored != nil:
		say("read in the log %s, in the archive %s", c.Read, c.Stored)
	case c.Read != nil:
		say("read %s", c.Read)
	}
	if c.Photos != nil {
		say("%s", c.Photos)
	}
	line := c.Facility + ": " + strings.Join(compared, ", ")
	if c.Problem == "" {
		return line + ": good"
	}
	return line + "\n" + c.Facility + ": DAMAGE: " + c.Problem + "\n" + c.Facility + ": " + c.Remedy
}

func (e *end) String() string {
	if e.Number == 0 {
		return "no record"
	}
	return fmt.Sprintf("record %d (%.8s…)", e.Number, e.Hash)
}
