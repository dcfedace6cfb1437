package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

	"haulout/projections"
)

// groupAsk is what is asked for, as it was typed.
type groupAsk struct {
	Facility, Enclosure                        string
	From, To, Method, Animal, WithFrom, WithTo string
	AsOf                                       string
}

func askGroup(r *http.Request) groupAsk {
	q := r.URL.Query()
	return groupAsk{
		r.PathValue("facility"), r.PathValue("enclosure"),
		q.Get("from"), q.Get("to"), q.Get("method"), q.Get("animal"), q.Get("with_from"), q.Get("with_to"), q.Get("as_of"),
	}
}

// home is the address of the enclosure without anything asked.
func (a groupAsk) home() string {
	return "/colony/" + url.PathEscape(a.Facility) + "/" + url.PathEscape(a.Enclosure)
}

// path is the address with what is asked, changed by names and values.
func (a groupAsk) path(changes ...string) string {
	q := url.Values{}
	set := func(name, value string) {
		q.Del(name)
		if value != "" {
			q.Set(name, value)
		}
	}
	for name, value := range map[string]string{
		"from": a.From, "to": a.To, "method": a.Method, "animal": a.Animal, "with_from": a.WithFrom, "with_to": a.WithTo, "as_of": a.AsOf,
	} {
		set(name, value)
	}
	for i := 0; i+1 < len(changes); i += 2 {
		set(changes[i], changes[i+1])
	}
	if len(q) == 0 {
		return a.home()
	}
	return a.home() + "?" + q.Encode()
}

// group is an enclosure in a window, and what its page reads about it.
type group struct {
	ask      groupAsk
	facility projections.Facility
	zone     *time.Location
	asOf     asOf
	now      time.Time // or the end of the day that is asked for
	today    projections.Day
	order    *projections.Order
	company  *projections.Company
	then     *projections.Order // to compare with; nil where nobody asked
	names    map[string]string  // of all animals, by id
	pools    map[string]string  // names of the facility's enclosures, by id
	housed   []projections.Housed
	judged   []projections.JudgedPair // among those housed
	periods  []projections.Period
	wounds   []projections.EncounterLine // with an injury, of the last days
}

// group reads what is asked for, checks that the visitor sees it, and answers
// what can't be read with the name of the field.
func (s *site) group(r *http.Request) (g *group, err error) {
	g = &group{ask: askGroup(r), now: s.Now()}
	facilities, err := s.Store.Facilities(time.Time{})
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(facilities, func(f projections.Facility) bool { return f.Code == g.ask.Facility })
	if i < 0 || !s.Visitor(r).sees(g.ask.Facility) {
		return nil, unknownFacility(g.ask.Facility)
	}
	g.facility, g.zone = facilities[i], s.Store.Zone(g.ask.Facility)
	if g.asOf, err = readAsOf(r.URL.Query(), g.zone, g.now); err != nil {
		return nil, err
	}
	if g.asOf.day != "" && g.asOf.moment.Before(g.now) {
		g.now = g.asOf.moment.Add(-time.Second)
	}
	g.today = projections.DayOf(g.now, g.zone)
	if err = g.ask.check(g.today); err != nil {
		return nil, err
	}
	if err = s.readOrders(g); err != nil {
		return nil, err
	}
	return g, s.readCompany(g)
}

func unreadable(field string, err error) error {
	return problem{http.StatusBadRequest, "The day can’t be read", field + " " + err.Error() + "."}
}

// check looks at each field by itself.
func (a groupAsk) check(today projections.Day) error {
	for _, field := range []struct{ name, text string }{{"from", a.From}, {"to", a.To}, {"with_from", a.WithFrom}, {"with_to", a.WithTo}} {
		if field.text == "" {
			continue
		}
		day, err := projections.ParseDay(field.text)
		if err != nil {
			return unreadable(field.name, err)
		}
		if day > today {
			return problem{http.StatusBadRequest, "The day is still to come", fmt.Sprintf("Give %s a day up to %s; nothing is known of later ones.", field.name, today)}
		}
	}
	if a.Method != "" && !slices.Contains(projections.OrderMethods, a.Method) {
		return problem{http.StatusBadRequest, "There is no such way to put animals in order", "Give method one of " + strings.Join(projections.OrderMethods, ", ") + "."}
	}
	if (a.WithFrom == "") != (a.WithTo == "") {
		return problem{http.StatusBadRequest, "Half a window can’t be compared", "Give both with_from and with_to, the first and the last day to compare with, or neither."}
	}
	for _, field := range []struct{ from, to, name string }{{a.From, a.To, "from"}, {a.WithFrom, a.WithTo, "with_from"}} {
		if field.from != "" && field.to != "" && field.from > field.to {
			return problem{http.StatusBadRequest, "The window ends before it begins", fmt.Sprintf("Give %s a day up to %s.", field.name, field.to)}
		}
	}
	return nil
}

// readOrders works out the order, the one to compare it with, and who keeps
// company with whom: each from its own rows, so they are read side by side.
func (s *site) readOrders(g *group) error {
	a := g.ask
	ask := projections.OrderAsk{Facility: a.Facility, Enclosure: a.Enclosure, From: projections.Day(a.From), To: projections.Day(a.To), Method: a.Method}
	var work errgroup.Group
	work.Go(func() (err error) { g.order, err = s.orderOf(ask, g); return err })
	work.Go(func() (err error) {
		g.company, err = s.Store.CompanyOf(ask, g.now, g.asOf.moment)
		return orderTrouble(err)
	})
	if a.WithFrom != "" {
		then := ask
		then.From, then.To = projections.Day(a.WithFrom), projections.Day(a.WithTo)
		work.Go(func() (err error) { g.then, err = s.orderOf(then, g); return err })
	}
	if err := work.Wait(); err != nil {
		return err
	}
	if g.order == nil {
		return problem{http.StatusNotFound, "No enclosure has the id " + a.Enclosure, "Pick one from Colony."}
	}
	return nil
}

func (s *site) orderOf(ask projections.OrderAsk, g *group) (*projections.Order, error) {
	o, err := s.Store.Order(ask, g.now, g.asOf.moment)
	return o, orderTrouble(err)
}

// orderTrouble answers what can't be worked out with what is wrong.
func orderTrouble(err error) error {
	if errors.Is(err, projections.ErrOrder) {
		return problem{http.StatusBadRequest, "No order can be worked out", sentence(err.Error()) + "."}
	}
	return err
}

// injuryDays is how long an injury stands among what is new. The length is an
// assumption, no source.
const injuryDays = 7

// readCompany reads who lives where, and what was decided about them.
func (s *site) readCompany(g *group) (err error) {
	if err = s.readHoused(g); err != nil {
		return err
	}
	g.call(g.order)
	g.call(g.then)
	if a := g.ask.Animal; a != "" && rowOf(g.order, a) < 0 {
		return problem{http.StatusBadRequest, "No such animal is in this order", "Give animal the id of one that lived here at the end of the window, or leave it out."}
	}
	g.periods, err = s.Store.Periods(g.ask.Facility, g.ask.Enclosure, g.asOf.moment)
	return err
}

// readHoused reads those in the care of the facility, what was decided about
// them, and the injuries of the last days.
func (s *site) readHoused(g *group) error {
	all, err := s.Store.Animals(g.asOf.moment)
	if err != nil {
		return err
	}
	g.names, g.housed = nameAll(all), housedAt(all, g.ask.Facility, g.now)
	if g.pools, err = s.enclosureNames(g.ask.Facility); err != nil {
		return err
	}
	if g.judged, err = s.Store.Judgements(idsOf(g.housed), g.now, g.asOf.moment); err != nil {
		return err
	}
	g.wounds, err = s.Store.InjuriesSeen(g.ask.Facility, g.today.Add(1-injuryDays), g.today, g.asOf.moment)
	return err
}

// call gives the animals of an order the names that they have on this page.
func (g *group) call(o *projections.Order) {
	if o == nil {
		return
	}
	for i := range o.Animals {
		o.Animals[i].Name = g.name(o.Animals[i].Animal)
	}
}

// housedAt are those in the care of a facility at a moment.
func housedAt(all []projections.Animal, facility string, at time.Time) (out []projections.Housed) {
	for _, a := range all {
		stay := a.Stay(at)
		if stay == nil || stay.Facility != facility {
			continue
		}
		h := projections.Housed{Animal: a, Facility: facility}
		if place := a.Place(at); place != nil {
			h.Enclosure = place.Enclosure
		}
		out = append(out, h)
	}
	return out
}

func idsOf(housed []projections.Housed) (out []string) {
	for _, h := range housed {
		out = append(out, h.Animal.ID)
	}
	return out
}

// name is what an animal is called on this page.
func (g *group) name(id string) string { return orElse(g.names[id], id) }

// lead says who is looked at, when, and on what evidence.
func (g *group) lead(facility string) string {
	o := g.order
	text := fmt.Sprintf("%s of %s, %s.", sentence(plural(len(o.Animals), "animal", "animals")), facility, windowWords(o.From, o.To))
	if p := o.Period; p != nil {
		text += " A period began on " + onDate(p.From, g.zone) + ": " + p.Reason + trimmedText(p.Text) + "."
	}
	if len(o.Animals) > 1 {
		text += " " + sentence(plural(o.Evidence.Encounters, "encounter", "encounters")) + " count; what is set aside stands below."
	}
	for _, left := range o.LeftOut {
		text += " " + left.Name + " is not in the order: " + left.Why + "."
	}
	return text
}

// trimmedText is a text as the rest of a sentence that ends by itself.
func trimmedText(text string) string {
	if text = strings.TrimRight(text, ". "); text == "" {
		return ""
	}
	return ", " + text
}

func (g *group) methods() (out []link) {
	for _, m := range projections.OrderMethods {
		asked := m
		if m == projections.OrderMethods[0] {
			asked = ""
		}
		out = append(out, link{methodWords[m], g.ask.path("method", asked) + "#ladder", m == g.order.Method})
	}
	return out
}
