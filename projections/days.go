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
	NotTried   int        `json:"trials_refused,omitempty"` // not tried, or left for the water
	Encounters int        `json:"encounters,omitempty"`
	Notes      int        `json:"notes,omitempty"`
	Doses      []Dose     `json:"doses,omitempty"`
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
	Lot      string `json:"lot,omitempty"`
	Offered  int64  `json:"offered_mg"`
	Eaten    int64  `json:"eaten_mg"`
}

// Dose is a supplement given on the day.
type Dose struct {
	Time       time.Time       `json:"time"`
	Facility   string          `json:"facility"`
	Supplement string          `json:"supplement"`
	Dose       events.Quantity `json:"dose"`
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

var days = Daily("days", 3, "animal", []string{
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
		return cmp.Or(cmp.Compare(a.Facility, b.Facility), cmp.Compare(a.Food, b.Food), cmp.Compare(a.Lot, b.Lot))
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
		switch body.Outcome {
		case "met":
			d.Met++
		case "no_try", "swam_off":
			d.NotTried++
		}
	case *events.EncounterSeen:
		d.Encounters++
	case *events.Note, *events.VeterinaryNoted:
		d.Notes++
	case *events.SupplementGiven:
		d.Doses = append(d.Doses, Dose{rec.Time, rec.Facility, body.Supplement, body.Dose})
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
		d.item(dayItem{rec.Facility, item.Food, item.Lot, o, e})
	}
	if eaten > 0 {
		d.LastEaten = &rec.Time
	} else if offered > 0 {
		d.Refusals++
	}
}

func (d *dayRow) item(more dayItem) {
	for i := range d.Items {
		if it := &d.Items[i]; it.Facility == more.Facility && it.Food == more.Food && it.Lot == more.Lot {
			it.Offered, it.Eaten = it.Offered+more.Offered, it.Eaten+more.Eaten
			return
		}
	}
	d.Items = append(d.Items, more)
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
	Short    bool     `json:"-"` // some of it has no known energy
}

func grams(mg int64) float64 { return float64(mg) / 1000 }

// Days lists an animal's logged days from … to, in order.
func (s *Store) Days(animal string, from, to Day, asOf time.Time) (out []AnimalDay, err error) {
	err = s.at(asOf, func(v view) error {
		list, err := rows[dayRow](v, &days, events.Ref{Sort: "animal", ID: animal}, from, to)
		if err != nil {
			return err
		}
		l := newPantry()
		for _, d := range list {
			day, err := v.animalDay(d.Day, d.Row, l)
			if err != nil {
				return err
			}
			out = append(out, day)
		}
		return nil
	})
	return out, err
}

func (v view) animalDay(day Day, r dayRow, l pantry) (AnimalDay, error) {
	out := AnimalDay{Day: day, Items: []FoodEaten{}, SeenOn: r.SeenOn}
	var offered, eaten int64
	for _, item := range r.Items {
		last := day.End(cmp.Or(v.zone(item.Facility), time.UTC)).Add(-1)
		figures, food, err := v.figures(item.Facility, item.Food, item.Lot, last, l)
		if err != nil {
			return out, err
		}
		offered, eaten = offered+item.Offered, eaten+item.Eaten
		out.take(item, food, figures)
	}
	out.sumUp()
	out.OfferedG, out.EatenG, out.RefusedG = grams(offered), grams(eaten), grams(offered-eaten)
	return out, nil
}

// take adds a part of a food with the energy that its figures give it. What
// came from several lots is one line.
func (d *AnimalDay) take(item dayItem, food *Food, figures Figures) {
	line := d.line(item)
	if food != nil {
		line.Name = food.Name
	}
	line.OfferedG, line.EatenG = line.OfferedG+grams(item.Offered), line.EatenG+grams(item.Eaten)
	if figures.KcalPer100g == nil {
		line.Short = true
		return
	}
	kcal := grams(item.Eaten) / 100 * *figures.KcalPer100g
	if line.Kcal != nil {
		kcal += *line.Kcal
	}
	line.Kcal, line.Basis = &kcal, figures.Basis
}

// line finds the line of a food, and adds it where there is none.
func (d *AnimalDay) line(item dayItem) *FoodEaten {
	last := len(d.Items) - 1
	if last >= 0 && d.Items[last].Facility == item.Facility && d.Items[last].Food == item.Food {
		return &d.Items[last] // parts of one food follow each other
	}
	d.Items = append(d.Items, FoodEaten{Food: item.Food, Name: item.Food, Facility: item.Facility})
	return &d.Items[last+1]
}

// sumUp adds the energies. A food that has none known, of one lot or all, is
// named.
func (d *AnimalDay) sumUp() {
	for _, line := range d.Items {
		if line.Short {
			d.Unknown = append(d.Unknown, line.Name)
		}
		if line.Kcal == nil {
			continue
		}
		total := *line.Kcal
		if d.Kcal != nil {
			total += *d.Kcal
		}
		d.Kcal = &total
	}
}
