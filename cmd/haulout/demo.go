package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"haulout/api"
	"haulout/cmd/haulout/colony"
	"haulout/events"
)

type demoOptions struct {
	data, listen string
	seed         uint64
}

func newDemo() *cobra.Command {
	var o demoOptions
	cmd := &cobra.Command{
		Use: "demo", Short: "Run the server with an invented colony", Args: noArgs,
		Long: "Runs the server with an invented colony of three facilities: two years of facts, recorded through the ordinary recorder.\n" +
			"Whoever opens its pages may read and record; it answers on this machine alone unless told otherwise.",
		RunE: func(cmd *cobra.Command, _ []string) error {
			log := slog.New(slog.NewTextHandler(cmd.ErrOrStderr(), &slog.HandlerOptions{Level: slog.LevelWarn}))
			return demo(cmd.Context(), o, log, func(address string) {
				fmt.Fprintf(cmd.OutOrStdout(), "An invented colony is at http://%s (stop with Ctrl-C)\n", address)
			})
		},
	}
	cmd.Flags().StringVar(&o.data, "data", "", "data folder to keep (none: a new one that is thrown away)")
	cmd.Flags().StringVar(&o.listen, "listen", setting("HAULOUT_LISTEN", "127.0.0.1:8080"), "address to answer on")
	cmd.Flags().Uint64Var(&o.seed, "seed", 7, "seed of the invented colony")
	return cmd
}

func demo(ctx context.Context, o demoOptions, log *slog.Logger, ready func(string)) (err error) {
	if o.data == "" {
		if o.data, err = os.MkdirTemp("", "haulout-demo-"); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, os.RemoveAll(o.data)) }()
	}
	n, err := openNode(ctx, nodeConfig{Dir: o.data, Log: log, Report: logProgress(log)})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, n.close()) }()
	staff, err := demoStaff(o.data)
	if err != nil {
		return err
	}
	s := newSite(n, staff, log)
	s.visitor = &api.Member{Name: "guest", Role: "lead"}
	s.notice("demo", "An invented colony: no animal, person or place here is real.")
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error { return s.serve(ctx, o.listen, ready) })
	g.Go(func() error { return s.settle(ctx, o.seed) })
	return g.Wait()
}

func demoStaff(data string) (*api.Staff, error) {
	staff, err := api.OpenStaff(data, time.Now)
	if err != nil {
		return nil, err
	}
	for _, k := range colony.Staff() {
		m := api.Member{Name: k.Name, Role: k.Role}
		if k.Facility != "" {
			m.Facilities = []string{k.Facility}
		}
		if err := staff.Add(m); err != nil {
			return nil, err
		}
	}
	return staff, nil
}

// settle records the colony's two years, and says on every page how far it is.
// A folder that holds a colony is left as it is.
func (s *site) settle(ctx context.Context, seed uint64) error {
	if len(s.node.journal.Facilities()) > 0 {
		return nil
	}
	until := time.Now()
	total, done := colony.Size(seed, until), 0
	defer s.notice("filling", "")
	w := settlers{node: s.node}
	for entry := range colony.Entries(seed, until) {
		if err := w.take(ctx, entry); err != nil {
			return err
		}
		done += len(entry.Facts)
		s.notice("filling", fmt.Sprintf("The colony is still moving in: %d of about %d entries are here.", done, total))
	}
	return w.flush()
}

// settlers carry the history in, many entries under way at once: a recorder
// takes them in order and puts those that wait on one page.
type settlers struct {
	node     *node
	underWay []func() ([]events.Receipt, error)
}

const settlersAtOnce = 1000

func (w *settlers) take(ctx context.Context, entry colony.Entry) error {
	batch := events.Batch{Facility: entry.Facility, Author: entry.Author, Device: entry.Device, Recorded: entry.Recorded}
	for _, draft := range entry.Facts {
		fact, err := draft.Fact()
		if err != nil {
			return fmt.Errorf("the invented colony: %s at %s: %w", draft.Type, draft.Time, err)
		}
		batch.Facts = append(batch.Facts, fact)
	}
	wait, err := w.node.journal.Submit(ctx, batch)
	if err != nil {
		return err
	}
	w.underWay = append(w.underWay, wait)
	if len(w.underWay) < settlersAtOnce {
		return nil
	}
	return w.flush()
}

// flush waits for everything under way.
func (w *settlers) flush() error {
	for _, wait := range w.underWay {
		if _, err := wait(); err != nil {
			return fmt.Errorf("record the invented colony: %w", err)
		}
	}
	w.underWay = w.underWay[:0]
	return nil
}
