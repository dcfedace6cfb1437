package projections

import (
	"cmp"
	"slices"
	"time"

	"haulout/events"
	"haulout/projections/dominance"
)

// metRow is how the animals of an enclosure met on a local day. All of it are
// sums, so a window is the sum of its days.
type metRow struct {
	Pairs   []metPair    `json:"pairs"`
	Watches []metInWatch `json:"watches,omitempty"`
}

// metPair is how two animals met: A sorts before B.
type metPair struct {
	A        string         `json:"a"`
	B        string         `json:"b"`
	Won      int            `json:"won,omitempty"` // by A
	Lost     int            `json:"lost,omitempty"`
	Draws    int            `json:"draws,omitempty"`
	Apart    map[string]int `json:"apart,omitempty"` // kept apart, by the reason
	Contact  int            `json:"contact,omitempty"`
	Injuries int            `json:"injuries,omitempty"`
	Last     time.Time      `json:"last"` // counted or not
}

// metInWatch is how many encounters named a watch, and how many of these came
// to contact. Both count whatever the cause.
type metInWatch struct {
	Watch   string `json:"watch"`
	Met     int    `json:"met"`
	Counted int    `json:"counted,omitempty"` // towards the order
	Contact int    `json:"contact,omitempty"`
}

var hierarchy = Daily("hierarchy", 1, "enclosure", []string{"encounter.seen"}, foldMet)

func foldMet(_ Scope, recs []Record) *metRow {
	if len(recs) == 0 {
		return nil
	}
	out := &metRow{}
	for i := range recs {
		out.add(&recs[i])
	}
	slices.SortFunc(out.Pairs, func(a, b metPair) int { return cmp.Or(cmp.Compare(a.A, b.A), cmp.Compare(a.B, b.B)) })
	slices.SortFunc(out.Watches, func(a, b metInWatch) int { return cmp.Compare(a.Watch, b.Watch) })
	return out
}

func (m *metRow) add(rec *Record) {
	b := rec.Body.(*events.EncounterSeen)
	reason := whyApart(b)
	m.pair(b).add(b, reason, rec.Time)
	if b.Watch == "" {
		return
	}
	w := m.watch(b.Watch)
	w.Met++
	w.Counted += one(reason == "")
	w.Contact += one(contact(b))
}

func (m *metRow) pair(b *events.EncounterSeen) *metPair {
	x, y := min(b.Winner, b.Loser), max(b.Winner, b.Loser)
	for i := range m.Pairs {
		if p := &m.Pairs[i]; p.A == x && p.B == y {
			return p
		}
	}
	m.Pairs = append(m.Pairs, metPair{A: x, B: y})
	return &m.Pairs[len(m.Pairs)-1]
}

func (m *metRow) watch(id string) *metInWatch {
	for i := range m.Watches {
		if m.Watches[i].Watch == id {
			return &m.Watches[i]
		}
	}
	m.Watches = append(m.Watches, metInWatch{Watch: id})
	return &m.Watches[len(m.Watches)-1]
}

func (p *metPair) add(b *events.EncounterSeen, apart string, at time.Time) {
	if at.After(p.Last) {
		p.Last = at
	}
	p.Contact += one(contact(b))
	p.Injuries += one(b.Injury)
	switch {
	case apart != "":
		if p.Apart == nil {
			p.Apart = map[string]int{}
		}
		p.Apart[apart]++
	case b.Draw:
		p.Draws++
	case b.Winner == p.A:
		p.Won++
	default:
		p.Lost++
	}
}

// seenOf is an encounter as the science takes it.
func seenOf(b *events.EncounterSeen) dominance.Seen {
	return dominance.Seen{
		Encounter: dominance.Encounter{Winner: b.Winner, Loser: b.Loser, Undecided: b.Draw},
		Intensity: b.Intensity, Place: b.Place, Cause: b.Cause,
	}
}

// whyApart says why an encounter does not count towards an order, "" where it
// does. What recorders take has no cause that the science does not know.
func whyApart(b *events.EncounterSeen) string {
	_, apart, err := dominance.Sort([]dominance.Seen{seenOf(b)})
	switch {
	case err != nil:
		return err.Error()
	case len(apart) > 0:
		return apart[0].Reason
	}
	return ""
}

// contact says that an encounter came to teeth: a bite, an injury, or one that
// was noted as of high intensity. Common practice, no source.
func contact(b *events.EncounterSeen) bool {
	return b.Signal == "bite" || b.Injury || b.Intensity == "high"
}

func one(yes bool) int {
	if yes {
		return 1
	}
	return 0
}
