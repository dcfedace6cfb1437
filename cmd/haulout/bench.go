package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"runtime"
	"text/tabwriter"

	"github.com/spf13/cobra"
)

// measure is one line of the benchmark table: what was reached, what a bare
// part reached in the same run, and how the two compare.
type measure struct {
	What     string  `json:"what"`
	Value    float64 `json:"value"`
	Unit     string  `json:"unit"`
	Baseline string  `json:"baseline,omitempty"`
	Bare     float64 `json:"bare,omitempty"`
	Ratio    float64 `json:"ratio,omitempty"`
	Wanted   string  `json:"wanted,omitempty"`
	Met      *bool   `json:"met,omitempty"`
}

type benchReport struct {
	Machine  string    `json:"machine"`
	Measures []measure `json:"measures"`
}

type benchOptions struct {
	dir     string
	seconds float64
	records int
	json    bool
}

func newBench() *cobra.Command {
	var o benchOptions
	cmd := &cobra.Command{
		Use: "bench", Short: "Measure this machine against bare JetStream and bare Badger", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			report, err := runBench(cmd.Context(), o, func(doing string) { fmt.Fprintln(cmd.ErrOrStderr(), doing) })
			if err != nil {
				return err
			}
			return report.print(cmd.OutOrStdout(), o.json)
		},
	}
	cmd.Flags().StringVar(&o.dir, "data", os.TempDir(), "folder on the disk to measure; what is made there is removed")
	cmd.Flags().Float64Var(&o.seconds, "seconds", 5, "length of each recording run")
	cmd.Flags().IntVar(&o.records, "records", 2_000_000, "records in the large log")
	cmd.Flags().BoolVar(&o.json, "json", false, "print JSON")
	return cmd
}

func runBench(ctx context.Context, o benchOptions, say func(string)) (*benchReport, error) {
	report := &benchReport{Machine: machine()}
	dir, err := os.MkdirTemp(o.dir, "haulout-bench-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	for _, part := range []func(context.Context, benchOptions, string, func(string)) ([]measure, error){benchRecording, benchReplay} {
		measures, err := part(ctx, o, dir, say)
		if err != nil {
			return nil, err
		}
		report.Measures = append(report.Measures, measures...)
	}
	return report, nil
}

func machine() string {
	return fmt.Sprintf("%d cores, %s/%s, %s", runtime.NumCPU(), runtime.GOOS, runtime.GOARCH, runtime.Version())
}

// atLeast and atMost hold a measure against what is wanted of it.
func (m measure) atLeast(ratio float64) measure {
	met := m.Ratio >= ratio
	m.Wanted, m.Met = fmt.Sprintf("at least %g of the baseline", ratio), &met
	return m
}

func (m measure) atMost(value float64) measure {
	met := m.Value <= value
	m.Wanted, m.Met = fmt.Sprintf("at most %g %s", value, m.Unit), &met
	return m
}

func (m measure) against(name string, bare float64) measure {
	m.Baseline, m.Bare = name, bare
	if bare > 0 {
		m.Ratio = m.Value / bare
	}
	return m
}

func (r *benchReport) print(w io.Writer, asJSON bool) error {
	if asJSON {
		enc := json.NewEncoder(w)
		enc.SetIndent("", "  ")
		return enc.Encode(r)
	}
	fmt.Fprintln(w, r.Machine)
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "what\tresult\tbaseline in the same run\tratio\twanted\t")
	for _, m := range r.Measures {
		bare, ratio, met := "", "", ""
		if m.Baseline != "" {
			bare, ratio = fmt.Sprintf("%s: %.0f", m.Baseline, m.Bare), fmt.Sprintf("%.2f", m.Ratio)
		}
		if m.Met != nil {
			met = map[bool]string{true: "met", false: "NOT MET"}[*m.Met]
		}
		fmt.Fprintf(t, "%s\t%.4g %s\t%s\t%s\t%s\t%s\n", m.What, m.Value, m.Unit, bare, ratio, m.Wanted, met)
	}
	return t.Flush()
}
