package web

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"haulout/projections"
)

// bucketSheet is a table of buckets for one sheet of paper: a row for an
// animal, a column for a food of a session.
type bucketSheet struct {
	ID       string
	Head     string
	Wide     bool // lies on its side
	Sums     bool // carries the day's sum and the vitamins: the first sheet does
	Sessions []sheetSession
	Columns  []sheetColumn
	Rows     []sheetRow
	Totals   []sheetCell
	Total    string
	Vitamins []string
	Span     int // columns in all
}

type sheetSession struct {
	Name string
	Span int
}

type sheetColumn struct {
	group feedGroup
	food  string // "" for the time of the feed
	Name  string
	First bool // of its feed
}

type sheetRow struct {
	ID, Name, Enclosure string
	Tape                int
	Missing             string
	Cells               []sheetCell
	Day                 string
	Vitamins            []sheetCell
}

// empty says that nothing of this sheet is for the animal.
func (r sheetRow) empty() bool {
	return !slices.ContainsFunc(r.Cells, func(c sheetCell) bool { return c.Text != "" })
}

type sheetCell struct {
	Text, Note   string
	First, Grams bool
}

// A sheet stands up to so many columns of 12 pt figures, and lies down to so
// many: measured on A4 and Letter, the narrower of each.
const (
	uprightColumns = 6
	mostColumns    = 12
)

// feedGroup is the columns of one feed: of a time of the day that all share,
// or of each animal's first, second, third feed with its own time beside it.
type feedGroup struct {
	name    string
	session string
	nth     int // of the animal, from 0
	own     bool
}

// sheets shares the feeds among sheets that are wide enough for their foods.
func (t fishTeller) sheets(facility string) (out []bucketSheet) {
	if len(t.room.Buckets) == 0 {
		return nil
	}
	var columns []sheetColumn
	for _, group := range t.groups() {
		next := t.columns(group)
		if len(columns) > 0 && foodsIn(columns)+foodsIn(next) > mostColumns {
			out = append(out, t.sheet(columns))
			columns = nil
		}
		columns = append(columns, next...)
	}
	out = append(out, t.sheet(columns))
	for i := range out {
		s := &out[i]
		s.ID, s.Sums = fmt.Sprintf("buckets-%d", i+1), i == 0
		s.Head = fmt.Sprintf("Buckets, grams, %s, %s", dayAs(t.room.Day, "Mon 2 January 2006"), facility)
		if len(out) > 1 {
			s.Head += fmt.Sprintf(", sheet %d of %d", i+1, len(out))
		}
		if s.Sums {
			s.sumUp(t)
		} else {
			s.Rows = slices.DeleteFunc(s.Rows, sheetRow.empty)
		}
		s.Span = 1 + len(s.Columns) + len(s.Vitamins) + one(s.Sums)
		s.Wide = foodsIn(s.Columns) > uprightColumns
	}
	return out
}

// groups goes by the time of the day where that fits one sheet. Animals that
// are fed at many different times share columns by the order of their feeds.
func (t fishTeller) groups() (out []feedGroup) {
	columns, feeds := 0, 0
	for _, session := range t.room.Sessions {
		g := feedGroup{name: orElse(session, "any time"), session: session}
		columns += foodsIn(t.columns(g))
		out = append(out, g)
	}
	if columns <= mostColumns {
		return out
	}
	for _, b := range t.room.Buckets {
		feeds = max(feeds, len(feedsOf(b)))
	}
	out = nil
	for n := range feeds {
		out = append(out, feedGroup{name: "Feed " + strconv.Itoa(n+1), nth: n, own: true})
	}
	return out
}

// feedsOf are the times at which an animal is fed, in order of the day.
func feedsOf(b projections.Bucket) (out []string) {
	for _, s := range b.Servings {
		if !slices.Contains(out, s.Session) {
			out = append(out, s.Session)
		}
	}
	return out
}

// of is when a group feeds an animal; false where it does not.
func (g feedGroup) of(b projections.Bucket) (session string, fed bool) {
	if !g.own {
		return g.session, true
	}
	if times := feedsOf(b); g.nth < len(times) {
		return times[g.nth], true
	}
	return "", false
}

// columns are the foods that anybody gets in a feed.
func (t fishTeller) columns(g feedGroup) (out []sheetColumn) {
	if g.own {
		out = append(out, sheetColumn{group: g, Name: "at", First: true})
	}
	for _, f := range t.room.Foods {
		c := sheetColumn{group: g, food: f.Food, Name: t.short(f.Name), First: len(out) == 0}
		if slices.ContainsFunc(t.room.Buckets, func(b projections.Bucket) bool { return servedIn(b, c).MassG > 0 }) {
			out = append(out, c)
		}
	}
	return out
}

func foodsIn(columns []sheetColumn) (n int) {
	for _, c := range columns {
		n += one(c.food != "")
	}
	return n
}

// short is a food's name up to its comma, where no other food begins so.
func (t fishTeller) short(name string) string {
	head, _, _ := strings.Cut(name, ",")
	for _, f := range t.room.Foods {
		if f.Name != name && strings.HasPrefix(f.Name, head) {
			return name
		}
	}
	return head
}

func (t fishTeller) sheet(columns []sheetColumn) (s bucketSheet) {
	s.Columns = columns
	sums := make([]float64, len(columns))
	for _, c := range columns {
		if c.First {
			s.Sessions = append(s.Sessions, sheetSession{Name: c.group.name})
		}
		s.Sessions[len(s.Sessions)-1].Span++
	}
	for _, b := range t.room.Buckets {
		row := sheetRow{ID: b.Animal, Name: b.Name, Tape: b.Tape, Enclosure: b.Enclosure, Missing: b.Missing}
		for i, c := range columns {
			served := servedIn(b, c)
			cell := sheetCell{Text: grams(served.MassG), Note: inPortions(served.Portions), First: c.First, Grams: true}
			if c.food == "" {
				at, _ := c.group.of(b)
				cell = sheetCell{Text: at, First: c.First}
			}
			row.Cells = append(row.Cells, cell)
			sums[i] += served.MassG
		}
		s.Rows = append(s.Rows, row)
	}
	for i, sum := range sums {
		cell := sheetCell{Text: strconv.FormatFloat(sum/1000, 'f', 2, 64), First: columns[i].First}
		if columns[i].food == "" {
			cell.Text = ""
		}
		s.Totals = append(s.Totals, cell)
	}
	return s
}

func servedIn(b projections.Bucket, c sheetColumn) (out projections.Serving) {
	session, fed := c.group.of(b)
	for _, s := range b.Servings {
		if fed && s.Session == session && s.Food == c.food {
			out.MassG, out.Portions = out.MassG+s.MassG, out.Portions+s.Portions
		}
	}
	return out
}

// grams writes a mass without its unit; nothing where there is none.
func grams(g float64) string {
	if g == 0 {
		return ""
	}
	return strconv.FormatFloat(math.Round(g*10)/10, 'f', -1, 64)
}

func inPortions(n int) string {
	if n == 0 {
		return ""
	}
	return "× " + strconv.Itoa(n)
}

// vitaminLetters are what stands over a narrow column.
var vitaminLetters = map[string]string{"thiamine": "B1", "vitamin_e": "E"}

// sumUp adds each animal's day and vitamins.
func (s *bucketSheet) sumUp(t fishTeller) {
	var all float64
	for i, b := range t.room.Buckets {
		row := &s.Rows[i]
		all += b.FoodG + b.WaterG
		row.Day = strconv.FormatFloat((b.FoodG+b.WaterG)/1000, 'f', 2, 64)
		for j, v := range b.Vitamins {
			if j == len(s.Vitamins) {
				s.Vitamins = append(s.Vitamins, vitaminLetters[v.What]+", "+unitWord(v.Unit))
			}
			cell := sheetCell{Text: strconv.Itoa(int(math.Round(v.Value))), Grams: true}
			if v.Given > 0 {
				cell.Note = strconv.Itoa(int(math.Round(v.Given))) + " given"
			}
			row.Vitamins = append(row.Vitamins, cell)
		}
	}
	for i := range s.Rows {
		for len(s.Rows[i].Vitamins) < len(s.Vitamins) {
			s.Rows[i].Vitamins = append(s.Rows[i].Vitamins, sheetCell{})
		}
	}
	s.Total = strconv.FormatFloat(all/1000, 'f', 2, 64)
}
