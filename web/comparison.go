package web

import (
	"fmt"
	"slices"
	"strings"

	"haulout/projections"
	"haulout/projections/dominance"
)

// comparePart sets two windows beside each other.
type comparePart struct {
	Offer     string // path of the comparison that lies nearest; "" where one is shown
	OfferName string
	Then, Now string // the windows
	ThenState stateWord
	NowState  stateWord
	Answer    string
	Rows      []compareRow
	From, To  string // to be asked for
	Path      string
}

type compareRow struct {
	Name                string
	Tape                int
	HereThen, HereNow   bool
	PlaceThen, PlaceNow string
	RangeThen, RangeNow string
	MiniThen, MiniNow   miniBar
	// Wins and losses; what was even stands below.
	RecordThen, RecordNow, EvenThen, EvenNow string
	WordsThen, WordsNow                      string // where the animal was not in the order
	Moved                                    string
	then, now                                [2]int // first and last place that it could hold
}

func comparePartOf(g *group) comparePart {
	from, to := g.before()
	p := comparePart{From: g.ask.WithFrom, To: g.ask.WithTo}
	if g.then == nil {
		p.From, p.To = string(from), string(to)
		p.Offer, p.OfferName = g.ask.path("with_from", string(from), "with_to", string(to))+"#compare", windowWords(from, to)
		return p
	}
	p.Then, p.Now = windowWords(g.then.From, g.then.To), windowWords(g.order.From, g.order.To)
	p.ThenState, p.NowState = stateOf(g.then.State), stateOf(g.order.State)
	p.Rows = compareRows(g.then, g.order)
	p.Answer = compareAnswer(g, p.Rows)
	return p
}

// before is the period before the window, or as many days before it.
func (g *group) before() (from, to projections.Day) {
	to = g.order.From.Add(-1)
	for i := len(g.periods) - 1; i >= 0; i-- {
		if began := projections.DayOf(g.periods[i].From, g.zone); began <= to && daysBetween(began, to) < 365 {
			return began, to
		}
	}
	return to.Add(-daysBetween(g.order.From, g.order.To)), to
}

func compareRows(then, now *projections.Order) (out []compareRow) {
	for _, a := range now.Animals {
		row := compareRow{Name: a.Name, Tape: a.Tape, WordsThen: "not here"}
		row.setNow(a, now)
		if i := rowOf(then, a.Animal); i >= 0 {
			row.setThen(then.Animals[i], then)
		}
		row.move(then, now)
		out = append(out, row)
	}
	for _, a := range then.Animals {
		if rowOf(now, a.Animal) < 0 {
			row := compareRow{Name: a.Name, Tape: a.Tape, WordsNow: "not here"}
			row.setThen(a, then)
			row.Moved = "left"
			out = append(out, row)
		}
	}
	return out
}

func rowOf(o *projections.Order, animal string) int {
	return slices.IndexFunc(o.Animals, func(a projections.Ranked) bool { return a.Animal == animal })
}

func (r *compareRow) setNow(a projections.Ranked, o *projections.Order) {
	r.HereNow, r.RecordNow, r.EvenNow = true, record(a.Won, a.Lost), evenOf(a)
	r.PlaceNow, r.RangeNow, r.MiniNow, r.now = side(a, o)
}

func (r *compareRow) setThen(a projections.Ranked, o *projections.Order) {
	r.HereThen, r.RecordThen, r.EvenThen = true, record(a.Won, a.Lost), evenOf(a)
	r.PlaceThen, r.RangeThen, r.MiniThen, r.then = side(a, o)
}

func evenOf(a projections.Ranked) string {
	if a.Draws == 0 {
		return ""
	}
	return count(a.Draws) + nb + "even"
}

// side is where an animal stands in one of the two windows.
func side(a projections.Ranked, o *projections.Order) (place, span string, mini miniBar, held [2]int) {
	known := o.State != dominance.NoOrder && a.First != nil
	mini = miniOf(a, len(o.Animals), known)
	if !known {
		return "–", "not known", mini, held
	}
	return ordinal(*a.Place), placesOf(a), mini, [2]int{*a.First, *a.Last}
}

// move says whether the places that an animal could hold tell the windows
// apart. Only places in the same company can be compared.
func (r *compareRow) move(then, now *projections.Order) {
	switch {
	case !r.HereThen:
		r.Moved = "joined"
	case r.now[0] == 0 || r.then[0] == 0:
		r.Moved = "can’t be told"
	case !sameCompany(then, now):
		r.Moved = "other company"
	case r.now[1] < r.then[0]:
		r.Moved = "rose"
	case r.now[0] > r.then[1]:
		r.Moved = "fell"
	default:
		r.Moved = "can’t be told"
		if r.PlaceThen == r.PlaceNow {
			r.Moved = "as before"
		}
	}
}

func sameCompany(then, now *projections.Order) bool {
	if len(then.Animals) != len(now.Animals) {
		return false
	}
	for _, a := range now.Animals {
		if rowOf(then, a.Animal) < 0 {
			return false
		}
	}
	return true
}

func compareAnswer(g *group, rows []compareRow) string {
	by := map[string][]string{}
	for _, r := range rows {
		by[r.Moved] = append(by[r.Moved], r.Name)
	}
	var parts []string
	for _, moved := range []string{"rose", "fell", "joined", "left"} {
		if names := by[moved]; len(names) > 0 {
			parts = append(parts, listed(names)+" "+moved)
		}
	}
	if len(parts) == 0 {
		parts = append(parts, "no move that the ranges tell apart")
	}
	text := sentence(strings.Join(parts, "; ")) + "."
	if !sameCompany(g.then, g.order) {
		text += " The company is not the same, so a place then and a place now are not of one ladder."
	}
	if g.then.State == dominance.NoOrder || g.order.State == dominance.NoOrder {
		text += fmt.Sprintf(" Then: %s. Now: %s.", strings.ToLower(stateOf(g.then.State).Text), strings.ToLower(stateOf(g.order.State).Text))
	}
	return text
}
