package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"haulout/projections/ration"
)

const rationHelp = `Reads a JSON object and proposes a day's plan in whole portions: the one nearest
to the energy (and protein) wanted, and of equally near ones the one that changes
the least from yesterday. It asks no server and records nothing.

  fish                names of the foods
  kcal_per_kg         energy of each
  kcal_min            energy wanted in a day
  portion_kg          mass of one portion, or of each food's

What follows may be left out, or be null where it is not known:

  protein_g_per_kg, water_g_per_kg, fat_g_per_kg, cost_per_kg
  stock_kg            at hand, of each
  due_kg              of it thawed, and to be used today or discarded
  min_share, max_share  of the mass, from 0 to 1
  yesterday_portions  of each
  protein_min, water_min  grams wanted in a day
  body_mass_kg        of the animal; the plan then keeps below the daily ceiling
  sessions            to spread the portions over

Where costs are known, the cheapest food that gives at least what is wanted is
told too. An object with foods, nutrients, need_per_day and days is answered with
the cheapest diet, amounts not whole.

` + rationCaution

// rationCaution stands beside every answer.
const rationCaution = "A planning aid: the veterinarian and the nutritionist decide."

func newFigureRation() *cobra.Command {
	var in string
	var asJSON bool
	cmd := &cobra.Command{
		Use: "ration", Short: "A day's plan in whole portions, and the cheapest food", Args: noArgs, Long: rationHelp,
		Example: "  haulout figure ration --in ration.json",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if in == "" {
				return useError{errors.New("--in is missing; name the JSON file of foods and of what is wanted")}
			}
			return figureRation(in, asJSON, cmd.OutOrStdout())
		},
	}
	cmd.Flags().StringVar(&in, "in", "", "JSON file of foods and of what is wanted")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the figures as JSON")
	return cmd
}

// answer is what a figure comes to.
type answer interface{ print(io.Writer) error }

func figureRation(path string, asJSON bool, out io.Writer) error {
	o, err := readObject(path)
	if err != nil {
		return err
	}
	a, err := answerRation(o)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if asJSON {
		return json.NewEncoder(out).Encode(a)
	}
	return a.print(out)
}

// wrapped is an object whose input stands beside its source and what others
// found.
type wrapped struct {
	ID       json.RawMessage `json:"id"`
	Topic    json.RawMessage `json:"topic"`
	Source   json.RawMessage `json:"source"`
	Data     json.RawMessage `json:"data_provenance"`
	Computed json.RawMessage `json:"computed_with"`
	Close    json.RawMessage `json:"tolerance"`
	Notes    json.RawMessage `json:"notes"`
	Input    object          `json:"input"`
	Expected json.RawMessage `json:"expected"`
}

// unwrapped is the input of an object that has one, else the object.
func (o object) unwrapped() (object, error) {
	if _, in := o["input"]; !in {
		return o, nil
	}
	var w wrapped
	if err := o.into(&w); err != nil {
		return nil, err
	}
	return w.Input, nil
}

func answerRation(o object) (answer, error) {
	o, err := o.unwrapped()
	if err != nil {
		return nil, err
	}
	if _, in := o["foods"]; in {
		return answerDiet(o)
	}
	var in rationInput
	if err := o.into(&in); err != nil {
		return nil, err
	}
	items, w, err := in.problem()
	if err != nil {
		return nil, err
	}
	return newRationFigure(in, items, w)
}

// rationInput is the object as it is written.
type rationInput struct {
	Fish      words    `json:"fish"`
	Kcal      numbers  `json:"kcal_per_kg"`
	Protein   numbers  `json:"protein_g_per_kg"`
	Water     numbers  `json:"water_g_per_kg"`
	Fat       numbers  `json:"fat_g_per_kg"`
	Cost      numbers  `json:"cost_per_kg"`
	Stock     numbers  `json:"stock_kg"`
	Due       numbers  `json:"due_kg"`
	MinShare  numbers  `json:"min_share"`
	MaxShare  numbers  `json:"max_share"`
	Portion   numbers  `json:"portion_kg"`
	Yesterday numbers  `json:"yesterday_portions"`
	KcalMin   *float64 `json:"kcal_min"`
	Proteins  *float64 `json:"protein_min"`
	Waters    *float64 `json:"water_min"`
	BodyMass  *float64 `json:"body_mass_kg"`
	Sessions  *int     `json:"sessions"`
}

// problem lays the lists side by side, food by food.
func (in *rationInput) problem() ([]ration.Item, ration.Wanted, error) {
	if in.KcalMin == nil {
		return nil, ration.Wanted{}, errors.New("kcal_min is missing; give the energy wanted in a day")
	}
	if len(in.Portion) == 1 {
		for len(in.Portion) < len(in.Fish) {
			in.Portion = append(in.Portion, in.Portion[0])
		}
	}
	if err := in.lengths(); err != nil {
		return nil, ration.Wanted{}, err
	}
	var items []ration.Item
	var errs []error
	for i, name := range in.Fish {
		item := ration.Item{
			Name: cmp.Or(name, fmt.Sprintf("food %d", i+1)), WaterPerKg: in.Water.at(i), FatPerKg: in.Fat.at(i), ProteinPerKg: in.Protein.at(i),
			CostPerKg: in.Cost.at(i), StockKg: in.Stock.at(i), MaxShare: in.MaxShare.at(i),
		}
		in.Due.set(i, &item.DueKg)
		in.MinShare.set(i, &item.MinShare)
		in.Portion.set(i, &item.PortionKg)
		if !in.Kcal.set(i, &item.KcalPerKg) {
			errs = append(errs, fmt.Errorf("fish[%d].kcal_per_kg is not known; give the energy of a kilogram", i))
		}
		if n := in.Yesterday.at(i); n != nil {
			whole := int(*n)
			if item.Yesterday = &whole; float64(whole) != *n {
				errs = append(errs, fmt.Errorf("fish[%d].yesterday_portions is %v; give a whole number", i, *n))
			}
		}
		items = append(items, item)
	}
	w := ration.Wanted{Kcal: *in.KcalMin, ProteinG: in.Proteins, WaterG: in.Waters, BodyMassKg: in.BodyMass, Sessions: 1}
	if in.Sessions != nil {
		w.Sessions = *in.Sessions
	}
	return items, w, errors.Join(errs...)
}

// lengths holds every list against the names.
func (in *rationInput) lengths() error {
	var errs []error
	for _, list := range []struct {
		name string
		of   numbers
	}{
		{"kcal_per_kg", in.Kcal}, {"protein_g_per_kg", in.Protein}, {"water_g_per_kg", in.Water}, {"fat_g_per_kg", in.Fat}, {"cost_per_kg", in.Cost},
		{"stock_kg", in.Stock}, {"due_kg", in.Due}, {"min_share", in.MinShare}, {"max_share", in.MaxShare}, {"portion_kg", in.Portion},
		{"yesterday_portions", in.Yesterday},
	} {
		if list.of != nil && len(list.of) != len(in.Fish) {
			errs = append(errs, fmt.Errorf("%s has %s for %d fish; give one for each, null where it is not known", list.name, counted(len(list.of), "figure", "figures"), len(in.Fish)))
		}
	}
	return errors.Join(errs...)
}

func (n numbers) at(i int) *float64 {
	if n == nil {
		return nil
	}
	return n[i]
}

// set is false where the number is not known.
func (n numbers) set(i int, to *float64) bool {
	v := n.at(i)
	if v != nil {
		*to = *v
	}
	return v != nil
}
