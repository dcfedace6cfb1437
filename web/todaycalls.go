package web

import (
	"encoding/json"
	"net/url"
	"time"

	"haulout/events"
	"haulout/projections"
)

// callLine is something that needs a person: what, who, since when, the
// evidence, the rule and one next step.
type callLine struct {
	ID          string
	State, Word string // call and Now, soon and Today, later and Look
	Href        string
	Name        string
	Tape        int // 0 where it is not about one animal
	What        string
	Evidence    string
	Behind      []string // the entries behind it
	Next, Rule  string
	Since       string
	Answer      string // who took it on, or why it waits
	Form        *callForm
	harm        int
	since       time.Time
}

// callForm is what a visitor who records may answer.
type callForm struct {
	ID             string // of its fields
	Kind, Facility string
	Take, Put, Not string // JSON, what the page knows of the answer
	Untils         []until
}

// until is a moment that a line can be put off to.
type until struct{ Value, Text string }

// callStates are the shape and the word of each harm.
var callStates = map[int][2]string{1: {"call", "Now"}, 2: {"soon", "Today"}, 3: {"later", "Look"}}

// callsOf puts the lines of a board into words.
func callsOf(b *projections.Board, zone *time.Location, records bool) (open, waiting []callLine) {
	for _, c := range b.Calls {
		open = append(open, lineOf(c, b, zone, records))
	}
	for _, c := range b.PutOff {
		waiting = append(waiting, lineOf(c, b, zone, records))
	}
	return open, waiting
}

func lineOf(c projections.BoardCall, b *projections.Board, zone *time.Location, records bool) callLine {
	state := callStates[c.Harm]
	line := callLine{
		ID: c.ID, State: state[0], Word: state[1], Href: hrefOf(c, b.Facility), Name: c.Name, Tape: c.Tape, What: c.What, Evidence: sentence(c.Evidence),
		Behind: c.Behind, Next: c.Next, Rule: c.Cited, Since: when(c.Since, b.At, zone), harm: c.Harm, since: c.Since,
	}
	if a := c.Answer; a != nil {
		line.Answer = answerWords(*a, b.At, zone)
	}
	if records && events.ValidCode(c.ID) {
		line.Form = callFormOf(c.ID, b, zone)
	}
	return line
}

// animalParts are where on an animal's page a line is about, by its rule.
var animalParts = map[string]string{
	"refusal": "#feeding", "ration": "#feeding", "mass-down": "#weights", "weigh-due": "#weights",
	"urgent": "#body", "finding": "#body", "dose-missed": "#body", "dose-due": "#body", "order-news": "#body", "check-due": "#body", "coat": "#coat", "coat-due": "#coat",
}

// hrefOf is the page on which the thing is done or looked at.
func hrefOf(c projections.BoardCall, facility string) string {
	switch c.Sort {
	case "animal":
		return "/animals/" + url.PathEscape(c.Subject) + animalParts[c.Rule]
	case "enclosure":
		return "/colony/" + url.PathEscape(facility) + "/" + url.PathEscape(c.Place)
	case "water":
		return waterPath(facility, c.Place)
	case "fishroom":
		return "/fishroom?facility=" + url.QueryEscape(facility)
	}
	return "/today?facility=" + url.QueryEscape(facility)
}

func answerWords(a projections.CallAnswer, now time.Time, zone *time.Location) string {
	by := " by " + a.By + ", " + when(a.Time, now, zone)
	if a.Reason != "" {
		by += ": " + a.Reason
	}
	switch {
	case a.Answer == "taken":
		return "Taken on" + by
	case a.Answer == "put_off" && a.Until != nil:
		return "Put off until " + when(*a.Until, now, zone) + by
	}
	return "Needs nobody, said" + by
}

func callFormOf(id string, b *projections.Board, zone *time.Location) *callForm {
	body := func(answer string) string {
		raw, err := json.Marshal(map[string]string{"call": id, "answer": answer})
		if err != nil {
			panic("web: two texts can't be written: " + err.Error())
		}
		return string(raw)
	}
	f := &callForm{ID: id, Kind: events.TypeOf("call.answered"), Facility: b.Facility, Take: body("taken"), Put: body("put_off"), Not: body("needless")}
	today := projections.DayOf(b.At, zone)
	for _, u := range []struct {
		days int
		text string
	}{{1, "tomorrow 07:00"}, {3, "in 3 days"}, {7, "in a week"}, {30, "in 30 days"}} {
		f.Untils = append(f.Untils, until{today.Add(u.days).Start(zone).Add(7 * time.Hour).UTC().Format(time.RFC3339), u.text})
	}
	return f
}
