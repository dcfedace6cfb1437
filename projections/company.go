package projections

import (
	"fmt"
	"slices"
	"time"

	"haulout/projections/dominance"
)

// Company is who keeps company with whom in an enclosure, by the scans of a
// window.
type Company struct {
	Facility  string        `json:"facility"`
	Enclosure string        `json:"enclosure"`
	Name      string        `json:"name"`
	From      Day           `json:"from"`
	To        Day           `json:"to"`
	Scans     int           `json:"scans"`
	Days      int           `json:"days"` // with a scan
	Animals   []Scanned     `json:"animals"`
	Pairs     []PairScanned `json:"pairs"`
	NotEnough string        `json:"not_enough"`
	Note      string        `json:"note"`
	Caution   string        `json:"caution"`
}

// Scanned is an animal and in how many scans it was seen.
type Scanned struct {
	Animal string `json:"animal"`
	Name   string `json:"name"`
	Tape   int    `json:"tape,omitempty"`
	Seen   int    `json:"seen"`
	Here   bool   `json:"here"` // lives there at the end of the window
}

// PairScanned is how two animals were seen. The indexes are null where neither
// was; the range takes each day as one look.
type PairScanned struct {
	A          string   `json:"a"`
	B          string   `json:"b"`
	Together   int      `json:"together"` // scans
	BothApart  int      `json:"both_apart"`
	OnlyA      int      `json:"only_a"`
	OnlyB      int      `json:"only_b"`
	Ratio      *float64 `json:"simple_ratio"`
	Low        *float64 `json:"low"`
	High       *float64 `json:"high"`
	HalfWeight *float64 `json:"half_weight"`
}

// scansNote stands beside every index of company.
const scansNote = "Scans of one day follow each other closely, so ranges take each day as one look. An index tells who is seen beside whom, not who likes whom."

// CompanyOf works out the company of an enclosure between two days; nil where
// it is not known. Empty days are those of an order that nobody chose.
func (s *Store) CompanyOf(ask OrderAsk, now, asOf time.Time) (out *Company, err error) {
	o := &ordering{ask: ask, now: now}
	err = s.at(asOf, func(v view) error {
		known, err := o.begin(v)
		if !known || err != nil {
			return err
		}
		out = &Company{
			Facility: o.out.Facility, Enclosure: o.out.Enclosure, Name: o.out.Name, From: o.out.From, To: o.out.To,
			Animals: []Scanned{}, Pairs: []PairScanned{}, Note: scansNote, Caution: CompanyCaution,
		}
		return out.work(v, o)
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func (c *Company) work(v view, o *ordering) error {
	days, err := shared[scanRow](v, &scans, o.ref(), c.From, c.To)
	if err != nil {
		return err
	}
	c.Days = len(days)
	seen, pairs := map[string]int{}, map[[2]string]*scanPair{}
	shares := map[[2]string][]float64{}
	for _, day := range days {
		c.Scans += day.Row.Scans
		day.Row.addTo(seen, pairs, shares)
	}
	if c.Scans == 0 {
		c.NotEnough = fmt.Sprintf("nobody scanned %s between %s and %s", c.Name, c.From, c.To)
	}
	if err := c.list(v, o, seen); err != nil {
		return err
	}
	for i, a := range c.Animals {
		for _, b := range c.Animals[i+1:] {
			key := pairOf(a.Animal, b.Animal)
			c.Pairs = append(c.Pairs, scannedPair(a, b, pairs[key], shares[key]))
		}
	}
	return nil
}

// addTo adds a day: scans by animal and by pair, and the share that a pair was
// together of the scans that saw one of them.
func (s *scanRow) addTo(seen map[string]int, pairs map[[2]string]*scanPair, shares map[[2]string][]float64) {
	for animal, n := range s.Seen {
		seen[animal] += n
	}
	for _, p := range s.Pairs {
		key := [2]string{p.A, p.B}
		if pairs[key] == nil {
			pairs[key] = &scanPair{A: p.A, B: p.B}
		}
		pairs[key].Both += p.Both
		pairs[key].Together += p.Together
		either := s.Seen[p.A] + s.Seen[p.B] - p.Both
		shares[key] = append(shares[key], float64(p.Together)/float64(either))
	}
}

// list names those who live there and those who were scanned, by name.
func (c *Company) list(v view, o *ordering, seen map[string]int) error {
	all, err := every[Animal](v, &animals)
	if err != nil {
		return err
	}
	for i := range all {
		a := &all[i]
		place := a.Place(o.end)
		here := place != nil && place.Facility == c.Facility && place.Enclosure == c.Enclosure
		if here || seen[a.ID] > 0 {
			c.Animals = append(c.Animals, Scanned{a.ID, a.Name, a.Tape, seen[a.ID], here})
		}
	}
	slices.SortFunc(c.Animals, func(a, b Scanned) int { return compareNames(a.Name, a.Animal, b.Name, b.Animal) })
	return nil
}

func scannedPair(a, b Scanned, p *scanPair, shares []float64) PairScanned {
	out := PairScanned{A: a.Animal, B: b.Animal}
	if p == nil {
		p = &scanPair{}
	}
	counts := dominance.Company{A: a.Animal, B: b.Animal, Together: p.Together, BothApart: p.Both - p.Together, OnlyA: a.Seen - p.Both, OnlyB: b.Seen - p.Both}
	out.Together, out.BothApart, out.OnlyA, out.OnlyB = counts.Together, counts.BothApart, counts.OnlyA, counts.OnlyB
	if ratio, ok := counts.SimpleRatio(); ok {
		out.Ratio = &ratio
	}
	if index, ok := counts.HalfWeight(); ok {
		out.HalfWeight = &index
	}
	if low, high, ok := dominance.Shared(shares); ok {
		out.Low, out.High = &low, &high
	}
	return out
}

// InjuriesSeen lists the encounters of a facility's enclosures in which an
// injury was noted on days from … to, newest first.
func (s *Store) InjuriesSeen(facility string, from, to Day, asOf time.Time) (out []EncounterLine, err error) {
	err = s.at(asOf, func(v view) error {
		all, err := every[Enclosure](v, &enclosures)
		if err != nil {
			return err
		}
		for _, e := range all {
			if e.Facility != facility {
				continue
			}
			more, err := v.injuries(Local("enclosure", facility, e.ID), from, to)
			if err != nil {
				return err
			}
			out = append(out, more...)
		}
		return nil
	})
	slices.SortFunc(out, func(a, b EncounterLine) int { return b.Time.Compare(a.Time) })
	return out, err
}
