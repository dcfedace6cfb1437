package web

import (
	"fmt"
	"time"

	"haulout/events"
	"haulout/projections"
)

// companyCalls are the lines about who lives with whom: first what may hurt.
func (s *site) companyCalls(facility string, now time.Time, n names) (out []callLine, err error) {
	news, err := s.Store.CompanyNews(facility, now, time.Time{})
	if err != nil {
		return nil, err
	}
	w := companyWords{facility, now, s.Store.Zone(facility), n}
	for _, one := range news {
		out = append(out, w.together(one)...)
		out = append(out, w.injuries(one)...)
	}
	for _, one := range news {
		out = append(out, w.contact(one)...)
		out = append(out, w.turned(one)...)
	}
	return out, nil
}

// companyWords puts news of a facility's company into words.
type companyWords struct {
	facility string
	now      time.Time
	zone     *time.Location
	names    names
}

func (w companyWords) call(n projections.CompanyNews, state, word, what string) callLine {
	return callLine{State: state, Word: word, Href: "/colony/" + w.facility + "/" + n.Enclosure, Name: n.Name, What: what}
}

func (w companyWords) together(n projections.CompanyNews) (out []callLine) {
	for _, p := range n.Together {
		line := w.call(n, "call", "Now", fmt.Sprintf("%s and %s live together and are to be kept apart", w.names.of("animal", p.A), w.names.of("animal", p.B)))
		line.Evidence = fmt.Sprintf("Decided %s by %s: %s", when(p.Since, w.now, w.zone), p.By, p.Reason)
		line.Rule = "Animals that do not get on are not kept in one enclosure (9 CFR 3.109, to be verified). Separate them, or let the lead and the veterinarian decide anew."
		out = append(out, line)
	}
	return out
}

func (w companyWords) injuries(n projections.CompanyNews) (out []callLine) {
	for _, e := range n.Injuries {
		line := w.call(n, "call", "Now", fmt.Sprintf("Report to the veterinarian: an injury in an encounter of %s and %s", w.names.of("animal", e.Winner), w.names.of("animal", e.Loser)))
		line.Evidence = fmt.Sprintf("%s, seen by %s", w.encounter(e), e.By)
		line.Rule = "Which of the two is hurt, and how badly, is for the veterinarian to say. Common practice, no source: told for three days."
		out = append(out, line)
	}
	return out
}

func (w companyWords) contact(n projections.CompanyNews) []callLine {
	c := n.Contact
	if c == nil {
		return nil
	}
	line := w.call(n, "soon", "Look", "More contact in encounters than before")
	line.Evidence = fmt.Sprintf("%s in %.1f animal-hours of watching since %s, %s in %.1f from %s", plural(c.Lately.Contacts, "time", "times"), c.Lately.Hours, shortDay(c.Since), plural(c.Before.Contacts, "time", "times"), c.Before.Hours, shortDay(c.From))
	line.Rule = "Rates from watches with known effort alone. Bites, injuries and encounters noted as of high intensity count as contact (common practice, no source)."
	return []callLine{line}
}

func (w companyWords) turned(n projections.CompanyNews) (out []callLine) {
	for _, t := range n.Turned {
		line := w.call(n, "soon", "Look", fmt.Sprintf("%s now wins over %s", t.NameRose, t.NameFell))
		line.Evidence = fmt.Sprintf("%d of %d since %s; before that %d of %d", t.Won, t.Won+t.Lost, shortDay(t.Since), t.WonBefore, t.WonBefore+t.LostBefore)
		for i, e := range t.Encounters {
			if i == behindShown {
				line.Behind = append(line.Behind, fmt.Sprintf("and %d more", len(t.Encounters)-i))
				break
			}
			line.Behind = append(line.Behind, w.encounter(e))
		}
		line.Rule = "A pair is named when both times say plainly who stands above. Whether to separate or to begin a new period is for the lead to decide."
		out = append(out, line)
	}
	return out
}

// behindShown is how many of the encounters behind a line stand with it.
const behindShown = 4

// encounter is one encounter in a line: when, and what happened.
func (w companyWords) encounter(e projections.EncounterLine) string {
	body := &events.EncounterSeen{Winner: e.Winner, Loser: e.Loser, Draw: e.Draw, Signal: e.Signal, Intensity: e.Intensity, Place: e.Place, Cause: e.Cause, Injury: e.Injury}
	return when(e.Time, w.now, w.zone) + ": " + w.names.encounter(body)
}
