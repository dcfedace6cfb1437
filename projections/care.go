package projections

import (
	"cmp"
	"slices"
	"time"

	"haulout/events"
)

// Care is how an animal's body looked to those who looked, what the veterinarian
// ordered for it, and what it was given.
type Care struct {
	Animal  string          `json:"animal"`
	From    Day             `json:"from"`
	To      Day             `json:"to"`
	At      time.Time       `json:"at"`   // of what is open and in force
	Open    []OpenFinding   `json:"open"` // found and not closed, the urgent first, then the oldest
	Days    []CheckDay      `json:"days"` // with a look or a closing, the newest first
	Orders  []OrderStanding `json:"orders"`
	Doses   []Medicated     `json:"doses"` // of days from … to, the newest first
	Caution string          `json:"caution"`
}

// OrderStanding is an order with where it stands. Of an order for a single dose
// Given counts all doses, of any other those of the day that is asked about; a
// dose that the animal took none of is none.
type OrderStanding struct {
	MedicalOrder
	Holds bool       `json:"holds"`
	Given int        `json:"given"`
	Last  *time.Time `json:"last_given,omitempty"` // of the doses that count
}

// CareCaution stands beside every care.
const CareCaution = "This is what was seen and written down. What it means is for the veterinarian to say, and medication is given on the veterinarian's order alone."

// CareOf works out an animal's care over days from … to, and what is open and in
// force at a moment; nil where the animal is not on record.
func (s *Store) CareOf(animal string, from, to Day, at, asOf time.Time) (out *Care, err error) {
	err = s.at(asOf, func(v view) error {
		known, err := row[Animal](v, &animals, Scope{Ref: events.Ref{Sort: "animal", ID: animal}})
		if known == nil || err != nil {
			return err
		}
		out = &Care{Animal: animal, From: from, To: to, At: at.UTC(), Caution: CareCaution}
		zone := v.zone(known.Stays[len(known.Stays)-1].Facility)
		if err := out.looks(v, DayOf(at, zone)); err != nil {
			return err
		}
		return out.orders(v, at, zone)
	})
	return out, err
}

func (c *Care) looks(v view, today Day) error {
	ref := events.Ref{Sort: "animal", ID: c.Animal}
	list, err := rows[checkedRow](v, &checks, ref, c.From, c.To)
	if err != nil {
		return err
	}
	c.Days, c.Open = []CheckDay{}, []OpenFinding{}
	for _, day := range slices.Backward(list) {
		c.Days = append(c.Days, CheckDay{day.Day, append([]Checked{}, day.Row.Checks...), append([]Closed{}, day.Row.Closed...)})
	}
	last, err := latest[checkedRow](v, &checks, ref, today)
	if last != nil {
		c.Open = append(c.Open, last.Row.Open...)
	}
	slices.SortStableFunc(c.Open, func(a, b OpenFinding) int { return cmp.Or(one(b.Urgent)-one(a.Urgent), a.Since.Compare(b.Since)) })
	return err
}

func (c *Care) orders(v view, at time.Time, zone zone) error {
	ref := events.Ref{Sort: "animal", ID: c.Animal}
	c.Orders, c.Doses = []OrderStanding{}, []Medicated{}
	given, err := rows[medicatedRow](v, &medications, ref, c.From, c.To)
	if err != nil {
		return err
	}
	for _, day := range slices.Backward(given) {
		for _, dose := range slices.Backward(day.Row.Doses) {
			c.Doses = append(c.Doses, dose)
		}
	}
	all, err := row[ordersRow](v, &orders, Scope{Ref: ref})
	if all == nil || err != nil {
		return err
	}
	for _, o := range all.Orders {
		standing, err := standingOf(v, ref, o, at, zone)
		if err != nil {
			return err
		}
		c.Orders = append(c.Orders, standing)
	}
	slices.SortStableFunc(c.Orders, func(a, b OrderStanding) int {
		return cmp.Or(one(b.Holds)-one(a.Holds), b.From.Compare(a.From), cmp.Compare(a.Order, b.Order))
	})
	return nil
}

func standingOf(v view, ref events.Ref, o MedicalOrder, at time.Time, zone zone) (OrderStanding, error) {
	out := OrderStanding{MedicalOrder: o, Holds: o.holds(at)}
	today := DayOf(at, zone)
	from := today
	if o.Daily == 0 {
		from = DayOf(o.From, zone)
	}
	given, err := rows[medicatedRow](v, &medications, ref, from, today)
	for _, day := range given {
		for _, dose := range day.Row.Doses {
			if dose.countsFor(o) {
				out.Given, out.Last = out.Given+1, &dose.Time
			}
		}
	}
	return out, err
}
