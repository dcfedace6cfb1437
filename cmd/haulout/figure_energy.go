package main

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"haulout/events"
)

type energyOptions struct {
	intake, weights, foods string
	taxon, sex, born       string
	ration, zone           string
	days                   int
	json                   bool
	where                  *time.Location
	birth                  events.Span
}

const energyHelp = `Works out from three CSV files what an animal needs, whether what it eats is more
or less, and what its mass will be. It asks no server and records nothing.

  intake   %s
  weights  %s
  foods    %s

Columns may come in any order. A file may be UTF-8 or UTF-16, its separator a
comma, semicolon or tab, its decimals with a point or a comma. Times are
2026-03-01 16:00 in --zone, carry their own offset, or are days alone. A row
with 0 eaten is a refusal; a day without a row was not logged and never counts
as 0. Foods hold grams in 100 g as fed; kcal is what their source states for
100 g, with its basis: gross, digestible or metabolizable_atwater. A row of
foods may state kcal alone. A method of estimated makes a weigh-in a guess.

Without --ration the forecast is for an animal that eats on as of late; with it,
for one that eats that ration whole. Every number comes with its range of 9 in
10. Where the files do not carry a number there is none, and the answer says why.

` + energyCaution

// energyCaution stands beside every answer.
const energyCaution = "A planning aid and no diagnosis: the veterinarian and the nutritionist decide."

func newFigureEnergy() *cobra.Command {
	var o energyOptions
	cmd := &cobra.Command{
		Use: "energy", Short: "An animal's need, energy balance and mass to come", Args: noArgs,
		Long: fmt.Sprintf(energyHelp, listColumns(intakeColumns()), listColumns(weighColumns()), listColumns(foodColumns())),
		Example: "  haulout figure energy --intake feeds.csv --weights weights.csv --foods foods.csv \\\n" +
			"    --taxon \"Zalophus californianus\" --sex female --born 2015-06-10 --ration herring=2.0,capelin=1.5",
		RunE: func(cmd *cobra.Command, _ []string) error {
			return figureEnergy(o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.intake, "intake", "", "CSV file of what it ate")
	f.StringVar(&o.weights, "weights", "", "CSV file of its weigh-ins")
	f.StringVar(&o.foods, "foods", "", "CSV file of what the foods hold")
	f.StringVar(&o.taxon, "taxon", "", "scientific name, such as \"Zalophus californianus\"")
	f.StringVar(&o.sex, "sex", "", "female, male or unknown")
	f.StringVar(&o.born, "born", "", "birth, such as 2015-06-10; a month or a year alone will do")
	f.StringVar(&o.ration, "ration", "", "kilograms a day to forecast for, such as herring=2.0,capelin=1.5")
	f.StringVar(&o.zone, "zone", "UTC", "time zone that decides the day and reads times without an offset")
	f.IntVar(&o.days, "days", 60, "days to forecast, 1 to 365")
	f.BoolVar(&o.json, "json", false, "print the figures as JSON")
	return cmd
}

// check finds mistakes in the words of the command before any file is opened.
func (o *energyOptions) check() error {
	for _, must := range [][3]string{
		{"intake", o.intake, "name the CSV file of what it ate"}, {"weights", o.weights, "name the CSV file of its weigh-ins"},
		{"foods", o.foods, "name the CSV file of what the foods hold"}, {"taxon", o.taxon, "give the scientific name, such as \"Zalophus californianus\""},
		{"sex", o.sex, "give female, male or unknown"}, {"born", o.born, "give the birth; a year alone will do"},
	} {
		if strings.TrimSpace(must[1]) == "" {
			return useError{fmt.Errorf("--%s is missing; %s", must[0], must[2])}
		}
	}
	sexes := []string{"female", "male", "unknown"}
	if o.sex = strings.ToLower(strings.TrimSpace(o.sex)); !slices.Contains(sexes, o.sex) {
		return useError{fmt.Errorf("--sex %q: use female, male or unknown%s", o.sex, meant(o.sex, sexes))}
	}
	var ok bool
	if o.birth, ok = events.ParseSpan(o.born); !ok {
		return useError{fmt.Errorf("--born %q: write a date as 2015-06-10, or a month or year as 2015-06 or 2015", o.born)}
	}
	if o.days < 1 || o.days > 365 {
		return useError{fmt.Errorf("--days %d: give 1 to 365", o.days)}
	}
	var err error
	if o.where, err = time.LoadLocation(o.zone); err != nil || o.zone == "Local" || o.zone == "" {
		return useError{fmt.Errorf("--zone %q: name a zone of the IANA time zone database, such as Europe/Dublin", o.zone)}
	}
	o.taxon = strings.Join(strings.Fields(o.taxon), " ")
	return nil
}

func figureEnergy(o energyOptions, out, errs io.Writer) error {
	if err := o.check(); err != nil {
		return err
	}
	in, err := readEnergy(o)
	if err != nil {
		return err
	}
	f, err := newEnergyFigure(o, in)
	if err != nil {
		return err
	}
	if !o.json {
		return f.print(out)
	}
	for _, warning := range f.Warnings {
		fmt.Fprintln(errs, "haulout: mind:", warning)
	}
	return json.NewEncoder(out).Encode(f)
}
