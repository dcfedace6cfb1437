package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"
)

const weightsHelp = `Works out from weigh-ins alone how masses go: the trend, the course of the year,
the last weigh-in against the weeks before it, and whether the last months leave
what was usual. It asks no server and records nothing. The file is a sheet, or a
JSON object of bare values.

  sheet  %s
         a line needs time or day, and one of mass, weight and kg
  JSON   {"x": [days], "y": [masses]}: the trend
         {"x": [masses], "lambda": …, "target": …, "sigma": …, "L": …}: a weighted average with its limits
         {"x": [masses], "target": …, "k": …, "h": …}: cumulative sums
         {"day": [days], "weight": [masses]}: each mass against the weeks before
         {"y": [masses of each month], "period": 12}: the course of the year

Times are 2026-03-01 16:00 in --zone or days alone; a column day may count days
from any day instead. A mass is in the unit of its header (mass_kg, mass_g,
mass_lb), of the column unit, or of --unit. Scale names the scale, method is
voluntary, crate, sling, carried or estimated, and coat dry or wet. What was
estimated counts for nothing. In an object null is what is not known.

A sheet may hold many animals, told apart by the column animal; where several
were weighed on one scale, the answer says too whether the scale itself steps.
A weigh-in that looks as if its decimal point slipped is asked about, and kept.
Ranges hold 9 in 10.

` + weightsCaution

// weightsCaution stands beside every answer.
const weightsCaution = "A planning aid and no diagnosis: what a change of mass means is for the veterinarian to say, and a fast loss is told at once."

type weightsOptions struct {
	in, unit, zone string
	json           bool
	where          *time.Location
}

func newFigureWeights() *cobra.Command {
	var o weightsOptions
	cmd := &cobra.Command{
		Use: "weights", Short: "How masses go: trend, course of the year, sudden changes, scales", Args: noArgs,
		Long:    fmt.Sprintf(weightsHelp, listColumns(weightColumns())),
		Example: "  haulout figure weights --in weights.csv --zone Europe/Dublin",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := o.check(); err != nil {
				return err
			}
			return figureFrom(o.in, "weigh-ins", o.json, cmd.OutOrStdout(), o.answer)
		},
	}
	cmd.Flags().StringVar(&o.in, "in", "", "CSV or JSON file of weigh-ins")
	cmd.Flags().StringVar(&o.unit, "unit", "", "unit of masses whose header says none: kg, g or lb (none: kg)")
	cmd.Flags().StringVar(&o.zone, "zone", "UTC", "time zone that decides the day and reads times without an offset")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the figures as JSON")
	return cmd
}

// check finds mistakes in the words of the command before the file is opened.
func (o *weightsOptions) check() (err error) {
	if err := checkUnit(o.unit); err != nil {
		return err
	}
	if o.where, err = time.LoadLocation(o.zone); err != nil || o.zone == "Local" || o.zone == "" {
		return useError{fmt.Errorf("--zone %q: name a zone of the IANA time zone database, such as Europe/Dublin", o.zone)}
	}
	return nil
}

func checkUnit(unit string) error {
	if _, known := massUnits[unit]; !known && unit != "" {
		return useError{fmt.Errorf("--unit %q: use kg, g or lb", unit)}
	}
	return nil
}

func (o weightsOptions) answer(f *figureFile) (answer, error) {
	if f.isObject() {
		return f.answerObject(weightShapes())
	}
	in, err := readWeights(f, o)
	if err != nil {
		return nil, err
	}
	return newWeightsFigure(in)
}
