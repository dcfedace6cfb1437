package web

import (
	"fmt"
	"strings"

	"haulout/events"
	"haulout/projections"
	"haulout/projections/dominance"
)

// changedPart is what changes: pairs that turned, contact that rises, injuries.
type changedPart struct {
	Answer  string
	Turned  []turning
	Contact contactWords
	Wounds  []seenLine
}

// turning is a pair in which the other one yields lately, with the encounters
// that say so.
type turning struct {
	Name, Words string
	Lines       []seenLine
}

// seenLine is one encounter as somebody saw it.
type seenLine struct{ Time, Text, By string }

type contactWords struct {
	Rising bool
	Words  string
	Rows   []contactRow
}

type contactRow struct{ When, Contacts, Hours, Rate, Range string }

func changedPartOf(g *group) changedPart {
	o := g.order
	p := changedPart{Contact: contactOf(o)}
	for _, t := range o.Turned {
		one := turning{Name: turnedName(t), Words: turnedWords(t)}
		for _, e := range t.Encounters {
			one.Lines = append(one.Lines, g.line(e))
		}
		p.Turned = append(p.Turned, one)
	}
	for _, e := range g.wounds {
		if g.livesHere(e.Winner) || g.livesHere(e.Loser) {
			p.Wounds = append(p.Wounds, g.line(e))
		}
	}
	p.Answer = changedAnswer(o, len(p.Wounds))
	return p
}

// changedAnswer sums up in one sentence.
func changedAnswer(o *projections.Order, wounds int) string {
	var parts []string
	if n := len(o.Turned); n > 0 {
		parts = append(parts, plural(n, "pair has turned", "pairs have turned"))
	}
	if o.Contact.Rising {
		parts = append(parts, "contact is rising")
	}
	if wounds > 0 {
		parts = append(parts, plural(wounds, "encounter", "encounters")+fmt.Sprintf(" with an injury in the last %d days", injuryDays))
	}
	switch {
	case len(parts) > 0:
		return sentence(listed(parts)) + "."
	case o.Evidence.Encounters == 0:
		return "Nothing was seen that could tell."
	}
	return "No pair was seen to turn, and no injury was noted lately."
}

func turnedName(t projections.TurnedPair) string { return t.NameRose + " now wins over " + t.NameFell }

func turnedWords(t projections.TurnedPair) string {
	return fmt.Sprintf("%s since %s; before, %s. %s that it stays so.",
		record(t.Won, t.Lost), dayAs(t.Since, "2"+nb+"January"), record(t.WonBefore, t.LostBefore), sentence(inTen(t.Direction)))
}

// line says what somebody saw.
func (g *group) line(e projections.EncounterLine) seenLine {
	called := names{}
	for id, name := range g.names {
		called[events.Ref{Sort: "animal", ID: id}] = name
	}
	return seenLine{g.moment(e), called.encounter(bodyOf(e)), e.By}
}

func bodyOf(e projections.EncounterLine) *events.EncounterSeen {
	return &events.EncounterSeen{Winner: e.Winner, Loser: e.Loser, Draw: e.Draw, Signal: e.Signal, Intensity: e.Intensity, Place: e.Place, Cause: e.Cause, Injury: e.Injury}
}

func (g *group) moment(e projections.EncounterLine) string {
	return e.Time.In(g.zone).Format("2" + nb + "Jan" + nb + "15:04")
}

func (g *group) livesHere(animal string) bool {
	for _, h := range g.housed {
		if h.Animal.ID == animal {
			return h.Enclosure == g.ask.Enclosure
		}
	}
	return false
}

// contactOf compares what came to teeth while somebody watched.
func contactOf(o *projections.Order) contactWords {
	c := o.Contact
	if c.Lately.PerHour == nil && c.Before.PerHour == nil {
		return contactWords{Words: fmt.Sprintf("Nobody watched with known effort since %s: whether there is more contact can’t be told.", dayAs(c.From, "2"+nb+"January"))}
	}
	out := contactWords{Rising: c.Rising, Words: sentence(c.Note) + "."}
	out.Rows = []contactRow{
		contactRowOf("since "+dayAs(c.Since, "2"+nb+"January"), c.Lately),
		contactRowOf(fmt.Sprintf("%s to %s", dayAs(c.From, "2"+nb+"January"), dayAs(c.Since.Add(-1), "2"+nb+"January")), c.Before),
	}
	return out
}

func contactRowOf(span string, r projections.ContactRate) contactRow {
	row := contactRow{span, count(r.Contacts), fmt.Sprintf("%.1f in %s", r.Hours, plural(r.Watches, "watch", "watches")), "not watched", ""}
	if r.PerHour != nil {
		row.Rate, row.Range = fmt.Sprintf("%.2f", *r.PerHour), fmt.Sprintf("%.2f to %.2f", *r.Low, *r.High)
	}
	return row
}

// enoughEncounters is from how many on an animal's place is gone by.
func enoughEncounters() int { return int(dominance.Assumed("enough").Value) }

// lately says in a few words what changed in a group.
func lately(o *projections.Order) (out []string) {
	for _, t := range o.Turned {
		out = append(out, turnedName(t)+", "+turnedWords(t))
	}
	if c := o.Contact; c.Rising && c.Lately.PerHour != nil && c.Before.PerHour != nil {
		out = append(out, fmt.Sprintf("Contact is rising: %.2f an animal-hour (%.2f to %.2f, 9 in 10) since %s, %.2f before.",
			*c.Lately.PerHour, *c.Lately.Low, *c.Lately.High, dayAs(c.Since, "2"+nb+"January"), *c.Before.PerHour))
	}
	return out
}

// trimSentence is a text without the stop at its end.
func trimSentence(text string) string { return strings.TrimSuffix(text, ".") }
