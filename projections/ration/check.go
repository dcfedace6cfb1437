package ration

import (
	"errors"
	"fmt"
)

// mostPortions is of one food in a day. Nobody counts out more.
const mostPortions = 10_000

// mostFoods is what a plan is looked for among.
const mostFoods = 20

// check says what is wrong with items and what is wanted, by field.
func check(items []Item, w Wanted, portions bool) error {
	if len(items) == 0 || len(items) > mostFoods {
		return fmt.Errorf("fish has %d foods; give 1 to %d", len(items), mostFoods)
	}
	errs := []error{w.check()}
	for i, item := range items {
		of := fmt.Sprintf("fish[%d].", i)
		errs = append(errs, item.check(of, w))
		if portions {
			errs = append(errs, item.checkPortion(of, w))
		}
	}
	return errors.Join(errs...)
}

// figure is a number, what it is called, and what it must be.
type figure struct {
	name   string
	value  *float64 // nil: not known, and that is good
	above  bool     // 0 itself is too little
	most   float64  // 0: no end
	remedy string
}

func (f figure) check(of string) error {
	if f.value == nil {
		return nil
	}
	v := *f.value
	if !finite(v) || v < 0 || f.above && v == 0 || f.most > 0 && v > f.most {
		return fmt.Errorf("%s%s is %v; %s", of, f.name, v, f.remedy)
	}
	return nil
}

func checkAll(of string, list ...figure) error {
	var errs []error
	for _, f := range list {
		errs = append(errs, f.check(of))
	}
	return errors.Join(errs...)
}

func (item Item) check(of string, w Wanted) error {
	const grams = "give the grams in a kilogram, 0 to 1000, or leave it out where it is not known"
	err := checkAll(of,
		figure{"kcal_per_kg", &item.KcalPerKg, true, 0, "give the energy of a kilogram, above 0"},
		figure{"water_g_per_kg", item.WaterPerKg, false, 1000, grams},
		figure{"fat_g_per_kg", item.FatPerKg, false, 1000, grams},
		figure{"protein_g_per_kg", item.ProteinPerKg, false, 1000, grams},
		figure{"cost_per_kg", item.CostPerKg, false, 0, "give what a kilogram costs, at least 0, or leave it out where it is not known"},
		figure{"stock_kg", item.StockKg, false, 0, "give the kilograms at hand, at least 0, or leave it out where there is no end to it"},
		figure{"due_kg", &item.DueKg, false, 0, "give the kilograms that are thawed and to be used today, at least 0"},
		figure{"min_share", &item.MinShare, false, 1, "give a share of the mass, 0 to 1"},
		figure{"max_share", item.MaxShare, false, 1, "give a share of the mass, 0 to 1"},
	)
	if item.MaxShare != nil && item.MinShare > *item.MaxShare {
		err = errors.Join(err, fmt.Errorf("%smin_share is %v, above max_share, %v; lower one or raise the other", of, item.MinShare, *item.MaxShare))
	}
	if w.ProteinG != nil && item.ProteinPerKg == nil {
		err = errors.Join(err, fmt.Errorf("%sprotein_g_per_kg is not known; give it, or leave protein_min out", of))
	}
	return err
}

func (item Item) checkPortion(of string, w Wanted) error {
	const remedy = "give the mass of one portion, above 0"
	if err := (figure{"portion_kg", &item.PortionKg, true, 0, remedy}).check(of); err != nil {
		return err
	}
	if n := farthest * w.Kcal / item.KcalPerKg / item.PortionKg; n > mostPortions {
		return fmt.Errorf("%sportion_kg is %v, so small that a day might have %.3g of them; give a larger portion", of, item.PortionKg, n)
	}
	if item.Yesterday != nil && (*item.Yesterday < 0 || *item.Yesterday > mostPortions) {
		return fmt.Errorf("%syesterday_portions is %d; give 0 to %d", of, *item.Yesterday, mostPortions)
	}
	return nil
}

func (w Wanted) check() error {
	err := checkAll("",
		figure{"kcal_min", &w.Kcal, true, 0, "give the energy wanted in a day, above 0"},
		figure{"protein_min", w.ProteinG, true, 0, "give the grams of protein wanted in a day, above 0, or leave it out"},
		figure{"water_min", w.WaterG, false, 0, "give the grams of water wanted in a day, at least 0, or leave it out"},
		figure{"body_mass_kg", w.BodyMassKg, true, 0, "give the animal's mass, above 0, or leave it out where it is not known"},
	)
	if w.Sessions < 1 || w.Sessions > mostSessions {
		err = errors.Join(err, fmt.Errorf("sessions is %d; give 1 to %d", w.Sessions, mostSessions))
	}
	return err
}

// mostSessions is of one day.
const mostSessions = 100
