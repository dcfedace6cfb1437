package web

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"haulout/projections"
	"haulout/projections/dominance"
)

// colonyPage is the company of every enclosure: which orders stand, what
// changes, and who is to be kept apart. Ratings stay within their group.
type colonyPage struct {
	frame
	Choice  choice
	Answer  string
	Loud    []heldPair
	Groups  []colonyFacility
	Caution string
}

type colonyFacility struct {
	Code, Name string
	Groups     []colonyGroup
	Quiet      string // enclosures with one animal or none
	Held       []heldPair
	Wounds     []seenLine
	States     map[dominance.State]int
}

// colonyGroup is an enclosure with two animals or more.
type colonyGroup struct {
	ID, Name, Path string
	State          stateWord
	Pair           bool // two animals have a record and no ladder
	Answer, More   string
	Window         string
	Rungs          []rungRow
	Changed        []string
	Offers         []string
}

func (s *site) colony(w http.ResponseWriter, r *http.Request) error {
	shown, links, err := s.facilities(r)
	if err != nil {
		return err
	}
	page := colonyPage{frame: s.frame(r, "Colony", "Who lives with whom"), Choice: links, Caution: projections.CompanyCaution}
	for _, f := range shown {
		one, err := s.colonyFacility(f, s.Now())
		if err != nil {
			return err
		}
		page.Groups = append(page.Groups, one)
		for _, h := range one.Held {
			if h.Urgent || h.Watched {
				page.Loud = append(page.Loud, h)
			}
		}
	}
	page.Answer = colonyAnswer(page.Groups)
	return s.show(w, http.StatusOK, "colony", page)
}

// colonyAnswer counts the orders by how sure they are.
func colonyAnswer(list []colonyFacility) string {
	states, groups := map[dominance.State]int{}, 0
	for _, f := range list {
		groups += len(f.Groups)
		for state, n := range f.States {
			states[state] += n
		}
	}
	if groups == 0 {
		return "No enclosure has two animals or more."
	}
	return fmt.Sprintf("%s with two animals or more: %d with a supported order, %d with a provisional one, %d with none yet.",
		sentence(plural(groups, "enclosure", "enclosures")), states[dominance.Supported], states[dominance.Provisional], states[dominance.NoOrder])
}

func (s *site) colonyFacility(f projections.Facility, now time.Time) (out colonyFacility, err error) {
	out = colonyFacility{Code: f.Code, Name: f.Name, States: map[dominance.State]int{}}
	g := group{ask: groupAsk{Facility: f.Code}, zone: s.Store.Zone(f.Code), now: now}
	g.today = projections.DayOf(now, g.zone)
	if err = s.readHoused(&g); err != nil {
		return out, err
	}
	for _, id := range sortedPools(g.pools) {
		if g.count(id) < 2 {
			continue
		}
		order, err := s.Store.Order(projections.OrderAsk{Facility: f.Code, Enclosure: id}, now, time.Time{})
		if err != nil {
			return out, err
		}
		g.call(order)
		out.States[order.State]++
		out.Groups = append(out.Groups, colonyGroupOf(order))
	}
	for _, j := range g.judged {
		if h := g.held(j); j.Verdict != "together" {
			out.Held = append(out.Held, h)
		}
	}
	for _, e := range g.wounds {
		out.Wounds = append(out.Wounds, g.line(e))
	}
	out.Quiet = g.quiet()
	return out, nil
}

// sortedPools are the ids of enclosures by their names.
func sortedPools(pools map[string]string) (ids []string) {
	for id := range pools {
		ids = append(ids, id)
	}
	slices.SortFunc(ids, func(a, b string) int { return cmp.Or(cmp.Compare(pools[a], pools[b]), cmp.Compare(a, b)) })
	return ids
}

// count is how many animals live in an enclosure.
func (g *group) count(enclosure string) (n int) {
	for _, h := range g.housed {
		if h.Enclosure == enclosure {
			n++
		}
	}
	return n
}

func colonyGroupOf(o *projections.Order) colonyGroup {
	g := colonyGroup{
		ID: o.Facility + "-" + o.Enclosure, Name: o.Name, Path: "/colony/" + url.PathEscape(o.Facility) + "/" + url.PathEscape(o.Enclosure),
		State: stateOf(o.State), Pair: len(o.Animals) < 3, Window: windowWords(o.From, o.To), Rungs: rungRows(o), Changed: lately(o),
	}
	g.Answer, g.More = orderAnswer(o)
	for _, s := range o.Suggested {
		g.Offers = append(g.Offers, fmt.Sprintf("%s: %s (%s)", dayAs(s.Day, "2"+nb+"January"), s.Why, s.Reason))
	}
	const shown = 3
	if more := len(g.Offers) - shown; more > 0 {
		g.Offers = append([]string{fmt.Sprintf("%d earlier changes", more)}, g.Offers[more:]...)
	}
	return g
}

// quiet names the enclosures in which nobody has company.
func (g *group) quiet() string {
	var parts []string
	for _, id := range sortedPools(g.pools) {
		switch g.count(id) {
		case 0:
			parts = append(parts, g.pools[id]+" is empty")
		case 1:
			i := slices.IndexFunc(g.housed, func(h projections.Housed) bool { return h.Enclosure == id })
			parts = append(parts, g.name(g.housed[i].Animal.ID)+" is alone in "+g.pools[id])
		}
	}
	if n := g.count(""); n > 0 {
		parts = append(parts, plural(n, "animal has", "animals have")+" no enclosure on record")
	}
	if len(parts) == 0 {
		return ""
	}
	return listed(parts) + "."
}
