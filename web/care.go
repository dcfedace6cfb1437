package web

import (
	"fmt"
	"slices"
	"strings"

	"haulout/events"
	"haulout/projections"
)

// careDays is how far back the section Body lists looks and doses.
const careDays = 30

// carePart is how an animal's body looked, what is ordered and what was given.
type carePart struct {
	Answer, More string
	Facility     string // whose records a form of the part makes
	Zone, By     string
	Open         []findingLine
	Outcomes     []option
	Orders       []orderLine // in force
	Past         []orderLine
	Notes        []entryLine
	Looks        []lookRow
	Doses        []doseRow
	Give         *orderForm // for the veterinarian alone
	Forms        bool       // any form at all
	Days         int
	Caution      string
}

// findingLine is something that was found and is open.
type findingLine struct {
	ID, Region, Word string
	Urgent           bool
	Since, By        string
	Photo            string // where the picture is
	Form             *factForm
}

// orderLine is an order of the veterinarian.
type orderLine struct {
	ID, Medication, Dose string
	Stands, State        string // in a word, and in more of them
	Signed, Text         string
	End                  *factForm
}

type lookRow struct{ Day, Time, By, Text string }

type doseRow struct{ Day, Time, What, Taken, Order, By string }

// orderForm is what the forms of a veterinarian need: an order and a note.
type orderForm struct {
	Order, Note factForm
	Units       []option
	Routes      []option
}

func doseUnits() (out []option) {
	for _, unit := range []string{"mg", "g", "ug", "mL", "[iU]", "{tablet}"} {
		out = append(out, option{unit, orElse(unitWords[unit], unit)})
	}
	return out
}

var outcomeWords = []option{
	{"healed", "healed"}, {"veterinarian_saw", "the veterinarian has seen it"}, {"harmless", "harmless"}, {"mistaken", "seen by mistake"},
}

var routeWords = []option{
	{"mouth", "by mouth"}, {"injection", "by injection"}, {"skin", "on the skin"}, {"eye", "in the eye"}, {"ear", "in the ear"}, {"inhaled", "inhaled"},
}

func wordsOf(list []option, id string) string {
	for _, o := range list {
		if o.Value == id {
			return o.Text
		}
	}
	return spaced(id)
}

// care reads what the section needs.
func (s *site) care(f file, visitor Visitor, names names) (p carePart, err error) {
	care, err := s.Store.CareOf(f.animal.ID, f.today.Add(1-careDays), f.today, f.now, f.asOf.moment)
	if care == nil || err != nil {
		return p, err
	}
	records := visitor.Records && f.asOf.day == "" && visitor.sees(f.home)
	p = carePart{Facility: f.home, Zone: f.zone.String(), By: visitor.Name, Outcomes: outcomeWords, Days: careDays, Caution: care.Caution}
	p.Answer, p.More = careAnswer(care, f)
	for i, one := range care.Open {
		p.Open = append(p.Open, f.findingLine(i, one, records && one.Facility == f.home))
	}
	signs := records && visitor.Signs
	for i, one := range care.Orders {
		line := f.orderLine(i, one, signs && one.Facility == f.home)
		if one.Holds {
			p.Orders = append(p.Orders, line)
		} else {
			p.Past = append(p.Past, line)
		}
	}
	if signs && f.animal.Stay(f.now) != nil {
		p.Give = giveForm(f, visitor.Name)
	}
	p.Forms = p.Give != nil || slices.ContainsFunc(p.Open, func(l findingLine) bool { return l.Form != nil }) ||
		slices.ContainsFunc(p.Orders, func(l orderLine) bool { return l.End != nil })
	p.Looks, p.Doses = f.looks(care), f.doses(care)
	p.Notes, err = s.vetNotes(f, names)
	return p, err
}

func careAnswer(c *projections.Care, f file) (answer, more string) {
	switch urgent := slices.IndexFunc(c.Open, func(o projections.OpenFinding) bool { return o.Urgent }); {
	case urgent >= 0:
		one := c.Open[urgent]
		answer = fmt.Sprintf("A keeper asks for the veterinarian: %s, %s.", one.Region, one.Word)
	case len(c.Open) > 0:
		answer = plural(len(c.Open), "finding is open.", "findings are open.")
	default:
		answer = "Nothing is open."
	}
	more = fmt.Sprintf(" No look on record in %d days.", careDays)
	for _, day := range c.Days {
		if n := len(day.Checks); n > 0 {
			last := day.Checks[n-1]
			more = fmt.Sprintf(" Last looked over %s by %s, %s.", when(last.Time, f.now, f.zone), last.By, plural(len(last.Findings), "finding", "findings"))
			break
		}
	}
	return answer, more
}

func (f file) findingLine(i int, one projections.OpenFinding, mayClose bool) findingLine {
	line := findingLine{ID: fmt.Sprintf("finding-%d", i+1), Region: sentence(one.Region), Word: one.Word, Urgent: one.Urgent, Since: when(one.Since, f.now, f.zone), By: one.By}
	if one.Photo != "" {
		line.Photo = "/api/v1/photos/" + one.Photo
	}
	if mayClose {
		line.Form = &factForm{Allowed: true, Kind: events.TypeOf("finding.closed"), Body: jsonBody(events.FindingClosed{Animal: f.animal.ID, Check: one.Check, Region: one.Region})}
	}
	return line
}

func (f file) orderLine(i int, one projections.OrderStanding, mayEnd bool) orderLine {
	line := orderLine{
		ID: fmt.Sprintf("order-%d", i+1), Medication: one.Medication, Dose: doseWords(one.Dose, one.Route, one.Daily), Text: one.Text, Stands: map[bool]string{true: "In force", false: "Over"}[one.Holds], State: sentence(f.orderState(one)),
		Signed: fmt.Sprintf("Order %s of %s, by %s", one.Order, when(one.From, f.now, f.zone), one.Veterinarian),
	}
	if mayEnd && one.Holds {
		line.End = &factForm{Allowed: true, Kind: events.TypeOf("order.ended"), Body: jsonBody(events.OrderEnded{Order: one.Order, Animal: f.animal.ID})}
	}
	return line
}

// doseWords is how much goes in how, and how often.
func doseWords(dose events.Quantity, route string, daily int) string {
	out := quantity(dose)
	if route != "" {
		out += " " + wordsOf(routeWords, route)
	}
	if daily == 0 {
		return out + ", once"
	}
	return fmt.Sprintf("%s, %d a day", out, daily)
}

func (f file) orderState(one projections.OrderStanding) string {
	until := ""
	if one.Until != nil {
		until = when(*one.Until, f.now, f.zone)
	}
	switch {
	case one.Ended != "":
		return "ended " + until + ": " + one.Ended
	case !one.Holds:
		return "was until " + until
	}
	state := fmt.Sprintf("%d of %d given today", one.Given, max(one.Daily, 1))
	if until != "" {
		state += ", holds until " + until
	}
	return state
}

func (f file) looks(c *projections.Care) (out []lookRow) {
	for _, day := range c.Days {
		name := longDay(day.Day)
		for _, one := range slices.Backward(day.Closed) {
			out = append(out, lookRow{name, clock(one.Time, f.zone), one.By, "Closed: " + one.Region + ", " + wordsOf(outcomeWords, one.Outcome) + after(one.Text)})
		}
		for _, one := range slices.Backward(day.Checks) {
			text := strings.TrimPrefix(findings(&events.CheckMade{Findings: one.Findings}), ", ")
			if len(one.Regions) > 0 {
				text += "; looked at " + listed(one.Regions)
			}
			out = append(out, lookRow{name, clock(one.Time, f.zone), one.By, sentence(strings.TrimPrefix(text, ": ")) + after(one.Text)})
		}
	}
	return out
}

func (f file) doses(c *projections.Care) (out []doseRow) {
	for _, one := range c.Doses {
		order := orElse(one.Order, "none named")
		taken := map[string]string{"all": "all", "part": "part", "none": "nothing"}[one.Taken]
		out = append(out, doseRow{longDay(projections.DayOf(one.Time, f.zone)), clock(one.Time, f.zone), one.Medication + ", " + quantity(one.Dose), orElse(taken, "not stated"), order, one.By})
	}
	return out
}

// notesShown is how many notes of the veterinarian stand in the section, the
// newest.
const notesShown = 5

func (s *site) vetNotes(f file, names names) (out []entryLine, err error) {
	list, _, err := s.Store.Records(projections.Query{
		Ref: events.Ref{Sort: "animal", ID: f.animal.ID}, Kinds: []string{"veterinary.noted"}, To: f.now, AsOf: f.asOf.moment, Limit: notesShown,
	})
	if err != nil {
		return nil, err
	}
	for _, l := range list {
		line, err := s.entryLine(l, f, names)
		if err != nil {
			return nil, err
		}
		line.Text = strings.TrimPrefix(line.Text, "Note of the veterinarian, ") // the heading says so
		out = append(out, line)
	}
	return out, nil
}

// giveForm names the order by the moment at which the page was made, so that two
// orders never share an id.
func giveForm(f file, by string) *orderForm {
	id := "o-" + f.now.In(f.zone).Format("20060102-150405")
	return &orderForm{
		Order:  factForm{Allowed: true, Kind: events.TypeOf("order.given"), Body: jsonBody(map[string]string{"order": id, "animal": f.animal.ID, "veterinarian": by})},
		Note:   factForm{Allowed: true, Kind: events.TypeOf("veterinary.noted"), Body: jsonBody(map[string]string{"animal": f.animal.ID, "veterinarian": by})},
		Units:  doseUnits(),
		Routes: routeWords,
	}
}
