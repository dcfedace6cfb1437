package board

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Water is what is known of the water and the space of an enclosure in which
// animals live. Times are in the facility's zone.
type Water struct {
	ID, Name string
	At       time.Time
	Heard    bool // the facility is not silent
	Failing  []Reading
	Counts   *Counts // of coliforms that are not settled; nil where none are
	Overdue  []Overdue
	Space    *Space // nil where it is enough, or can't be told
}

// Reading is the last of something that was measured, and outside its limit.
type Reading struct {
	What, Name   string    // as the record has it, and as people say it
	Since        time.Time // the first of those that failed one after the other
	Words, Cited string
}

// Counts is a count of coliforms that exceeds the limit, with those that repeat
// it, or that fails.
type Counts struct {
	Fails        bool
	First, Last  time.Time
	Due          time.Time // the next sample; zero where none is
	Late         bool      // that is overdue
	Behind       []string  // the counts
	Words, Cited string
}

// Overdue is a test whose last day is over.
type Overdue struct {
	What, Name   string
	Since        time.Time // when that day was over, or since when a test is owed
	Never        bool      // none is on record
	Words, Cited string
}

// Space is an enclosure that is smaller than the rule asks for.
type Space struct {
	Since       time.Time // the last that came to live there
	Short       string    // what is missing
	Behind      []string  // the measures, with their arithmetic
	Note, Cited string
}

// Calls are what the rules find of an enclosure's water and space.
func (w Water) Calls() []Call {
	out := w.failing()
	for _, rule := range []func(Water) (Call, bool){counted, testDue, tooSmall} {
		if call, found := rule(w); found {
			call.Subject = w.ID
			out = append(out, call)
		}
	}
	for i := range out {
		out[i].Place, out[i].Name = w.ID, w.Name
	}
	return out
}

// harmOf is how much waiting may hurt where a reading fails: what burns eyes and
// lungs is seen to at once. Common practice, no source.
func harmOf(what string) Harm {
	if slices.Contains([]string{"free_chlorine", "total_chlorine", "ozone"}, what) {
		return Now
	}
	return Today
}

func (w Water) failing() (out []Call) {
	for _, r := range w.Failing {
		out = append(out, Call{
			Rule: "water-fails", Subject: w.ID + "." + r.What, Harm: harmOf(r.What), Since: r.Since,
			What: sentence(r.Name) + " is outside its limit", Evidence: r.Words,
			Next: "Put the water right, test it again, and tell the veterinarian", Cited: sentence(r.Cited) + ".",
		})
	}
	return out
}

// counted tells a series that fails from one that is not decided yet. The two
// have names of their own, so that an answer to one does not hold for the other.
func counted(w Water) (Call, bool) {
	c := w.Counts
	if c == nil {
		return Call{}, false
	}
	out := Call{Rule: "coliform-exceeds", Harm: Today, Since: c.First, Evidence: c.Words, Behind: c.Behind, Cited: sentence(c.Cited) + "."}
	switch due := c.Due.Format("Mon 2 January 15:04"); {
	case c.Fails:
		out.Rule, out.Since = "coliform-fails", c.Last
		out.What, out.Next = "Coliforms fail: the water is unsatisfactory", "Put it right at once, tell the veterinarian, and take another sample"
	case c.Due.IsZero():
		out.What, out.Next = "Coliforms can't be judged from these counts", "Count again in a way that can say, and tell the veterinarian"
	case c.Late:
		out.What, out.Next = "Coliforms over the limit, and the next sample was due "+due, "Take the sample now, and tell the veterinarian"
	default:
		out.What, out.Next = "Coliforms over the limit: the next sample is due "+due, "Take it then, name the first sample with it, and tell the veterinarian"
		if daysBetween(c.Due, w.At) < 0 {
			out.Harm = Look
		}
	}
	return out, true
}

// testDue is one line for everything that is overdue. A count that others repeat
// has a line of its own, which names the next sample.
func testDue(w Water) (Call, bool) {
	if !w.Heard {
		return Call{}, false
	}
	out := Call{Rule: "water-due", Harm: Today, Next: "Test the water, and write it down"}
	var names, cited []string
	for _, o := range w.Overdue {
		if w.Counts != nil && o.What == "total_coliform" {
			continue
		}
		if out.Since.IsZero() || o.Since.Before(out.Since) {
			out.Since = o.Since
		}
		name := o.Name
		if o.Never {
			name += " (never tested)"
		}
		names, out.Behind = append(names, name), append(out.Behind, o.Words)
		if line := sentence(o.Cited) + "."; !slices.Contains(cited, line) {
			cited = append(cited, line)
		}
	}
	if len(names) == 0 {
		return Call{}, false
	}
	out.What, out.Cited = plural(len(names), "water test", "water tests")+" overdue: "+strings.Join(names, ", "), strings.Join(cited, " ")
	out.Evidence = "the first of them since " + When(out.Since, w.At)
	if len(out.Behind) == 1 {
		out.Evidence, out.Behind = out.Behind[0], nil
	}
	return out, true
}

func tooSmall(w Water) (Call, bool) {
	if w.Space == nil {
		return Call{}, false
	}
	s := w.Space
	return Call{
		Rule: "space", Harm: Look, Since: s.Since, What: "Less space than the rule asks for those who live here", Evidence: s.Short, Behind: s.Behind,
		Next: "Verify it by the rule, and decide with the veterinarian who lives elsewhere", Cited: fmt.Sprintf("%s. %s.", sentence(s.Cited), sentence(s.Note)),
	}, true
}
