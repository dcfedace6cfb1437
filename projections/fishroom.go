package projections

import (
	"cmp"
	"math"
	"slices"
	"time"

	"haulout/events"
	"haulout/projections/rules"
)

// FishRoom is what a facility's fish room needs to know for a day: what to
// thaw, what goes into which bucket, which clocks run, and what is left. It is
// an aid to planning; local law comes first, and the veterinarian and the
// nutritionist decide.
type FishRoom struct {
	Facility string          `json:"facility"`
	Day      Day             `json:"day"`
	At       time.Time       `json:"at"`       // the moment that stock and clocks are of
	Sessions []string        `json:"sessions"` // times of feeds, by the clock of the facility; "" is any time of the day
	Foods    []FoodPlan      `json:"foods"`    // what the rations ask for
	Thaw     []TakeOut       `json:"thaw"`
	Clocks   []ThawClock     `json:"clocks"`
	Buckets  []Bucket        `json:"buckets"`
	Lots     []LotStanding   `json:"lots"`
	Rules    []rules.Setting `json:"rules"`
}

// FishRoom puts a day of a fish room together; nil where the facility is not
// known. A day that is over shows its plan with the stock of its morning, a day
// to come with the stock of now.
func (s *Store) FishRoom(facility string, day Day, now, asOf time.Time) (out *FishRoom, err error) {
	err = s.at(asOf, func(v view) error {
		if v.zone(facility) == nil {
			return nil
		}
		out, err = v.fishRoom(facility, day, now)
		return err
	})
	return out, err
}

// fishDay is what a fish room's day is worked out from.
type fishDay struct {
	v        view
	facility string
	day      Day
	zone     *time.Location
	now      time.Time
	at       time.Time // stock and clocks
	holds    time.Time // rations and housing
	house    rules.House
	foods    map[string]*Food
	pills    []Supplement
	animals  []Animal // that lived there lately, by name
	lots     []*lotNow
	used     *usage
}

func (v view) fishRoom(facility string, day Day, now time.Time) (*FishRoom, error) {
	f := fishDay{v: v, facility: facility, day: day, zone: v.zone(facility), now: now}
	f.setMoments()
	if err := f.read(); err != nil {
		return nil, err
	}
	buckets, err := f.buckets()
	if err != nil {
		return nil, err
	}
	out := &FishRoom{
		Facility: facility, Day: day, At: f.at, Sessions: sessionsOf(buckets), Buckets: buckets,
		Foods: []FoodPlan{}, Thaw: []TakeOut{}, Clocks: f.clocks(), Lots: []LotStanding{},
	}
	f.plan(out)
	for _, name := range rules.Names() {
		out.Rules = append(out.Rules, f.house.Setting(name))
	}
	return out, nil
}

// setMoments says of which moments the day asks.
func (f *fishDay) setMoments() {
	start, last := f.day.Start(f.zone), f.day.End(f.zone).Add(-1)
	f.at = f.now
	if f.now.After(last) {
		f.at = start
	}
	f.holds = f.now
	if f.holds.Before(start) {
		f.holds = start
	} else if f.holds.After(last) {
		f.holds = last
	}
}

func (f *fishDay) read() error {
	set, err := f.v.houseValues(f.facility, f.holds)
	if err != nil {
		return err
	}
	f.house = set
	if f.pills, err = f.v.supplements(f.facility); err != nil {
		return err
	}
	all, err := every[Food](f.v, &foods)
	if err != nil {
		return err
	}
	f.foods = map[string]*Food{}
	for i := range all {
		if all[i].Facility == f.facility {
			f.foods[all[i].ID] = &all[i]
		}
	}
	if err := f.readAnimals(); err != nil {
		return err
	}
	if f.used, err = f.readUsage(); err != nil {
		return err
	}
	return f.readLots()
}

// readAnimals finds who lived at the facility in the days that thawed fish is
// followed over, so that what they were fed is not missed after they left.
func (f *fishDay) readAnimals() error {
	all, err := every[Animal](f.v, &animals)
	if err != nil {
		return err
	}
	since := f.since().Start(f.zone)
	for _, a := range all {
		here := slices.ContainsFunc(a.Stays, func(s Stay) bool {
			return s.Facility == f.facility && !s.From.After(f.holds) && (s.Until == nil || s.Until.After(since))
		})
		if here {
			f.animals = append(f.animals, a)
		}
	}
	slices.SortFunc(f.animals, func(a, b Animal) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	return nil
}

// since is the first day whose feeds and thaws are followed: twice as many days
// back as clocks are shown for, so that what an older thaw was used for is not
// taken for the use of a newer one.
func (f *fishDay) since() Day {
	return DayOf(f.at, f.zone).Add(-2 * int(f.setting("clocks_kept")))
}

// setting is the value in force of a rule.
func (f *fishDay) setting(rule string) float64 { return f.house.Setting(rule).InForce }

// name is what keepers call a food.
func (f *fishDay) name(food string) string {
	if known := f.foods[food]; known != nil {
		return known.Name
	}
	return food
}

// figures is what a food holds on the day; nothing where it was never described.
func (f *fishDay) figures(food string) Figures {
	if known := f.foods[food]; known != nil {
		return known.At(f.holds)
	}
	return Figures{}
}

// isWater says that a food counts as water, as ice and sugar-free gelatin do.
func (f *fishDay) isWater(food string) bool {
	return f.figures(food).Composition.Water.Float("g") >= f.setting("water_from")
}

// milligrams turns a row's grams back into the whole number they were made from.
func milligrams(g float64) int64 { return int64(math.Round(g * 1000)) }

// usage is what went out of thawed fish lately.
type usage struct {
	byLot  map[string][]used // in order of day
	offers map[dayFood]int64 // mg
	noLot  map[string]int64  // of what was offered on the day that is asked for, without a lot
	doses  map[string][]Dose // by animal, on the day
}

type dayFood struct {
	day  Day
	food string
}

type used struct {
	day  Day
	mass int64 // mg
}

// readUsage adds up what was offered. Of a day that is over, the day itself is
// left out, since its plan is shown as it was in the morning.
func (f *fishDay) readUsage() (*usage, error) {
	out := &usage{map[string][]used{}, map[dayFood]int64{}, map[string]int64{}, map[string][]Dose{}}
	last := max(f.day, DayOf(f.at, f.zone))
	for _, a := range f.animals {
		list, err := shared[dayRow](f.v, &days, events.Ref{Sort: "animal", ID: a.ID}, f.since(), last)
		if err != nil {
			return nil, err
		}
		for _, d := range list {
			f.use(out, a.ID, d.Day, d.Row)
		}
	}
	for _, list := range out.byLot {
		slices.SortStableFunc(list, func(a, b used) int { return cmp.Compare(a.day, b.day) })
	}
	return out, nil
}

func (f *fishDay) use(out *usage, animal string, day Day, row *dayRow) {
	if day == f.day {
		out.doses[animal] = row.Doses
	}
	over := f.at.Equal(f.day.Start(f.zone)) && day == f.day
	for _, item := range row.Items {
		if item.Facility != f.facility || over {
			continue
		}
		if item.Lot != "" {
			out.byLot[item.Lot] = append(out.byLot[item.Lot], used{day, item.Offered})
		}
		out.offers[dayFood{day, item.Food}] += item.Offered
		if day == f.day && item.Lot == "" {
			out.noLot[item.Food] += item.Offered
		}
	}
}
