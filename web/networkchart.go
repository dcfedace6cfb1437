package web

import (
	"fmt"
	"math"

	"haulout/projections"
)

// networkChart joins those who are seen beside each other.
type networkChart struct {
	plot
	Ties  []tie
	Nodes []node
}

// tie is a line between two nodes. Class is how thick, and whether it is loose:
// known from so few days that the range is wide.
type tie struct{ Path, Class string }

type node struct {
	Back, Mark box // under the tape, and the tape
	Tape       int
	Name       label
}

// Shares of the looks from which a tie is drawn thicker, and the width of a
// range from which it is drawn loose. Classes for the eye, no source.
const (
	oftenTogether = 0.5
	someTogether  = 0.25
	wideRange     = 0.5
)

func networkOf(size string, g *group) networkChart {
	c := networkChart{plot: plot{ID: "network-" + size, Size: size, W: 520, H: 380}}
	radius, letters := px(140), 15
	if size == "phone" {
		c.W, c.H, radius, letters = 300, 250, 82, 8
	}
	at := map[string]point{}
	here := residents(g.company)
	for i, a := range here {
		angle := 2*math.Pi*float64(i)/float64(len(here)) - math.Pi/2
		at[a.Animal] = point{c.W/2 + radius*px(math.Cos(angle)), c.H/2 + radius*px(math.Sin(angle))}
		c.Nodes = append(c.Nodes, nodeAt(at[a.Animal], angle, a, clip(g.name(a.Animal), letters)))
	}
	for _, pair := range g.company.Pairs {
		a, here := at[pair.A]
		b, too := at[pair.B]
		if here && too && pair.Ratio != nil && *pair.Ratio > 0 {
			c.Ties = append(c.Ties, tie{fmt.Sprintf("M%s %sL%s %s", a.X, a.Y, b.X, b.Y), tieClass(pair)})
		}
	}
	c.Title, c.Desc = "Who is seen beside whom in "+g.company.Name, companyAnswer(g)
	return c
}

func residents(c *projections.Company) (out []projections.Scanned) {
	for _, a := range c.Animals {
		if a.Here {
			out = append(out, a)
		}
	}
	return out
}

func tieClass(pair projections.PairScanned) string {
	class := "tie rare"
	switch {
	case *pair.Ratio >= oftenTogether:
		class = "tie often"
	case *pair.Ratio >= someTogether:
		class = "tie some"
	}
	if pair.Low == nil || *pair.High-*pair.Low > wideRange {
		class += " loose"
	}
	return class
}

// nodeAt draws an animal as its tape, with its name outside of the circle.
func nodeAt(at point, angle float64, a projections.Scanned, name string) node {
	n := node{Back: box{at.X - 19, at.Y - 8, 38, 16}, Mark: box{at.X - 17, at.Y - 6, 34, 12}, Tape: a.Tape}
	side := math.Cos(angle)
	switch {
	case math.Abs(side) < 0.1 && math.Sin(angle) < 0:
		n.Name = label{at.X, at.Y - 14, "tb tm", name}
	case math.Abs(side) < 0.1:
		n.Name = label{at.X, at.Y + 23, "tb tm", name}
	case side < 0:
		n.Name = label{at.X - 24, at.Y + 4, "tb te", name}
	default:
		n.Name = label{at.X + 24, at.Y + 4, "tb", name}
	}
	return n
}
