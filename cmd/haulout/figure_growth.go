package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
)

const growthHelp = `Fits curves of growth to masses at age: von Bertalanffy, Gompertz, logistic and
Richards, each sex for itself, and says which of them the masses bear out, with
the final mass that it leads to. That none can be estimated is an answer too. It
asks no server and records nothing. The file is a sheet, or a JSON object.

  sheet  %s
         a line needs an age, and one of mass, weight and kg
  JSON   {"model": "y ~ A * exp(-b * exp(-k * x))", "x": [ages], "y": [masses],
          "start": {"A": 65, "b": 3, "k": 0.1}}

An age is in years, or headed age_months or age_days. A mass is in the unit of
its header (mass_kg, mass_g, mass_lb), of the column unit, or of --unit. Sex is
female, male or unknown; --sex says it for a sheet that does not. With --taxon the
last mass of each animal is put beside what is published of its kind, sex and age,
where anything is. Ranges hold 9 in 10.

A model is one of

  A * (1 - exp(-k * (x - t0)))        von Bertalanffy
  A * (1 - exp(-k * x))               the same from nothing at nought
  A * exp(-b * exp(-k * x))           Gompertz
  A / (1 + exp((xm - x)/s))           logistic
  A / ((1 + exp(b - k * x))^(1/m))    Richards

with any names for the parameters, or its name. Without start its own are tried.

` + growthCaution

// growthCaution stands beside every answer.
const growthCaution = "A planning aid and no diagnosis: what others weighed is no norm, and whether an animal grows well is for the veterinarian to say."

type growthOptions struct {
	in, unit, taxon, sex string
	json                 bool
}

func newFigureGrowth() *cobra.Command {
	var o growthOptions
	cmd := &cobra.Command{
		Use: "growth", Short: "Curves of growth, and where an animal stands", Args: noArgs,
		Long:    fmt.Sprintf(growthHelp, listColumns(growthColumns())),
		Example: "  haulout figure growth --in masses.csv --taxon \"Zalophus californianus\" --sex female",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := o.check(); err != nil {
				return err
			}
			return figureFrom(o.in, "masses at age", o.json, cmd.OutOrStdout(), o.answer)
		},
	}
	cmd.Flags().StringVar(&o.in, "in", "", "CSV or JSON file of masses at age")
	cmd.Flags().StringVar(&o.unit, "unit", "", "unit of masses whose header says none: kg, g or lb (none: kg)")
	cmd.Flags().StringVar(&o.taxon, "taxon", "", "scientific name, such as \"Zalophus californianus\", to look for published masses")
	cmd.Flags().StringVar(&o.sex, "sex", "", "female, male or unknown, for lines that don't say")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the figures as JSON")
	return cmd
}

// check finds mistakes in the words of the command before the file is opened.
func (o *growthOptions) check() error {
	sexes := []string{"female", "male", "unknown"}
	if o.sex = strings.ToLower(strings.TrimSpace(o.sex)); o.sex != "" && !slices.Contains(sexes, o.sex) {
		return useError{fmt.Errorf("--sex %q: use female, male or unknown%s", o.sex, meant(o.sex, sexes))}
	}
	o.taxon = taxonOf(o.taxon)
	return checkUnit(o.unit)
}

func (o growthOptions) answer(f *figureFile) (answer, error) {
	if f.isObject() {
		return f.answerObject([]shape{{"model x y start", answerFit}})
	}
	in, err := readGrowth(f, o)
	if err != nil {
		return nil, err
	}
	return newGrowthFigure(in, o)
}
