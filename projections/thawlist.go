package projections

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// FoodPlan is what a day's rations ask of one food, and what there is of it.
type FoodPlan struct {
	Food     string        `json:"food"`
	Name     string        `json:"name"`
	Water    bool          `json:"water,omitempty"` // counts as water: not thawed, no vitamins
	PortionG float64       `json:"portion_g,omitempty"`
	Sessions []SessionMass `json:"sessions"`
	NeedG    float64       `json:"need_g"`    // of the rations
	ReserveG float64       `json:"reserve_g"` // thawed above what is still to be fed
	FedG     float64       `json:"fed_g"`     // offered on the day so far
	NoLotG   float64       `json:"no_lot_g"`  // of that, with no lot written down
	ReadyG   float64       `json:"ready_g"`   // out of the freezer and good until its feed
	TakeOutG float64       `json:"take_out_g"`
	ShortG   float64       `json:"short_g"`   // of that, what no lot within its limit holds
	FrozenG  float64       `json:"frozen_g"`  // within its limit
	PastG    float64       `json:"past_g"`    // past its limit
	DaysLeft *int          `json:"days_left"` // whole days at these rations, from the day on; nil where it lasts beyond a year
	RunsOut  Day           `json:"runs_out,omitempty"`
	Shortage bool          `json:"shortage,omitempty"` // runs out within the days that the house is warned
	Words    []string      `json:"words,omitempty"`
}

// foodNow is a plan on its way: mg by session, in all, and still to take out.
type foodNow struct {
	FoodPlan
	feeds      map[string]int64
	need, open int64
}

// SessionMass is the mass of a food for all buckets of a session.
type SessionMass struct {
	Session string  `json:"session"`
	MassG   float64 `json:"mass_g"`
}

// TakeOut is one line of the thaw list.
type TakeOut struct {
	Lot     string  `json:"lot"`
	Food    string  `json:"food"`
	Name    string  `json:"name"`
	Store   string  `json:"store,omitempty"`
	MassG   float64 `json:"mass_g"`
	LeavesG float64 `json:"leaves_g"` // what is then left of the lot
	Expires string  `json:"expires,omitempty"`
}

// farthest is how many days ahead stock is looked at.
const farthest = 366

// weighed is the step in which fish is taken out of the freezer, in mg.
// Common practice, no source: floor scales read to 100 g.
const weighed = 100_000

// plan works out each food of the rations, takes it from the lots, and lists
// the lots as they then stand.
func (f *fishDay) plan(out *FishRoom) {
	today := f.totals(out.Buckets)
	for _, food := range today {
		f.look(food)
		if !food.Water {
			f.ready(food)
			out.Thaw = append(out.Thaw, f.take(food)...)
			f.ahead(food)
		}
		food.say(int(f.setting("shortage_days")))
		out.Foods = append(out.Foods, food.FoodPlan)
	}
	for _, lot := range f.lots {
		if lot.frozen != 0 {
			lot.stands.TakeOutG = grams(lot.takeOut)
			out.Lots = append(out.Lots, lot.stands)
		}
	}
}

// totals adds up the buckets by food and session, by name of food.
func (f *fishDay) totals(buckets []Bucket) []*foodNow {
	byFood := map[string]*foodNow{}
	for _, b := range buckets {
		for _, s := range b.Servings {
			p := byFood[s.Food]
			if p == nil {
				p = &foodNow{FoodPlan: FoodPlan{Food: s.Food, Name: f.name(s.Food)}, feeds: map[string]int64{}}
				byFood[s.Food] = p
			}
			p.feeds[s.Session] += milligrams(s.MassG)
			p.need += milligrams(s.MassG)
		}
	}
	var out []*foodNow
	for _, food := range sortedKeys(byFood) {
		p := byFood[food]
		for _, session := range sortedKeys(p.feeds) {
			p.Sessions = append(p.Sessions, SessionMass{session, grams(p.feeds[session])})
		}
		out = append(out, p)
	}
	slices.SortStableFunc(out, func(a, b *foodNow) int { return cmp.Compare(a.Name, b.Name) })
	return out
}

// look fills in what is known of a food, whatever is planned.
func (f *fishDay) look(p *foodNow) {
	p.NeedG, p.FedG, p.NoLotG = grams(p.need), grams(f.used.offers[dayFood{f.day, p.Food}]), grams(f.used.noLot[p.Food])
	p.Water, p.PortionG = f.isWater(p.Food), grams(f.figures(p.Food).Portion.Milligrams())
	var frozen, past int64
	for _, lot := range f.lots {
		switch {
		case lot.Food != p.Food || lot.frozen <= 0:
		case lot.usable(f.day):
			frozen += lot.frozen
		default:
			past += lot.frozen
		}
	}
	p.FrozenG, p.PastG = grams(frozen), grams(past)
}

// toFeed is one feed of a food that fish is still wanted for.
type toFeed struct {
	at   time.Time
	mass int64
}

// ready sets against each feed the thawed fish that is good until then, what
// expires first first. What today still needs is set aside before a later day
// is served. What is left open is to be taken out of the freezer.
func (f *fishDay) ready(p *foodNow) {
	pool := f.pool(p.Food)
	if today := DayOf(f.now, f.zone); f.day > today {
		f.draw(f.feedsOn(today, p), pool)
	}
	feeds := f.feedsOn(f.day, p)
	var still int64
	for _, feed := range feeds {
		still += feed.mass
	}
	if reserve := int64(float64(still) * f.setting("thaw_reserve") / 100); reserve > 0 {
		p.ReserveG = grams(reserve)
		feeds = append(feeds, toFeed{feeds[len(feeds)-1].at, reserve})
		still += reserve
	}
	p.open = f.draw(feeds, pool)
	p.ReadyG = grams(still - p.open)
	p.TakeOutG = grams((p.open + weighed - 1) / weighed * weighed)
}

// feedsOn lists the feeds of a day that are still to come, by the rations: what
// was offered is taken off the earliest. A feed at any time may be at once.
func (f *fishDay) feedsOn(day Day, p *foodNow) (out []toFeed) {
	fed := f.used.offers[dayFood{day, p.Food}]
	for _, session := range p.Sessions {
		mass := milligrams(session.MassG)
		took := min(mass, fed)
		fed -= took
		if mass == took {
			continue
		}
		at, err := time.ParseInLocation("2006-01-02 15:04", string(day)+" "+cmp.Or(session.Session, "00:00"), f.zone)
		if err != nil || at.Before(f.at) {
			at = f.at
		}
		out = append(out, toFeed{at, mass - took})
	}
	return out
}

// pool is the thawed fish of a food that may still be fed, what expires first first.
func (f *fishDay) pool(food string) (out []*thawNow) {
	for _, lot := range f.lots {
		for _, t := range lot.thaws {
			if lot.Food == food && !t.clock.Deadline.Before(f.at) {
				out = append(out, &thawNow{t.Thaw, t.left, t.clock})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b *thawNow) int { return a.clock.Deadline.Compare(b.clock.Deadline) })
	return out
}

// draw feeds from the pool and says how much was not to be had, in mg.
func (f *fishDay) draw(feeds []toFeed, pool []*thawNow) (open int64) {
	for _, feed := range feeds {
		for _, t := range pool {
			if !t.clock.Deadline.Before(feed.at) {
				took := min(t.left, feed.mass)
				t.left, feed.mass = t.left-took, feed.mass-took
			}
		}
		open += feed.mass
	}
	return open
}

// take takes a food out of its lots, the first to expire first. A lot that is
// past its last day is left alone.
func (f *fishDay) take(p *foodNow) (out []TakeOut) {
	want, got := milligrams(p.TakeOutG), int64(0)
	for _, lot := range f.lots {
		if lot.Food != p.Food || !lot.usable(f.day) || want == got {
			continue
		}
		lot.takeOut = min(want-got, lot.frozen)
		got += lot.takeOut
		out = append(out, TakeOut{
			Lot: lot.ID, Food: lot.Food, Name: p.Name, Store: lot.Store, MassG: grams(lot.takeOut),
			LeavesG: grams(lot.frozen - lot.takeOut), Expires: lot.stands.Expires,
		})
	}
	p.ShortG = grams(max(0, p.open-got))
	return out
}

// ahead looks how many days the freezer lasts at these rations and the reserve.
// A lot counts until its last day.
func (f *fishDay) ahead(p *foodNow) {
	daily := p.need + int64(float64(p.need)*f.setting("thaw_reserve")/100)
	if daily == 0 {
		return
	}
	last := 0
	if p.ShortG > 0 {
		p.RunsOut, p.DaysLeft = f.day, &last
		return
	}
	left := map[*lotNow]int64{}
	for _, lot := range f.lots {
		if lot.Food == p.Food {
			left[lot] = lot.frozen - lot.takeOut
		}
	}
	for n := 1; n < farthest; n++ {
		if day := f.day.Add(n); !f.lasts(day, daily, left) {
			last = n
			p.RunsOut, p.DaysLeft = day, &last
			return
		}
	}
}

// lasts takes a day's fish out of what is left, and says whether it was enough.
func (f *fishDay) lasts(day Day, want int64, left map[*lotNow]int64) bool {
	for _, lot := range f.lots {
		if left[lot] > 0 && lot.usable(day) {
			took := min(want, left[lot])
			left[lot], want = left[lot]-took, want-took
		}
	}
	return want == 0
}

// say puts what is amiss into words.
func (p *foodNow) say(warned int) {
	if p.Water {
		p.Words = append(p.Words, "counts as water, not as food")
		return
	}
	if p.ShortG > 0 {
		p.Words = append(p.Words, fmt.Sprintf("%s short for the day: %s in the freezer within its last day, %s past it",
			kilograms(milligrams(p.ShortG)), kilograms(milligrams(p.FrozenG)), kilograms(milligrams(p.PastG))))
	}
	if p.ShortG > 0 && p.FrozenG == 0 && p.PastG == 0 {
		p.Words = append(p.Words, "no lot of it holds any; record lot.received when it comes")
	}
	if p.DaysLeft != nil && *p.DaysLeft <= warned {
		p.Shortage = true
	}
	if p.NoLotG > 0 {
		p.Words = append(p.Words, fmt.Sprintf("%s was fed with no lot written down, so a clock may show fish that is gone", kilograms(milligrams(p.NoLotG))))
	}
}
