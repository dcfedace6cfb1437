package coat

import "fmt"

// Between is a day that two scores hold between them.
type Between struct {
	After   Day  `json:"after"`   // the last score before it; where nothing was scored, the first day of the coat year
	By      Day  `json:"by"`      // the first score after it
	Likely  Day  `json:"likely"`  // where a straight line through the scores puts it
	Checked bool `json:"checked"` // false where nothing was scored before it in its coat year
}

// Days is how far apart the two scores are.
func (b Between) Days() float64 { return float64(b.By - b.After) }

// Known says that it was checked before and that the two scores are close
// enough for the day to count as known.
func (b Between) Known() bool { return b.Checked && b.Days() <= assumed("bracket") }

func (b Between) words() string {
	switch {
	case !b.Checked:
		return fmt.Sprintf("by %s, nobody looked before", b.By.words())
	case b.By == b.After:
		return "on " + b.By.words()
	}
	return fmt.Sprintf("between %s and %s", b.After.words(), b.By.words())
}

// crossing finds where scores pass from one condition to another: from the last
// that meets the one before any meets the other, to the first that meets the
// other after the last that meets the one. Where they run back and forth that
// spans all of it. It is nil where none meets the other, or where the last says
// that it is yet to come.
func crossing(scores []Score, from Day, before, after func(Score) bool) *Between {
	first, last := -1, -1
	for i, s := range scores {
		if first < 0 && after(s) {
			first = i
		}
		if before(s) {
			last = i
		}
	}
	if first < 0 || !after(scores[len(scores)-1]) {
		return nil
	}
	out := &Between{After: from, By: scores[first].Day}
	for i := first; i >= 0; i-- {
		if before(scores[i]) {
			out.After, out.Checked = scores[i].Day, true
			break
		}
	}
	for i := max(last, first); i < len(scores); i++ {
		if after(scores[i]) {
			out.By = scores[i].Day
			break
		}
	}
	return out
}

func (s Score) belowHalf() bool { return s.Most <= assumed("middle_at") }
func (s Score) half() bool      { return s.Least >= assumed("middle_at") }

// place puts a day between the two scores, where a line through all scores
// first reaches a percentage.
func (b *Between) place(line []point, percent float64) {
	if b == nil {
		return
	}
	b.Likely = b.After + (b.By-b.After)/2
	if !b.Checked {
		b.Likely = b.By
	}
	for i, p := range line {
		if i > 0 && line[i-1].percent < percent && p.percent >= percent {
			share := (percent - line[i-1].percent) / (p.percent - line[i-1].percent)
			b.Likely = line[i-1].day + Day(share)*(p.day-line[i-1].day)
			break
		}
	}
	b.Likely = min(max(b.Likely, b.After), b.By)
}

type point struct {
	day     Day
	percent float64
}

// rising is the line through scores, the middles of stages for stages. New coat
// does not grow less, so where scores run backwards their mean stands for them
// (isotonic regression by pooling adjacent violators).
func rising(scores []Score) []point {
	type block struct {
		sum float64
		n   int
	}
	var blocks []block
	for _, s := range scores {
		blocks = append(blocks, block{s.middle(), 1})
		for n := len(blocks); n > 1 && blocks[n-2].sum*float64(blocks[n-1].n) > blocks[n-1].sum*float64(blocks[n-2].n); n = len(blocks) {
			blocks[n-2].sum += blocks[n-1].sum
			blocks[n-2].n += blocks[n-1].n
			blocks = blocks[:n-1]
		}
	}
	out := make([]point, 0, len(scores))
	for _, b := range blocks {
		for range b.n {
			out = append(out, point{scores[len(out)].Day, b.sum / float64(b.n)})
		}
	}
	return out
}

// BackProjected is the onset that scores of a molt come to if new coat grows
// evenly over so many days: the mean of t - y tau over the scores in molt, of
// which it says the number (the course of Underhill & Zucchini 1988, Ibis
// 130:358). Errors: a duration that is not above zero, no score in molt.
func BackProjected(scores []Score, days float64) (onset Day, used int, err error) {
	if !(days > 0) {
		return 0, 0, fmt.Errorf("days: %v can't be the duration of a molt: give days above zero", days)
	}
	for _, s := range scores {
		if s.Molting() {
			onset += s.Day - Day(s.middle()/100*days)
			used++
		}
	}
	if used == 0 {
		return 0, 0, fmt.Errorf("scores: none is in molt: give one between none and all")
	}
	return onset / Day(used), used, nil
}
