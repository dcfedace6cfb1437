package board

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// Stepped is a scale whose readings step for all animals that are weighed on it.
// Ranges are the likeliest and the ends that hold it nine times in ten.
type Stepped struct {
	Scale       string
	Since       time.Time // the first day that reads otherwise
	First, Last time.Time // the days between which it may have been
	Percent, Kg Range
	Same        string // kg or percent, whichever the animals agree on; empty where they don't tell
	Weighings   int
	Animals     []Jumped
	Elsewhere   string // what other scales say of the same animals
}

// Range is a figure with how far it may be off.
type Range struct{ Value, Lo, Hi float64 }

// Jumped is how far one animal's readings step.
type Jumped struct {
	Name        string
	Kg, Percent float64
}

// ScaleMatters says that a scale which reads so many per cent otherwise is named.
// A step that is not named explains nothing either: else a fall would be hidden
// by what nobody is told of.
func (h House) ScaleMatters(percent float64) bool { return math.Abs(percent) >= h.Value("scale_least") }

// ScaleSteps names each scale whose readings stepped lately by enough to matter,
// once, by its last step: a known mass on it tells whether it is the scale.
func ScaleSteps(steps []Stepped, now time.Time, h House) (out []Call) {
	days, cited := h.limit("scale_days")
	last := map[string]Stepped{}
	for _, s := range steps {
		if !h.ScaleMatters(s.Percent.Value) {
			continue
		}
		if seen, known := last[s.Scale]; float64(daysBetween(s.Since, now)) <= days && (!known || s.Since.After(seen.Since)) {
			last[s.Scale] = s
		}
	}
	for _, s := range last {
		out = append(out, s.call(now, cited))
	}
	slices.SortFunc(out, func(a, b Call) int { return strings.Compare(a.Subject, b.Subject) })
	return out
}

func (s Stepped) call(now time.Time, cited string) Call {
	var behind []string
	for _, a := range s.Animals {
		behind = append(behind, fmt.Sprintf("%s: %s %%, %s kg", a.Name, signed(a.Percent), signed(a.Kg)))
	}
	return Call{
		Rule: "scale", Subject: s.Scale, Name: "Scale " + s.Scale, Harm: Today, Since: s.Since,
		What:     fmt.Sprintf("Reads about %s for all animals weighed on it", s.size()),
		Evidence: fmt.Sprintf("%s; %s, by %s. Masses that fell no further than that are not listed besides", s.when(now), s.ranges(), s.of()),
		Behind:   behind, Next: "Put a known mass on it", Cited: cited,
	}
}

// size says how far it steps, in the unit that the animals agree on.
func (s Stepped) size() string {
	more := " more"
	if s.Percent.Value < 0 {
		more = " less"
	}
	if s.Same == "kg" {
		return fmt.Sprintf("%.1f kg%s", math.Abs(s.Kg.Value), more)
	}
	return fmt.Sprintf("%.1f %%%s", math.Abs(s.Percent.Value), more)
}

func (s Stepped) when(now time.Time) string {
	if s.First.Equal(s.Last) {
		return "from " + day(s.First, now)
	}
	return "from " + day(s.First, now) + " or later, seen by " + day(s.Last, now)
}

func (s Stepped) ranges() string {
	r, unit := s.Percent, "%"
	if s.Same == "kg" {
		r, unit = s.Kg, "kg"
	}
	return fmt.Sprintf("%s to %s %s, 9 in 10", signed(r.Lo), signed(r.Hi), unit)
}

func (s Stepped) of() string {
	out := fmt.Sprintf("%s and %s", plural(len(s.Animals), "animal", "animals"), plural(s.Weighings, "weigh-in", "weigh-ins"))
	if s.Elsewhere != "" {
		out += "; " + s.Elsewhere
	}
	return out
}

func signed(v float64) string { return strings.Replace(fmt.Sprintf("%+.1f", v), "-", "\u2212", 1) }

// day is a date as seen from a moment, which says the year where it is another.
func day(t, now time.Time) string {
	if t.Year() == now.Year() {
		return t.Format("2 January")
	}
	return t.Format("2 January 2006")
}
