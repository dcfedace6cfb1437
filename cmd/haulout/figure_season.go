package main

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"
)

const seasonHelp = `Works out from dates alone when in the year something happens, such as the
onsets of molts, and how far the dates lie together. A year is a circle, so that
dates around New Year have their mean there and not in July. It asks no
server and records nothing. The file is a sheet, or a JSON object.

  sheet  %s
  JSON   {"day_of_year": [212, 219, …], "period": 365.25}, or {"degrees": [8, 9, …]}
         {"group1": [172, 168, …], "group2": [219, 225, …], "period": 365.25}

Dates are written as 2026-08-14; their years don't matter. Of each group, and of
all together, the answer has the mean, how far single dates lie about it, the
mean resultant length R (0 all round the year, 1 all on one day), the
concentration kappa and the test of Rayleigh against dates all round. Two groups
or more are compared by the test of Watson and Williams, where they lie close
enough together for it. In an object null is a date that is not known.

` + seasonCaution

// seasonCaution stands beside every answer.
const seasonCaution = "A planning aid: it describes the dates of the file, and not what any one animal will do."

func newFigureSeason() *cobra.Command {
	var in string
	var asJSON bool
	cmd := &cobra.Command{
		Use: "season", Short: "When in the year something happens, and whether groups differ", Args: noArgs,
		Long:    fmt.Sprintf(seasonHelp, listColumns(seasonColumns())),
		Example: "  haulout figure season --in onsets.csv",
		RunE: func(cmd *cobra.Command, _ []string) error {
			return figureFrom(in, "dates", asJSON, cmd.OutOrStdout(), answerSeason)
		},
	}
	cmd.Flags().StringVar(&in, "in", "", "CSV or JSON file of dates")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the figures as JSON")
	return cmd
}

func seasonColumns() []column { return slices.Concat(needed("date"), optional("group")) }

func answerSeason(f *figureFile) (answer, error) {
	if f.isObject() {
		return f.answerObject([]shape{{"day_of_year degrees", answerDirections}, {"group1 group2", answerGroups}})
	}
	return seasonOfSheet(f)
}
