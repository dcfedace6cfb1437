package board

import (
	"fmt"
	"strings"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// Animal is what is known of an animal at a moment. Times are in the facility's
// zone; what nobody wrote down is zero or nil.
type Animal struct {
	ID, Name string
	At       time.Time // the moment
	Entered  time.Time // into this facility's care
	Heard    bool      // the facility is not silent

	Ate, Refused time.Time // last ate; last refused everything since
	Refusals     int       // of whole feeds since it ate

	Yesterday  *Fed // nil where there was no ration or the animal was not in care
	Expected   []string
	Changes    []Change
	Weighed    time.Time
	Checked    time.Time
	CoatScored time.Time
	Taught     []Taught
	Findings   []Finding
	Orders     []Order
	Ordered    []OrderNews // given, replaced or ended lately, in order of time
	Trials     Trials
	Coat       *Coat
}

// Fed is a day's ration and what was eaten of it, in grams.
type Fed struct {
	Ration, Eaten float64
	Feeds         int // logged
	Day           time.Time
}

// Change is the last mass against the median of the days before it.
type Change struct {
	Days    int
	Percent float64 // below nought where it fell
	Kg      float64 // of the last weigh-in
	Median  float64
	Of      int // weigh-ins of the median
	At      time.Time

	Explained float64 // percentage points of a fall that a scale which steps explains, from nought
}

// Taught is a behaviour that is being taught, and when it was last asked for.
type Taught struct {
	Name string
	Last time.Time
}

// Finding is what was found in a check and is open.
type Finding struct {
	Since            time.Time
	Region, Word, By string
	Urgent           bool
}

// Order is a medication in force, with the doses of today and yesterday. Due is
// how many a day; a day on which it was given or ended counts no doses. An order
// for a single dose is due until that is given: Today and Yesterday count it alike.
type Order struct {
	ID, Medication   string
	Due              int
	Today, Yesterday int
	WholeYesterday   bool // it held through all of yesterday
}

// OrderNews is an order that was given, replaced or ended.
type OrderNews struct {
	ID, By, Words string // what it orders, or why it ended
	At            time.Time
	Ended         bool
}

// Trials are the trials asked for lately and before, and how many of each the
// animal did not try or left.
type Trials struct {
	Lately, LatelyRefused int
	Before, BeforeRefused int
	Since                 time.Time
}

// Coat is where a molt stands against what is expected of the animal.
type Coat struct {
	Standing string // early, late, stalled, as expected, not enough data
	Words    string
	Since    time.Time
}

// Calls are what the rules find of an animal.
func (a Animal) Calls(h House) (out []Call) {
	for _, rule := range []func(Animal, House) (Call, bool){
		refusal, urgentFinding, openFinding, doseMissed, doseDue, orderNews, massDown, leftRation, checkDue, weighDue, coatDue, trainDue, trialsRefused, coatOdd,
	} {
		if call, found := rule(a, h); found {
			call.Subject, call.Name = a.ID, a.Name
			out = append(out, call)
		}
	}
	return out
}

// refusal: no season excuses an animal that takes nothing at all.
func refusal(a Animal, h House) (Call, bool) {
	hours, cited := h.limit("refusal")
	if a.Refused.IsZero() || !a.Refused.After(a.Ate) || a.At.Sub(a.Ate) <= lasting(hours) {
		return Call{}, false
	}
	return Call{
		Rule: "refusal", Harm: Now, Since: a.Ate,
		What:     "Report to the veterinarian: no food taken for " + words(a.At.Sub(a.Ate)),
		Evidence: fmt.Sprintf("%s refused since it last ate, %s; last offered %s", plural(a.Refusals, "whole feed", "whole feeds"), a.when(a.Ate), a.when(a.Refused)),
		Next:     "Tell the veterinarian", Cited: cited + ". Season, birth and molt do not excuse it.",
	}, true
}

func urgentFinding(a Animal, _ House) (Call, bool) {
	for _, f := range a.Findings {
		if f.Urgent {
			return Call{
				Rule: "urgent", Harm: Now, Since: f.Since, What: "A keeper asks for the veterinarian: " + f.Region + ", " + f.Word,
				Evidence: fmt.Sprintf("found %s by %s, and open", a.when(f.Since), f.By), Next: "Tell the veterinarian",
				Cited: "What a keeper marked as urgent stands until somebody closes it.",
			}, true
		}
	}
	return Call{}, false
}

// openFinding is one line for everything that is open and not urgent.
func openFinding(a Animal, _ House) (Call, bool) {
	var behind []string
	var since time.Time
	for _, f := range a.Findings {
		if f.Urgent {
			continue
		}
		if since.IsZero() || f.Since.Before(since) {
			since = f.Since
		}
		behind = append(behind, fmt.Sprintf("%s: %s, found %s by %s", f.Region, f.Word, a.when(f.Since), f.By))
	}
	if len(behind) == 0 {
		return Call{}, false
	}
	return Call{
		Rule: "finding", Harm: Look, Since: since, What: plural(len(behind), "open finding", "open findings") + " of a check",
		Evidence: "oldest of " + a.when(since), Behind: behind, Next: "Look again, and close it or tell the veterinarian",
		Cited: "A finding stays open until somebody closes it.",
	}, true
}

// doseMissed is one line for every order of which doses of yesterday are not on
// record.
func doseMissed(a Animal, _ House) (Call, bool) {
	missed := a.short(func(o Order) (int, bool) { return o.Yesterday, a.Heard && o.WholeYesterday })
	if len(missed) == 0 {
		return Call{}, false
	}
	return Call{
		Rule: "dose-missed", Harm: Now, Since: a.At.AddDate(0, 0, -1), What: strings.Join(missed, "; ") + " on record for yesterday",
		Evidence: a.orderWords(), Next: "Ask whether it was given, and tell the veterinarian",
		Cited: "What the veterinarian orders is given as ordered, or the veterinarian is told.",
	}, true
}

// evening is the hour from which doses of the day that are not given are due.
// Common practice, no source.
const evening = 17

func doseDue(a Animal, _ House) (Call, bool) {
	due := a.short(func(o Order) (int, bool) { return o.Today, a.At.Hour() >= evening })
	if len(due) == 0 {
		return Call{}, false
	}
	return Call{
		Rule: "dose-due", Harm: Today, Since: a.midnight(), What: strings.Join(due, "; ") + " given today",
		Evidence: a.orderWords(), Next: "Give it, or note why not", Cited: "What the veterinarian orders is given as ordered.",
	}, true
}

// short lists the orders of which fewer doses were given than are due.
func (a Animal) short(given func(Order) (n int, counts bool)) (out []string) {
	for _, o := range a.Orders {
		if n, counts := given(o); counts && n < o.Due {
			out = append(out, fmt.Sprintf("%s: %d of %s", o.Medication, n, plural(o.Due, "dose", "doses")))
		}
	}
	return out
}

func (a Animal) orderWords() string {
	if len(a.Orders) == 1 {
		return "the order " + a.Orders[0].ID + " holds"
	}
	var ids []string
	for _, o := range a.Orders {
		ids = append(ids, o.ID)
	}
	return "the orders " + strings.Join(ids, ", ") + " hold"
}

// orderNews tells for a while that an order was given, replaced or ended: whoever
// gave it yesterday gives it today as well. It is one line, by the last of them.
func orderNews(a Animal, h House) (Call, bool) {
	hours, cited := h.limit("order_hours")
	var behind []string
	var last OrderNews
	for _, n := range a.Ordered {
		if a.At.Sub(n.At) > lasting(hours) || n.At.After(a.At) {
			continue
		}
		last = n
		behind = append(behind, a.when(n.At)+": "+n.line())
	}
	if len(behind) == 0 {
		return Call{}, false
	}
	call := Call{
		Rule: "order-news", Harm: Look, Since: last.At, What: "Order of the veterinarian " + last.line(), Evidence: a.when(last.At) + ", by " + last.By,
		Next: "Read it, and tell whoever gives it", Cited: cited,
	}
	if len(behind) > 1 {
		call.Behind = behind
	}
	return call, true
}

func (n OrderNews) line() string {
	if n.Ended {
		return n.ID + " ended: " + n.Words
	}
	return n.ID + ": " + n.Words
}

// massDown names the longer window where both fell: one cause, one line. What
// the season explains is no call; the animal's page says so.
func massDown(a Animal, h House) (Call, bool) {
	if len(a.Expected) > 0 {
		return Call{}, false
	}
	var out Call
	for _, c := range a.Changes {
		name := "mass_week"
		if c.Days > 7 {
			name = "mass_month"
		}
		limit, cited := h.limit(name)
		if c.Percent+c.Explained > -limit {
			continue
		}
		out = Call{
			Rule: "mass-down", Harm: Today, Since: c.At, What: fmt.Sprintf("Mass %.0f %% under the median of %d days", -c.Percent, c.Days),
			Evidence: fmt.Sprintf("%.1f kg, %s; the median of %s is %.1f kg", c.Kg, a.when(c.At), plural(c.Of, "weigh-in", "weigh-ins"), c.Median) + c.ofScale(),
			Next:     "Weigh again, and tell the veterinarian if it holds", Cited: cited + ". Nothing that is published of its class explains it at this time.",
		}
	}
	return out, out.Rule != ""
}

// ofScale says how much of a fall is the scale's.
func (c Change) ofScale() string {
	if c.Explained < 0.05 {
		return ""
	}
	return fmt.Sprintf("; a scale that steps explains %.1f of the %.1f %%", c.Explained, -c.Percent)
}

// leftRation is silent where the refusal of all food calls already.
func leftRation(a Animal, h House) (Call, bool) {
	least, cited := h.limit("eaten_least")
	if _, refused := refusal(a, h); refused || a.Yesterday == nil || len(a.Expected) > 0 || !a.Heard {
		return Call{}, false
	}
	y := a.Yesterday
	switch {
	case y.Feeds == 0:
		return Call{
			Rule: "ration", Harm: Today, Since: y.Day, What: "Ration set, and no feed on record for yesterday",
			Evidence: fmt.Sprintf("%.1f kg were set", y.Ration/1000), Next: "Ask who fed it, and write it down", Cited: "Not logged is not the same as not fed.",
		}, true
	case 100*y.Eaten < least*y.Ration:
		return Call{
			Rule: "ration", Harm: Today, Since: y.Day, What: fmt.Sprintf("Ate %.0f %% of yesterday's ration", 100*y.Eaten/y.Ration),
			Evidence: fmt.Sprintf("%.1f of %.1f kg in %s", y.Eaten/1000, y.Ration/1000, plural(y.Feeds, "feed", "feeds")), Next: "Watch today's feeds", Cited: cited,
		}, true
	}
	return Call{}, false
}

func checkDue(a Animal, h House) (Call, bool) {
	return a.due(h, "check_days", "check-due", a.Checked, Today, "Not looked over", "Look it over")
}

func weighDue(a Animal, h House) (Call, bool) {
	return a.due(h, "weigh_days", "weigh-due", a.Weighed, Look, "Not weighed", "Weigh it")
}

func coatDue(a Animal, h House) (Call, bool) {
	return a.due(h, "coat_days", "coat-due", a.CoatScored, Look, "Coat not scored", "Score its coat")
}

// due calls when a thing was last done more whole days ago than the limit. From
// a facility that is silent nobody knows.
func (a Animal) due(h House, limit, rule string, last time.Time, harm Harm, what, next string) (Call, bool) {
	days, cited := h.limit(limit)
	since, said := last, "last "
	if last.IsZero() {
		since, said = a.Entered, "never since it came, "
	}
	gone := a.daysSince(since)
	if !a.Heard || since.IsZero() || float64(gone) <= days {
		return Call{}, false
	}
	return Call{Rule: rule, Harm: harm, Since: since, What: fmt.Sprintf("%s for %s", what, plural(gone, "day", "days")), Evidence: said + a.when(since), Next: next, Cited: cited}, true
}

func trainDue(a Animal, h House) (Call, bool) {
	days, cited := h.limit("train_days")
	var behind []string
	var since time.Time
	for _, t := range a.Taught {
		if float64(a.daysSince(t.Last)) > days {
			behind = append(behind, t.Name+", last "+a.when(t.Last))
			if since.IsZero() || t.Last.Before(since) {
				since = t.Last
			}
		}
	}
	if len(behind) == 0 || !a.Heard {
		return Call{}, false
	}
	return Call{Rule: "train-due", Harm: Look, Since: since, What: plural(len(behind), "behaviour", "behaviours") + " not asked for lately", Evidence: "the longest since " + a.when(since), Behind: behind, Next: "Plan a session", Cited: cited}, true
}

// trialsRefused holds lately against the animal's own before: how often chance
// alone would bring so many refusals, or more, of so many trials.
func trialsRefused(a Animal, h House) (Call, bool) {
	chance, cited := h.limit("trials_chance")
	t := a.Trials
	if t.Lately < leastTrials || t.Before < leastTrials || t.LatelyRefused == 0 {
		return Call{}, false
	}
	own := (float64(t.BeforeRefused) + 0.5) / (float64(t.Before) + 1)
	p := 1 - distuv.Binomial{N: float64(t.Lately), P: own}.CDF(float64(t.LatelyRefused-1))
	if 100*p > chance {
		return Call{}, false
	}
	return Call{
		Rule: "trials", Harm: Look, Since: t.Since, What: "Refuses more of what it was taught than it used to",
		Evidence: fmt.Sprintf("%d of %d trials not tried or left since %s; %d of %d before", t.LatelyRefused, t.Lately, a.when(t.Since), t.BeforeRefused, t.Before),
		Next:     "Look it over, and ask the trainers", Cited: cited,
	}, true
}

// leastTrials is how many trials each time must have to be compared. Assumption,
// no published standard.
const leastTrials = 8

func coatOdd(a Animal, _ House) (Call, bool) {
	if a.Coat == nil || (a.Coat.Standing != "early" && a.Coat.Standing != "late" && a.Coat.Standing != "stalled") {
		return Call{}, false
	}
	return Call{
		Rule: "coat", Harm: Look, Since: a.Coat.Since, What: "Coat " + a.Coat.Standing, Evidence: strings.TrimSuffix(a.Coat.Words, "."),
		Next: "Score the coat again, and show it to the veterinarian", Cited: "Against its own molts, drawn towards those of its class; nine in ten.",
	}, true
}
