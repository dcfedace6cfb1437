package coat

import (
	"fmt"
	"math"
	"time"
)

// herd is all animals of an outlook, with the molts of each class.
type herd struct {
	sites   map[string]string
	today   Day
	years   [][]Year // by animal
	turns   map[place]time.Month
	courses map[Class]*course
}

// place is where coat years turn in the same month.
type place struct{ taxon, facility string }

func (h *herd) check(animals []Animal) error {
	seen := map[string]bool{}
	for i, a := range animals {
		if a.ID == "" || seen[a.ID] {
			return fmt.Errorf("animal %d: id %q is empty or another's: give each its own", i+1, a.ID)
		}
		seen[a.ID] = true
		for j, s := range a.Scores {
			if err := s.check(); err != nil {
				return fmt.Errorf("animal %q: score %d: %w", a.ID, j+1, err)
			}
		}
	}
	for facility, hemisphere := range h.sites {
		if hemisphere != "north" && hemisphere != "south" {
			return fmt.Errorf("sites: %q of %q is no hemisphere: give north or south, or leave it out", hemisphere, facility)
		}
	}
	return nil
}

// read sorts all scores into coat years, and molts into classes.
func (h *herd) read(animals []Animal) error {
	h.turn(animals)
	for _, a := range animals {
		years, err := Read(a.Scores, h.turnsFor(a), h.today)
		if err != nil {
			return fmt.Errorf("animal %q: %w", a.ID, err)
		}
		h.years = append(h.years, years)
		for _, y := range years {
			if y.Onset != nil {
				h.course(a.class(y, h.facility(a))).take(a.ID, y)
			}
		}
	}
	return nil
}

// facility is where the animal was at its last score up to today.
func (h *herd) facility(a Animal) (facility string) {
	last := Day(math.Inf(-1))
	for _, s := range a.Scores {
		if s.Day <= h.today && (s.Day > last || s.Day == last && s.Facility > facility) {
			last, facility = s.Day, s.Facility
		}
	}
	return facility
}

func (h *herd) turnsFor(a Animal) time.Month {
	if month, ok := h.turns[place{a.Taxon, h.facility(a)}]; ok {
		return month
	}
	return time.January
}

// turn finds the month with which the coat years of each place begin.
func (h *herd) turn(animals []Animal) {
	inMolt := map[place][]float64{}
	for _, a := range animals {
		for i := range a.Scores {
			if s := &a.Scores[i]; s.Molting() && s.Day <= h.today {
				at := place{a.Taxon, s.Facility}
				inMolt[at] = append(inMolt[at], s.Day.Turn())
			}
		}
	}
	h.turns = map[place]time.Month{}
	for at, turns := range inMolt {
		h.turns[at] = awayFrom(turns)
	}
}

// class is an animal's class in a coat year, by its age in the middle of it and
// by where it was when it molted.
func (a Animal) class(y Year, facility string) Class {
	if len(y.molt) > 0 {
		facility = y.molt[len(y.molt)-1].Facility
	}
	out := Class{Taxon: a.Taxon, Sex: a.Sex, Facility: facility}
	if a.Born == nil {
		return out
	}
	switch years := float64(y.From+(y.Until-y.From)/2-*a.Born) / yearDays; {
	case years < 1:
		out.Age = "pup"
	case a.Grown <= 0:
	case years < a.Grown:
		out.Age = "young"
	default:
		out.Age = "adult"
	}
	return out
}

func (h *herd) course(c Class) *course {
	if h.courses[c] == nil {
		h.courses[c] = &course{class: c, hemisphere: h.sites[c.Facility]}
	}
	return h.courses[c]
}
