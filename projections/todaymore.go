package projections

import (
	"fmt"
	"slices"
	"time"

	"haulout/events"
	"haulout/projections/board"
)

// company adds the news of who lives with whom.
func (b *boarding) company() error {
	pools, err := every[Enclosure](b.v, &enclosures)
	if err != nil {
		return err
	}
	for _, e := range pools {
		if e.Facility != b.facility {
			continue
		}
		news, err := b.v.companyNews(e, b.all, b.now)
		if err != nil {
			return err
		}
		b.calls = append(b.calls, b.companyCalls(news)...)
	}
	return nil
}

func (b *boarding) companyCalls(n CompanyNews) (out []board.Call) {
	add := func(rule, pair string, harm board.Harm, since time.Time, what, evidence, next, cited string, behind ...string) {
		out = append(out, board.Call{
			Rule: rule, Subject: n.Enclosure + pair, Place: n.Enclosure, Name: n.Name, Harm: harm, Since: since,
			What: what, Evidence: evidence, Behind: behind, Next: next, Cited: cited,
		})
	}
	for _, p := range n.Together {
		add("together", "."+p.A, board.Now, p.Since, fmt.Sprintf("%s and %s live together and are to be kept apart", b.name(p.A), b.name(p.B)),
			fmt.Sprintf("decided %s by %s: %s", board.When(p.Since, b.now), p.By, p.Reason), "Separate them, or let the lead and the veterinarian decide anew",
			"Animals that do not get on are not kept in one enclosure (9 CFR 3.109, from memory, to be verified).")
	}
	for _, e := range n.Injuries {
		add("injury", "."+e.Entry[:8], board.Now, e.Time, fmt.Sprintf("Report to the veterinarian: an injury in an encounter of %s and %s", b.name(e.Winner), b.name(e.Loser)),
			b.encounter(e)+", seen by "+e.By, "Tell the veterinarian", "Which of the two is hurt, and how badly, is for the veterinarian to say. Told for three days (common practice, no source).")
	}
	if c := n.Contact; c != nil {
		add("contact", "", board.Look, c.Since.Start(b.zone), "More contact in encounters than before",
			fmt.Sprintf("%d in %.1f animal-hours of watching since %s, %d in %.1f before", c.Lately.Contacts, c.Lately.Hours, dayWords(c.Since), c.Before.Contacts, c.Before.Hours),
			"Watch the pool, and decide whether to separate", "Rates from watches with known effort alone. Bites, injuries and high intensity count as contact (common practice, no source).")
	}
	for _, t := range n.Turned {
		var behind []string
		for _, e := range t.Encounters[:min(len(t.Encounters), behindShown)] {
			behind = append(behind, b.encounter(e))
		}
		if more := len(t.Encounters) - behindShown; more > 0 {
			behind = append(behind, fmt.Sprintf("and %d more", more))
		}
		add("turned", "."+t.Rose, board.Look, t.Since.Start(b.zone), fmt.Sprintf("%s now wins over %s", t.NameRose, t.NameFell),
			fmt.Sprintf("%d of %d since %s; before that %d of %d", t.Won, t.Won+t.Lost, dayWords(t.Since), t.WonBefore, t.WonBefore+t.LostBefore),
			"Decide whether a new period begins", "A pair is named when both times say plainly who stands above (assumption, no published standard).", behind...)
	}
	return out
}

func dayWords(d Day) string { return d.Start(time.UTC).Format("2 January 2006") }

// behindShown is how many of the encounters behind a line stand with it.
const behindShown = 4

func (b *boarding) name(animal string) string {
	for i := range b.all {
		if b.all[i].ID == animal {
			return b.all[i].Name
		}
	}
	return animal
}

func (b *boarding) encounter(e EncounterLine) string {
	end := b.name(e.Loser) + " yielded to " + b.name(e.Winner)
	if e.Draw {
		end = b.name(e.Winner) + " and " + b.name(e.Loser) + ", neither yielded"
	}
	if e.Signal != "" {
		end += ", " + e.Signal
	}
	return board.When(e.Time, b.now) + ": " + end
}

// held adds the devices that hold entries which they could not hand over.
func (b *boarding) held() error {
	all, err := b.v.devices(b.facility)
	for _, d := range all {
		held := board.Held{Device: d.Device, By: d.By, Waiting: d.Waiting, Since: d.Since, Said: d.Said}
		if d.Oldest != nil {
			held.Oldest = *d.Oldest
		}
		if call, found := board.HeldBack(held, b.now, b.house); found && !d.Said.After(b.now) {
			b.calls = append(b.calls, call)
		}
	}
	return err
}

// fishroom adds the clocks of thawed fish, lots past their limit and what runs out.
func (b *boarding) fishroom() error {
	room, err := b.v.fishRoom(b.facility, b.today, b.now)
	if room == nil || err != nil {
		return err
	}
	for _, c := range room.Clocks {
		if c.Past {
			b.calls = append(b.calls, board.Thawed(c.Thaw, c.Name, c.LeftG/1000, c.Deadline, c.Words, b.now))
		}
	}
	for _, lot := range room.Lots {
		last, err := ParseDay(lot.Expires)
		if lot.Verdict != "past" || lot.FrozenG <= 0 || err != nil {
			continue
		}
		b.calls = append(b.calls, board.Stored(lot.Lot, lot.Name, lot.FrozenG/1000, last.End(b.zone), lot.Storage.Words, b.now))
	}
	for _, f := range room.Foods {
		if f.Shortage && f.DaysLeft != nil && f.RunsOut != "" {
			b.calls = append(b.calls, board.Short(f.Food, f.Name, *f.DaysLeft, f.RunsOut.Start(b.zone), b.now))
		}
	}
	return nil
}

// answer puts the calls in order, with what people answered to them.
func (b *boarding) answer() error {
	for _, c := range board.Ordered(b.calls) {
		line := BoardCall{
			ID: c.ID(), Rule: c.Rule, Subject: c.Subject, Sort: b.sortOf(c), Place: c.Place, Name: c.Name, Tape: b.tapes[c.Subject], Since: c.Since.UTC(), Harm: int(c.Harm),
			What: c.What, Evidence: c.Evidence, Behind: append([]string{}, c.Behind...), Next: c.Next, Cited: c.Cited,
		}
		if events.ValidCode(line.ID) {
			r, err := row[callRow](b.v, &calls, Scope{Ref: Local("call", b.facility, line.ID)})
			if err != nil {
				return err
			}
			line.Answer = r.holds(c.Since, b.now)
		}
		if a := line.Answer; a != nil && a.Answer != "taken" {
			b.out.PutOff = append(b.out.PutOff, line)
			continue
		}
		b.out.Calls = append(b.out.Calls, line)
	}
	return nil
}

func (b *boarding) sortOf(c board.Call) string {
	switch c.Rule {
	case "silent", "held-back", "halted", "scale":
		return "facility"
	case "thaw", "storage", "shortage":
		return "fishroom"
	case "together", "injury", "contact", "turned":
		return "enclosure"
	case "water-fails", "coliform-fails", "coliform-exceeds", "water-due", "space":
		return "water"
	}
	return "animal"
}

// holds is the last answer to a call, while it holds: one that is older than the
// call's cause was for another one, and what was put off comes back in time.
func (r *callRow) holds(since, now time.Time) *CallAnswer {
	if r == nil {
		return nil
	}
	for i := range slices.Backward(r.Answers) {
		last := &r.Answers[i]
		switch {
		case last.Time.After(now):
			continue
		case last.Time.Before(since), last.Answer == "put_off" && (last.Until == nil || last.Until.Before(now)):
			return nil
		}
		return last
	}
	return nil
}
