package projections

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"haulout/projections/dominance"
)

// OrderAsk says which order is wanted. Empty days are the period that runs, up
// to today; an empty method is the first of OrderMethods.
type OrderAsk struct {
	Facility  string
	Enclosure string
	From, To  Day
	Method    string
	Tests     bool // throw the dice of the tests too
}

// OrderMethods are the ways to put animals in order: normalised David's score
// with Dij or Pij, abilities, ratings at the end, and the fewest contradictions.
var OrderMethods = []string{"david", "david_pij", "abilities", "ratings", "isi"}

// ErrOrder says what is wrong with what an order was asked for.
var ErrOrder = errors.New("nothing can be worked out for")

// CompanyCaution stands beside every order and every figure of company.
const CompanyCaution = "Order and company are aids to planning. Who lives with whom is decided by the lead keeper and the veterinarian, under local law and the facility's permits."

// Order is who yields to whom among those who live together in an enclosure, in
// a window, and how sure that is.
type Order struct {
	Facility   string               `json:"facility"`
	Enclosure  string               `json:"enclosure"`
	Name       string               `json:"name"`
	From       Day                  `json:"from"`
	To         Day                  `json:"to"`
	Period     *Period              `json:"period"` // that the window begins with
	Method     string               `json:"method"`
	State      dominance.State      `json:"state"`
	Sentence   string               `json:"sentence"`
	Gates      []OrderGate          `json:"gates"`
	Animals    []Ranked             `json:"animals"` // from the top; by name where there is no order
	LeftOut    []LeftOut            `json:"left_out"`
	Pairs      []PairMet            `json:"pairs"`
	Against    []Contradiction      `json:"against_the_order"`
	Near       []PairNamed          `json:"near"` // neighbours that can't be told apart
	ToWatch    []PairNamed          `json:"to_watch"`
	Evidence   OrderEvidence        `json:"evidence"`
	Figures    OrderFigures         `json:"figures"`
	Turned     []TurnedPair         `json:"turned"`
	Contact    ContactRates         `json:"contact"`
	Suggested  []SuggestedPeriod    `json:"suggested_periods"`
	Ratings    []RatingLine         `json:"ratings"`
	SeenDays   []Day                `json:"seen_days"` // with a counted encounter
	Caution    string               `json:"caution"`
	Reasons    []dominance.Constant `json:"assumptions"`
	Judgements []JudgedPair         `json:"judgements"`
}

// OrderGate is what keeps an order from being supported.
type OrderGate struct {
	Gate  string          `json:"gate"`
	Keeps dominance.State `json:"keeps"`
	Why   string          `json:"why"`
}

// Ranked is an animal and where an animal stands. Place is nil where there is no order;
// the range of places is there wherever anything was seen.
type Ranked struct {
	Animal    string   `json:"animal"`
	Name      string   `json:"name"`
	Tape      int      `json:"tape,omitempty"`
	Sex       string   `json:"sex"`
	Place     *int     `json:"place"`
	Likeliest *int     `json:"likeliest"`
	First     *int     `json:"first"`
	Last      *int     `json:"last"`
	Score     *float64 `json:"score"` // of the method; nil where it says nothing
	Won       int      `json:"won"`
	Lost      int      `json:"lost"`
	Draws     int      `json:"draws"`
	Since     Day      `json:"since"` // that it lives there
}

// LeftOut is an animal that lives there and is not put in order.
type LeftOut struct {
	Animal string `json:"animal"`
	Name   string `json:"name"`
	Why    string `json:"why"`
}

// PairNamed is two animals, by id and name, and why they are named.
type PairNamed struct {
	A     string `json:"a"`
	B     string `json:"b"`
	NameA string `json:"name_a"`
	NameB string `json:"name_b"`
	Why   string `json:"why"`
}

// PairMet is how two animals met in the window; A stands before B in the list of
// animals.
type PairMet struct {
	A         string     `json:"a"`
	B         string     `json:"b"`
	Won       int        `json:"won"` // by A
	Lost      int        `json:"lost"`
	Draws     int        `json:"draws"`
	Apart     int        `json:"kept_apart"`
	Contact   int        `json:"contact"`
	Injuries  int        `json:"injuries"`
	Last      *time.Time `json:"last"`
	Days      float64    `json:"days_together"`
	Seen      string     `json:"seen"`      // met, unseen, or never_together
	Direction float64    `json:"direction"` // chance that A is the one that wins more often
	Low       float64    `json:"low"`       // A's chance to win, 9 in 10
	High      float64    `json:"high"`
}

// Contradiction is a pair whose lower one wins more often.
type Contradiction struct {
	Upper string `json:"upper"`
	Lower string `json:"lower"`
	Won   int    `json:"won"` // by the lower one
	Lost  int    `json:"lost"`
}

// OrderEvidence is what an order rests on.
type OrderEvidence struct {
	Encounters int         `json:"encounters"` // counted among the animals of the order
	Undecided  int         `json:"undecided"`
	PerAnimal  float64     `json:"per_animal"` // each encounter counted once
	Pairs      int         `json:"pairs"`      // that lived together
	Unseen     int         `json:"unseen"`
	Never      int         `json:"never_together"`
	Apart      []Reckoned  `json:"kept_apart"`
	Elsewhere  int         `json:"with_others"` // counted encounters with animals that are not in the order
	Sampling   []SampledBy `json:"sampling"`
	Last       *time.Time  `json:"last"`
}

// Reckoned is a reason and how often it held.
type Reckoned struct {
	Why   string `json:"why"`
	Count int    `json:"count"`
}

// SampledBy is how encounters of the enclosure came to be noted.
type SampledBy struct {
	Method     string  `json:"method"` // ad_libitum is whatever somebody happened to see
	Encounters int     `json:"encounters"`
	Watches    int     `json:"watches"`
	Hours      float64 `json:"hours"`
}

// OrderFigures are the figures of the whole group. What can't be had or says
// nothing is null, and Notes say why.
type OrderFigures struct {
	Straightness string   `json:"straightness"`
	Landau       *float64 `json:"landau_h"`
	LandauPrime  *float64 `json:"landau_h_prime"`
	LinearityP   *float64 `json:"linearity_p"`
	Steepness    *float64 `json:"steepness_dij"`
	SteepnessP   *float64 `json:"steepness_p"`
	Kendall      *float64 `json:"kendall_k"`
	Triangles    *float64 `json:"triangle_transitivity"`
	Consistency  *float64 `json:"directional_consistency"`
	Inconsistent *int     `json:"inconsistencies"`
	Strength     *int     `json:"strength_of_inconsistencies"`
	EquallyGood  *uint64  `json:"equally_good_orders"`
	Stability    *float64 `json:"stability"`
	Notes        []string `json:"notes"`
}

// RatingLine is how an animal's rating went on the days on which it was seen to
// meet another.
type RatingLine struct {
	Animal string        `json:"animal"`
	Points []RatingPoint `json:"points"`
}

// RatingPoint is a rating at the end of a day, with what holds it in 9 of 10
// cases, and the points of the plain rating beside it.
type RatingPoint struct {
	Day    Day     `json:"day"`
	Points float64 `json:"points"`
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
	Plain  float64 `json:"plain"`
}

// SuggestedPeriod is a change after which a new period may be in place; people
// set it.
type SuggestedPeriod struct {
	Day    Day    `json:"day"`
	Reason string `json:"reason"`
	Why    string `json:"why"`
}

// Order works out the order of an enclosure; nil where it is not known. Now is
// the moment that is asked from.
func (s *Store) Order(ask OrderAsk, now, asOf time.Time) (out *Order, err error) {
	o := &ordering{ask: ask, now: now}
	err = s.at(asOf, func(v view) error {
		known, err := o.begin(v)
		if !known || err != nil {
			return err
		}
		out = o.out
		return o.work(v)
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// begin settles enclosure, window and method.
func (o *ordering) begin(v view) (known bool, err error) {
	if o.zone = v.zone(o.ask.Facility); o.zone == nil {
		return false, nil
	}
	e, err := row[Enclosure](v, &enclosures, Scope{Ref: o.ref()})
	if e == nil || err != nil {
		return false, err
	}
	if o.ask.Method == "" {
		o.ask.Method = OrderMethods[0]
	}
	if !slices.Contains(OrderMethods, o.ask.Method) {
		return false, fmt.Errorf("%w method %q: use %s", ErrOrder, o.ask.Method, strings.Join(OrderMethods, ", "))
	}
	o.out = &Order{
		Facility: e.Facility, Enclosure: e.ID, Name: e.Name, Method: o.ask.Method, State: dominance.NoOrder, Caution: CompanyCaution,
		Gates: []OrderGate{}, Animals: []Ranked{}, LeftOut: []LeftOut{}, Pairs: []PairMet{}, Against: []Contradiction{}, Near: []PairNamed{},
		ToWatch: []PairNamed{}, Turned: []TurnedPair{}, Suggested: []SuggestedPeriod{}, Ratings: []RatingLine{}, SeenDays: []Day{}, Judgements: []JudgedPair{},
		Evidence: OrderEvidence{Apart: []Reckoned{}, Sampling: []SampledBy{}}, Figures: OrderFigures{Notes: []string{}}, Reasons: orderReasons(),
	}
	return true, o.window(v)
}

// orderReasons are the constants that an order rests on.
func orderReasons() (out []dominance.Constant) {
	for _, key := range []string{"enough", "unknown_none", "unknown_provisional", "sure", "level", "ghost", "turned", "lately", "compared", "watched_least", "rising", "linear_from"} {
		out = append(out, dominance.Assumed(key))
	}
	return out
}

// longestWindow is how far back a window goes that nobody gave, in days.
const longestWindow = 365

// window begins with the period that runs, a year back at most, unless it was
// asked for.
func (o *ordering) window(v view) (err error) {
	today := DayOf(o.now, o.zone)
	if o.ask.To == "" {
		o.ask.To = today
	}
	if o.ask.To > today {
		return fmt.Errorf("%w to %s: that day is still to come; give a day up to today", ErrOrder, o.ask.To)
	}
	o.end = o.ask.To.End(o.zone).Add(-1)
	if o.end.After(o.now) {
		o.end = o.now
	}
	if o.periods, err = v.periods(o.ask.Facility, o.ask.Enclosure); err != nil {
		return err
	}
	for i := range slices.Backward(o.periods) {
		p := &o.periods[i]
		day := DayOf(p.From, o.zone)
		if p.From.After(o.end) || (o.ask.From != "" && o.ask.From != day) {
			continue
		}
		if o.ask.From == "" && day.until(o.ask.To) < longestWindow {
			o.ask.From = day
		}
		if o.ask.From == day {
			o.out.Period = p
		}
		break
	}
	if o.ask.From == "" {
		o.ask.From = o.ask.To.Add(1 - longestWindow)
	}
	if o.ask.From > o.ask.To {
		return fmt.Errorf("%w from %s to %s: the window ends before it begins; change the two about", ErrOrder, o.ask.From, o.ask.To)
	}
	o.out.From, o.out.To = o.ask.From, o.ask.To
	return nil
}
