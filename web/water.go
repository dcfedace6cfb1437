package web

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"haulout/projections"
	"haulout/projections/rules"
)

// waterPage is the water and the space of every enclosure, those that fail
// first.
type waterPage struct {
	frame
	Choice  choice
	Answer  string
	Mind    []waterMind // what somebody must see to
	Rows    []waterRow
	Caution string
	Many    bool // of several facilities
}

// waterMind is a line about an enclosure that somebody must see to.
type waterMind struct {
	State            waterState
	Name, Path, Text string
}

// waterRow is an enclosure.
type waterRow struct {
	Name, Facility, Path string
	State, Space         waterState
	Said                 string
	Cells                []waterCell
	Due                  waterState
	Lives                string
	gravity              int
}

// waterCell is the last of something that was measured.
type waterCell struct{ Text, When, Shape string }

// waterColumns are what the overview shows of each enclosure.
var waterColumns = []string{"total_coliform", "ph", "salinity", "temperature"}

// Columns are their names, with the units that they are mostly read in.
func (waterPage) Columns() []string {
	return []string{"Coliforms, MPN in 100" + nb + "mL", "pH", "Salinity, ‰", "Temperature, °C"}
}

func waterPath(facility, enclosure string) string {
	return "/water/" + url.PathEscape(facility) + "/" + url.PathEscape(enclosure)
}

func (s *site) water(w http.ResponseWriter, r *http.Request) error {
	shown, links, err := s.facilities(r)
	if err != nil {
		return err
	}
	page := waterPage{frame: s.frame(r, "Water", "Water"), Choice: links, Caution: projections.WaterCaution, Many: len(shown) > 1}
	for _, f := range shown {
		if err := s.waterFacility(f, s.Now(), &page); err != nil {
			return err
		}
	}
	slices.SortStableFunc(page.Rows, func(a, b waterRow) int {
		return cmp.Or(cmp.Compare(a.gravity, b.gravity), cmp.Compare(a.Facility, b.Facility), cmp.Compare(a.Name, b.Name))
	})
	page.order()
	return s.show(w, http.StatusOK, "water", page)
}

func (s *site) waterFacility(f projections.Facility, now time.Time, page *waterPage) error {
	list, err := s.Store.WatersOf(f.Code, now, time.Time{})
	if err != nil {
		return err
	}
	roster, err := s.Store.Roster(f.Code, now, time.Time{})
	if err != nil {
		return err
	}
	for i := range list {
		a := &list[i]
		space, err := s.Store.SpaceOf(f.Code, a.Enclosure, now, time.Time{})
		if err != nil {
			return err
		}
		page.Rows = append(page.Rows, waterRowOf(f, a, space, roster, s.Store.Zone(f.Code)))
	}
	return nil
}

func waterRowOf(f projections.Facility, a *projections.WaterAnswer, space *projections.SpaceAnswer, roster []projections.Housed, zone *time.Location) waterRow {
	row := waterRow{Name: a.Name, Facility: f.Name, Path: waterPath(f.Code, a.Enclosure), State: waterStateOf(a), Space: spaceStates[space.Standing]}
	lives := 0
	for _, h := range roster {
		lives += one(h.Enclosure == a.Enclosure)
	}
	row.Lives = plural(lives, "animal", "animals")
	if lives == 0 {
		row.Lives, row.Space = "empty", waterState{"", "nobody lives here"}
	}
	for _, what := range waterColumns {
		row.Cells = append(row.Cells, waterCellOf(a, what, zone))
	}
	row.Due = waterState{"", waterNext(a)}
	overdue := len(waterOverdue(a)) > 0 && lives > 0
	if overdue {
		row.Due.Shape = "soon"
	}
	said, more := waterAnswer(a)
	row.Said = said
	row.gravity = waterGravity(a.Standing, overdue, space.Standing == rules.Fails && lives > 0)
	if lives == 0 && len(a.Last)+len(a.Open) == 0 {
		row.gravity = 4 // nothing is owed where nobody lives
	}
	if row.gravity < 3 {
		row.Said += more
	}
	if space.Standing == rules.Fails && lives > 0 {
		row.Said += " " + space.Sentence
	}
	return row
}

// waterGravity puts enclosures in order: what fails, what exceeds or is overdue,
// what is too small, what is undecided, the rest.
func waterGravity(s rules.Standing, overdue, small bool) int {
	switch {
	case s == rules.Fails:
		return 0
	case s == rules.Exceeds:
		return 1
	case overdue, small:
		return 2
	case s == rules.Undecided:
		return 3
	}
	return 4
}

func waterCellOf(a *projections.WaterAnswer, what string, zone *time.Location) waterCell {
	i := slices.IndexFunc(a.Last, func(v projections.WaterValue) bool { return v.What == what })
	if i < 0 {
		return waterCell{Text: "not tested", Shape: "gap"}
	}
	v := a.Last[i]
	out := waterCell{Text: waterResult(v.Value, v.Bound), When: when(v.Time, a.At, zone)}
	if q := v.Value.Unit; q != rules.WaterUnits(what)[0] {
		out.Text += nb + waterUnit(q)
	}
	if v.Verdict.Standing == rules.Fails || v.Verdict.Standing == rules.Exceeds {
		out.Shape = waterStates[v.Verdict.Standing].Shape
	}
	return out
}

// order counts the rows, and lifts what somebody must see to.
func (p *waterPage) order() {
	counts := [5]int{}
	for _, row := range p.Rows {
		counts[row.gravity]++
		if row.gravity > 2 {
			continue
		}
		state := row.State
		if row.gravity == 2 {
			state = waterState{"soon", "To do"}
		}
		name := row.Name
		if p.Many {
			name += ", " + row.Facility
		}
		p.Mind = append(p.Mind, waterMind{state, name, row.Path, row.Said})
	}
	if len(p.Rows) == 0 {
		return
	}
	var parts []string
	for i, words := range []string{"failing", "over a limit with repeats to come", "with a test overdue or too little space", "undecided", "with nothing to do"} {
		if counts[i] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", counts[i], words))
		}
	}
	p.Answer = sentence(plural(len(p.Rows), "enclosure", "enclosures")) + ": " + strings.Join(parts, ", ") + "."
}
