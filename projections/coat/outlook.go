package coat

import (
	"fmt"
	"time"
)

// Animal is what an outlook is made from.
type Animal struct {
	ID     string
	Taxon  string
	Sex    string
	Born   *Day    // nil where it is not known
	Grown  float64 // years from which its kind and sex counts as grown; 0 where that is not known
	Scores []Score
}

// Interval is a day to come: the likeliest, and the days that hold it nine times
// in ten (the reference's "level").
type Interval struct {
	Likely Day `json:"likely"`
	Lo     Day `json:"lo"`
	Hi     Day `json:"hi"`
}

func (i Interval) words() string {
	return fmt.Sprintf("%.0f in 10 between %s and %s", 10*assumed("level"), i.Lo.words(), i.Hi.words())
}

// Outlook is what an animal's molts have been, what is expected of the next, and
// how the present one stands against that.
type Outlook struct {
	Animal    string     `json:"animal"`
	Class     Class      `json:"class"` // of the coat year that runs
	Turns     time.Month `json:"turns"` // the month with which its coat years begin
	Years     []Year     `json:"years"`
	Own       int        `json:"own"`                  // molts on record of the class whose onset is known
	Expected  *Interval  `json:"expected"`             // onset in the coat year that runs, by the years before it
	Next      *Interval  `json:"next"`                 // the onset that is yet to come
	End       *Interval  `json:"end"`                  // of the molt that runs
	OfClass   *Interval  `json:"of_class"`             // onset of an animal of its class, in the coat year that runs
	NotEnough string     `json:"not_enough,omitempty"` // why it has no expectation of its own
	Standing  Standing   `json:"standing"`
	Published []Timing   `json:"published"`
	Practice  []Practice `json:"practice"`
}

// Outlooks gives each animal's outlook on a day. Sites says on which hemisphere
// a facility lies, north or south; of one that it leaves out nothing published
// is used. Errors: an animal without an id or with the id of another, a site
// that is neither, a score that can't be.
func Outlooks(animals []Animal, sites map[string]string, today Day) ([]Outlook, error) {
	h := &herd{sites: sites, today: today, courses: map[Class]*course{}}
	if err := h.check(animals); err != nil {
		return nil, err
	}
	if err := h.read(animals); err != nil {
		return nil, err
	}
	out := make([]Outlook, 0, len(animals))
	for i, a := range animals {
		out = append(out, h.outlook(a, h.years[i]))
	}
	return out, nil
}

func (h *herd) outlook(a Animal, years []Year) Outlook {
	facility := h.facility(a)
	if years == nil {
		years = []Year{}
	}
	out := Outlook{Animal: a.ID, Turns: h.turnsFor(a), Years: years, Published: Published(a.Taxon), Practice: Practices(a.Sex, h.sites[facility])}
	now := coatYear(h.today, out.Turns)
	if len(years) > 0 {
		now = years[len(years)-1]
	}
	out.Class = a.class(now, facility)
	course := h.course(out.Class)
	out.Own, out.NotEnough = course.own(a.ID, now.From)
	out.Expected = course.onset(a.ID, now, now.From)
	out.OfClass = course.onset("", now, now.From)
	if out.Next = out.Expected; now.Onset != nil {
		after := coatYear(now.Until, out.Turns)
		out.Next = h.course(a.class(after, out.Class.Facility)).onset(a.ID, after, after.From)
	}
	if now.State == InMolt && now.Onset.Known() {
		out.End = course.ends(a.ID, *now.Onset)
	}
	out.Standing = h.stand(out, now, course)
	return out
}
