package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
)

const coatHelp = `Reads molts from scores of new coat: when each began and ended, between which two
scores, when the next is expected, and how the present one stands against that.
It asks no server and records nothing. The file is a sheet, or a JSON object.

  sheet  %s
         a line needs a stage, a percentage of new coat, or both
  JSON   {"day": [days], "percent_new": [0 to 100], "tau_days": 45}: one molt of one animal
         {"y": [onsets], "group": [animals]}: animals drawn towards their class
         {"day": [days], "index": [0 to 1]}: the molt of a class, each score of another animal

Stages go from 0, none, over 1 (to 10 %%), 2 (to 50 %%), 3 (to 90 %%) and 4 to 5, all
new. Where both are given the percentage counts. Regions, several with a space
between, are %s. Days are written as
2026-08-14, born as 2015-06-10 or a year alone. Taxon, sex, born and facility say
which animals are alike; none of them needs to be given.

Nobody sees the hour at which a molt begins, so an onset is an interval: from the
last score without new coat to the first with some. An expectation of its own
begins with the second molt on record. With --hemisphere published dates count
where there are any; dates of the other hemisphere never do. The file is read as
of its last score. In an object null is what is not known.

` + coatCaution

// coatCaution stands beside every answer.
const coatCaution = "A planning aid and no diagnosis: a molt that is early, late or stalled is for the veterinarian to judge."

type coatOptions struct {
	in, hemisphere string
	json           bool
}

func newFigureCoat() *cobra.Command {
	var o coatOptions
	cmd := &cobra.Command{
		Use: "coat", Short: "Molts from scores of new coat, and the next to come", Args: noArgs,
		Long:    fmt.Sprintf(coatHelp, listColumns(coatColumns()), strings.Join(coatRegions(), ", ")),
		Example: "  haulout figure coat --in scores.csv --hemisphere north",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := o.check(); err != nil {
				return err
			}
			return figureFrom(o.in, "scores", o.json, cmd.OutOrStdout(), o.answer)
		},
	}
	cmd.Flags().StringVar(&o.in, "in", "", "CSV or JSON file of scores")
	cmd.Flags().StringVar(&o.hemisphere, "hemisphere", "", "where the animals live, north or south (none: nothing published is used)")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the figures as JSON")
	return cmd
}

// check finds mistakes in the words of the command before the file is opened.
func (o *coatOptions) check() error {
	hemispheres := []string{"north", "south"}
	if o.hemisphere = strings.ToLower(strings.TrimSpace(o.hemisphere)); o.hemisphere != "" && !slices.Contains(hemispheres, o.hemisphere) {
		return useError{fmt.Errorf("--hemisphere %q: use north or south%s", o.hemisphere, meant(o.hemisphere, hemispheres))}
	}
	return nil
}

func (o coatOptions) answer(f *figureFile) (answer, error) {
	if f.isObject() {
		return f.answerObject([]shape{{"day percent_new thresholds tau_days", answerMolt}, {"y group", answerPool}, {"day index", answerClass}})
	}
	in, err := readCoats(f)
	if err != nil {
		return nil, err
	}
	return newCoatFigure(in, o)
}
