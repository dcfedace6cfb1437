package projections

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"time"

	"haulout/events"
)

// Bucket is what one animal is to get on a day, session by session.
type Bucket struct {
	Animal    string        `json:"animal"`
	Name      string        `json:"name"`
	Tape      int           `json:"tape,omitempty"`
	Enclosure string        `json:"enclosure,omitempty"`
	Missing   string        `json:"missing,omitempty"` // why there is no bucket
	Since     *time.Time    `json:"since,omitempty"`   // from when the ration holds
	Reason    string        `json:"reason,omitempty"`
	Servings  []Serving     `json:"servings"`
	FoodG     float64       `json:"food_g"`  // the day's mass, less what counts as water
	WaterG    float64       `json:"water_g"` // ice and sugar-free gelatin
	Vitamins  []VitaminOwed `json:"vitamins"`
	Doses     []Dose        `json:"doses"` // given on the day
}

// Serving is one food of one session of one bucket.
type Serving struct {
	Session  string  `json:"session"` // a time, or "" for any time of the day
	Food     string  `json:"food"`
	MassG    float64 `json:"mass_g"`
	Portions int     `json:"portions,omitempty"` // whole ones, where the food has a portion
}

// cut is the step in which a food without a portion is weighed out, in mg.
// Common practice, no source: bucket scales read to 10 g.
const cut = 10_000

// buckets makes one for every animal that is housed at the facility.
func (f *fishDay) buckets() ([]Bucket, error) {
	out := []Bucket{}
	for i := range f.animals {
		a := &f.animals[i]
		stay := a.Stay(f.holds)
		if stay == nil || stay.Facility != f.facility {
			continue
		}
		b := Bucket{Animal: a.ID, Name: a.Name, Tape: a.Tape, Servings: []Serving{}, Vitamins: []VitaminOwed{}, Doses: []Dose{}}
		if place := a.Place(f.holds); place != nil {
			b.Enclosure = place.Enclosure
		}
		set, err := row[Rations](f.v, &rations, Scope{Ref: events.Ref{Sort: "animal", ID: a.ID}})
		if err != nil {
			return nil, err
		}
		f.fill(&b, set)
		out = append(out, b)
	}
	return out, nil
}

func (f *fishDay) fill(b *Bucket, set *Rations) {
	b.Doses = append(b.Doses, f.used.doses[b.Animal]...)
	var ration *Ration
	if set != nil {
		ration = set.At(f.holds)
	}
	switch {
	case ration == nil:
		b.Missing = "no ration is set"
		return
	case ration.Facility != f.facility:
		b.Missing = fmt.Sprintf("its ration was set at %s; set it here with ration.set", ration.Facility)
		return
	}
	since := ration.From
	b.Since, b.Reason = &since, ration.Reason
	var food, water int64
	for _, item := range ration.Items {
		mass := item.Mass.Milligrams()
		b.Servings = append(b.Servings, f.serve(item.Food, mass, ration.Times)...)
		if f.isWater(item.Food) {
			water += mass
		} else {
			food += mass
		}
	}
	slices.SortStableFunc(b.Servings, func(a, c Serving) int { return cmp.Compare(a.Session, c.Session) })
	b.FoodG, b.WaterG = grams(food), grams(water)
	b.Vitamins = f.vitamins(b)
}

// serve shares a food's mass among the feeds of the day.
func (f *fishDay) serve(food string, mass int64, times []string) []Serving {
	if len(times) == 0 {
		times = []string{""}
	}
	portion := f.figures(food).Portion.Milligrams()
	step := portion
	if step <= 0 {
		step = cut
	}
	var out []Serving
	for i, mg := range share(mass, step, len(times)) {
		s := Serving{Session: times[i], Food: food, MassG: grams(mg)}
		if portion > 0 {
			s.Portions = int(mg / portion)
		}
		out = append(out, s)
	}
	return out
}

// share splits a mass among n feeds in whole steps. What does not come out even
// goes to the earlier feeds, and what is less than a step to the first, so that
// the parts are the whole again.
func share(mass, step int64, n int) []int64 {
	out := make([]int64, n)
	steps, rest := mass/step, mass%step
	for i := range out {
		out[i] = steps / int64(n) * step
		if int64(i) < steps%int64(n) {
			out[i] += step
		}
	}
	out[0] += rest
	return out
}

// sessionsOf lists the times at which anybody is fed, in order of the day.
func sessionsOf(buckets []Bucket) []string {
	seen := map[string]bool{}
	for _, b := range buckets {
		for _, s := range b.Servings {
			seen[s.Session] = true
		}
	}
	return append([]string{}, slices.Sorted(maps.Keys(seen))...)
}
