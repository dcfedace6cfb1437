package web

import (
	"fmt"
	"slices"
	"strings"

	"haulout/projections"
	"haulout/projections/dominance"
)

// ratingPart is who moves: a line for each animal, and one of them thick.
type ratingPart struct {
	Answer  string
	Chosen  string
	Choices []link
	Charts  []ratingChart
	Rows    []ratingRow
	Silent  string // when nothing was seen
}

type ratingRow struct {
	Name  string
	Tape  int
	Now   string
	Range string
	Plain string
	Met   string
	Days  string
}

// silentAfter is after how many days without an encounter the chart is hatched,
// in days. The length is an assumption, no source.
const silentAfter = 14

func ratingPartOf(g *group) ratingPart {
	o := g.order
	if len(o.Animals) < 2 || len(o.SeenDays) == 0 {
		return ratingPart{}
	}
	chosen := g.chosen()
	p := ratingPart{Chosen: g.name(chosen), Answer: ratingAnswer(o, g)}
	for _, a := range o.Animals {
		p.Choices = append(p.Choices, link{a.Name, g.ask.path("animal", a.Animal) + "#ratings", a.Animal == chosen})
	}
	p.Charts = []ratingChart{ratingsOf("phone", g, chosen), ratingsOf("desk", g, chosen)}
	for _, line := range o.Ratings {
		p.Rows = append(p.Rows, ratingRowOf(line, g))
	}
	p.Silent = silentWords(silences(o.SeenDays, o.From, o.To))
	return p
}

// chosen is the animal whose line is thick: the one that is asked for, or the
// one that rose lately, or the first.
func (g *group) chosen() string {
	if g.ask.Animal != "" {
		return g.ask.Animal
	}
	if len(g.order.Turned) > 0 {
		return g.order.Turned[0].Rose
	}
	return g.order.Animals[0].Animal
}

func ratingRowOf(line projections.RatingLine, g *group) ratingRow {
	i := slices.IndexFunc(g.order.Animals, func(a projections.Ranked) bool { return a.Animal == line.Animal })
	row := ratingRow{Name: g.order.Animals[i].Name, Tape: g.order.Animals[i].Tape, Now: "–", Range: "not seen to meet", Days: count(len(line.Points))}
	if n := len(line.Points); n > 0 {
		last := line.Points[n-1]
		low, high := silent(last, daysBetween(last.Day, g.order.To))
		row.Now, row.Range = points(last.Points), points(low)+" to "+points(high)
		row.Plain, row.Met = points(last.Plain), shortDay(last.Day)
	}
	return row
}

func points(v float64) string { return strings.Replace(fmt.Sprintf("%.0f", v), "-", "−", 1) }

// silent is how far a rating could be off after days without an encounter.
func silent(p projections.RatingPoint, days int) (low, high float64) {
	down, up := dominance.Believed{Deviation: 1}.Range()
	held := dominance.Believed{Points: p.Points, Deviation: (p.High - p.Low) / (up - down)}
	return held.Silent(float64(days)).Range()
}

// ratingAnswer says whose rating left the range in which it was held.
func ratingAnswer(o *projections.Order, g *group) string {
	since := o.To.Add(1 - int(dominance.Assumed("lately").Value))
	var rose, fell []string
	for _, line := range o.Ratings {
		before, now, ok := around28(line.Points, since)
		if !ok {
			continue
		}
		words := fmt.Sprintf("%s (%s to %s)", g.name(line.Animal), points(before.Points), points(now.Points))
		switch {
		case before.Points < now.Low:
			rose = append(rose, words)
		case before.Points > now.High:
			fell = append(fell, words)
		}
	}
	var parts []string
	if len(rose) > 0 {
		parts = append(parts, listed(rose)+" rose")
	}
	if len(fell) > 0 {
		parts = append(parts, listed(fell)+" fell")
	}
	day := dayAs(since, "2"+nb+"January")
	if len(parts) == 0 {
		return "Since " + day + " nobody moved further than the ratings could be off."
	}
	return "Since " + day + ", " + strings.Join(parts, "; ") + "."
}

// around28 are the last points before a day and of all.
func around28(list []projections.RatingPoint, since projections.Day) (before, now projections.RatingPoint, ok bool) {
	for _, p := range list {
		if p.Day < since {
			before, ok = p, true
		}
		now = p
	}
	return before, now, ok
}

// hush is days in which nothing was seen, both ends included.
type hush struct{ From, To projections.Day }

// silences are the times in which nothing was seen for longer than silentAfter.
func silences(seen []projections.Day, from, to projections.Day) (out []hush) {
	last := from.Add(-1)
	for _, day := range append(slices.Clone(seen), to.Add(1)) {
		if daysBetween(last, day)-1 > silentAfter {
			out = append(out, hush{last.Add(1), day.Add(-1)})
		}
		last = day
	}
	return out
}

func silentWords(list []hush) string {
	if len(list) == 0 {
		return ""
	}
	var parts []string
	for _, s := range list {
		parts = append(parts, shortDay(s.From)+" to "+shortDay(s.To))
	}
	const shown = 5
	if more := len(parts) - shown; more > 1 {
		parts = append(parts[:shown], fmt.Sprintf("%d more times", more))
	}
	return "No encounter was noted from " + listed(parts) + "."
}
