package projections

import (
	"fmt"
	"time"
)

// storyNow is after everything that the stories of company tell.
var storyNow = time.Date(2026, 6, 30, 12, 0, 0, 0, time.UTC)

// askedOrder reads facility/enclosure, from, to and a method.
func askedOrder(w []string) OrderAsk {
	ask := OrderAsk{Facility: w[0], Enclosure: w[1]}
	if len(w) > 2 {
		ask.From, ask.To = Day(w[2]), Day(w[3])
	}
	if len(w) > 4 {
		ask.Method = w[4]
	}
	return ask
}

// orderLines is an order in lines that a reader of a story can take in.
func orderLines(o *Order) (out []string) {
	out = append(out, fmt.Sprintf("%s to %s: %s", o.From, o.To, o.Sentence))
	for _, a := range o.Animals {
		line := a.Name
		if a.Place != nil {
			line = fmt.Sprintf("%d %s, %d to %d", *a.Place, line, *a.First, *a.Last)
		}
		if a.Score != nil {
			line += fmt.Sprintf(", %s %.3f", o.Method, *a.Score)
		}
		out = append(out, fmt.Sprintf("%s, %d won %d lost %d draws", line, a.Won, a.Lost, a.Draws))
	}
	for _, a := range o.LeftOut {
		out = append(out, a.Name+" is left out: "+a.Why)
	}
	for _, p := range o.Pairs {
		out = append(out, fmt.Sprintf("%s and %s: %s, %d–%d, %d draws, %d kept apart, %.1f days together", p.A, p.B, p.Seen, p.Won, p.Lost, p.Draws, p.Apart, p.Days))
	}
	for _, a := range o.Evidence.Apart {
		out = append(out, fmt.Sprintf("kept apart: %d, %s", a.Count, a.Why))
	}
	for _, s := range o.Suggested {
		out = append(out, fmt.Sprintf("suggested: %s %s, %s", s.Day, s.Reason, s.Why))
	}
	for _, t := range o.Turned {
		out = append(out, fmt.Sprintf("%s now wins %d–%d over %s, %d–%d before, %d encounters", t.NameRose, t.Won, t.Lost, t.NameFell, t.WonBefore, t.LostBefore, len(t.Encounters)))
	}
	return out
}

func ratingLines(o *Order) (out []string) {
	for _, line := range o.Ratings {
		for _, p := range line.Points {
			out = append(out, fmt.Sprintf("%s %s: %.1f (%.0f to %.0f), plain %.3f", line.Animal, p.Day, p.Points, p.Low, p.High, p.Plain))
		}
	}
	return out
}

func companyLines(c *Company) (out []string) {
	out = append(out, fmt.Sprintf("%d scans on %d days. %s", c.Scans, c.Days, c.NotEnough))
	for _, p := range c.Pairs {
		line := fmt.Sprintf("%s and %s: %d together, %d apart, %d only the first, %d only the second", p.A, p.B, p.Together, p.BothApart, p.OnlyA, p.OnlyB)
		if p.Ratio != nil {
			line += fmt.Sprintf("; %.3f, half-weight %.3f", *p.Ratio, *p.HalfWeight)
		}
		out = append(out, line)
	}
	return out
}
