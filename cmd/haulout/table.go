package main

import (
	"cmp"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math/big"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections"
)

// tables makes the tables of one facility, with values as they count now.
type tables struct {
	client *client
	known  *known
}

// firstDay is before every fact: times before 1900 are not taken.
const firstDay projections.Day = "1900-01-01"

// exportTables writes the tables of a facility and counts them.
func (c *client) exportTables(ctx context.Context, f projections.Facility, folder string) (int, error) {
	k, err := c.knownAt(ctx, f.Code)
	if err != nil {
		return 0, err
	}
	t := &tables{c, k}
	all := []struct {
		name string
		rows func(context.Context) ([][]string, error)
	}{
		{"animals", t.animals}, {"enclosures", t.enclosures}, {"foods", t.foods}, {"days", t.days}, {"weights", t.weights}, {"encounters", t.encounters},
	}
	for _, one := range all {
		rows, err := one.rows(ctx)
		if err != nil {
			return 0, fmt.Errorf("the table of %s: %w", one.name, err)
		}
		err = replaceFile(filepath.Join(folder, one.name+".csv"), func(w io.Writer) error { return writeTable(w, rows) })
		if err != nil {
			return 0, err
		}
	}
	return len(all), nil
}

func writeTable(w io.Writer, rows [][]string) error {
	out := csv.NewWriter(w)
	for _, row := range rows {
		for i := range row {
			row[i] = defused(row[i])
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// clock writes a time as the facility's clocks showed it.
func (t *tables) clock(at time.Time) string { return at.In(t.known.zone).Format(time.RFC3339Nano) }

// call names an animal or food: by its name where that says which one it is,
// else by its id.
func call[T any](id string, list []T, of func(T) (id, name string)) string {
	for _, one := range list {
		own, name := of(one)
		if own != id {
			continue
		}
		if found, _ := named(name, list, of); found == id {
			return name
		}
	}
	return id
}

func (t *tables) animal(id string) string { return call(id, t.known.animals, animalNamed) }

func (t *tables) animals(context.Context) ([][]string, error) {
	rows := [][]string{{"name", "taxon", "sex", "id", "born", "how", "from", "enclosure", "time", "tape"}}
	for _, a := range t.known.animals {
		for _, stay := range a.Stays {
			if stay.Facility != t.known.Code {
				continue
			}
			rows = append(rows, []string{a.Name, a.Taxon, a.Sex, a.ID, a.Born, stay.How, stay.Origin, t.homeAt(a, stay), t.clock(stay.From), tapeOf(a)})
		}
	}
	return rows, nil
}

// homeAt is where an animal was put when a stay began.
func (t *tables) homeAt(a projections.Animal, stay projections.Stay) string {
	for _, p := range a.Places {
		if p.Facility == stay.Facility && p.From.Equal(stay.From) {
			return call(p.Enclosure, t.known.enclosures, enclosureNamed)
		}
	}
	return ""
}

func tapeOf(a projections.Animal) string {
	if a.Tape == 0 {
		return ""
	}
	return strconv.Itoa(a.Tape)
}

func (t *tables) enclosures(context.Context) ([][]string, error) {
	rows := [][]string{{"name", "id", "use", "time"}}
	for _, e := range t.known.enclosures {
		rows = append(rows, []string{e.Name, e.ID, e.Use, t.clock(e.Since)})
	}
	return rows, nil
}

func (t *tables) foods(context.Context) ([][]string, error) {
	rows := [][]string{{"food", "water_g", "protein_g", "fat_g", "ash_g", "carbohydrate_g", "energy_kcal", "basis", "form", "factors", "source", "name", "time"}}
	for _, f := range t.known.foods {
		for _, x := range f.Figures {
			c := x.Composition
			energy, basis := "", ""
			if x.How == statedEnergy && x.KcalPer100g != nil {
				energy, basis = figure(*x.KcalPer100g), x.Basis
			}
			rows = append(rows, []string{
				f.ID, c.Water.Value, c.Protein.Value, c.Fat.Value, c.Ash.Value, c.Carbohydrate.Value, energy, basis, x.Form, x.Factors, x.Source, f.Name, t.clock(x.From),
			})
		}
	}
	return rows, nil
}

// statedEnergy is how the rows of foods say that the source gives the energy.
const statedEnergy = "stated by the source"

func figure(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func (t *tables) days(ctx context.Context) ([][]string, error) {
	rows := [][]string{{"day", "animal", "feeds", "refused_feeds", "offered_g", "eaten_g", "refused_g", "kcal", "kcal_unknown_for", "trials", "trials_met", "encounters", "notes", "keepers", "corrected"}}
	for _, a := range t.known.animals {
		var answer struct {
			Days []projections.AnimalDay `json:"days"`
		}
		if err := t.client.get(ctx, t.span(a.ID, "days"), &answer); err != nil {
			return nil, err
		}
		for _, d := range answer.Days {
			if t.here(a, d) {
				rows = append(rows, t.day(a, d))
			}
		}
	}
	return rows, nil
}

// span asks for everything up to tomorrow: a clock may run ahead a little.
func (t *tables) span(animal, what string) string {
	tomorrow := projections.DayOf(time.Now(), t.known.zone).Add(1)
	return fmt.Sprintf("/api/v1/animals/%s/%s?from=%s&to=%s", url.PathEscape(animal), what, firstDay, tomorrow)
}

// here says whether an animal's day is one of this facility: it was fed here,
// or it lived here at the day's end, or it never lived elsewhere.
func (t *tables) here(a projections.Animal, d projections.AnimalDay) bool {
	if len(d.Items) > 0 {
		return slices.ContainsFunc(d.Items, func(i projections.FoodEaten) bool { return i.Facility == t.known.Code })
	}
	if stay := a.Stay(d.Day.End(t.known.zone).Add(-time.Nanosecond)); stay != nil {
		return stay.Facility == t.known.Code
	}
	return !slices.ContainsFunc(a.Stays, func(s projections.Stay) bool { return s.Facility != t.known.Code })
}

func (t *tables) day(a projections.Animal, d projections.AnimalDay) []string {
	kcal := ""
	if d.Kcal != nil {
		kcal = strconv.FormatFloat(*d.Kcal, 'f', 1, 64)
	}
	return []string{
		string(d.Day), t.animal(a.ID), strconv.Itoa(d.Feeds), strconv.Itoa(d.Refusals), figure(d.OfferedG), figure(d.EatenG), figure(d.RefusedG), kcal,
		strings.Join(d.Unknown, "; "), strconv.Itoa(d.Trials), strconv.Itoa(d.Met), strconv.Itoa(d.Encounters), strconv.Itoa(d.Notes),
		strings.Join(d.Keepers, "; "), strconv.Itoa(d.Corrected),
	}
}

func (t *tables) weights(ctx context.Context) ([][]string, error) {
	rows := [][]string{{"time", "animal", "mass_kg", "scale", "coat", "method"}}
	for _, a := range t.known.animals {
		var answer struct {
			Weights []projections.Weighing `json:"weights"`
		}
		if err := t.client.get(ctx, t.span(a.ID, "weights"), &answer); err != nil {
			return nil, err
		}
		for _, w := range answer.Weights {
			if w.Facility != t.known.Code {
				continue
			}
			kg, err := kilograms(w.Read)
			if err != nil {
				return nil, err
			}
			rows = append(rows, []string{t.clock(w.Time), t.animal(a.ID), kg, w.Scale, w.Coat, w.Method})
		}
	}
	return rows, nil
}

// kilograms writes a mass in kg: with the digits that were read where it was
// read in kg, exactly where it was not.
func kilograms(q events.Quantity) (string, error) {
	if q.Unit == "kg" {
		return q.Value, nil
	}
	kg, err := q.In("kg")
	if err != nil {
		return "", err
	}
	places, _ := kg.FloatPrec() // every unit of mass is a finite decimal of a kg
	return new(big.Rat).Set(kg).FloatString(places), nil
}

// encounters lists each meeting once, although both animals have it on record.
func (t *tables) encounters(ctx context.Context) ([][]string, error) {
	met := map[string]events.Event{}
	for _, a := range t.known.animals {
		if err := t.encountersOf(ctx, a.ID, met); err != nil {
			return nil, err
		}
	}
	list := make([]events.Event, 0, len(met))
	for _, ev := range met {
		list = append(list, ev)
	}
	slices.SortFunc(list, func(a, b events.Event) int { return cmp.Or(a.Time.Compare(b.Time), cmp.Compare(a.ID, b.ID)) })
	rows := [][]string{{"time", "winner", "loser", "draw", "signal"}}
	for _, ev := range list {
		e := ev.Body.(*events.EncounterSeen)
		draw := ""
		if e.Draw {
			draw = "yes"
		}
		rows = append(rows, []string{t.clock(ev.Time), t.animal(e.Winner), t.animal(e.Loser), draw, e.Signal})
	}
	return rows, nil
}

// listed is a record as the listing of an animal gives it.
type listed struct {
	Record  json.RawMessage `json:"record"`
	State   string          `json:"state"`
	Now     json.RawMessage `json:"now"`
	NowTime *time.Time      `json:"now_time"`
}

// event is the record as it counts.
func (l listed) event() (events.Event, error) {
	ev, err := events.Decode(l.Record)
	if err != nil || l.State != "corrected" {
		return ev, err
	}
	return ev.Corrected(&events.EntryCorrected{Data: l.Now, Time: l.NowTime.Format(time.RFC3339Nano)})
}

func (t *tables) encountersOf(ctx context.Context, animal string, met map[string]events.Event) error {
	var page struct {
		Records []listed `json:"records"`
		Next    string   `json:"next"`
	}
	for {
		path := fmt.Sprintf("/api/v1/animals/%s/records?kind=encounter.seen&limit=1000&cursor=%s", url.PathEscape(animal), url.QueryEscape(page.Next))
		page.Records, page.Next = nil, ""
		if err := t.client.get(ctx, path, &page); err != nil {
			return err
		}
		for _, l := range page.Records {
			ev, err := l.event()
			if err != nil {
				return err
			}
			if ev.Facility == t.known.Code && l.State != "withdrawn" {
				met[ev.ID] = ev
			}
		}
		if page.Next == "" {
			return nil
		}
	}
}
