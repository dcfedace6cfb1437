package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"

	"github.com/spf13/cobra"

	"haulout/projections"
)

type exportOptions struct {
	place
	facility, out, records string
}

func newExport() *cobra.Command {
	var o exportOptions
	cmd := &cobra.Command{
		Use: "export", Short: "Write records and tables to files", Args: noArgs,
		Long: "Writes every record as it is stored, one line of JSON each, in the order of the log.\n" +
			"With --out, each facility gets a folder of its own with records.jsonl and tables for spreadsheets:\n" +
			"animals, enclosures, foods, days, weights and encounters as CSV, with the values as they count after corrections.\n" +
			"To bring facts to another server, import records.jsonl there; the tables are made for reading.",
		Example: "  haulout export --server http://127.0.0.1:8080 --out colony\n" +
			"  haulout export --data /var/lib/haulout --facility saltgarth --records - | gzip > saltgarth.jsonl.gz",
		RunE: func(cmd *cobra.Command, _ []string) error {
			return export(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	o.flags(cmd)
	cmd.Flags().StringVar(&o.facility, "facility", setting("HAULOUT_FACILITY", ""), "code of the facility (none: every one)")
	cmd.Flags().StringVar(&o.out, "out", "", "folder for records and tables")
	cmd.Flags().StringVar(&o.records, "records", "", "file for the records alone, - for standard output")
	return cmd
}

func export(ctx context.Context, o exportOptions, out, errs io.Writer) (err error) {
	if (o.out == "") == (o.records == "") {
		return useError{errors.New("say where to: --out FOLDER for records and tables, or --records FILE (or -) for the records alone")}
	}
	if err := errors.Join(o.settle(), o.exists()); err != nil {
		return err
	}
	c, err := o.open(ctx, warnings(errs), errs)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, c.close()) }()
	list, err := c.wanted(ctx, o.facility)
	if err != nil {
		return err
	}
	switch {
	case o.out != "":
		return exportFolders(ctx, c, list, o.out, out, errs)
	case o.records == "-":
		return exportRecords(ctx, c, list, out, errs)
	}
	return replaceFile(o.records, func(w io.Writer) error { return exportRecords(ctx, c, list, w, errs) })
}

// wanted lists the facility with a code, or with "" every one in reach.
func (c *client) wanted(ctx context.Context, code string) ([]projections.Facility, error) {
	if code == "" {
		return c.facilities(ctx)
	}
	f, err := c.facility(ctx, code)
	return []projections.Facility{f}, err
}

func exportRecords(ctx context.Context, c *client, list []projections.Facility, w io.Writer, errs io.Writer) error {
	for _, f := range list {
		if _, err := c.copyRecords(ctx, f.Code, w, errs); err != nil {
			return err
		}
	}
	return nil
}

func exportFolders(ctx context.Context, c *client, list []projections.Facility, dir string, out, errs io.Writer) error {
	for _, f := range list {
		folder := filepath.Join(dir, f.Code)
		if err := os.MkdirAll(folder, 0o755); err != nil {
			return err
		}
		var records int
		err := replaceFile(filepath.Join(folder, "records.jsonl"), func(w io.Writer) (err error) {
			records, err = c.copyRecords(ctx, f.Code, w, errs)
			return err
		})
		if err != nil {
			return err
		}
		tables, err := c.exportTables(ctx, f, folder)
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "%s: %s, %s in %s\n", f.Code, counted(records, "record", "records"), counted(tables, "table", "tables"), folder)
	}
	return nil
}

// copyRecords copies a facility's records as they are stored, and counts them.
func (c *client) copyRecords(ctx context.Context, facility string, w io.Writer, errs io.Writer) (int, error) {
	p := newProgress(errs, "export the records of "+facility, 0)
	defer p.end()
	for after := uint64(0); ; {
		lines, next, err := c.lines(ctx, facility, after)
		if err != nil || next == after {
			return int(after), err
		}
		if _, err := w.Write(lines); err != nil {
			return int(after), err
		}
		after = next
		p.at(int(after))
	}
}

// lines reads the next stored records after a number, each with its line feed,
// and the number of the last.
func (c *client) lines(ctx context.Context, facility string, after uint64) (lines []byte, next uint64, err error) {
	path := fmt.Sprintf("/api/v1/facilities/%s/records?format=lines&limit=2000&after=%d", url.PathEscape(facility), after)
	raw, header, err := c.ask(ctx, http.MethodGet, path, nil)
	if err != nil {
		return nil, after, err
	}
	next, err = strconv.ParseUint(header.Get("Haulout-Next"), 10, 64)
	if err != nil {
		return nil, after, fmt.Errorf("%s does not say where its records go on: %w", c.where, err)
	}
	if n := bytes.Count(raw, []byte{'\n'}); next > after && uint64(n) != next-after {
		return nil, after, fmt.Errorf("%s sent %d records and says there are %d", c.where, n, next-after)
	}
	return raw, next, nil
}

// replaceFile writes a file beside its place and puts it there when it is whole.
func replaceFile(path string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	w := bufio.NewWriter(f)
	err = write(w)
	if err := errors.Join(err, w.Flush(), f.Chmod(0o644), f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return os.Rename(f.Name(), path)
}
