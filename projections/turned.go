package projections

import (
	"slices"
	"time"

	"haulout/events"
	"haulout/projections/dominance"
)

// TurnedPair is a pair in which lately the other one yields. The encounters are
// those of the last days, newest first.
type TurnedPair struct {
	Rose       string          `json:"rose"`
	Fell       string          `json:"fell"`
	NameRose   string          `json:"name_rose"`
	NameFell   string          `json:"name_fell"`
	Since      Day             `json:"since"` // from when on lately counts
	Won        int             `json:"won"`   // by the one that rose, lately
	Lost       int             `json:"lost"`
	WonBefore  int             `json:"won_before"`
	LostBefore int             `json:"lost_before"`
	Direction  float64         `json:"direction"`
	Encounters []EncounterLine `json:"encounters"`
}

// EncounterLine is one encounter as it counts.
type EncounterLine struct {
	Entry     string    `json:"entry"`
	Time      time.Time `json:"time"`
	Winner    string    `json:"winner"`
	Loser     string    `json:"loser"`
	Draw      bool      `json:"draw,omitempty"`
	Signal    string    `json:"signal,omitempty"`
	Intensity string    `json:"intensity,omitempty"`
	Place     string    `json:"place,omitempty"`
	Cause     string    `json:"cause,omitempty"`
	Injury    bool      `json:"injury,omitempty"`
	By        string    `json:"by"`
}

// lateDays is how many days are held against those before.
func lateDays() int { return int(dominance.Assumed("lately").Value) }

// turned finds the pairs that changed in the last days of the window.
func (o *ordering) turned(v view) (out []TurnedPair, err error) {
	since := o.out.To.Add(1 - lateDays())
	if since <= o.out.From || len(o.ids) < 2 {
		return nil, nil
	}
	cut, _ := slices.BinarySearchFunc(o.met, since, func(d dated[*metRow], day Day) int { return compareDays(d.Day, day) })
	before, err := v.pairSums(o.ref(), o.out.From, since.Add(-1))
	if err != nil {
		return nil, err
	}
	now, err := v.pairSums(o.ref(), since, o.out.To)
	if err != nil {
		return nil, err
	}
	turns, err := dominance.Turned(matrixOf(o.ids, o.names, before), matrixOf(o.ids, o.names, now))
	if err != nil {
		return nil, err
	}
	for _, t := range turns {
		p := TurnedPair{
			Rose: o.ids[o.row(t.Rose)], Fell: o.ids[o.row(t.Fell)], NameRose: t.Rose, NameFell: t.Fell, Since: since,
			Won: t.Lately.Won, Lost: t.Lately.Lost, WonBefore: t.Before.Won, LostBefore: t.Before.Lost, Direction: t.Lately.Direction,
		}
		if p.Encounters, err = v.encountersOf(o.ref(), p.Rose, p.Fell, o.met[cut:]); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

func compareDays(a, b Day) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// encountersOf lists the encounters of two animals on days that have any, those
// kept apart left out.
func (v view) encountersOf(enclosure events.Ref, a, b string, days []dated[*metRow]) (out []EncounterLine, err error) {
	pair := pairOf(a, b)
	out = []EncounterLine{}
	for _, day := range slices.Backward(days) {
		if !slices.ContainsFunc(day.Row.Pairs, func(p metPair) bool { return p.A == pair[0] && p.B == pair[1] }) {
			continue
		}
		recs, err := v.records(&hierarchy, Scope{enclosure, day.Day}, nil)
		if err != nil {
			return nil, err
		}
		for _, rec := range slices.Backward(recs) {
			if body := rec.Body.(*events.EncounterSeen); pairOf(body.Winner, body.Loser) == pair && whyApart(body) == "" {
				out = append(out, encounterLine(&rec))
			}
		}
	}
	return out, nil
}

func encounterLine(rec *Record) EncounterLine {
	b := rec.Body.(*events.EncounterSeen)
	return EncounterLine{rec.ID, rec.Time, b.Winner, b.Loser, b.Draw, b.Signal, b.Intensity, b.Place, b.Cause, b.Injury, rec.Author}
}

// ContactRates are how often encounters came to contact while somebody watched
// with known effort, an animal-hour: lately and before.
type ContactRates struct {
	Since  Day         `json:"since"`
	From   Day         `json:"from"` // of the time before
	Lately ContactRate `json:"lately"`
	Before ContactRate `json:"before"`
	Rising bool        `json:"rising"`
	Note   string      `json:"note"` // what can be said, or why nothing can
}

// ContactRate is a rate with its range, 9 in 10; null where nobody watched.
type ContactRate struct {
	Contacts int      `json:"contacts"`
	Watches  int      `json:"watches"`
	Hours    float64  `json:"animal_hours"`
	PerHour  *float64 `json:"an_animal_hour"`
	Low      *float64 `json:"low"`
	High     *float64 `json:"high"`
}

// contactRates compares watches of an enclosure up to a day. It looks across
// periods: whether an introduction was followed by more contact is the question.
func (v view) contactRates(enclosure events.Ref, to Day) (out ContactRates, err error) {
	out.Since = to.Add(1 - lateDays())
	out.From = out.Since.Add(-int(dominance.Assumed("compared").Value))
	held, err := shared[watchedRow](v, &watches, enclosure, out.From, to)
	if err != nil {
		return out, err
	}
	met, err := shared[metRow](v, &hierarchy, enclosure, out.From, to)
	if err != nil {
		return out, err
	}
	contacts := map[string]int{}
	for _, day := range met {
		for _, w := range day.Row.Watches {
			contacts[w.Watch] += w.Contact
		}
	}
	for _, day := range held {
		side := &out.Before
		if day.Day >= out.Since {
			side = &out.Lately
		}
		for _, w := range day.Row.Watches {
			side.take(w, contacts[w.ID])
		}
	}
	return out, out.compare()
}

// take adds a watch, where it has known effort.
func (r *ContactRate) take(w Watch, contacts int) {
	if !w.Effort() {
		return
	}
	for _, tally := range w.Counts {
		if tally.Signal == "bite" {
			contacts += tally.Count
		}
	}
	r.Watches++
	r.Contacts += contacts
	r.Hours += w.Hours() * float64(len(w.Animals))
}

func (r *ContactRates) compare() error {
	for _, side := range []*ContactRate{&r.Lately, &r.Before} {
		if mean, low, high, ok := (dominance.Rate{Events: side.Contacts, Hours: side.Hours}).PerHour(); ok {
			side.PerHour, side.Low, side.High = &mean, &low, &high
		}
	}
	p, ok, err := dominance.Rising(dominance.Rate{Events: r.Before.Contacts, Hours: r.Before.Hours}, dominance.Rate{Events: r.Lately.Contacts, Hours: r.Lately.Hours})
	if err != nil {
		return err
	}
	switch {
	case !ok:
		r.Note = "too little was watched with known effort to compare"
	case p <= dominance.Assumed("rising").Value:
		r.Rising, r.Note = true, "more contact an animal-hour lately than before"
	default:
		r.Note = "no more contact an animal-hour lately than chance allows"
	}
	return nil
}
