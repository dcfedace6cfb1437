package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"time"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"haulout/api"
	"haulout/events"
)

type serveOptions struct {
	data, listen, facility, zone string
	reserve                      uint64
	json                         bool
}

func newServe() *cobra.Command {
	var o serveOptions
	cmd := &cobra.Command{
		Use: "serve", Short: "Run the server on a data folder", Args: noArgs,
		Example: "  haulout serve --data /var/lib/haulout --listen 127.0.0.1:8080 --facility saltgarth --zone Europe/Dublin",
		RunE: func(cmd *cobra.Command, _ []string) error {
			log := slog.New(slog.NewTextHandler(cmd.ErrOrStderr(), nil))
			if o.json {
				log = slog.New(slog.NewJSONHandler(cmd.ErrOrStderr(), nil))
			}
			return serve(cmd.Context(), o, log, func(address string) {
				fmt.Fprintln(cmd.OutOrStdout(), "http://"+address)
			})
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.data, "data", setting("HAULOUT_DATA", "data"), "data folder")
	f.StringVar(&o.listen, "listen", setting("HAULOUT_LISTEN", "127.0.0.1:8080"), "address to answer on")
	f.StringVar(&o.facility, "facility", setting("HAULOUT_FACILITY", ""), "code of a facility to open if it is not there yet")
	f.StringVar(&o.zone, "zone", setting("HAULOUT_ZONE", "UTC"), "time zone of that facility, such as Europe/Dublin")
	f.Uint64Var(&o.reserve, "reserve", 0, "bytes of disk to keep free (0: 5 %, at least 512 MiB)")
	f.BoolVar(&o.json, "json", false, "write the log as JSON lines")
	return cmd
}

// setting is the environment's word for an option, or the usual one.
func setting(name, usual string) string {
	if v, ok := os.LookupEnv(name); ok {
		return v
	}
	return usual
}

func serve(ctx context.Context, o serveOptions, log *slog.Logger, ready func(string)) (err error) {
	n, err := openNode(ctx, nodeConfig{Dir: o.data, Reserve: o.reserve, Log: log, Report: logProgress(log)})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, n.close()) }()
	if o.facility != "" {
		if err := n.openFacility(ctx, o.facility, o.zone); err != nil {
			return err
		}
	}
	staff, err := api.OpenStaff(o.data, time.Now)
	if err != nil {
		return err
	}
	if len(staff.List()) == 0 {
		log.Warn("nobody may sign in yet; stop the server and run haulout staff add NAME --role steward --token")
	}
	return newSite(n, staff, log).serve(ctx, o.listen, func(address string) {
		log.Info("answering", "address", address, "version", version)
		ready(address)
	})
}

// logProgress tells of long work every few seconds.
func logProgress(log *slog.Logger) func(string, uint64, uint64) {
	last := time.Now()
	return func(doing string, done, total uint64) {
		if time.Since(last) > 3*time.Second {
			last = time.Now()
			log.Info(doing, "records", done, "of", total)
		}
	}
}

// openFacility opens a facility, unless it is open already.
func (n *node) openFacility(ctx context.Context, code, zone string) error {
	if n.store.Head(code).Number > 0 {
		return nil
	}
	if !events.ValidFacility(code) {
		return useError{fmt.Errorf("facility %q: use small letters, digits and dashes, at most 32", code)}
	}
	body, err := json.Marshal(events.FacilityOpened{Name: code, Zone: zone})
	if err != nil {
		return err
	}
	id, err := uuid.NewV7()
	if err != nil {
		return err
	}
	fact, err := events.Draft{
		ID: id.String(), Type: events.TypeOf("facility.opened"), Time: time.Now().UTC().Format(time.RFC3339), Facility: code, Data: body,
	}.Fact()
	if err != nil {
		return useError{fmt.Errorf("open %s: %w", code, err)}
	}
	_, err = n.journal.Record(ctx, events.Batch{Facility: code, Author: "haulout", Device: "server", Facts: []events.Event{fact}})
	if err != nil {
		return fmt.Errorf("open %s: %w", code, err)
	}
	n.settled(ctx, code, 1, rowsWait)
	return nil
}
