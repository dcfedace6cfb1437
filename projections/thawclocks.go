package projections

import (
	"cmp"
	"slices"
	"time"

	"haulout/projections/rules"
)

// ThawClock is fish that was thawed lately and is not accounted for.
type ThawClock struct {
	Thaw  string  `json:"thaw"` // id of the entry that took it out
	Lot   string  `json:"lot"`
	Food  string  `json:"food"`
	Name  string  `json:"name"`
	How   string  `json:"how"`
	TookG float64 `json:"took_g"`
	UsedG float64 `json:"used_g"` // offered from the lot, or discarded
	LeftG float64 `json:"left_g"`
	Past  bool    `json:"past,omitempty"` // its deadline is over at the moment that is asked for
	rules.Clock
	Removed  time.Time  `json:"removed"`
	Complete *time.Time `json:"complete,omitempty"`
}

// clocks lists what was thawed in the last days and not used up, by deadline.
func (f *fishDay) clocks() []ThawClock {
	out := []ThawClock{}
	kept := DayOf(f.at, f.zone).Add(-int(f.setting("clocks_kept"))).Start(f.zone)
	least := int64(f.setting("clocks_least") * 1000)
	for _, lot := range f.lots {
		for _, t := range lot.thaws {
			if t.left < max(least, 1) || t.Time.Before(kept) {
				continue
			}
			out = append(out, ThawClock{
				Thaw: t.ID, Lot: lot.ID, Food: lot.Food, Name: f.name(lot.Food), How: t.How, TookG: t.MassG,
				UsedG: grams(milligrams(t.MassG) - t.left), LeftG: grams(t.left), Past: t.clock.Deadline.Before(f.at),
				Clock: t.clock, Removed: t.Time, Complete: t.Complete,
			})
		}
	}
	slices.SortStableFunc(out, func(a, b ThawClock) int {
		return cmp.Or(a.Deadline.Compare(b.Deadline), cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Thaw, b.Thaw))
	})
	return out
}

// thawNow is a thaw with what is left of it.
type thawNow struct {
	Thaw
	left  int64 // mg
	clock rules.Clock
}

// thawsOf follows the thaws of a lot: what was offered from the lot or
// discarded on a day came out of the oldest thaw that there was by then.
func (f *fishDay) thawsOf(lot *Lot) (out []*thawNow) {
	since := f.since().Start(f.zone)
	for _, t := range lot.Thaws {
		if t.Time.After(f.at) || t.Time.Before(since) {
			continue
		}
		if t.Complete != nil && t.Complete.After(f.at) {
			t.Complete = nil
		}
		c := rules.ThawClock(rules.Thaw{Removed: t.Time, Complete: t.Complete, How: t.How}, f.house)
		out = append(out, &thawNow{t, milligrams(t.MassG), c})
	}
	for _, u := range f.usesOf(lot) {
		for _, t := range out {
			if DayOf(t.Time, f.zone) > u.day || u.mass == 0 {
				break
			}
			took := min(t.left, u.mass)
			t.left, u.mass = t.left-took, u.mass-took
		}
	}
	return out
}

func (f *fishDay) usesOf(lot *Lot) []used {
	out := slices.Clone(f.used.byLot[lot.ID])
	for _, d := range lot.Discards {
		if d.Thawed && !d.Time.After(f.at) {
			out = append(out, used{DayOf(d.Time, f.zone), milligrams(d.MassG)})
		}
	}
	slices.SortStableFunc(out, func(a, b used) int { return cmp.Compare(a.day, b.day) })
	return out
}
