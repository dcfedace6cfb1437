package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"haulout/projections"
	"haulout/projections/dominance"
)

// ratingChart draws ratings as steps, on the days on which an animal was seen
// to meet another.
type ratingChart struct {
	plot
	Top, Zero px
	Start     string
	Rules     []rule
	Gaps      []box
	Band      string // of the chosen animal, 9 in 10
	Lines     []ratingPath
	Ends      []lineEnd
	Marks     []label // what happened to the group, with a line down
	Dates     []label
}

type ratingPath struct{ Path, Dash, Class string }

// lineEnd names a line where it ends.
type lineEnd struct {
	Path string // from the line to its name
	Mark box    // of the tape
	Tape int
	Name label
}

// dashes tell lines apart; a group of more goes through them again.
var dashes = []string{"", "9 3", "2 3", "7 3 1 3", "14 4", "5 2", "12 3 2 3 2 3", "4 4"}

// phoneRatingDays is how much of a window a phone shows.
const phoneRatingDays = 90

// ratingDraft is a chart on its way.
type ratingDraft struct {
	ratingChart
	from, to projections.Day
	days     int // of the window
	y        axis
	tape     px
	letters  int
}

// ratingStep is a rating from a day of the chart on, 0 for its first.
type ratingStep struct {
	at          int
	points, off float64
}

func ratingsOf(size string, g *group, chosen string) ratingChart {
	o := g.order
	d := ratingDraft{from: o.From, to: o.To, tape: 34, letters: 15}
	d.plot = plot{ID: "ratings-" + size, Size: size, W: 960, Left: 50, Right: 800}
	d.Top, d.Zero = 24, 24+max(200, 18*px(len(o.Animals)))
	if size == "phone" {
		d.W, d.Left, d.Right, d.tape, d.letters = 300, 34, 196, 26, 9
		d.from = max(d.from, d.to.Add(1-phoneRatingDays))
	}
	d.H, d.days = d.Zero+26, daysBetween(d.from, d.to)+1
	lines := d.steps(o)
	d.y = d.axis(lines, o, chosen)
	d.Rules, d.Start = d.y.rules(), plainNumber(d.y.low, roundStep((d.y.high-d.y.low)/3))
	for _, s := range silences(o.SeenDays, o.From, o.To) {
		if s.To >= d.from {
			x := d.day(max(s.From, d.from))
			d.Gaps = append(d.Gaps, box{x, d.Top, d.day(s.To.Add(1)) - x, d.Zero - d.Top})
		}
	}
	for i, a := range o.Animals {
		d.line(i, a, lines[a.Animal], a.Animal == chosen)
	}
	d.spread()
	d.marks(g)
	d.dates()
	d.Title = fmt.Sprintf("Ratings in %s, %s", o.Name, windowWords(d.from, d.to))
	d.Desc = ratingsDesc(lines, o)
	return d.ratingChart
}

// steps are the lines of the chart, by animal: what lies before its first day
// stands at its left edge.
func (d *ratingDraft) steps(o *projections.Order) map[string][]ratingStep {
	down, up := dominance.Believed{Deviation: 1}.Range()
	at, out := map[projections.Day]int{}, map[string][]ratingStep{}
	for _, day := range o.SeenDays {
		at[day] = daysBetween(d.from, day)
	}
	for _, line := range o.Ratings {
		cut := 0
		for cut+1 < len(line.Points) && line.Points[cut+1].Day <= d.from {
			cut++
		}
		for _, p := range line.Points[cut:] {
			out[line.Animal] = append(out[line.Animal], ratingStep{at[p.Day], p.Points, (p.High - p.Low) / (up - down)})
		}
	}
	return out
}

// after is how far a rating could be off after days of silence.
func (s ratingStep) after(days int) (low, high float64) {
	return dominance.Believed{Points: s.points, Deviation: s.off}.Silent(float64(days)).Range()
}

// axis holds all lines, and what the chosen one could be at its end.
func (d *ratingDraft) axis(lines map[string][]ratingStep, o *projections.Order, chosen string) axis {
	var all []float64
	for _, a := range o.Animals {
		steps := lines[a.Animal]
		for _, s := range steps {
			all = append(all, s.points)
		}
		if n := len(steps); n > 0 && a.Animal == chosen {
			low, high := steps[n-1].after(d.days - steps[n-1].at)
			all = append(all, low, high)
		}
	}
	if len(all) == 0 {
		return around(0, 1, d.Top, d.Zero)
	}
	return around(slices.Min(all), slices.Max(all), d.Top, d.Zero)
}

// x is where a day begins.
func (d *ratingDraft) x(at int) px {
	return d.Left + px(min(max(at, 0), d.days))/px(d.days)*(d.Right-d.Left)
}

func (d *ratingDraft) day(day projections.Day) px { return d.x(daysBetween(d.from, day)) }

// height is where a rating lies; what is beyond the frame lies on it.
func (d *ratingDraft) height(v float64) px { return d.y.y(min(max(v, d.y.low), d.y.high)) }

func (d *ratingDraft) line(i int, animal projections.Ranked, steps []ratingStep, chosen bool) {
	if len(steps) == 0 {
		return
	}
	path := ratingPath{Dash: dashes[i%len(dashes)], Class: "seen"}
	if animal.Won+animal.Lost+animal.Draws < enoughEncounters() {
		path.Dash = "1 4"
	}
	class := "tq"
	if chosen {
		class, d.Band = "tb", d.band(steps)
		path.Class, path.Dash = "seen thick", ""
	}
	path.Path = d.stairs(steps)
	d.Lines = append(d.Lines, path)
	end := d.height(steps[len(steps)-1].points)
	d.Ends = append(d.Ends, lineEnd{Mark: box{d.Right + 16, end, d.tape, d.tape * 12 / 34}, Tape: animal.Tape, Name: label{d.Right + 22 + d.tape, end, class, clip(animal.Name, d.letters)}})
}

// stairs goes on level until the animal meets another.
func (d *ratingDraft) stairs(steps []ratingStep) string {
	out := make([]byte, 0, 16*len(steps))
	for i, s := range steps {
		across, down := byte('H'), byte('V')
		if i == 0 {
			across, down = 'M', ' '
		}
		out = d.x(s.at).appendTo(append(out, across))
		out = d.height(s.points).appendTo(append(out, down))
	}
	return string(d.Right.appendTo(append(out, 'H')))
}

// bandStep is how many days of silence lie between two points of a band.
const bandStep = 4

// band is how far a rating could be off, 9 in 10: it widens with every day of
// silence and narrows where the animal was seen.
func (d *ratingDraft) band(steps []ratingStep) string {
	upper, lower := make([]string, 0, 2*len(steps)), make([]string, 0, 2*len(steps))
	add := func(s ratingStep, quiet int) {
		low, high := s.after(quiet)
		x := d.x(s.at + quiet).String()
		upper = append(upper, x+" "+d.height(high).String())
		lower = append(lower, x+" "+d.height(low).String())
	}
	for i, s := range steps {
		next := d.days
		if i+1 < len(steps) {
			next = steps[i+1].at
		}
		for quiet := max(0, -s.at); s.at+quiet < next; quiet += bandStep {
			add(s, quiet)
		}
		add(s, next-s.at)
	}
	slices.Reverse(lower)
	return "M" + strings.Join(upper, "L") + "L" + strings.Join(lower, "L") + "Z"
}

// nameGap is how far apart the names of two lines are.
const nameGap = 17

// spread moves the names at the end apart, and joins each to its line.
func (d *ratingDraft) spread() {
	slices.SortStableFunc(d.Ends, func(a, b lineEnd) int { return cmp.Compare(a.Mark.Y, b.Mark.Y) })
	at := make([]px, len(d.Ends))
	for i, end := range d.Ends {
		at[i] = end.Mark.Y
		if i > 0 {
			at[i] = max(at[i], at[i-1]+nameGap)
		}
	}
	for i, last := len(at)-1, d.Zero; i >= 0; i, last = i-1, at[i]-nameGap {
		at[i] = min(at[i], last)
	}
	for i := range d.Ends {
		end := &d.Ends[i]
		end.Path = fmt.Sprintf("M%s %sL%s %s", d.Right, end.Mark.Y, d.Right+12, at[i])
		end.Mark.Y, end.Name.Y = at[i]-end.Mark.H/2, at[i]+4
	}
}

// marks says where a period began, on a desk, where there is room for words.
func (d *ratingDraft) marks(g *group) {
	if d.Size == "phone" {
		return
	}
	for _, p := range g.periods {
		day := projections.DayOf(p.From, g.zone)
		if day > d.from && day <= d.to {
			d.Marks = append(d.Marks, label{d.day(day), d.Top - 8, "tq", "period: " + p.Reason})
		}
	}
	const shown = 4
	d.Marks = d.Marks[max(0, len(d.Marks)-shown):]
}

// dates names the ends and some days between.
func (d *ratingDraft) dates() {
	parts := 4
	if d.Size == "phone" {
		parts = 2
	}
	parts = max(1, min(parts, d.days-1))
	for i := range parts + 1 {
		at := (d.days - 1) * i / parts
		l := label{d.x(at), d.Zero + 20, "tq tm", shortDay(d.from.Add(at))}
		if d.from[:4] != d.to[:4] && (i == 0 || i == parts) {
			l.Text += nb + string(d.from.Add(at)[:4])
		}
		switch i {
		case 0:
			l.Class = "tq"
		case parts:
			l.X, l.Class = d.Right, "tq te"
		}
		d.Dates = append(d.Dates, l)
	}
}

func ratingsDesc(lines map[string][]ratingStep, o *projections.Order) string {
	var parts []string
	for _, a := range o.Animals {
		if steps := lines[a.Animal]; len(steps) > 0 {
			parts = append(parts, fmt.Sprintf("%s from %s to %s", a.Name, points(steps[0].points), points(steps[len(steps)-1].points)))
		}
	}
	if len(parts) == 0 {
		return "No rating."
	}
	return strings.Join(parts, "; ") + "."
}
