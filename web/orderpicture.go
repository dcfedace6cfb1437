package web

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"
)

// Picture is an order in plain values, for a drawing that stands by itself.
type Picture struct {
	Title    string
	Sentence string // the answer, above the drawing
	Source   string // whose encounters they are, below it
	Animals  []PictureAnimal
	Wins     [][]float64 // of the row over the column, in the order of Animals; a draw is half a win for both
	Near     [][2]int    // rows that can't be told apart
}

// PictureAnimal is an animal from the top of the ladder. Places count from 1;
// where they are not known all of them are 0, and the row is hatched.
type PictureAnimal struct {
	Name                   string
	First, Likeliest, Last int
}

// OrderPicture writes a ladder with its table of encounters as one SVG file that
// needs nothing else. Errors: a table that does not fit the animals, places
// that are none, pairs of rows that are not there.
func OrderPicture(w io.Writer, p Picture) error {
	if err := p.check(); err != nil {
		return err
	}
	page, err := template.ParseFS(templates, "templates/order.svg")
	if err != nil {
		return fmt.Errorf("read the drawing of an order: %w", err)
	}
	if err := page.Execute(w, pictureOf(p)); err != nil {
		return fmt.Errorf("draw the order: %w", err)
	}
	return nil
}

func (p Picture) check() error {
	n := len(p.Animals)
	if n < 2 {
		return fmt.Errorf("animals: %d; give two or more, one has no order", n)
	}
	if len(p.Wins) != n || slices.ContainsFunc(p.Wins, func(row []float64) bool { return len(row) != n }) {
		return fmt.Errorf("wins: the table is not %d by %d; give each animal a row and a column", n, n)
	}
	for _, a := range p.Animals {
		none := a.First == 0 && a.Likeliest == 0 && a.Last == 0
		if !none && !(1 <= a.First && a.First <= a.Likeliest && a.Likeliest <= a.Last && a.Last <= n) {
			return fmt.Errorf("animals: places %d, %d and %d of %q; give first, likeliest and last from 1 to %d, or none", a.First, a.Likeliest, a.Last, a.Name, n)
		}
	}
	for _, pair := range p.Near {
		if low, high := min(pair[0], pair[1]), max(pair[0], pair[1]); low < 0 || high >= n || low == high {
			return fmt.Errorf("near: rows %d and %d; give two rows from 0 to %d", pair[0], pair[1], n-1)
		}
	}
	return nil
}

// pictureWidth is how wide the drawing is made to be seen, in px. Text has 13 px
// then, in a table that has a column for each animal.
const pictureWidth = 868

type pictureChart struct {
	Picture
	W, Wide, H       px // of what is drawn, and with its margin
	Top, Foot        px
	Left, Right      px // of the ladder
	Says             []label
	Rails            []label
	Rows             []pictureRow
	Heads            []label // of the columns
	Brackets         []bracket
	Desc             string
	TableLeft, Pitch px
	Keys, Below      px // where the key stands, and the source
	Against          []box
}

type pictureRow struct {
	Name  label
	Y     px // of its upper edge
	Bar   box
	Dot   point
	Known bool
	Cells []pictureCell
}

type pictureCell struct {
	At           box
	Text         label
	Wins, Unseen bool
}

func pictureOf(p Picture) pictureChart {
	n := len(p.Animals)
	c := pictureChart{Picture: p, W: pictureWidth, Left: 128, Right: 344, Pitch: min(44, max(25, 480/px(n)))}
	lines := wrapped(p.Sentence, 112)
	for i, line := range lines {
		c.Says = append(c.Says, label{0, 46 + 18*px(i), "say", line})
	}
	c.Top = 46 + 18*px(len(lines)) + px(7*min(14, longest(p.Animals))) + 12
	c.Foot = c.Top + px(n)*c.Pitch
	c.TableLeft = max(c.Right+44, c.W-px(n)*c.Pitch)
	c.W = max(c.W, c.TableLeft+px(n)*c.Pitch)
	c.Keys, c.Below = c.Foot+28, c.Foot+52
	c.Wide, c.H = c.W+32, c.Below+20
	c.rails(n)
	for i := range p.Animals {
		c.row(i, n)
	}
	c.join()
	c.Desc = pictureDesc(p)
	return c
}

func longest(list []PictureAnimal) (most int) {
	for _, a := range list {
		most = max(most, len([]rune(a.Name)))
	}
	return most
}

func (c *pictureChart) rails(n int) {
	step, every := (c.Right-c.Left)/px(n), 1
	for px(every)*step < 20 {
		every++
	}
	for i := range n {
		rail := label{X: c.Left + (px(i)+0.5)*step, Y: c.Top - 8, Class: "q m"}
		if i%every == 0 {
			rail.Text = fmt.Sprint(i + 1)
		}
		c.Rails = append(c.Rails, rail)
	}
}

func (c *pictureChart) row(i, n int) {
	a, step := c.Animals[i], (c.Right-c.Left)/px(n)
	y := c.Top + px(i)*c.Pitch
	middle, tall := y+c.Pitch/2, min(20, c.Pitch-8)
	r := pictureRow{Name: label{c.Left - 10, middle + 4, "b e", clip(a.Name, 15)}, Y: y, Bar: box{c.Left, middle - tall/2, c.Right - c.Left, tall}}
	if a.First > 0 {
		r.Known = true
		r.Bar.X, r.Bar.W = c.Left+px(a.First-1)*step+1, px(a.Last-a.First+1)*step-2
		r.Dot = point{c.Left + (px(a.Likeliest)-0.5)*step, middle}
	}
	for j := range n {
		r.Cells = append(r.Cells, c.cell(i, j, y))
	}
	c.Rows = append(c.Rows, r)
	c.Heads = append(c.Heads, label{c.TableLeft + (px(i)+0.5)*c.Pitch + 4, c.Top - 8, "b", clip(a.Name, 14)})
}

func (c *pictureChart) cell(i, j int, y px) pictureCell {
	x := c.TableLeft + px(j)*c.Pitch
	out := pictureCell{At: box{x, y, c.Pitch, c.Pitch}, Text: label{X: x + c.Pitch/2, Y: y + c.Pitch/2 + 4}}
	won, lost := c.Wins[i][j], c.Wins[j][i]
	switch {
	case i == j:
	case won+lost == 0:
		out.Unseen = true
	default:
		out.Text.Text, out.Wins = halves(won), won > lost
	}
	if out.Wins && i > j && c.ordered() {
		c.Against = append(c.Against, box{x + 1.5, y + 1.5, c.Pitch - 3, c.Pitch - 3})
	}
	return out
}

// halves writes wins, of which a draw gives a half.
func halves(wins float64) string {
	whole, rest := math.Modf(wins)
	switch {
	case rest != 0.5:
		return plainFigure(wins)
	case whole == 0:
		return "½"
	}
	return plainFigure(whole) + "½"
}

// ordered says that the rows stand in an order that something can go against.
func (c *pictureChart) ordered() bool {
	return !slices.ContainsFunc(c.Animals, func(a PictureAnimal) bool { return a.First == 0 })
}

// join draws a bracket between rows that can't be told apart.
func (c *pictureChart) join() {
	var lanes [][]bool
	for _, pair := range c.Near {
		from, to := min(pair[0], pair[1]), max(pair[0], pair[1])
		x := c.Right + 6 + 10*px(takeLane(&lanes, from, to, len(c.Animals)))
		y := func(i int) px { return c.Top + (px(i)+0.5)*c.Pitch }
		c.Brackets = append(c.Brackets, bracket{Path: fmt.Sprintf("M%s %sh6V%sh-6", x, y(from)+4, y(to)-4)})
	}
}

func pictureDesc(p Picture) string {
	parts := []string{strings.TrimRight(p.Sentence, ". ")}
	for i, a := range p.Animals {
		words := a.Name + ", any place"
		if a.First > 0 {
			words = fmt.Sprintf("%s %s, could be %d to %d", a.Name, ordinal(a.Likeliest), a.First, a.Last)
		}
		won, lost := 0.0, 0.0
		for j := range p.Animals {
			won, lost = won+p.Wins[i][j], lost+p.Wins[j][i]
		}
		parts = append(parts, fmt.Sprintf("%s, %s won and %s lost", words, halves(won), halves(lost)))
	}
	return strings.Join(parts, ". ") + "."
}

// wrapped breaks a text into lines of so many letters at most, where it can.
func wrapped(text string, letters int) (out []string) {
	line := ""
	for word := range strings.FieldsSeq(text) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > letters {
			out, line = append(out, line), ""
		}
		line = strings.TrimSpace(line + " " + word)
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}
