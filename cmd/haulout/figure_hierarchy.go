package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"
)

const hierarchyHelp = `Works out from one file of encounters what can be said of a group's order: whether
there is one, how far it can be relied on, and whom to watch next. It asks no
server and records nothing. The file is a sheet of encounters, or a JSON object.

  sheet  %s
  JSON   {"ids": [names], "matrix": [[wins of the row over the column]]}
         {"ids": [names], "events": [[day, time, winner, loser], …]}

The winner is the one that did not yield. A draw of yes means that neither did, or
that nobody could tell. Intensity is low, medium or high. What a keeper, a gate or
a third animal brought about (cause), or what happened at a gate (place), is kept
apart. A sheet may be UTF-8 or UTF-16, its separator a comma, semicolon or tab,
its lines in any order. Days count in UTC.

Events follow each other as they are listed, by [winner, loser] alone, with their
day, or with day and time; or each is an object with the columns of the sheet as
keys. start_values give points by animal to those whose standing was known, and
params may set k, start and curve (normal, logistic or exponential) of the ratings.

All animals of the file are taken to have lived together all the while: where the
company changed, give each time with the same company a file of its own.

` + hierarchyCaution

// hierarchyCaution stands beside every answer.
const hierarchyCaution = "A planning aid: the responsible keepers and the veterinarian decide on who lives with whom."

func newFigureHierarchy() *cobra.Command {
	var o hierarchyOptions
	cmd := &cobra.Command{
		Use: "hierarchy", Short: "A group's order, and how far it can be relied on", Args: noArgs,
		Long:    fmt.Sprintf(hierarchyHelp, listColumns(encounterColumns())),
		Example: "  haulout figure hierarchy --in encounters.csv",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if o.in == "" {
				return useError{errors.New("--in is missing; name the file of encounters, CSV or JSON")}
			}
			return figureHierarchy(o, cmd.OutOrStdout())
		},
	}
	cmd.Flags().StringVar(&o.in, "in", "", "CSV or JSON file of encounters")
	cmd.Flags().BoolVar(&o.asJSON, "json", false, "print the figures as JSON")
	cmd.Flags().StringVar(&o.picture, "picture", "", "also draw the order into this SVG file")
	cmd.Flags().StringVar(&o.title, "title", "", "title of the picture")
	cmd.Flags().StringVar(&o.source, "source", "", "whose encounters the picture says they are")
	return cmd
}

// hierarchyOptions are what the command line says.
type hierarchyOptions struct {
	in, picture, title, source string
	asJSON                     bool
}

func figureHierarchy(o hierarchyOptions, out io.Writer) error {
	in, err := readHierarchy(o.in)
	if err != nil {
		return err
	}
	f, err := newHierarchyFigure(in)
	if err != nil {
		return fmt.Errorf("%s: %w", o.in, err)
	}
	if o.picture != "" {
		if err := f.draw(o.picture, cmp.Or(o.title, titleOf(o.in)), o.source); err != nil {
			return err
		}
	}
	if o.asJSON {
		return json.NewEncoder(out).Encode(f.values)
	}
	return f.print(out)
}
