// Command haulout is a colony server: keepers record facts, everything anybody
// sees is worked out from the set of facts.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	_ "time/tzdata" // zones on machines that have no database of their own

	"github.com/spf13/cobra"

	"haulout/events/journal"
)

// version is set by the release build.
var version = "development"

// Exit codes, as documented.
const (
	exitGood   = 0
	exitPart   = 1 // not everything was taken, or the work went wrong
	exitUse    = 2 // the command's words are wrong
	exitDamage = 3 // damage was found
)

// memoryLimit is where the garbage collector begins to work hard; below it
// garbage may be twice what lives. Most of what lives are buffers of Badger,
// whatever the number of records.
const (
	memoryLimit = 340 << 20
	garbage     = 200 // per cent of what lives
)

func main() {
	if os.Getenv("GOMEMLIMIT") == "" && os.Getenv("GOGC") == "" {
		debug.SetMemoryLimit(memoryLimit)
		debug.SetGCPercent(garbage)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], os.Stdout, os.Stderr))
}

// run is the whole program but for the process around it.
func run(ctx context.Context, args []string, out, errs io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetOut(out)
	root.SetErr(errs)
	err := root.ExecuteContext(ctx)
	if err != nil {
		fmt.Fprintln(errs, "haulout:", err)
	}
	return exitCode(err)
}

// useError is a mistake in the words of a command.
type useError struct{ error }

func (e useError) Unwrap() error { return e.error }

func exitCode(err error) int {
	switch {
	case err == nil:
		return exitGood
	case errors.Is(err, journal.ErrDamage):
		return exitDamage
	}
	if _, ok := errors.AsType[useError](err); ok {
		return exitUse
	}
	return exitPart
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "haulout",
		Short: "A colony server for keepers of sea lions and seals",
		Long: "Haulout keeps the facts that keepers record and works out everything else from them.\n\n" +
			"Exit codes: 0 good, 1 not everything was taken or the work went wrong, 2 wrong use, 3 damage found.",
		SilenceUsage: true, SilenceErrors: true,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return useError{fmt.Errorf("there is no command %q; haulout --help lists them", args[0])}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return useError{fmt.Errorf("%w; %s --help lists the options", err, cmd.CommandPath())}
	})
	root.AddCommand(newServe(), newDemo(), newStaff(), newBench(), newVersion(), newImport(), newExport(), newCheck(), newFigure())
	return root
}

func newVersion() *cobra.Command {
	return &cobra.Command{
		Use: "version", Short: "Print the version", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprintln(cmd.OutOrStdout(), "haulout", version)
			return err
		},
	}
}

// noArgs and exactArgs say what is wrong with the words of a command.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return useError{fmt.Errorf("%s takes no arguments, got %q", cmd.CommandPath(), args)}
	}
	return nil
}

func exactArgs(names ...string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) != len(names) {
			return useError{fmt.Errorf("%s takes %v, got %q", cmd.CommandPath(), names, args)}
		}
		return nil
	}
}
