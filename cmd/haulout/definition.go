package main

import (
	"cmp"
	"context"
	"crypto/sha256"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"haulout/events"
)

// always is the time of a definition that has none: before whatever a file
// may bring.
var always = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// derived makes a version 8 UUID (RFC 9562, section 5.8) of what it is to
// stand for, so that the same words always give the same id.
func derived(words ...string) string {
	return uuid.NewHash(sha256.New(), uuid.NameSpaceOID, []byte("haulout import\x00"+strings.Join(words, "\x00")), 8).String()
}

func (im *importer) readEnclosures() {
	first := map[string]int{}
	for _, r := range im.sheet.rows {
		name := r.cell("name")
		id := im.definedID(r, "enclosure", name, im.enclosureID(name))
		im.once(r, "name", first, id+" "+r.cell("time"))
		im.define(r, "enclosure.described", im.momentOr(r, always), id, events.EnclosureDescribed{Enclosure: id, Name: name, Use: word(r, "use")})
	}
}

func (im *importer) enclosureID(name string) string {
	id, _ := called(name, im.known.enclosures, enclosureNamed)
	return id
}

// definedID is the id that a row gives, the one that the name has already, or
// one made of the name.
func (im *importer) definedID(r *row, sort, name, has string) string {
	given := r.cell("id")
	if given != "" && has != "" && given != has {
		im.problem(r, "name", name, "is the name of the %s %s at %s", sort, has, im.facility)
	}
	return cmp.Or(given, has, slug(name))
}

// once refuses a second row about the same thing at the same time.
func (im *importer) once(r *row, column string, first map[string]int, key string) {
	if line, had := first[key]; had {
		im.problem(r, column, r.cell(column), "is on line %d already", line)
		return
	}
	first[key] = r.line
}

// slug makes an id of a name: Atlantic herring → atlantic-herring.
func slug(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(c rune) bool { return (c < 'a' || c > 'z') && (c < '0' || c > '9') })
	out := strings.Join(words, "-")
	if out == "" && name != "" {
		out = derived(events.NameFold(name)) // a name in other letters
	}
	return out[:min(len(out), 64)]
}

func (im *importer) readFoods() {
	first := map[string]int{}
	for _, r := range im.sheet.rows {
		body := im.foodOf(r)
		im.once(r, im.nameColumn(), first, body.Food+" "+r.cell("time"))
		im.define(r, "food.described", im.momentOr(r, always), body.Food, body)
	}
}

func (im *importer) foodOf(r *row) events.FoodDescribed {
	id, name := im.foodNames(r)
	grams := func(column string) events.Quantity { return im.quantity(r, column, "g") }
	return events.FoodDescribed{
		Food: id, Name: name, Form: word(r, "form"), Basis: word(r, "basis"), Factors: word(r, "factors"),
		Composition: events.Composition{Water: grams("water"), Protein: grams("protein"), Fat: grams("fat"), Ash: grams("ash"), Carbohydrate: grams("carbohydrate")},
		Energy:      im.quantity(r, "energy", "kcal"),
		Source:      cmp.Or(r.cell("source"), "a table without a source"),
	}
}

// foodNames reads id and name of a food from its columns food and name, of which
// one is enough.
func (im *importer) foodNames(r *row) (id, name string) {
	food, name := r.cell("food"), r.cell("name")
	if food == "" && name == "" {
		im.problem(r, "food", "", "is empty; give the name or id of the food")
		return "", ""
	}
	id, found := named(cmp.Or(food, name), im.known.foods, foodNamed)
	switch {
	case name == "" && found && id == food:
		return id, im.nameOfFood(id)
	case !found && name != "" && events.ValidCode(food):
		id = food
	case !found:
		id = slug(cmp.Or(food, name))
	}
	name = cmp.Or(name, food)
	if holder, taken := called(name, im.known.foods, foodNamed); taken && holder != id {
		im.problem(r, "name", name, "is the name of the food %s at %s", holder, im.facility)
	}
	return id, name
}

func (im *importer) nameOfFood(id string) string {
	for _, f := range im.known.foods {
		if f.ID == id {
			return f.Name
		}
	}
	return ""
}

func (im *importer) readAnimals() {
	first := map[string]int{}
	for _, r := range im.sheet.rows {
		im.once(r, "name", first, events.NameFold(r.cell("name")))
		im.readAnimal(r)
	}
}

func (im *importer) readAnimal(r *row) {
	name := r.cell("name")
	has, _ := called(name, im.known.animals, animalNamed)
	if given := r.cell("id"); given != "" && has != "" && given != has {
		im.problem(r, "name", name, "is the name of the animal %s at %s", has, im.facility)
	}
	body := events.AnimalEntered{
		Animal: cmp.Or(r.cell("id"), has, derived(im.facility, "animal", events.NameFold(name))),
		Name:   name, Taxon: r.cell("taxon"), Sex: word(r, "sex"), Born: r.cell("born"), From: r.cell("from"),
		How: cmp.Or(word(r, "how"), "arrival"), Tape: im.tape(r),
	}
	at := im.momentOr(r, im.firstDay(r.cell("born")))
	if r.cell("time") == "" {
		im.sum.undated++
	}
	im.define(r, "animal.entered", at, body.Animal, body)
	if cell := r.cell("enclosure"); cell != "" {
		pool := lookUp(im, r, "enclosure", "enclosure", im.known.enclosures, enclosureNamed)
		im.define(r, "animal.placed", at, body.Animal, events.AnimalPlaced{Animal: body.Animal, Enclosure: pool})
	}
}

func (im *importer) tape(r *row) int {
	text := r.cell("tape")
	n, err := strconv.Atoi(text)
	if text != "" && err != nil {
		im.problem(r, "tape", text, "give the number of a tape pattern, 1 to 8")
	}
	return n
}

var birthDay = regexp.MustCompile(`^(\d{4})(?:-(0[1-9]|1[0-2])(?:-([0-3]\d))?)?\b`)

// firstDay is noon of the first day that a birth allows, or always where it
// names none.
func (im *importer) firstDay(born string) time.Time {
	part := birthDay.FindStringSubmatch(born)
	if part == nil {
		return always
	}
	day := part[1] + "-" + cmp.Or(part[2], "01") + "-" + cmp.Or(part[3], "01")
	m, err := parseMoment(day, im.where)
	if err != nil {
		return always
	}
	return m.at
}

// define adds a fact that brings something into being, whose id follows from
// what it defines and from when: the same thing can't be said in two ways.
func (im *importer) define(r *row, kind string, at time.Time, subject string, body events.Body) {
	im.addWithID(derived(im.facility, kind, subject, at.UTC().Format(time.RFC3339Nano)), []*row{r}, kind, at, body)
}

// checkDefinitions holds the definitions against those on record: what was said
// before is no news, and what was said otherwise has to be corrected there.
func (im *importer) checkDefinitions(ctx context.Context) error {
	for _, e := range im.facts {
		if e.bad() {
			continue
		}
		if err := im.checkDefinition(ctx, e); err != nil {
			return err
		}
	}
	return nil
}

func (im *importer) checkDefinition(ctx context.Context, e entry) error {
	ev, err := e.draft.Fact()
	if err != nil {
		return err
	}
	before, err := im.client.find(ctx, ev.ID)
	if err != nil {
		return err
	}
	if before != nil && !before.SameFact(ev) {
		im.problem(e.rows[0], im.nameColumn(), im.nameIn(e.rows[0]), "is on record in other words since %s (entry %s); correct that entry, or give this row a time of its own", ev.Time.Format(time.DateOnly), ev.ID)
	}
	if body, enters := ev.Body.(*events.AnimalEntered); enters && before == nil {
		im.checkEntering(e.rows[0], body.Animal)
	}
	return nil
}

// checkEntering refuses to enter an animal that is in the facility's care.
func (im *importer) checkEntering(r *row, animal string) {
	for _, a := range im.known.animals {
		if a.ID != animal {
			continue
		}
		if stay := a.Stay(time.Now()); stay != nil && stay.Facility == im.facility {
			im.problem(r, "name", r.cell("name"), "has been in the care of %s since %s; an animal is entered once", im.facility, stay.From.In(im.where).Format(time.DateOnly))
		}
	}
}

func (im *importer) nameColumn() string {
	if im.sheet.header["food"] != "" {
		return "food"
	}
	return "name"
}

func (im *importer) nameIn(r *row) string { return r.cell(im.nameColumn()) }
