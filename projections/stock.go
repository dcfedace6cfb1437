package projections

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"haulout/events"
	"haulout/projections/rules"
)

// LotStanding is a lot in the freezer: how old, how much, what it holds.
type LotStanding struct {
	Lot         string        `json:"lot"`
	Food        string        `json:"food"`
	Name        string        `json:"name"`
	Received    time.Time     `json:"received"`
	Caught      string        `json:"caught,omitempty"`
	UseBy       string        `json:"use_by,omitempty"`
	Store       string        `json:"store,omitempty"`
	ReceivedG   float64       `json:"received_g"`
	FrozenG     float64       `json:"frozen_g"`
	AgeDays     *int          `json:"age_days"` // since the day that its limit is counted from; nil where there is none
	Storage     rules.Storage `json:"storage"`
	Expires     string        `json:"expires,omitempty"`    // the last day it may be used on
	ExpiresBy   string        `json:"expires_by,omitempty"` // use_by or storage
	Verdict     string        `json:"verdict"`              // within, past or unknown
	TakeOutG    float64       `json:"take_out_g"`
	FatG        *float64      `json:"fat_g"` // in 100 g
	KcalPer100g *float64      `json:"kcal_per_100g"`
	Basis       string        `json:"basis,omitempty"`
	Figures     string        `json:"figures"` // where they come from
	Assayed     *time.Time    `json:"assayed,omitempty"`
	Words       []string      `json:"words,omitempty"`
}

// lotNow is a lot as it is at a moment.
type lotNow struct {
	Lot
	frozen  int64 // mg, below 0 where more was written down than came
	takeOut int64
	thaws   []*thawNow
	stands  LotStanding
}

// readLots reads the lots that had come in by then, the first to expire first.
func (f *fishDay) readLots() error {
	all, err := f.v.lots(f.facility)
	if err != nil {
		return err
	}
	for _, lot := range all {
		if lot.Received.After(f.at) {
			continue
		}
		now := &lotNow{Lot: lot, frozen: lot.frozenAt(f.at), thaws: f.thawsOf(&lot)}
		now.stands = f.standing(&lot, now.frozen)
		f.lots = append(f.lots, now)
	}
	slices.SortStableFunc(f.lots, func(a, b *lotNow) int {
		return cmp.Or(
			cmp.Compare(cmp.Or(a.stands.Expires, "9999"), cmp.Or(b.stands.Expires, "9999")),
			a.Received.Compare(b.Received), cmp.Compare(a.ID, b.ID))
	})
	return nil
}

// frozenAt is what was in the freezer at a moment, in mg.
func (l *Lot) frozenAt(at time.Time) int64 {
	left := l.Mass.Milligrams()
	for _, t := range l.Thaws {
		if !t.Time.After(at) {
			left -= milligrams(t.MassG)
		}
	}
	for _, d := range l.Discards {
		if !d.Thawed && !d.Time.After(at) {
			left -= milligrams(d.MassG)
		}
	}
	return left
}

func (f *fishDay) standing(lot *Lot, frozen int64) LotStanding {
	out := LotStanding{
		Lot: lot.ID, Food: lot.Food, Name: f.name(lot.Food), Received: lot.Received, Caught: lot.Caught, UseBy: lot.UseBy, Store: lot.Store,
		ReceivedG: grams(lot.Mass.Milligrams()), FrozenG: grams(frozen),
	}
	f.analyse(&out, lot)
	out.Storage = rules.Keep(out.FatG, lot.Caught, string(DayOf(lot.Received, f.zone)), f.house)
	if from, err := time.Parse(time.DateOnly, out.Storage.From); err == nil {
		age := int(f.day.Start(time.UTC).Sub(from).Hours() / 24)
		out.AgeDays = &age
	}
	f.expire(&out)
	if frozen < 0 {
		out.Words = append(out.Words, fmt.Sprintf("%s more is written down as taken out than came in; weigh what is there and correct the entries", kilograms(-frozen)))
	}
	return out
}

// analyse takes the newest assay of a lot before the figures of its food.
func (f *fishDay) analyse(out *LotStanding, lot *Lot) {
	table := f.figures(lot.Food)
	figures, fat := table, table.Composition.Fat
	out.Figures = "the food's figures, no assay"
	for i := range lot.Assays {
		a := &lot.Assays[i]
		if a.Time.After(f.at) {
			break
		}
		figures = figuresOf(&events.FoodDescribed{Composition: a.Composition, Energy: a.Energy, Basis: a.Basis, Form: table.Form, Factors: table.Factors}, a.Time)
		fat, out.Figures, out.Assayed = cmp.Or(a.Composition.Fat, table.Composition.Fat), "assay of this lot", &a.Time
	}
	if table.Source == "" && out.Assayed == nil {
		out.Figures = "no figures"
	}
	out.KcalPer100g, out.Basis = figures.KcalPer100g, figures.Basis
	if !fat.IsZero() {
		g := fat.Float("g")
		out.FatG = &g
	}
}

// expire takes the date on the box where there is one, else the storage limit;
// months that the house set itself hold even where the box says longer.
func (f *fishDay) expire(out *LotStanding) {
	limit := out.Storage.Until
	out.Expires, out.ExpiresBy = out.UseBy, "use_by"
	if out.UseBy == "" || (out.Storage.Own && limit != "" && limit < out.UseBy) {
		out.Expires, out.ExpiresBy = limit, "storage"
	}
	switch {
	case out.Expires == "":
		out.Verdict, out.ExpiresBy = "unknown", ""
		out.Words = append(out.Words, "no last day is known; look at the box")
	case string(f.day) > out.Expires:
		out.Verdict = "past"
		out.Words = append(out.Words, "past its last day and not planned with; the veterinarian or nutritionist decides what becomes of it")
	default:
		out.Verdict = "within"
	}
	if out.Verdict == "within" && out.Storage.Verdict(string(f.day)) == "past" {
		out.Words = append(out.Words, fmt.Sprintf("older than the storage limit, %s, though the box says %s; ask the nutritionist", limit, out.UseBy))
	}
}

// usable says that a lot may be planned with on a day.
func (l *lotNow) usable(day Day) bool {
	return l.frozen > 0 && (l.stands.Expires == "" || string(day) <= l.stands.Expires)
}

// kilograms writes milligrams as kg to 0.1.
func kilograms(mg int64) string { return fmt.Sprintf("%.1f\u00a0kg", float64(mg)/1e6) }
