package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections"
)

type rationPage struct {
	frame
	ID, Name string
	Tape     int
	Asked    rationForm
	Trouble  string // what is wrong with what was asked for
	NoPlan   string // why there is no plan
	Want     string
	Need     string
	Within   string
	Sessions []string
	Rows     []proposedRow
	Total    proposedRow
	Facts    []fact
	Short    []string
	Says     []string
	Caution  string
	Set      setForm
}

// rationForm is what is asked for, as it was typed.
type rationForm struct{ Kg, By, Kcal, Times, Least string }

type proposedRow struct {
	Food     string
	Portions string
	Kg, Now  string
	Change   string
	Kcal     string
	Share    string
	Sessions []string // grams
	Stock    string
}

// setForm is what makes the proposal a ration: a fact for the recorder.
type setForm struct {
	Kind, Facility, By string
	Data               string // JSON
}

func (s *site) ration(w http.ResponseWriter, r *http.Request) error {
	f, err := s.open(r)
	if err != nil {
		return err
	}
	page := rationPage{frame: s.frame(r, "Animals", "Ration of "+f.animal.Name), ID: f.animal.ID, Name: f.animal.Name, Tape: f.animal.Tape, Caution: projections.Caution}
	q := r.URL.Query()
	page.Asked = rationForm{Kg: q.Get("kg"), By: q.Get("by"), Kcal: q.Get("kcal"), Times: q.Get("times"), Least: string(f.today.Add(1))}
	ask, trouble := askOf(f.animal.ID, q)
	if page.Trouble = trouble; trouble != "" {
		return s.show(w, http.StatusUnprocessableEntity, "ration", page)
	}
	p, err := s.Store.Propose(ask, s.Now(), time.Time{})
	if errors.Is(err, projections.ErrAsk) {
		page.Trouble = sentence(err.Error()) + "."
		return s.show(w, http.StatusUnprocessableEntity, "ration", page)
	}
	if err != nil {
		return err
	}
	page.fill(p, s.Visitor(r))
	return s.show(w, http.StatusOK, "ration", page)
}

// askOf reads what was typed.
func askOf(animal string, q url.Values) (ask projections.Ask, trouble string) {
	ask.Animal = animal
	if text := q.Get("kcal"); text != "" {
		kcal, ok := typedNumber(text)
		if !ok {
			return ask, fmt.Sprintf("Energy is %q; write a number of kilocalories such as 5200.", text)
		}
		ask.Kcal = &kcal
	}
	kilos, by := q.Get("kg"), q.Get("by")
	if (kilos == "") != (by == "") {
		return ask, "A mass to reach needs a day to reach it by; give both, or neither to hold the mass."
	}
	if kilos != "" {
		kg, ok := typedNumber(kilos)
		if !ok {
			return ask, fmt.Sprintf("The mass is %q; write kilograms such as 84.5.", kilos)
		}
		ask.Target = &projections.Target{Kg: kg, By: projections.Day(by)}
	}
	for one := range strings.FieldsFuncSeq(q.Get("times"), func(r rune) bool { return r == ',' || r == ' ' }) {
		at, err := time.Parse("15:04", one)
		if err != nil {
			return ask, fmt.Sprintf("A time of a feed is %q; write times as 08:30, 15:30.", one)
		}
		ask.Times = append(ask.Times, at.Format("15:04"))
	}
	return ask, ""
}

func typedNumber(text string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	return v, err == nil && v > 0 && v < 1e6
}

func (page *rationPage) fill(p *projections.Proposal, visitor Visitor) {
	page.NoPlan, page.Within, page.Says = sentenceOf(p.NotEnough), p.Within, p.Says
	if p.Plan == nil {
		return
	}
	page.Want = fmt.Sprintf("%s a day: %s", kcals(p.Kcal), p.Why)
	if p.Need != nil {
		page.Need = fmt.Sprintf("It needs %s a day, %s in 9 of 10 cases.", kcals(p.Need.Mean), spanOf(*p.Need))
	}
	page.Sessions = p.Times
	if len(page.Sessions) == 0 {
		page.Sessions = []string{"any time"}
	}
	for i := range p.Items {
		page.Rows = append(page.Rows, proposedRowOf(p, i))
	}
	page.Total, page.Facts = totalOf(p), planFacts(p)
	if p.Plan.Short != nil {
		page.Short = append([]string{fmt.Sprintf("%s a day are missing; at the most %s can be had.", kcals(p.Plan.Short.Shortfall), kcals(p.Plan.Short.Most))}, p.Plan.Short.Binding...)
	}
	if visitor.Records && p.Plan.Short == nil {
		page.Set = setFormOf(p, visitor)
	}
}

func proposedRowOf(p *projections.Proposal, i int) proposedRow {
	item := p.Items[i]
	row := proposedRow{
		Food: item.Name, Portions: fmt.Sprintf("%d%s×%s%s%sg", item.Portions, nb, nb, plainFigure(item.PortionG), nb), Kg: fineKilos(item.Grams),
		Kcal: tens(item.Kcal), Share: fmt.Sprintf("%.0f%s%%", 100*p.Plan.Shares[i], nb), Stock: kilos(item.StockG),
	}
	if item.Now != nil {
		row.Now, row.Change = fineKilos(*item.Now), changeOf(item.Grams-*item.Now)
	}
	for _, session := range p.Plan.Sessions {
		row.Sessions = append(row.Sessions, count(int(float64(session[i])*item.PortionG+0.5)))
	}
	return row
}

// fineKilos writes kilograms to ten grams: portions are small fish.
func fineKilos(g float64) string { return fmt.Sprintf("%.2f", g/1000) }

func changeOf(g float64) string {
	switch {
	case g > 4:
		return "+" + fineKilos(g)
	case g < -4:
		return "\u2212" + fineKilos(-g)
	}
	return "as now"
}

func totalOf(p *projections.Proposal) proposedRow {
	row := proposedRow{Food: "All", Kg: fmt.Sprintf("%.2f", p.Plan.Kg), Kcal: tens(p.Plan.Kcal)}
	now, set := 0.0, false
	for _, item := range p.Items {
		if item.Now != nil {
			now, set = now+*item.Now, true
		}
	}
	if set {
		row.Now, row.Change = fineKilos(now), changeOf(p.Plan.Kg*1000-now)
	}
	for _, session := range p.Plan.Sessions {
		g := 0.0
		for i, n := range session {
			g += float64(n) * p.Items[i].PortionG
		}
		row.Sessions = append(row.Sessions, count(int(g+0.5)))
	}
	return row
}

func planFacts(p *projections.Proposal) []fact {
	out := []fact{{"Holds", kcals(p.Plan.Kcal), fmt.Sprintf("of %s wanted", kcals(p.Kcal))}}
	if p.MassKg != nil {
		out = append(out, fact{"Of body mass", fmt.Sprintf("%.1f%s%%", 100*p.Plan.Kg/p.MassKg.Mean, nb), fmt.Sprintf("never over %s", ceilingWords(p))})
	}
	for _, part := range []struct {
		name  string
		grams *float64
	}{{"Water in it", p.Plan.WaterG}, {"Protein", p.Plan.ProteinG}, {"Fat", p.Plan.FatG}} {
		if part.grams == nil {
			out = append(out, fact{part.name, "not known", "a food has no such figure"})
			continue
		}
		out = append(out, fact{part.name, kg(*part.grams), "a day"})
	}
	if p.Plan.Cost != nil {
		out = append(out, fact{"Cost", fmt.Sprintf("%.2f", *p.Plan.Cost), "a day, in the money of the house"})
	}
	return out
}

func ceilingWords(p *projections.Proposal) string {
	if p.Plan.CeilingKg == nil {
		return "what is known"
	}
	return fmt.Sprintf("%.1f%skg", *p.Plan.CeilingKg, nb)
}

// setFormOf writes the proposal as the fact that a lead keeper may record.
func setFormOf(p *projections.Proposal, visitor Visitor) setForm {
	body := events.RationSet{Animal: p.Animal, Times: p.Times}
	for _, item := range p.Items {
		if item.Portions > 0 {
			body.Items = append(body.Items, events.RationItem{Food: item.Food, Mass: events.Quantity{Value: plainGrams(item.Grams), Unit: "g"}})
		}
	}
	data, err := json.Marshal(body)
	if err != nil || len(body.Items) == 0 {
		return setForm{}
	}
	return setForm{Kind: events.TypeOf("ration.set"), Facility: p.Facility, By: visitor.Name, Data: string(data)}
}

func plainGrams(g float64) string { return strconv.FormatFloat(g, 'f', -1, 64) }
