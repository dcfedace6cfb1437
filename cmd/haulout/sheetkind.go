package main

import (
	"fmt"
	"slices"
	"strings"

	"haulout/events"
)

// sheetKind is a kind of CSV file and how its rows become facts.
type sheetKind struct {
	name    string
	columns []column
	defines bool // its facts bring something into being
	read    func(*importer)
}

// massUnits are the units of mass that a file may use, with their UCUM codes.
var massUnits = map[string]string{"kg": "kg", "g": "g", "lb": "[lb_av]"}

func masses(name string) column {
	return column{name: name, required: true, units: []string{"kg", "g", "lb"}}
}

func needed(names ...string) (out []column) {
	for _, name := range names {
		out = append(out, column{name: name, required: true})
	}
	return out
}

func optional(names ...string) (out []column) {
	for _, name := range names {
		out = append(out, column{name: name})
	}
	return out
}

// part is the column of what 100 g of a food hold of something, in grams.
func part(name string) column { return column{name: name, required: true, units: []string{"g"}} }

func sheetKinds() []sheetKind {
	return []sheetKind{
		{"feeds", slices.Concat(needed("time", "animal", "food"), []column{masses("offered"), masses("eaten")}, optional("lot")), false, (*importer).readFeeds},
		{"weights", slices.Concat(needed("time", "animal"), []column{masses("mass")}, optional("scale", "coat", "method")), false, (*importer).readWeights},
		{"encounters", slices.Concat(needed("time", "winner", "loser"), optional("draw", "signal")), false, (*importer).readEncounters},
		{"animals", slices.Concat(needed("name", "taxon", "sex"), optional("id", "born", "how", "from", "enclosure", "time", "tape")), true, (*importer).readAnimals},
		{"foods", slices.Concat(optional("food"), []column{part("water"), part("protein"), part("fat"), part("ash"), part("carbohydrate"),
			{name: "energy", units: []string{"kcal"}}}, optional("basis", "form", "factors", "source", "name", "time")), true, (*importer).readFoods},
		{"enclosures", slices.Concat(needed("name"), optional("id", "use", "time")), true, (*importer).readEnclosures},
	}
}

func (im *importer) readWeights() {
	for _, r := range im.sheet.rows {
		im.add(r, "weight.taken", im.moment(r), events.WeightTaken{
			Animal: im.animal(r, "animal"), Mass: im.mass(r, "mass"), Scale: r.cell("scale"), Coat: word(r, "coat"), Method: word(r, "method"),
		})
	}
}

func (im *importer) readEncounters() {
	for _, r := range im.sheet.rows {
		im.add(r, "encounter.seen", im.moment(r), events.EncounterSeen{
			Winner: im.animal(r, "winner"), Loser: im.animal(r, "loser"), Draw: im.yes(r, "draw"), Signal: word(r, "signal"),
		})
	}
}

// readFeeds makes one feed of rows that stand together and have time and animal
// in common.
func (im *importer) readFeeds() {
	rows := im.sheet.rows
	for len(rows) > 0 {
		n := 1
		for n < len(rows) && rows[n].cell("time") == rows[0].cell("time") && rows[n].cell("animal") == rows[0].cell("animal") {
			n++
		}
		im.readFeed(rows[:n])
		rows = rows[n:]
	}
}

func (im *importer) readFeed(rows []*row) {
	at, body := im.moment(rows[0]), events.FeedGiven{Animal: im.animal(rows[0], "animal")}
	for _, r := range rows {
		body.Items = append(body.Items, events.FeedItem{
			Food: im.food(r), Lot: im.lot(r), Offered: im.mass(r, "offered"), Eaten: im.mass(r, "eaten"),
		})
	}
	im.spoil(rows)
	im.addAll(rows, "feed.given", at, body)
}

// word is a cell whose words are few and written small.
func word(r *row, column string) string { return strings.ToLower(r.cell(column)) }

func (im *importer) yes(r *row, column string) bool {
	switch word(r, column) {
	case "", "no", "n", "false", "0":
		return false
	case "yes", "y", "true", "1":
		return true
	}
	im.problem(r, column, r.cell(column), "write yes or no")
	return false
}

// number reads a decimal with a point or a comma, its digits as they are
// written. Between commas that separate columns, 1,500 may be either.
func (im *importer) number(r *row, column string) string {
	text := r.cell(column)
	whole, decimals, comma := strings.Cut(text, ",")
	if !comma || strings.ContainsAny(text, ". ") || !allDigits(decimals) {
		return text
	}
	if !im.sheet.commas && len(decimals) == 3 && whole != "0" {
		im.problem(r, column, text, "may be %s%s or %s.%s; write it without the comma", whole, decimals, whole, decimals)
	}
	return whole + "." + decimals
}

func (im *importer) quantity(r *row, column, unit string) events.Quantity {
	value := im.number(r, column)
	if value == "" {
		return events.Quantity{}
	}
	return events.Quantity{Value: value, Unit: unit}
}

// mass reads a mass in the unit of its column.
func (im *importer) mass(r *row, column string) events.Quantity {
	return im.quantity(r, column, massUnits[im.sheet.unit[column]])
}

// settleUnits decides the unit of each mass column. --unit speaks for headers
// that say kg, the usual one, or none; it can't overrule one that says g or lb.
func (im *importer) settleUnits(columns []column) error {
	for _, c := range columns {
		if len(c.units) < 2 || im.sheet.header[c.name] == "" {
			continue
		}
		said := im.sheet.unit[c.name]
		switch {
		case said == "" && im.unit == "":
			im.sheet.unit[c.name] = "kg"
		case im.unit == "" || said == im.unit:
		case said == "g" || said == "lb":
			return fmt.Errorf("the column %s says %s and --unit says %s; leave --unit out", im.sheet.header[c.name], said, im.unit)
		default:
			im.sheet.unit[c.name] = im.unit
			im.note("%s is read in %s, as --unit says", im.sheet.header[c.name], im.unit)
		}
	}
	return nil
}

func (im *importer) animal(r *row, column string) string {
	return lookUp(im, r, column, "animal", im.known.animals, animalNamed)
}

func (im *importer) food(r *row) string {
	return lookUp(im, r, "food", "food", im.known.foods, foodNamed)
}

func (im *importer) lot(r *row) string {
	id := r.cell("lot")
	if id != "" && !im.known.lots[id] {
		im.problem(r, "lot", id, "no lot at %s has this id; record its lot.received first", im.facility)
	}
	return id
}

// lookUp finds the id of what a cell names.
func lookUp[T any](im *importer, r *row, column, sort string, list []T, of func(T) (id, name string)) string {
	cell := r.cell(column)
	if cell == "" {
		im.problem(r, column, "", "is empty; give the name or id of the %s", sort)
		return ""
	}
	id, found := named(cell, list, of)
	if !found {
		im.problem(r, column, cell, "no %s at %s has this name or id%s", sort, im.facility, meant(cell, namesOf(list, of)))
	}
	return id
}
