package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"haulout/events"
)

type importOptions struct {
	place
	facility, zone, unit, errors string
	dryRun, json, skipBad        bool
}

const importHelp = `Records what a file holds, through the same interface as everybody.

A CSV file names its columns on the first line:
%s
Animals and foods are given by name or id. A file may be UTF-8 or UTF-16, its
separator a comma, semicolon or tab, its decimals with a point or a comma.
Times are 2026-03-01 16:00 in the zone of the facility (or --zone), or carry
their own offset; a day alone is taken as noon. Masses are in the unit that the
header ends in, or that --unit says. Feeds of one animal at one time that stand
together are one feed.

Each fact gets an id that follows from what the row says, so a file that is
imported again adds nothing. A definition without a time is taken from
1 January 2000 UTC on, an animal from the first day that its birth allows.

records takes the JSON lines that haulout export writes.`

func newImport() *cobra.Command {
	var o importOptions
	cmd := &cobra.Command{
		Use: "import KIND FILE", Short: "Record what a file holds", Args: exactArgs("KIND", "FILE"),
		Long: fmt.Sprintf(importHelp, listKinds()),
		Example: "  haulout import weights scale.csv --server http://127.0.0.1:8080 --facility saltgarth --dry-run\n" +
			"  haulout import records saltgarth/records.jsonl --data new-folder",
		RunE: func(cmd *cobra.Command, args []string) error {
			return importFile(cmd.Context(), o, args[0], args[1], cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	o.flags(cmd)
	f.StringVar(&o.facility, "facility", setting("HAULOUT_FACILITY", ""), "code of the facility (none: the only one; for records: every one in the file)")
	f.StringVar(&o.zone, "zone", "", "time zone of times without an offset (none: the facility's)")
	f.StringVar(&o.unit, "unit", "", "unit of the mass columns: kg, g or lb (none: what their headers say, else kg)")
	f.StringVar(&o.errors, "errors", "", "file for the rows that can't be taken (none: FILE.errors.csv beside the input)")
	f.BoolVar(&o.dryRun, "dry-run", false, "check every row and record nothing")
	f.BoolVar(&o.skipBad, "skip-bad", false, "record the good rows when some are bad; without it none is recorded then")
	f.BoolVar(&o.json, "json", false, "print the summary as JSON")
	return cmd
}

func listKinds() string {
	var out strings.Builder
	for _, k := range sheetKinds() {
		fmt.Fprintf(&out, "  %-11s %s\n", k.name, listColumns(k.columns))
	}
	return out.String()
}

// importer carries one file in.
type importer struct {
	importOptions
	client   *client
	known    *known // what the facility knows
	where    *time.Location
	sheet    *sheet
	errs     io.Writer
	checking *progress
	equal    map[string]int // how often each fact stood in the file before
	facts    []entry
	bad      []badRow
	sum      summary
}

func importFile(ctx context.Context, o importOptions, kind, file string, out, errs io.Writer) (err error) {
	if err := o.check(kind); err != nil {
		return err
	}
	if kind != "records" { // records can open a facility in a new folder
		if err := o.exists(); err != nil {
			return err
		}
	}
	if _, err := os.Stat(file); err != nil {
		return err
	}
	c, err := o.open(ctx, warnings(errs), errs)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, c.close()) }()
	im := &importer{importOptions: o, client: c, errs: errs, equal: map[string]int{}}
	im.sum = summary{Kind: kind, File: file, DryRun: o.dryRun, Facts: map[string]int{}}
	err = im.run(ctx, kind, file)
	if err != nil && im.sum.Rows == 0 {
		return err // nothing was read that a summary could tell of
	}
	return errors.Join(im.finish(out), err)
}

// check finds mistakes in the words of the command before anything is opened.
func (o *importOptions) check(kind string) error {
	names := []string{"records"}
	for _, k := range sheetKinds() {
		names = append(names, k.name)
	}
	if !slices.Contains(names, kind) {
		return useError{fmt.Errorf("there is no kind %q to import%s; the kinds are %s", kind, meant(kind, names), strings.Join(names, ", "))}
	}
	if _, ok := massUnits[o.unit]; !ok && o.unit != "" {
		return useError{fmt.Errorf("--unit %q: use kg, g or lb", o.unit)}
	}
	if _, err := time.LoadLocation(o.zone); err != nil || o.zone == "Local" {
		return useError{fmt.Errorf("--zone %q: name a zone of the IANA time zone database, such as Europe/Dublin", o.zone)}
	}
	return o.settle()
}

func (im *importer) run(ctx context.Context, kind, file string) error {
	if kind == "records" {
		return im.importRecords(ctx, file)
	}
	i := slices.IndexFunc(sheetKinds(), func(k sheetKind) bool { return k.name == kind })
	return im.importSheet(ctx, sheetKinds()[i], file)
}

func (im *importer) importSheet(ctx context.Context, k sheetKind, file string) (err error) {
	if im.sheet, err = readSheet(file, k.columns); err != nil {
		return err
	}
	if err := im.settleUnits(k.columns); err != nil {
		return useError{err}
	}
	if im.known, err = im.client.knownAt(ctx, im.facility); err != nil {
		return err
	}
	im.facility, im.where = im.known.Code, im.known.zone
	if im.zone != "" {
		im.where, _ = time.LoadLocation(im.zone) // checked with the other options
	}
	im.sum.Facility, im.sum.Rows = im.facility, len(im.sheet.rows)
	for _, r := range im.sheet.rows {
		if r.excess != "" {
			im.problem(r, "", r.excess, "stands under no column; put values that hold the separator in quotes")
		}
	}
	im.checking = newProgress(im.errs, "check "+k.name, im.sum.Rows)
	k.read(im)
	im.checking.end()
	if k.defines {
		if err := im.checkDefinitions(ctx); err != nil {
			return err
		}
	}
	// In order of time each day's rows are worked out once, not at every visit.
	slices.SortStableFunc(im.facts, func(a, b entry) int { return strings.Compare(a.draft.Time, b.draft.Time) })
	im.count()
	if !im.goesAhead() {
		return nil
	}
	return im.send(ctx, im.facility, len(im.facts), im.good())
}

// goesAhead says whether anything is to be recorded.
func (im *importer) goesAhead() bool { return !im.dryRun && (len(im.bad) == 0 || im.skipBad) }

// good gives the facts of rows without a problem.
func (im *importer) good() iter.Seq2[entry, error] {
	return func(yield func(entry, error) bool) {
		for _, e := range im.facts {
			if !e.bad() && !yield(e, nil) {
				return
			}
		}
	}
}

func (im *importer) count() {
	for e := range im.good() {
		im.sum.Facts[events.KindName(e.draft.Type)]++
	}
}

// finish writes the rows that were not taken to their file, and the summary.
func (im *importer) finish(out io.Writer) error {
	im.tell()
	if len(im.bad) > 0 {
		im.sum.Errors = cmp.Or(im.errors, strings.TrimSuffix(im.sum.File, filepath.Ext(im.sum.File))+".errors.csv")
		if err := writeBad(im.sum.Errors, im.bad); err != nil {
			return err
		}
	}
	im.sum.Bad, im.sum.Problems = badLines(im.bad), im.bad
	if err := im.sum.write(out, im.json); err != nil {
		return err
	}
	if im.sum.Bad > 0 {
		return fmt.Errorf("%s of %s can't be taken; what is wrong with each is in %s", rowsOf(im.sum.Bad), im.sum.File, im.sum.Errors)
	}
	return nil
}
