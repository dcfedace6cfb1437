package web

import (
	"encoding/json"
	"fmt"

	"haulout/events"
	"haulout/projections"
)

// periodPart is when the company began anew, and where it may be begun again.
type periodPart struct {
	Rows    []periodRow
	Offers  []periodOffer
	More    int // offers that are not shown
	Form    factForm
	Reasons []option
}

type periodRow struct {
	From, Reason, Text, By string
	Path                   string
	Here                   bool
}

// periodOffer is a change after which a new period may be in place.
type periodOffer struct {
	ID           string
	Day, Why     string
	Reason       string
	Wall         string // the day's first minute, as a clock shows it
	Body         string
	Kind, Advice string
}

// offersShown is how many suggestions get a form of their own, the newest.
const offersShown = 3

func periodPartOf(g *group, visitor Visitor) periodPart {
	p := periodPart{
		Form:    factForm{Allowed: visitor.Records && g.asOf.day == "", Kind: events.TypeOf("period.begun"), By: visitor.Name, Body: jsonBody(events.PeriodBegun{Enclosure: g.ask.Enclosure})},
		Reasons: []option{{"introduction", "introduction"}, {"separation", "separation"}, {"season", "season"}, {"other", "other"}},
	}
	for i := len(g.periods) - 1; i >= 0; i-- {
		from, to := projections.DayOf(g.periods[i].From, g.zone), g.today
		if i+1 < len(g.periods) {
			to = max(from, projections.DayOf(g.periods[i+1].From, g.zone).Add(-1))
		}
		one := g.periods[i]
		p.Rows = append(p.Rows, periodRow{
			dayAs(from, "2"+nb+"January"+nb+"2006"), one.Reason, one.Text, one.By,
			g.ask.path("from", string(from), "to", string(to), "with_from", "", "with_to", ""), from == g.order.From,
		})
	}
	all := g.order.Suggested
	p.More = max(0, len(all)-offersShown)
	for i, s := range all[p.More:] {
		p.Offers = append(p.Offers, offerOf(i, s, g.ask.Enclosure))
	}
	return p
}

func offerOf(i int, s projections.SuggestedPeriod, enclosure string) periodOffer {
	return periodOffer{
		ID: fmt.Sprintf("offer-%d", i+1), Day: dayAs(s.Day, "2"+nb+"January"+nb+"2006"), Why: s.Why, Reason: s.Reason, Wall: string(s.Day) + "T00:00",
		Kind: events.TypeOf("period.begun"), Body: jsonBody(events.PeriodBegun{Enclosure: enclosure, Reason: s.Reason, Text: s.Why}),
	}
}

// jsonBody is what a form has worked out itself. Fields that the form asks for
// are written over.
func jsonBody(body any) string {
	out, err := json.Marshal(body)
	if err != nil {
		panic("web: a body of texts can't be written: " + err.Error())
	}
	return string(out)
}
