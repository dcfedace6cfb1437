package colony

import (
	"encoding/json"
	"strings"
	"time"

	"haulout/events"
)

// repair is a slip of the hand that somebody noticed and puts right on a day.
type repair struct {
	due   int // day
	entry string
	// what was noted instead, where the entry named the wrong animal
	kind    string
	at      time.Time
	instead events.Body
	// what puts it right
	corrected *events.EntryCorrected
	withdrawn string // reason
}

// slips says whether this one goes wrong. In the last days, and on what comes
// late, nobody would have noticed yet.
func (d *day) slips(device string, chance float64) bool {
	if !d.chance(chance) || d.n > d.c.days-7 {
		return false
	}
	late := d.c.plan.LateTablet
	return device != late.Device || d.midnight.AddDate(0, 0, 2).Before(late.From) || d.midnight.After(late.To)
}

func (d *day) notice(r repair) {
	r.due = d.n + int(d.between(0, 4))
	d.repairs = append(d.repairs, r)
}

func raw(body events.Body) json.RawMessage {
	data, err := json.Marshal(body)
	if err != nil {
		panic("colony: a correction can't be written: " + err.Error())
	}
	return data
}

// jotFeed notes a feed, and now and then wrongly.
func (d *day) jotFeed(m meal, right events.FeedGiven) {
	device := d.tablet(m.animal)
	if !d.slips(device, 0.009) {
		d.jot(device, m.at, "feed.given", right)
		return
	}
	switch d.draw([]float64{3, 3, 2, 2}) {
	case 0:
		d.slipDecimal(device, m.at, right)
	case 1:
		d.slipTime(device, m.at, right)
	case 2:
		d.jot(device, m.at, "feed.given", right)
		again := d.jotLater(device, m.at, m.at.Add(30*time.Second), "feed.given", right)
		d.notice(repair{entry: again, withdrawn: "noted twice"})
	case 3:
		d.slipAnimal(device, m, right)
	}
}

func (d *day) slipDecimal(device string, at time.Time, right events.FeedGiven) {
	wrong := right
	wrong.Items = append(wrong.Items[:0:0], right.Items...)
	i := d.IntN(len(wrong.Items))
	wrong.Items[i].Offered, wrong.Items[i].Eaten = tenfold(wrong.Items[i].Offered), tenfold(wrong.Items[i].Eaten)
	entry := d.jot(device, at, "feed.given", wrong)
	d.notice(repair{corrected: &events.EntryCorrected{Entry: entry, Data: raw(right), Reason: "decimal point slipped"}})
}

// tenfold moves the point of a written mass by one place.
func tenfold(q events.Quantity) events.Quantity {
	whole, places, _ := strings.Cut(q.Value, ".")
	q.Value = strings.TrimLeft(whole+places[:1], "0") + "." + places[1:]
	if strings.HasPrefix(q.Value, ".") {
		q.Value = "0" + q.Value
	}
	q.Value = strings.TrimSuffix(q.Value, ".")
	return q
}

func (d *day) slipTime(device string, at time.Time, right events.FeedGiven) {
	wrong := at.Add(-time.Duration(d.between(1, 5)) * time.Hour)
	entry := d.jotLater(device, wrong, at, "feed.given", right)
	d.notice(repair{corrected: &events.EntryCorrected{Entry: entry, Data: raw(right), Time: instant(at), Reason: "wrong time"}})
}

// slipAnimal notes a feed for a neighbour: withdrawn, and noted anew.
func (d *day) slipAnimal(device string, m meal, right events.FeedGiven) {
	wrong := right
	wrong.Animal = d.neighbour(m.animal)
	entry := d.jot(device, m.at, "feed.given", wrong)
	d.notice(repair{entry: entry, withdrawn: "wrong animal", kind: "feed.given", at: m.at, instead: right})
}

// neighbour is another animal of the facility that eats fish.
func (d *day) neighbour(a *animal) string {
	for {
		if b := pick(d.dice, d.animals); b != a && !b.nursing(d.date) {
			return b.id
		}
	}
}

func (d *day) jotWeight(a *animal, at time.Time, right events.WeightTaken) {
	device := d.tablet(a)
	if !d.slips(device, 0.02) {
		d.jot(device, at, "weight.taken", right)
		return
	}
	wrong := right
	if d.chance(0.3) {
		wrong.Animal = d.neighbour(a)
		entry := d.jot(device, at, "weight.taken", wrong)
		d.notice(repair{entry: entry, withdrawn: "wrong animal", kind: "weight.taken", at: at, instead: right})
		return
	}
	wrong.Mass = tenfold(right.Mass)
	entry := d.jot(device, at, "weight.taken", wrong)
	d.notice(repair{corrected: &events.EntryCorrected{Entry: entry, Data: raw(right), Reason: "decimal point slipped"}})
}

func (d *day) jotCheck(a *animal, at time.Time, body events.CheckMade) (entry string) {
	device := d.tablet(a)
	entry = d.jot(device, at, "check.made", body)
	if d.slips(device, 0.004) {
		again := d.jotLater(device, at, at.Add(25*time.Second), "check.made", body)
		d.notice(repair{entry: again, withdrawn: "noted twice"})
	}
	return entry
}

// jotEncounter notes now and then the two animals the wrong way round.
func (d *day) jotEncounter(device string, at time.Time, right events.EncounterSeen) {
	if right.Draw || !d.slips(device, 0.006) {
		d.jot(device, at, "encounter.seen", right)
		return
	}
	wrong := right
	wrong.Winner, wrong.Loser = right.Loser, right.Winner
	entry := d.jot(device, at, "encounter.seen", wrong)
	d.notice(repair{corrected: &events.EntryCorrected{Entry: entry, Data: raw(right), Reason: "the two the wrong way round"}})
}

// repair puts right what was noticed by today, in the evening at the office.
func (d *day) repair() {
	left := d.repairs[:0:0]
	for _, r := range d.repairs {
		if r.due > d.n {
			left = append(left, r)
			continue
		}
		d.putRight(r, d.about(18.7, 6))
	}
	d.repairs = left
}

func (d *day) putRight(r repair, at time.Time) {
	if r.corrected != nil {
		d.jot(d.office(), at, "entry.corrected", r.corrected)
		return
	}
	body := events.EntryWithdrawn{Entry: r.entry, Reason: r.withdrawn}
	if r.instead != nil {
		body.Instead = d.jotLater(d.office(), r.at, at, r.kind, r.instead)
	}
	d.jot(d.office(), at, "entry.withdrawn", body)
}
