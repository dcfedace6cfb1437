package main

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"haulout/projections/dominance"
)

// meeting is an encounter and when it was.
type meeting struct {
	dominance.Seen
	day   string    // empty where it is not known
	at    time.Time // noon where the day alone is known
	timed bool      // the time of day is known
}

// compare sorts by time, and encounters of one time by what they say alone.
func (m meeting) compare(other meeting) int {
	return cmp.Or(m.at.Compare(other.at), strings.Compare(m.key(), other.key()))
}

func (m meeting) key() string { return fmt.Sprintf("%t %+v", m.timed, m.Seen) }

// after says whether the times of two encounters allow that m followed other.
func (m meeting) after(other meeting) bool {
	if !m.timed || !other.timed {
		return m.day >= other.day || m.day == ""
	}
	return !m.at.Before(other.at)
}

func seenOf(met []meeting) (out []dominance.Seen) {
	for _, m := range met {
		out = append(out, m.Seen)
	}
	return out
}

// encounterText is an encounter as a file gives it, each field in words.
type encounterText struct{ time, winner, loser, draw, intensity, place, cause string }

// slip is what is wrong with a field, and what to do.
type slip struct{ field, value, why string }

// read makes an encounter of the words. animal finds an animal by its name, or
// says why there is none.
func (e encounterText) read(animal func(string) (name, why string)) (m meeting, wrong []slip) {
	m.Intensity, m.Place, m.Cause = e.intensity, e.place, e.cause
	for _, one := range []struct {
		field, name string
		to          *string
	}{{"winner", e.winner, &m.Winner}, {"loser", e.loser, &m.Loser}} {
		why := "is empty; name the animal, and mark an encounter that nobody won as a draw"
		if one.name != "" {
			*one.to, why = animal(one.name)
		}
		if why != "" {
			wrong = append(wrong, slip{one.field, one.name, why})
		}
	}
	if m.Winner != "" && m.Winner == m.Loser {
		wrong = append(wrong, slip{"loser", e.loser, "is the same animal as the winner; an encounter has two"})
	}
	return m, slices.Concat(wrong, e.readDraw(&m), e.checkWords(), e.readTime(&m))
}

func (e encounterText) readDraw(m *meeting) []slip {
	switch e.draw {
	case "", "no", "n", "false", "0":
		return nil
	case "yes", "y", "true", "1":
		m.Undecided = true
		return nil
	}
	return []slip{{"draw", e.draw, "write yes or no"}}
}

// checkWords holds the fields whose words are few against these.
func (e encounterText) checkWords() (wrong []slip) {
	for _, one := range []struct {
		field, value string
		known        []string
	}{
		{"intensity", e.intensity, []string{"low", "medium", "high"}},
		{"place", e.place, []string{"deck", "gate", "food", "pool"}},
		{"cause", e.cause, []string{"keeper", "gate", "coalition"}},
	} {
		if one.value != "" && !slices.Contains(one.known, one.value) {
			wrong = append(wrong, slip{one.field, one.value, fmt.Sprintf("is not known; use %s, or leave it empty%s", strings.Join(one.known, ", "), meant(one.value, one.known))})
		}
	}
	return wrong
}

// readTime leaves an encounter without a time where none is given.
func (e encounterText) readTime(m *meeting) []slip {
	if e.time == "" {
		return nil
	}
	at, err := parseMoment(e.time, time.UTC)
	if err != nil {
		return []slip{{"time", e.time, err.Error()}}
	}
	m.at, m.timed, m.day = at.at, !at.noon, at.at.Format(time.DateOnly)
	return nil
}
