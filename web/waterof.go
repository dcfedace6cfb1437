package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections"
	"haulout/projections/rules"
)

// waterOfPage is the water and the space of one enclosure.
type waterOfPage struct {
	frame
	Code, Facility, Zone, ID, Name string
	Home, Back, Company            string
	Lead, Believed                 string
	From, To, AsOf, Today          string // as asked
	State                          waterState
	Answer, More                   string
	Open                           []waterSeriesRow
	Last                           []waterLastRow
	Series                         []waterSeriesRow
	Alone                          string // how many counts passed by themselves, which are not among them
	Charts                         []waterFigure
	Window                         string
	Tests                          waterTable
	Due                            []waterDueRow
	Week                           string
	Notes                          []string
	Space                          spacePart
	Rules                          []rules.Setting
	Form                           waterForm
	Caution                        string
}

type waterLastRow struct {
	Name, Result, When, By string
	State                  waterState
	Words, Rule            string
}

// waterSeriesRow is a count of coliforms with those that repeat it.
type waterSeriesRow struct {
	State        waterState
	From, Sample string
	Counts       []string
	Mean         string
	Words, Rule  string
	Due          []string
	Settled      bool // by a later count
}

type waterDueRow struct {
	Name, By, Last string
	Overdue        bool
	Words          string
}

// waterForm records what was measured from the desk.
type waterForm struct {
	Allowed       bool
	Kind, Body    string
	Usual, Seldom []waterField
	Repeats       []option // samples that others are to repeat
}

// waterField is one thing to measure, and its unit.
type waterField struct{ What, Name, Unit, In string }

// waterAsk is what was asked of the page.
type waterAsk struct {
	facility projections.Facility
	zone     *time.Location
	now      time.Time
	asOf     asOf
	from, to projections.Day
	with     []string
}

func (s *site) waterOf(w http.ResponseWriter, r *http.Request) error {
	ask, err := s.waterAsk(r)
	if err != nil {
		return err
	}
	id := r.PathValue("enclosure")
	answer, err := s.Store.WaterOver(ask.facility.Code, id, ask.from, ask.to, ask.now, ask.asOf.moment)
	if err != nil {
		return err
	}
	if answer == nil {
		return problem{http.StatusNotFound, "No enclosure has the id " + id, "Pick one from Water."}
	}
	page := waterOfPage{frame: s.frame(r, "Water", "Water of "+answer.Name)}
	page.fill(answer, ask)
	if page.Space, err = s.spacePart(ask, answer); err != nil {
		return err
	}
	page.Form = waterFormOf(answer, page.Visitor.Records && ask.asOf.day == "")
	return s.show(w, http.StatusOK, "waterof", page)
}

// waterAsk reads what is asked for, and answers what can't be read with the name
// of the field.
func (s *site) waterAsk(r *http.Request) (a waterAsk, err error) {
	facilities, err := s.Store.Facilities(time.Time{})
	if err != nil {
		return a, err
	}
	code := r.PathValue("facility")
	i := slices.IndexFunc(facilities, func(f projections.Facility) bool { return f.Code == code })
	if i < 0 || !s.Visitor(r).sees(code) {
		return a, unknownFacility(code)
	}
	q := r.URL.Query()
	a = waterAsk{facility: facilities[i], zone: s.Store.Zone(code), now: s.Now(), with: q["with"]}
	if a.asOf, err = readAsOf(q, a.zone, a.now); err != nil {
		return a, err
	}
	if a.asOf.day != "" && a.asOf.moment.Before(a.now) {
		a.now = a.asOf.moment.Add(-time.Second)
	}
	return a, a.days(q)
}

func (a *waterAsk) days(q url.Values) error {
	today := projections.DayOf(a.now, a.zone)
	for name, day := range map[string]*projections.Day{"from": &a.from, "to": &a.to} {
		text := q.Get(name)
		if text == "" {
			continue
		}
		read, err := projections.ParseDay(text)
		if err != nil {
			return unreadable(name, err)
		}
		if read > today {
			return problem{http.StatusBadRequest, "The day is still to come", fmt.Sprintf("Give %s a day up to %s; nothing is known of later ones.", name, today)}
		}
		*day = read
	}
	if a.from != "" && a.to != "" && a.from > a.to {
		return problem{http.StatusBadRequest, "The window ends before it begins", fmt.Sprintf("Give from a day up to %s.", a.to)}
	}
	return nil
}

func (p *waterOfPage) fill(a *projections.WaterAnswer, ask waterAsk) {
	p.Code, p.Facility, p.Zone, p.ID, p.Name = ask.facility.Code, ask.facility.Name, ask.facility.Zone, a.Enclosure, a.Name
	p.Home, p.Back = waterPath(p.Code, p.ID), "/water?facility="+url.QueryEscape(p.Code)
	p.Company = "/colony/" + url.PathEscape(p.Code) + "/" + url.PathEscape(p.ID)
	p.From, p.To, p.AsOf, p.Today = string(ask.from), string(ask.to), string(ask.asOf.day), string(projections.DayOf(ask.now, ask.zone))
	p.Lead = fmt.Sprintf("%s of %s: %s, %s.", a.Name, p.Facility, waterSalts[a.Salt], waterAdded(a.Added))
	if ask.asOf.day != "" {
		p.Believed = "This is what was believed at the end of " + longDay(ask.asOf.day) + ". What came in later is left out."
	}
	p.State, p.Window, p.Caution, p.Rules = waterStateOf(a), windowWords(a.From, a.To), a.Caution, a.Rules
	for _, note := range a.Notes {
		p.Notes = append(p.Notes, sentence(note))
	}
	p.Answer, p.More = waterAnswer(a)
	for _, v := range a.Last {
		p.Last = append(p.Last, waterLastRow{
			waterName(v.What), waterFull(v.Value, v.Bound), waterWhen(v.Time, a.At, ask.zone), v.By, waterStates[v.Verdict.Standing], waterSentence(v.Verdict.Words), waterRuleOf(v.Verdict),
		})
	}
	for _, s := range a.Open {
		p.Open = append(p.Open, waterSeriesOf(s, ask.zone))
	}
	p.series(a, ask.zone)
	p.Charts = waterFigures(a, ask.zone)
	p.Tests = waterTableOf(a, ask.zone)
	p.due(a)
}

// series are the counts over the limit; the others are counted.
func (p *waterOfPage) series(a *projections.WaterAnswer, zone *time.Location) {
	alone := 0
	for _, s := range a.Series {
		if len(s.Counts) == 1 && s.Standing == rules.Passes {
			alone++
			continue
		}
		p.Series = append(p.Series, waterSeriesOf(s, zone))
	}
	if alone > 0 {
		p.Alone = plural(alone, "count", "counts")
	}
}

func waterSeriesOf(s projections.WaterSeries, zone *time.Location) waterSeriesRow {
	first := s.Counts[0]
	row := waterSeriesRow{
		State: waterStates[s.Standing], From: onDate(first.Time, zone), Sample: s.Sample, Words: waterSentence(s.Words), Rule: waterRuleOf(s.Verdict),
		Settled: s.Settled && s.Standing != rules.Passes,
	}
	for _, c := range s.Counts {
		row.Counts = append(row.Counts, waterResult(c.Value, c.Bound))
	}
	if s.Mean != nil {
		row.Mean = strings.TrimSuffix(fmt.Sprintf("%.2f", *s.Mean), ".00")
	}
	if !s.Settled {
		for _, due := range s.Due {
			row.Due = append(row.Due, due.In(zone).Format("Mon"+nb+"2"+nb+"January"+nb+"15:04"))
		}
	}
	return row
}

// due is what is due this week, and what is overdue. What is due later says so.
func (p *waterOfPage) due(a *projections.WaterAnswer) {
	p.Week = dayAs(a.WeekEnds, "Monday 2 January")
	for _, s := range a.Samples {
		p.Due = append(p.Due, waterDueRow{"Coliforms, repeat", "", "", s.Overdue, sentence(s.Words)})
	}
	for _, d := range a.Due {
		row := waterDueRow{waterName(d.What), longDay(projections.Day(d.By)), "never tested", d.Overdue, waterSentence(d.Words)}
		if d.Last != "" {
			row.Last = "last tested " + longDay(projections.Day(d.Last))
		}
		if projections.Day(d.By) > a.WeekEnds {
			row.Words += " Not due this week."
		}
		p.Due = append(p.Due, row)
	}
}

// waterUsual are what a round of the pools measures; what is added to the water
// joins them.
var waterUsual = []string{"total_coliform", "ph", "salinity", "temperature"}

func waterFormOf(a *projections.WaterAnswer, allowed bool) waterForm {
	f := waterForm{Allowed: allowed, Kind: events.TypeOf("water.tested"), Body: jsonBody(map[string]string{"enclosure": a.Enclosure})}
	usual := slices.Concat(waterUsual, a.Added)
	for _, what := range []string{"total_coliform", "ph", "salinity", "temperature", "free_chlorine", "total_chlorine", "ozone", "faecal_coliform", "enterococci", "turbidity", "ammonia", "nitrate"} {
		unit := rules.WaterUnits(what)[0]
		field := waterField{what, waterName(what), unit, waterUnit(unit)}
		if slices.Contains(usual, what) {
			f.Usual = append(f.Usual, field)
		} else {
			f.Seldom = append(f.Seldom, field)
		}
	}
	for _, s := range a.Open {
		if s.Sample != "" && len(s.Due) > 0 {
			f.Repeats = append(f.Repeats, option{s.Sample, s.Sample + ", " + waterResult(s.Counts[0].Value, s.Counts[0].Bound)})
		}
	}
	return f
}

// spaceTrouble answers newcomers that can't be read.
func spaceTrouble(err error) error {
	if errors.Is(err, projections.ErrSpace) {
		return problem{http.StatusBadRequest, "A newcomer can’t be found", sentence(err.Error()) + "."}
	}
	return err
}
