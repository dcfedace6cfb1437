package web

import (
	"fmt"
	"strconv"
	"strings"

	"haulout/projections"
	"haulout/projections/dominance"
)

// ladderChart shows the places that each animal of a group could hold.
type ladderChart struct {
	plot
	Top, Foot px
	Rails     []label // each place, with its name where there is room
	Rungs     []rung
	Brackets  []bracket
}

type rung struct {
	Name  label
	Tape  int
	Mark  box // of the tape
	Bar   box
	Dot   point
	Known bool
}

// bracket joins two rungs that can't be told apart, or whose animals were never
// seen to meet.
type bracket struct {
	Path  string
	Class string
	Label label
}

// ladderSize is what a screen leaves for a ladder.
type ladderSize struct {
	width, left, right, pitch px
	tape                      px
	letters                   int
}

func ladderOf(size string, o *projections.Order) ladderChart {
	room, n := ladderSize{600, 156, 500, 34, 34, 14}, len(o.Animals)
	if size == "phone" {
		room = ladderSize{300, 106, 236, 32, 26, 9}
	}
	if n <= 8 {
		room.pitch += 8
	}
	c := ladderChart{plot: plot{ID: "ladder-" + size, Size: size, W: room.width, Left: room.left, Right: room.right}, Top: 26}
	c.Foot = c.Top + px(n)*room.pitch
	c.H = c.Foot + 4
	step := (c.Right - c.Left) / px(n)
	c.rails(n, step)
	for i, a := range o.Animals {
		c.rung(i, a, room, step, o.State != dominance.NoOrder)
	}
	c.brackets(o, room.pitch)
	c.Title = "Ladder of " + o.Name
	c.Desc = ladderDesc(o)
	return c
}

// rails draws a line for each place, and names as many as there is room for.
func (c *ladderChart) rails(n int, step px) {
	every, wide := 1, px(28)
	if n > 9 {
		wide = 36
	}
	for px(every)*step < wide {
		every++
	}
	for i := range n {
		rail := label{X: c.Left + (px(i)+0.5)*step, Y: c.Top - 10, Class: "tq tm"}
		if i%every == 0 {
			rail.Text = ordinal(i + 1)
		}
		c.Rails = append(c.Rails, rail)
	}
}

func (c *ladderChart) rung(i int, a projections.Ranked, room ladderSize, step px, known bool) {
	const height = 20
	middle := c.Top + (px(i)+0.5)*room.pitch
	r := rung{
		Name: label{X: room.tape + 8, Y: middle + 4, Class: "tb", Text: clip(a.Name, room.letters)}, Tape: a.Tape,
		Mark: box{0, middle - room.tape*6/34, room.tape, room.tape * 12 / 34}, Bar: box{c.Left, middle - height/2, c.Right - c.Left, height},
	}
	if known && a.First != nil {
		r.Known = true
		r.Bar.X, r.Bar.W = c.Left+px(*a.First-1)*step+2, px(*a.Last-*a.First+1)*step-4
		r.Dot = point{c.Left + (px(*a.Likeliest)-0.5)*step, middle}
	}
	c.Rungs = append(c.Rungs, r)
}

// brackets joins what can't be told apart, and neighbours never seen to meet.
func (c *ladderChart) brackets(o *projections.Order, pitch px) {
	if o.State == dominance.NoOrder {
		return
	}
	row := map[string]int{}
	for i, a := range o.Animals {
		row[a.Animal] = i
	}
	var lanes [][]bool // by lane, the steps that are taken
	for _, near := range o.Near {
		from, to := min(row[near.A], row[near.B]), max(row[near.A], row[near.B])
		met, _ := pairMet(o, o.Animals[from].Animal, o.Animals[to].Animal)
		class, text := "level", strings.ReplaceAll(record(met.Won, met.Lost), nb, " ")
		if met.Seen != "met" {
			class, text = "unmet", "unseen"
		}
		lane := takeLane(&lanes, from, to, len(o.Animals))
		c.bracket(from, to, lane, pitch, class, text)
	}
	for i := range o.Animals[1:] {
		met, _ := pairMet(o, o.Animals[i].Animal, o.Animals[i+1].Animal)
		if met.Seen == "unseen" && !isNear(o, met) {
			c.bracket(i, i+1, takeLane(&lanes, i, i+1, len(o.Animals)), pitch, "unmet", "unseen")
		}
	}
}

func isNear(o *projections.Order, p projections.PairMet) bool {
	for _, near := range o.Near {
		if near.A == p.A && near.B == p.B || near.A == p.B && near.B == p.A {
			return true
		}
	}
	return false
}

// takeLane finds the first lane that is free between two rungs.
func takeLane(lanes *[][]bool, from, to, rungs int) int {
	for i, lane := range *lanes {
		free := true
		for step := from; step < to; step++ {
			free = free && !lane[step]
		}
		if free {
			for step := from; step < to; step++ {
				lane[step] = true
			}
			return i
		}
	}
	*lanes = append(*lanes, make([]bool, rungs))
	return takeLane(lanes, from, to, rungs)
}

func (c *ladderChart) bracket(from, to, lane int, pitch px, class, text string) {
	const inset = 5 // so that two on one rung do not touch
	y := func(i int) px { return c.Top + (px(i)+0.5)*pitch }
	x := c.Right + 6 + px(lane)*12
	c.Brackets = append(c.Brackets, bracket{
		Path:  fmt.Sprintf("M%s %sh7V%sh-7", x, y(from)+inset, y(to)-inset),
		Class: class, Label: label{x + 12, (y(from)+y(to))/2 + 4, "tq", text},
	})
}

func ladderDesc(o *projections.Order) string {
	if o.State == dominance.NoOrder {
		return "No order can be given: each of the " + strconv.Itoa(len(o.Animals)) + " animals could hold any place."
	}
	var parts []string
	for _, a := range o.Animals {
		words := a.Name + " " + ordinal(*a.Place)
		if a.First != nil && *a.First != *a.Last {
			words += ", could be " + placesOf(a)
		}
		parts = append(parts, words)
	}
	return strings.Join(parts, ". ") + "."
}
