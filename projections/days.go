package projections

import (
	"cmp"
	"slices"
	"time"

	"haulout/events"
)

// SeenOn is what was seen of an animal on a local day beside its food.
type SeenOn struct {
	Feeds      int        `json:"feeds"`
	Refusals   int        `json:"refused_feeds"`
	FirstFed   *time.Time `json:"first_fed,omitempty"`
	LastFed    *time.Time `json:"last_fed,omitempty"`
	LastEaten  *time.Time `json:"last_eaten,omitempty"`
	Weighed    *Weighing  `json:"weighed,omitempty"`
	Weighings  int        `json:"weighings,omitempty"`
	Coat       *CoatSeen  `json:"coat,omitempty"`
	Check      *CheckSeen `json:"check,omitempty"`
	Trials     int        `json:"trials,omitempty"`
	Met        int        `json:"trials_met,omitempty"`
	Encounters int        `json:"encounters,omitempty"`
	Notes      int        `json:"notes,omitempty"`
	Keepers    []string   `json:"keepers,omitempty"`
	Corrected  int        `json:"corrected,omitempty"`
}

// dayRow is a day as it is stored: what was offered, eaten and refused, and
// what else was seen. Energy is not in it: that depends on what is said of
// foods, which is another reference's business, so it is added on the way out.
type dayRow struct {
	SeenOn
	Items      []dayItem `json:"items,omitempty"`
	Facilities []string  `json:"facilities"`
}

type dayItem struct {
	Facility string `json:"facility"`
	Food     string `json:"food"`
	Offered  int64  `json:"offered_mg"`
	Eaten    int64  `json:"eaten_mg"`
}

// CoatSeen is a coat score of the day.
type CoatSeen struct {
	Time    time.Time       `json:"time"`
	Stage   string          `json:"stage,omitempty"`
	NewCoat events.Quantity `json:"new_coat,omitzero"`
	By      string          `json:"by"`
}

// CheckSeen is the last look over an animal on a day.
type CheckSeen struct {
	Time     time.Time `json:"time"`
	By       string    `json:"by"`
	Findings int       `json:"findings"`
	Urgent   bool      `json:"urgent,omitempty"`
}

var days = Daily("days", 1, "animal", []string{
	"feed.given", "weight.taken", "coat.scored", "check.made", "trial.scored", "encounter.seen",
	"supplement.given", "condition.scored", "length.measured", "girth.measured", "enrichment.offered",
	"choice.made", "touch.noted", "veterinary.noted", "medication.given", "session.held", "note",
}, foldDay)

func foldDay(_ Scope, recs []Record) *dayRow {
	if len(recs) == 0 {
		return nil
	}
	out := &dayRow{}
	for i := range recs {
		out.add(&recs[i])
	}
	slices.SortFunc(out.Items, func(a, b dayItem) int {
		return cmp.Or(cmp.Compare(a.Facility, b.Facility), cmp.Compare(a.Food, b.Food))
	})
	slices.Sort(out.Keepers)
	slices.Sort(out.Facilities)
	return out
}

func (d *dayRow) add(rec *Record) {
	d.Keepers = addOnce(d.Keepers, rec.Author)
	d.Facilities = addOnce(d.Facilities, rec.Facility)
	if rec.Original != nil {
		d.Corrected++
	}
	switch body := rec.Body.(type) {
	case *events.FeedGiven:
		d.feed(body, rec)
	case *events.WeightTaken:
		w := weighingOf(rec)
		d.Weighed, d.Weighings = &w, d.Weighings+1
	case *events.CoatScored:
		d.Coat = &CoatSeen{rec.Time, body.Stage, body.NewCoat, rec.Author}
	case *events.CheckMade:
		d.check(body, rec)
	case *events.TrialScored:
		d.Trials++
		if body.Outcome == "met" {
			d.Met++
		}
	case *events.EncounterSeen:
		d.Encounters++
	case *events.Note, *events.VeterinaryNoted:
		d.Notes++
	}
}

func addOnce(list []string, word string) []string {
	if slices.Contains(list, word) {
		return list
	}
	return append(list, word)
}

func (d *dayRow) feed(b *events.FeedGiven, rec *Record) {
	d.Feeds++
	d.LastFed, d.FirstFed = &rec.Time, cmp.Or(d.FirstFed, &rec.Time)
	var offered, eaten int64
	for i := range b.Items {
		item := &b.Items[i]
		o, e := item.Offered.Milligrams(), item.Eaten.Milligrams()
		offered, eaten = offered+o, eaten+e
		d.item(rec.Facility, item.Food, o, e)
	}
	if eaten > 0 {
		d.LastEaten = &rec.Time
	} else if offered > 0 {
		d.Refusals++
	}
}

func (d *dayRow) item(facility, food string, offered, eaten int64) {
	for i := range d.Items {
		if it := &d.Items[i]; it.Facility == facility && it.Food == food {
			it.Offered, it.Eaten = it.Offered+offered, it.Eaten+eaten
			return
		}
	}
	d.Items = append(d.Items, dayItem{facility, food, offered, eaten})
}

func (d *dayRow) check(b *events.CheckMade, rec *Record) {
	seen := CheckSeen{Time: rec.Time, By: rec.Author, Findings: len(b.Findings)}
	for _, f := range b.Findings {
		seen.Urgent = seen.Urgent || f.Urgent
	}
	d.Check = &seen
}

// AnimalDay is one animal's local day. A day without a record is not listed:
// it was not logged, which is not the same as nothing eaten.
type AnimalDay struct {
	Day      Day         `json:"day"`
	OfferedG float64     `json:"offered_g"`
	EatenG   float64     `json:"eaten_g"`
	RefusedG float64     `json:"refused_g"`
	Kcal     *float64    `json:"kcal"` // nil where no food eaten has a known energy
	Unknown  []string    `json:"kcal_unknown,omitempty"`
	Items    []FoodEaten `json:"items"`
	SeenOn
}

// FoodEaten is one food of a day.
type FoodEaten struct {
	Food     string   `json:"food"`
	Name     string   `json:"name"`
	Facility string   `json:"facility"`
	OfferedG float64  `json:"offered_g"`
	EatenG   float64  `json:"eaten_g"`
	Kcal     *float64 `json:"kcal"`
	Basis    string   `json:"basis,omitempty"`
}

func grams(mg int64) float64 { return float64(mg) / 1000 }

// Days lists an animal's logged days from … to, in order.
func (s *Store) Days(animal string, from, to Day, asOf time.Time) (out []AnimalDay, err error) {
	err = s.at(asOf, func(v view) error {
		list, err := rows[dayRow](v, &days, events.Ref{Sort: "animal", ID: animal}, from, to)
		if err != nil {
			return err
		}
		larder := map[string]*Food{}
		for _, d := range list {
			day, err := v.animalDay(d.Day, d.Row, larder)
			if err != nil {
				return err
			}
			out = append(out, day)
		}
		return nil
	})
	return out, err
}

func (v view) animalDay(day Day, r dayRow, larder map[string]*Food) (AnimalDay, error) {
	out := AnimalDay{Day: day, Items: []FoodEaten{}, SeenOn: r.SeenOn}
	var offered, eaten int64
	for _, item := range r.Items {
		food, err := v.food(item, larder)
		if err != nil {
			return out, err
		}
		offered, eaten = offered+item.Offered, eaten+item.Eaten
		last := day.End(cmp.Or(v.zone(item.Facility), time.UTC)).Add(-1)
		out.take(item, food, last)
	}
	out.OfferedG, out.EatenG, out.RefusedG = grams(offered), grams(eaten), grams(offered-eaten)
	return out, nil
}

func (v view) food(item dayItem, larder map[string]*Food) (*Food, error) {
	ref := Local("food", item.Facility, item.Food)
	if food, ok := larder[ref.ID]; ok {
		return food, nil
	}
	food, err := row[Food](v, &foods, Scope{Ref: ref})
	larder[ref.ID] = food
	return food, err
}

// take adds a food with the energy that its figures of that day give it.
func (d *AnimalDay) take(item dayItem, food *Food, at time.Time) {
	line := FoodEaten{Food: item.Food, Name: item.Food, Facility: item.Facility, OfferedG: grams(item.Offered), EatenG: grams(item.Eaten)}
	var figures Figures
	if food != nil {
		line.Name, figures = food.Name, food.At(at)
	}
	if figures.KcalPer100g == nil {
		d.Unknown = append(d.Unknown, line.Name)
	} else {
		kcal := line.EatenG / 100 * *figures.KcalPer100g
		line.Kcal, line.Basis = &kcal, figures.Basis
		total := kcal
		if d.Kcal != nil {
			total += *d.Kcal
		}
		d.Kcal = &total
	}
	d.Items = append(d.Items, line)
}
