package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"haulout/projections"
)

// silence is how long a facility may log nothing before its animals stand as
// not heard. Common practice, no source: one working shift and a half.
const silence = 12 * time.Hour

type todayPage struct {
	frame
	Lead    []string
	Choice  choice
	Calls   []callLine // now and today
	Later   []callLine // when there is time
	Waiting []callLine // put off, or said to need nobody
	Caution string
	Form    bool // the visitor records
	Groups  []todayGroup
}

// todayGroup is one facility.
type todayGroup struct {
	Code, Name string
	Said       string // how many are fed, weighed and looked over, or how long it is silent
	Entry      string // the last entry that is in the figures
	Rows       []todayRow
	Calm       string // set when everything is done

	open, waiting        []callLine
	fed, weighed, looked int
	silent               time.Duration // 0 while it is heard
}

type todayRow struct {
	ID, Name  string
	Tape      int
	Enclosure string
	Fed       fedCell
	Weighed   cell
	Looked    cell
	Coat      cell
	Note      string
}

// cell is a text and what shape stands before it: done, call, soon, or gap for
// what nobody knows.
type cell struct{ State, Text string }

// fedCell is the ration bar and its words.
type fedCell struct {
	Bar     bool
	Share   px // how much of the bar is filled
	Text    string
	Gap     bool
	Refused string
}

const barWidth = 75

func (s *site) today(w http.ResponseWriter, r *http.Request) error {
	shown, links, err := s.facilities(r)
	if err != nil {
		return err
	}
	now := s.Now()
	page := todayPage{frame: s.frame(r, "Today", "Today"), Choice: links, Caution: projections.BoardCaution, Form: s.Visitor(r).Records}
	for _, f := range shown {
		group, err := s.todayGroup(f, now, page.Form)
		if err != nil {
			return err
		}
		page.Groups = append(page.Groups, group)
		page.take(group)
	}
	page.order()
	page.Title, page.Lead = s.heading(shown, now), lead(page.Groups)
	return s.show(w, http.StatusOK, "today", page)
}

// take sorts the lines of a facility by when they are to be seen to.
func (p *todayPage) take(g todayGroup) {
	for _, line := range g.open {
		if line.harm == 3 {
			p.Later = append(p.Later, line)
		} else {
			p.Calls = append(p.Calls, line)
		}
	}
	p.Waiting = append(p.Waiting, g.waiting...)
}

// order puts the lines of several facilities by harm, the older first.
func (p *todayPage) order() {
	for _, list := range [][]callLine{p.Calls, p.Later, p.Waiting} {
		slices.SortStableFunc(list, func(a, b callLine) int { return cmp.Or(cmp.Compare(a.harm, b.harm), a.since.Compare(b.since)) })
	}
}

func (s *site) heading(shown []projections.Facility, now time.Time) string {
	zone := time.UTC
	if len(shown) > 0 {
		zone = s.Store.Zone(shown[0].Code)
	}
	return now.In(zone).Format("Monday 2 January 2006, 15:04")
}

// lead is the page in two sentences.
func lead(groups []todayGroup) []string {
	var animals, fed, weighed, looked int
	var silent []string
	for _, g := range groups {
		animals, fed, weighed, looked = animals+len(g.Rows), fed+g.fed, weighed+g.weighed, looked+g.looked
		if g.silent > 0 {
			silent = append(silent, fmt.Sprintf("%s has been silent for %s.", g.Name, lasting(g.silent)))
		}
	}
	if animals == 0 {
		return append([]string{"No animals in care yet."}, silent...)
	}
	first := fmt.Sprintf("Of %s, %s fed, %s weighed and %s looked over today.", plural(animals, "animal", "animals"), are(fed), count(weighed), count(looked))
	return append([]string{first}, silent...)
}

func are(n int) string {
	if n == 1 {
		return "1 is"
	}
	return count(n) + " are"
}

func (s *site) todayGroup(f projections.Facility, now time.Time, records bool) (todayGroup, error) {
	g := todayGroup{Code: f.Code, Name: f.Name, Entry: count(s.Store.Head(f.Code).Number)}
	zone := s.Store.Zone(f.Code)
	board, err := s.Store.Today(f.Code, now, time.Time{})
	if err != nil || board == nil {
		return g, err
	}
	g.open, g.waiting = callsOf(board, zone, records)
	heard := board.Heard
	if board.Silent {
		g.silent = now.Sub(heard)
	}
	roster, err := s.Store.Roster(f.Code, now, time.Time{})
	if err != nil {
		return g, err
	}
	pools, err := s.enclosureNames(f.Code)
	if err != nil {
		return g, err
	}
	done := 0
	for _, h := range roster {
		n, err := s.seen(h.Animal.ID, projections.DayOf(now, zone), now)
		if err != nil {
			return g, err
		}
		g.add(h, n, pools[h.Enclosure], now, zone)
		if n.done() {
			done++
		}
	}
	g.sum(done, heard, now, zone)
	return g, nil
}

func (s *site) enclosureNames(facility string) (map[string]string, error) {
	list, err := s.Store.Enclosures(facility, time.Time{})
	out := map[string]string{}
	for _, e := range list {
		out[e.ID] = e.Name
	}
	return out, err
}

func (g *todayGroup) add(h projections.Housed, n seen, pool string, now time.Time, zone *time.Location) {
	row := todayRow{
		ID: h.Animal.ID, Name: h.Animal.Name, Tape: h.Animal.Tape, Enclosure: pool,
		Fed: n.fedCell(), Weighed: n.weighedCell(now, zone), Looked: n.lookedCell(zone), Coat: n.coatCell(now, zone), Note: n.note(),
	}
	if g.silent > 0 {
		row.unheard(n, now, zone)
	}
	g.Rows = append(g.Rows, row)
	if n.today == nil {
		return
	}
	g.fed += one(n.today.Feeds > 0)
	g.weighed += one(n.today.Weighed != nil)
	g.looked += one(n.today.Check != nil)
}

func one(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

func (g *todayGroup) sum(done int, heard, now time.Time, zone *time.Location) {
	g.Said = fmt.Sprintf("%d of %d fed, %d weighed, %d looked over", g.fed, len(g.Rows), g.weighed, g.looked)
	switch {
	case heard.IsZero():
		g.Said = "Nothing has come in yet"
	case g.silent > 0:
		g.Said = "Nothing has come in since " + when(heard, now, zone)
	case len(g.Rows) == 0:
		g.Said = "No animals in care"
	case done == len(g.Rows):
		g.Calm = fmt.Sprintf("All done at %s. %s fed to the ration and looked over, last entry %s.", g.Name, plural(done, "animal", "animals"), when(heard, now, zone))
	}
}

func (n *seen) fedCell() fedCell {
	if n.feeds() == 0 {
		return fedCell{Text: "not yet", Gap: true}
	}
	out := fedCell{Text: kg(n.today.EatenG) + ", no ration set"}
	if n.ration != nil && n.ration.Grams() > 0 {
		share := min(1, n.today.EatenG/n.ration.Grams())
		out.Bar, out.Share, out.Text = true, px(barWidth*share), kgOf(n.today.EatenG, n.ration.Grams())
	}
	switch {
	case n.today.EatenG == 0 && n.today.RefusedG > 0:
		out.Refused = "refused"
	case tenths(n.today.RefusedG) > 0:
		out.Refused = kg(n.today.RefusedG) + " refused"
	}
	return out
}

func (n *seen) weighedCell(now time.Time, zone *time.Location) cell {
	if n.today != nil && n.today.Weighed != nil {
		text := kg(n.today.Weighed.Kg * 1000)
		if n.today.Weighings > 1 {
			text += fmt.Sprintf(", %d weights", n.today.Weighings)
		}
		return cell{"done", text}
	}
	if n.weight == nil {
		return cell{"gap", "never"}
	}
	switch days := daysBetween(projections.DayOf(n.weight.Time, zone), projections.DayOf(now, zone)); days {
	case 1:
		return cell{"", "yesterday"}
	default:
		return cell{"", plural(days, "day", "days") + " ago"}
	}
}

func (n *seen) lookedCell(zone *time.Location) cell {
	if n.today == nil || n.today.Check == nil {
		return cell{"gap", "not yet"}
	}
	check := n.today.Check
	text := clock(check.Time, zone) + " " + check.By
	if check.Findings > 0 {
		text += ", " + plural(check.Findings, "finding", "findings")
	}
	return cell{"done", text}
}

func (n *seen) coatCell(now time.Time, zone *time.Location) cell {
	if n.coat == nil {
		return cell{"gap", fmt.Sprintf("not in %d days", lookBack)}
	}
	text := coat(n.coat.Stage, n.coat.NewCoat)
	if day := whichDay(n.coat.Time, now, zone); day != "today" {
		return cell{"", text + ", " + day}
	}
	return cell{"done", text}
}

func (n *seen) note() string {
	var parts []string
	if n.today != nil && n.today.Check != nil && n.today.Check.Urgent {
		parts = append(parts, "keeper asks for the veterinarian")
	}
	if n.today != nil && n.today.Notes > 0 {
		parts = append(parts, plural(n.today.Notes, "note", "notes"))
	}
	if n.today != nil && n.today.Corrected > 0 {
		parts = append(parts, plural(n.today.Corrected, "entry", "entries")+" corrected")
	}
	return strings.Join(parts, ", ")
}

// unheard turns what is not logged into not heard: the facility has been
// silent, so nobody here knows.
func (r *todayRow) unheard(n seen, now time.Time, zone *time.Location) {
	gap := cell{"gap", "not heard"}
	if n.feeds() == 0 {
		r.Fed = fedCell{Text: gap.Text, Gap: true}
	}
	if n.today == nil || n.today.Weighed == nil {
		r.Weighed = gap
	}
	if n.today == nil || n.today.Check == nil {
		r.Looked = gap
	}
	if n.today == nil || n.today.Coat == nil {
		r.Coat = gap
	}
	if r.Note == "" && n.fed != nil {
		r.Note = "last known: fed " + when(*n.fed, now, zone)
	}
}
