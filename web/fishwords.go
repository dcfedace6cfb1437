package web

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"haulout/projections"
)

// fishTeller puts a fish room into rows and words.
type fishTeller struct {
	room *projections.FishRoom
	now  time.Time
	zone *time.Location
}

type thawRow struct{ Lot, Name, Out, Leaves, Expires, Store string }

type foodRow struct {
	Name                                          string
	Need, Fed, Ready, Out, Short, Frozen, DaysOut string
	Warned                                        bool
	Words                                         []string
}

type clockRow struct {
	Lot, Name, How, Left, Removed, Complete string
	State, Until, Words                     string
}

type lotRow struct {
	Lot, Name, Frozen, Age, Caught, Expires, Energy, Figures, Fat string
	Past                                                          bool
	Words                                                         []string
	Limit                                                         string
}

type vitaminRow struct{ Name, Rule, All, Range, As, Given string }

func (t fishTeller) fed() (n int) {
	for _, b := range t.room.Buckets {
		n += one(b.Missing == "" && b.FoodG > 0)
	}
	return n
}

// lacking says what there is too little of, and what runs out when.
func (t fishTeller) lacking() (out []string) {
	var days []projections.Day
	ends := map[projections.Day][]string{}
	for _, f := range t.room.Foods {
		switch {
		case f.ShortG > 0:
			out = append(out, fmt.Sprintf("%s is %s short", f.Name, kg(f.ShortG)))
		case f.Shortage:
			if ends[f.RunsOut] == nil {
				days = append(days, f.RunsOut)
			}
			ends[f.RunsOut] = append(ends[f.RunsOut], f.Name)
		}
	}
	slices.Sort(days)
	for _, day := range days {
		verb := "runs"
		if len(ends[day]) > 1 {
			verb = "run"
		}
		out = append(out, fmt.Sprintf("%s %s out on %s", listed(ends[day]), verb, dayAs(day, "Monday 2 January")))
	}
	return out
}

// answer is the page in one sentence.
func (t fishTeller) answer() string {
	var out, need float64
	for _, f := range t.room.Foods {
		out += f.TakeOutG - f.ShortG
		if !f.Water {
			need += f.NeedG
		}
	}
	short := t.lacking()
	said := fmt.Sprintf("Thaw %s for %s from %s", kg(out), plural(t.fed(), "animal", "animals"), plural(len(t.room.Thaw), "lot", "lots"))
	switch {
	case len(t.room.Buckets) == 0:
		return "No animals are housed here on this day."
	case t.fed() == 0:
		return fmt.Sprintf("No ration holds for %s housed here, so there is nothing to thaw.", plural(len(t.room.Buckets), "animal", "animals"))
	case len(t.room.Thaw) == 0 && len(short) == 0:
		said = fmt.Sprintf("Nothing more to take out: the %s for %s are thawed or fed", kg(need), plural(t.fed(), "animal", "animals"))
	case len(t.room.Thaw) == 0:
		said = "Nothing can be taken out"
	}
	return strings.Join(append([]string{said}, short...), "; ") + "."
}

// warned lists what somebody must see to.
func (t fishTeller) warned() (out []string) {
	for _, c := range t.room.Clocks {
		if c.Past {
			out = append(out, fmt.Sprintf("%s of %s, lot %s, is past its thaw clock: discard it and write it down.", kg(c.LeftG), c.Name, c.Lot))
		}
	}
	for _, l := range t.room.Lots {
		if l.Verdict == "past" && l.FrozenG > 0 {
			out = append(out, fmt.Sprintf("Lot %s, %s of %s, is past its last day, %s: ask the veterinarian or nutritionist.", l.Lot, kg(l.FrozenG), l.Name, lastDay(l.Expires)))
		}
	}
	for _, b := range t.room.Buckets {
		if b.Missing != "" {
			out = append(out, fmt.Sprintf("%s has no bucket: %s.", b.Name, b.Missing))
		}
	}
	return out
}

func (t fishTeller) thaw() (out []thawRow) {
	for _, l := range t.room.Thaw {
		out = append(out, thawRow{l.Lot, l.Name, kg(l.MassG), kg(l.LeavesG), orElse(lastDay(l.Expires), "not known"), l.Store})
	}
	return out
}

func (t fishTeller) foods() (out []foodRow) {
	for _, f := range t.room.Foods {
		row := foodRow{Name: f.Name, Need: kilos(f.NeedG), Fed: kilos(f.FedG), Warned: f.Shortage || f.ShortG > 0, Words: f.Words}
		if !f.Water {
			row.Ready, row.Out, row.Frozen = kilos(f.ReadyG), kilos(f.TakeOutG), kilos(f.FrozenG)
			row.DaysOut = "over a year"
			if f.DaysLeft != nil {
				row.DaysOut = fmt.Sprintf("%s, to %s", plural(*f.DaysLeft, "day", "days"), shortDay(f.RunsOut.Add(-1)))
			}
			if f.DaysLeft != nil && *f.DaysLeft == 0 {
				row.DaysOut = "not for the day"
			}
		}
		if f.ShortG > 0 {
			row.Short = kg(f.ShortG) + " short"
		}
		out = append(out, row)
	}
	return out
}

var howWords = map[string]string{"refrigerated": "in the fridge", "room": "at room temperature", "water": "in water"}

// closing is how long before its deadline a clock is pointed out.
const closing = 3 * time.Hour

func (t fishTeller) clocks() (out []clockRow) {
	for _, c := range t.room.Clocks {
		row := clockRow{
			Lot: c.Lot, Name: c.Name, How: howWords[c.How], Left: fmt.Sprintf("%s of %s", kilos(c.LeftG), kg(c.TookG)),
			Removed: t.near(c.Removed), Complete: "not seen yet", Until: "until " + t.near(c.Deadline), Words: c.Words,
		}
		if c.Complete != nil {
			row.Complete = t.near(*c.Complete)
		}
		switch {
		case c.Past:
			row.State, row.Until = "call", "past since "+t.near(c.Deadline)+", discard"
		case c.Deadline.Sub(t.room.At) < closing:
			row.State = "soon"
		}
		out = append(out, row)
	}
	return out
}

// near is a moment as people say it within the week, the date beyond.
func (t fishTeller) near(at time.Time) string {
	days := daysBetween(projections.DayOf(t.now, t.zone), projections.DayOf(at, t.zone))
	switch {
	case days == 0:
		return clock(at, t.zone)
	case days > -7 && days < 7:
		return at.In(t.zone).Format("Mon" + nb + "15:04")
	}
	return at.In(t.zone).Format("2" + nb + "January" + nb + "15:04")
}

// lastDay is a date in a table, "" where there is none.
func lastDay(day string) string {
	if day == "" {
		return ""
	}
	return dayAs(projections.Day(day), "2"+nb+"Jan"+nb+"2006")
}

func (t fishTeller) lots() (out []lotRow) {
	for _, l := range t.room.Lots {
		row := lotRow{
			Lot: l.Lot, Name: l.Name, Frozen: kilos(l.FrozenG), Caught: orElse(l.Caught, "not stated"), Expires: orElse(lastDay(l.Expires), "not known"),
			Figures: "no assay", Energy: "not known", Fat: "not known", Age: "not known", Past: l.Verdict == "past", Words: l.Words, Limit: l.Storage.Words,
		}
		if l.AgeDays != nil {
			row.Age = plural(*l.AgeDays, "day", "days")
		}
		if l.KcalPer100g != nil {
			row.Energy = strconv.Itoa(int(math.Round(*l.KcalPer100g))) + nb + "kcal, " + basisWords[l.Basis]
		}
		if l.FatG != nil {
			row.Fat = strconv.FormatFloat(*l.FatG, 'f', -1, 64) + nb + "g"
		}
		if l.Assayed != nil {
			row.Figures = "assay, " + shortDay(projections.DayOf(*l.Assayed, t.zone))
		}
		out = append(out, row)
	}
	return out
}

var basisWords = map[string]string{"gross": "gross", "digestible": "digestible", "metabolizable_atwater": "metabolizable", "": "basis not stated"}

var vitaminWords = map[string]string{"thiamine": "Thiamine (B1)", "vitamin_e": "Vitamin E"}

// vitamins adds up what goes with all buckets.
func (t fishTeller) vitamins() (out []vitaminRow) {
	var sum []projections.VitaminOwed
	for _, b := range t.room.Buckets {
		for i, v := range b.Vitamins {
			if i == len(sum) {
				sum = append(sum, projections.VitaminOwed{Owed: v.Owed})
				sum[i].Least, sum[i].Most, sum[i].Value = 0, 0, 0
			}
			sum[i].Least, sum[i].Most, sum[i].Value, sum[i].Given = sum[i].Least+v.Least, sum[i].Most+v.Most, sum[i].Value+v.Value, sum[i].Given+v.Given
			sum[i].Unknown = append(sum[i].Unknown, v.Unknown...)
		}
	}
	for _, v := range sum {
		given := vitamin(v.Given, v.Unit)
		if len(v.Unknown) > 0 {
			given = "at least " + given + "; of " + plural(len(v.Unknown), "dose", "doses") + " no label says what it held"
		}
		out = append(out, vitaminRow{
			Name: vitaminWords[v.What], Rule: v.Basis, All: vitamin(v.Value, v.Unit), Given: given,
			Range: between(v), As: t.asUnits(v.What),
		})
	}
	return out
}

func between(v projections.VitaminOwed) string {
	if v.Least == v.Most {
		return vitamin(v.Least, v.Unit)
	}
	return vitamin(v.Least, v.Unit) + " to " + vitamin(v.Most, v.Unit)
}

// asUnits adds up the tablets of each supplement over all buckets: any one of
// them would do.
func (t fishTeller) asUnits(what string) string {
	counts, names := map[string]float64{}, []string{}
	for _, b := range t.room.Buckets {
		for _, v := range b.Vitamins {
			for _, as := range v.As {
				if v.What != what {
					continue
				}
				name := as.Name + " (" + unitWord(as.Per) + ")"
				if _, seen := counts[name]; !seen {
					names = append(names, name)
				}
				counts[name] += as.Count
			}
		}
	}
	for i, name := range names {
		names[i] = strconv.FormatFloat(counts[name], 'f', -1, 64) + nb + "× " + name
	}
	return strings.Join(names, ", or ")
}

func unitWord(unit string) string { return orElse(unitWords[unit], unit) }

func vitamin(amount float64, unit string) string {
	return count(int(math.Round(amount))) + nb + unitWord(unit)
}

// degrees is the warmest that a rule allows, in words.
func (t fishTeller) degrees(rule string) string {
	for _, r := range t.room.Rules {
		if r.Name == rule {
			return strings.Replace(strconv.FormatFloat(r.InForce, 'f', -1, 64), "-", "−", 1) + nb + "°C or colder"
		}
	}
	return ""
}

func (t fishTeller) forms() (out fishForms) {
	seen := map[string]bool{}
	add := func(lot, text string) {
		if !seen[lot] {
			seen[lot] = true
			out.Lots = append(out.Lots, option{lot, text})
		}
	}
	for _, l := range t.room.Thaw {
		add(l.Lot, fmt.Sprintf("%s, %s, to take out %s", l.Lot, l.Name, kg(l.MassG)))
	}
	for _, l := range t.room.Lots {
		add(l.Lot, fmt.Sprintf("%s, %s, %s frozen", l.Lot, l.Name, kg(l.FrozenG)))
	}
	for _, c := range t.room.Clocks {
		add(c.Lot, fmt.Sprintf("%s, %s, %s thawed", c.Lot, c.Name, kg(c.LeftG)))
		if c.Complete == nil {
			out.Thaws = append(out.Thaws, option{c.Lot + " " + c.Thaw, fmt.Sprintf("%s, %s, out since %s", c.Lot, c.Name, t.near(c.Removed))})
		}
	}
	for _, f := range t.room.Foods {
		out.Foods = append(out.Foods, option{f.Food, f.Name})
	}
	return out
}
