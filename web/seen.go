package web

import (
	"time"

	"haulout/projections"
)

// lookBack is how many days before today a table looks for the last of a thing
// before it asks the longer list of weights.
const lookBack = 14

// seen is what is known of an animal today and of the days just before.
type seen struct {
	today  *projections.AnimalDay // nil where nothing is logged yet
	coat   *projections.CoatSeen
	fed    *time.Time
	weight *projections.Weighing
	ration *projections.Ration

	ate      time.Time // last, or when it was first offered food in the days looked at
	refused  time.Time // everything, last
	refusals int       // of whole feeds, since it ate
}

func (s *site) seen(id string, day projections.Day, now time.Time) (out seen, err error) {
	list, err := s.Store.Days(id, day.Add(-lookBack), day, time.Time{})
	if err != nil {
		return out, err
	}
	for i := range list {
		out.see(&list[i], day)
	}
	if out.weight == nil {
		weights, err := s.Store.Weights(id, day.Add(-730), day, time.Time{})
		if err != nil {
			return out, err
		}
		if n := len(weights); n > 0 {
			out.weight = &weights[n-1]
		}
	}
	out.ration, err = s.Store.Ration(id, now, time.Time{})
	return out, err
}

// see takes in one day; the days come in order.
func (n *seen) see(d *projections.AnimalDay, today projections.Day) {
	if d.Day == today {
		n.today = d
	}
	if d.Coat != nil {
		n.coat = d.Coat
	}
	if d.LastFed != nil {
		n.fed = d.LastFed
	}
	if d.Weighed != nil {
		n.weight = d.Weighed
	}
	n.appetite(d)
}

// appetite follows when it last ate and what it refused since.
func (n *seen) appetite(d *projections.AnimalDay) {
	if d.LastFed == nil {
		return
	}
	if n.ate.IsZero() {
		n.ate = *d.FirstFed
	}
	if d.LastEaten != nil {
		n.ate, n.refused, n.refusals = *d.LastEaten, time.Time{}, 0
	}
	if d.Refusals > 0 && d.LastFed.After(n.ate) {
		n.refused, n.refusals = *d.LastFed, n.refusals+d.Refusals
	}
}

// feeds is how often the animal was fed today.
func (n *seen) feeds() int {
	if n.today == nil {
		return 0
	}
	return n.today.Feeds
}

// done says that today's ration was offered and the animal was looked over.
func (n *seen) done() bool {
	if n.today == nil || n.today.Check == nil || n.today.Feeds == 0 {
		return false
	}
	return n.ration == nil || tenths(n.today.OfferedG) >= tenths(n.ration.Grams())
}
