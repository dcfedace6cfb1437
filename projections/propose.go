package projections

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"time"

	"haulout/events"
	"haulout/projections/energetics"
	"haulout/projections/ration"
)

// ErrAsk says what is wrong with what a proposal was asked for.
var ErrAsk = errors.New("can't be proposed for")

// Ask is what a ration is to be proposed for. Everything but the animal may be
// left out.
type Ask struct {
	Animal string      `json:"animal"`
	Day    Day         `json:"day,omitempty"`    // whose stock counts
	Target *Target     `json:"target,omitempty"` // nil: hold the mass
	Kcal   *float64    `json:"kcal,omitempty"`   // metabolizable energy a day, in place of what the record says
	Foods  []FoodShare `json:"foods,omitempty"`  // in place of the guidance
	Times  []string    `json:"times,omitempty"`  // of the feeds, such as 08:30
}

// Target is a mass to reach by a day.
type Target struct {
	Kg float64 `json:"mass_kg"`
	By Day     `json:"by"`
}

// FoodShare bounds a food's share of the day's mass, in per cent.
type FoodShare struct {
	Food  string   `json:"food"`
	Least float64  `json:"least,omitempty"`
	Most  *float64 `json:"most,omitempty"`
}

// Proposal is a ration in whole portions. It is a planning aid: a lead keeper
// sets it, and veterinarian and nutritionist decide.
type Proposal struct {
	Animal    string               `json:"animal"`
	Facility  string               `json:"facility"`
	Day       Day                  `json:"day"`
	NotEnough string               `json:"not_enough,omitempty"`
	Kcal      float64              `json:"wanted_kcal"`
	Why       string               `json:"wanted_because"`
	Need      *energetics.Interval `json:"need_kcal"`
	MassKg    *energetics.Interval `json:"mass_kg"`
	Items     []ProposedItem       `json:"items"`
	Times     []string             `json:"times"`
	Plan      *ration.Plan         `json:"plan"`
	Within    string               `json:"within"` // whose shares the plan keeps to
	Says      []string             `json:"assumes"`
	Caution   string               `json:"caution"`
}

// ProposedItem is one food of a proposal.
type ProposedItem struct {
	Food     string   `json:"food"`
	Name     string   `json:"name"`
	Portions int      `json:"portions"`
	PortionG float64  `json:"portion_g"`
	Grams    float64  `json:"grams"`
	Kcal     float64  `json:"kcal"`
	Now      *float64 `json:"now_g"` // in the ration in force
	Basis    string   `json:"basis"`
	StockG   float64  `json:"stock_g"` // that the other animals' rations leave
}

// Caution stands beside every proposal.
const Caution = "A proposal is a planning aid. The lead keeper sets the ration; veterinarian and nutritionist decide."

// Propose works out a ration for an animal in care; nil where no such animal is
// known. Now is the moment that is asked from.
func (s *Store) Propose(ask Ask, now, asOf time.Time) (*Proposal, error) {
	a, err := s.Animal(ask.Animal, asOf)
	if err != nil || a == nil {
		return nil, err
	}
	stay := a.Stay(now)
	if stay == nil {
		return nil, fmt.Errorf("%w animal %s: it is in nobody's care now", ErrAsk, a.Name)
	}
	today := DayOf(now, s.Zone(stay.Facility))
	ask.Day = cmp.Or(ask.Day, today)
	e, err := s.Energy(a.ID, today, today, today, asOf)
	if err != nil {
		return nil, err
	}
	p := &proposing{ask: ask, energy: e, zone: s.Zone(stay.Facility), now: now, today: today}
	p.out = &Proposal{Animal: a.ID, Facility: stay.Facility, Day: ask.Day, Need: e.Need, MassKg: e.Mass, Items: []ProposedItem{}, Times: []string{}, Says: []string{}, Caution: Caution}
	err = s.at(asOf, func(v view) error { return p.work(v) })
	return p.out, err
}

// proposing is a proposal on its way.
type proposing struct {
	ask     Ask
	energy  *Energy
	zone    *time.Location
	now     time.Time
	today   Day
	out     *Proposal
	room    *FishRoom
	inForce *Ration
	items   []ration.Item
}

func (p *proposing) work(v view) error {
	// What can't be set can't be proposed: the fact itself judges the times.
	if err := events.CheckTimes(p.ask.Times); err != nil {
		return fmt.Errorf("%w times: %v", ErrAsk, err)
	}
	if err := p.want(); err != nil || p.out.NotEnough != "" {
		return err
	}
	set, err := row[Rations](v, &rations, Scope{Ref: events.Ref{Sort: "animal", ID: p.ask.Animal}})
	if err != nil {
		return err
	}
	p.inForce = set.At(p.now)
	if p.room, err = v.fishRoom(p.out.Facility, p.ask.Day, p.now); err != nil {
		return err
	}
	shares, err := p.shares(v)
	if err != nil || p.out.NotEnough != "" {
		return err
	}
	l := newPantry()
	for _, share := range shares {
		if err := p.add(v, share, l); err != nil {
			return err
		}
	}
	return p.plan()
}

// want says how much energy the ration is to hold.
func (p *proposing) want() error {
	switch ask := p.ask; {
	case ask.Kcal != nil:
		if !(*ask.Kcal > 0) {
			return fmt.Errorf("%w kcal %g: give more than 0", ErrAsk, *ask.Kcal)
		}
		p.out.Kcal, p.out.Why = *ask.Kcal, "as asked for"
	case p.energy.NotEnough != "":
		p.out.NotEnough = p.energy.NotEnough + ". Or say how much energy is wanted"
	case ask.Target != nil:
		return p.reach(*ask.Target)
	default:
		p.out.Kcal, p.out.Why = p.energy.Need.Mean, "what holds its mass, by its own record"
	}
	return nil
}

func (p *proposing) reach(t Target) error {
	if !(t.Kg > 0) {
		return fmt.Errorf("%w target.mass_kg %g: give a mass above 0", ErrAsk, t.Kg)
	}
	if _, err := ParseDay(string(t.By)); err != nil {
		return fmt.Errorf("%w target.by: %v", ErrAsk, err)
	}
	days := int(t.By.number() - p.today.number())
	kcal, why := p.energy.balance.ToReach(t.Kg, days)
	if why != "" {
		return fmt.Errorf("%w target.by %s: %s", ErrAsk, t.By, why)
	}
	weekly := (t.Kg - p.energy.Mass.Mean) / float64(days) * 7
	p.out.Kcal = kcal
	p.out.Why = fmt.Sprintf("what takes it from %.1f kg to %.1f kg by %s, %+.2f kg a week", p.energy.Mass.Mean, t.Kg, t.By, weekly)
	return nil
}

// shares are the foods that may be used: those asked for, else those of the
// guidance in force, else those of the ration in force.
func (p *proposing) shares(v view) ([]FoodShare, error) {
	if len(p.ask.Foods) > 0 {
		p.out.Within = "the shares asked for"
		return p.ask.Foods, nil
	}
	d, err := row[Diets](v, &diets, Scope{Ref: events.Ref{Sort: "animal", ID: p.ask.Animal}})
	if err != nil {
		return nil, err
	}
	month := p.ask.Day.Start(time.UTC)
	if guide := d.at(p.now, month.Format("01")); guide != nil {
		p.out.Within = "the diet guidance of " + string(DayOf(guide.From, cmp.Or(v.zone(guide.Facility), time.UTC))) + " by " + guide.By
		return guide.shares(), nil
	}
	if p.inForce == nil {
		p.out.NotEnough = "no food to choose from: no diet is guided and no ration set. Say which foods"
		return nil, nil
	}
	p.out.Within = "the foods of the ration in force, in any shares; no diet is guided"
	var out []FoodShare
	for _, item := range p.inForce.Items {
		out = append(out, FoodShare{Food: item.Food})
	}
	return out, nil
}

func (g *Guidance) shares() (out []FoodShare) {
	for _, item := range g.Items {
		share := FoodShare{Food: item.Food, Least: item.Least.Float("%")}
		if !item.Most.IsZero() {
			most := item.Most.Float("%")
			share.Most = &most
		}
		out = append(out, share)
	}
	return out
}

// step is what a food without a portion is cut into. Common practice, no
// source: buckets are filled to half a hundred grams.
const step = 50

// add puts a food before the planner, with its energy, stock and cost.
func (p *proposing) add(v view, share FoodShare, l pantry) error {
	f, food, err := v.figures(p.out.Facility, share.Food, p.lot(share.Food), p.now, l)
	if err != nil {
		return err
	}
	if food == nil {
		return fmt.Errorf("%w food %s: it is not described at %s", ErrAsk, share.Food, p.out.Facility)
	}
	kcal, basis, known := f.metabolizable(food.Taxon)
	if !known {
		return fmt.Errorf("%w food %s: its energy is not known; give its composition or an assay", ErrAsk, share.Food)
	}
	if f.isWater() {
		p.out.Says = append(p.out.Says, food.Name+" counts as water and is left out of the plan")
		return nil
	}
	portion := f.Portion.Float("g")
	if portion == 0 {
		portion = step
		p.out.Says = append(p.out.Says, fmt.Sprintf("%s has no portion described; it is cut in steps of %d g", food.Name, step))
	}
	left, due := p.left(share.Food)
	item := ration.Item{
		Name: food.Name, KcalPerKg: kcal * 10, PortionKg: portion / 1000, MinShare: share.Least / 100,
		StockKg: ref(left / 1000), DueKg: due / 1000, CostPerKg: p.cost(v, share.Food, l),
	}
	c := compositionOf(f.Composition)
	if c.Protein+c.Fat+c.Carbohydrate > 0 {
		item.ProteinPerKg, item.FatPerKg = ref(c.Protein*10), ref(c.Fat*10)
	}
	if c.Water > 0 {
		item.WaterPerKg = ref(c.Water * 10)
	}
	if share.Most != nil {
		item.MaxShare = ref(*share.Most / 100)
	}
	shown := ProposedItem{Food: share.Food, Name: food.Name, PortionG: portion, Basis: basis, StockG: left}
	if p.inForce != nil {
		now := p.inForce.of(share.Food)
		yesterday := int(math.Round(now / portion))
		shown.Now, item.Yesterday = &now, &yesterday
	}
	p.items, p.out.Items = append(p.items, item), append(p.out.Items, shown)
	return nil
}

func ref[T any](v T) *T { return &v }

// of is the mass of a food in a day's ration, in grams.
func (r *Ration) of(food string) (g float64) {
	for _, item := range r.Items {
		if item.Food == food {
			g += grams(item.Mass.Milligrams())
		}
	}
	return g
}

// lot is the lot that a food is to be taken from on the day.
func (p *proposing) lot(food string) string {
	for _, take := range p.room.Thaw {
		if take.Food == food {
			return take.Lot
		}
	}
	for _, lot := range p.room.Lots {
		if lot.Food == food && lot.Verdict != "past" && lot.FrozenG > 0 {
			return lot.Lot
		}
	}
	return ""
}

// left is how much of a food the rations of the others leave, in grams, and how
// much of that is thawed and due on the day.
func (p *proposing) left(food string) (left, due float64) {
	for _, lot := range p.room.Lots {
		if lot.Food == food && lot.Verdict != "past" {
			left += max(lot.FrozenG, 0)
		}
	}
	others := 0.0
	for _, plan := range p.room.Foods {
		if plan.Food != food {
			continue
		}
		left += plan.ReadyG
		others = plan.NeedG
		if p.inForce != nil {
			others -= p.inForce.of(food)
		}
	}
	for _, clock := range p.room.Clocks {
		if clock.Food == food && !clock.Past && DayOf(clock.Deadline, p.zone) == p.ask.Day {
			due += clock.LeftG
		}
	}
	others = max(others, 0)
	return max(left-others, 0), max(due-others, 0)
}

// cost is what a kilogram of the lot in use costs; nil where nobody said.
func (p *proposing) cost(v view, food string, l pantry) *float64 {
	lot := l.lots[Local("lot", p.out.Facility, p.lot(food)).ID]
	if lot == nil || lot.Cost.IsZero() {
		return nil
	}
	return ref(lot.Cost.Float("1"))
}

// plan asks the planner and takes over what it says.
func (p *proposing) plan() error {
	p.out.Times = append(p.out.Times, p.ask.Times...)
	if len(p.ask.Times) == 0 && p.inForce != nil {
		p.out.Times = append(p.out.Times, p.inForce.Times...)
	}
	wanted := ration.Wanted{Kcal: p.out.Kcal, Sessions: max(1, len(p.out.Times))}
	if p.out.MassKg != nil {
		wanted.BodyMassKg = &p.out.MassKg.Mean
	} else {
		p.out.Says = append(p.out.Says, "body mass is not known, so the daily ceiling was not held")
	}
	plan, err := ration.Propose(p.items, wanted)
	if err != nil {
		return fmt.Errorf("%w these foods: %v", ErrAsk, err)
	}
	p.out.Plan = &plan
	for i, n := range plan.Portions {
		item := &p.out.Items[i]
		item.Portions, item.Grams = n, float64(n)*item.PortionG
		item.Kcal = item.Grams / 1000 * p.items[i].KcalPerKg
	}
	return nil
}
