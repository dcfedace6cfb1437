package coat

import (
	"fmt"
	"slices"
	"time"
)

// State is where a coat stood at the last score of a coat year.
type State string

// The states of a coat.
const (
	NotScored State = "not scored"
	NotBegun  State = "no new coat"
	InMolt    State = "in molt"
	AllNew    State = "all new"
)

// Year is what was seen of an animal's coat in one coat year, which turns where
// no molt is seen, so that a molt around New Year stays in one piece.
type Year struct {
	Year     int        `json:"year"` // the calendar year of its middle
	From     Day        `json:"from"`
	Until    Day        `json:"until"` // the first day of the next
	Open     bool       `json:"open"`  // it is not over
	State    State      `json:"state"` // at its last score
	Scores   int        `json:"scores"`
	Last     *Day       `json:"last,omitempty"`      // its last score
	LastNone *Day       `json:"last_none,omitempty"` // the last score before new coat showed
	Onset    *Between   `json:"onset"`               // null where no onset was seen
	Middle   *Between   `json:"middle"`
	End      *Between   `json:"end"`
	Gaps     []Gap      `json:"gaps"`
	Backward []Backward `json:"backward"`
	Regions  []Region   `json:"regions"`
	Doubts   []string   `json:"doubts"` // entries whose stage and percentage disagree

	molt []Score // of its molt, from the last without new coat to the first all new
}

// Gap is a stretch without a score that is longer than the reference's "gap".
type Gap struct {
	From Day `json:"from"`
	To   Day `json:"to"`
}

// Backward is a score with less new coat than the one before it. Whether one of
// the two is a slip, or a second molt began, is for a person to judge.
type Backward struct {
	Day    Day    `json:"day"`
	Before Day    `json:"before"`
	Words  string `json:"words"`
}

// Read sorts an animal's scores into coat years that begin with a month, from
// that of its first score to that of today. Scores after today are left out.
// Errors: a score that can't be; a month outside January to December.
func Read(scores []Score, turns time.Month, today Day) ([]Year, error) {
	if turns < time.January || turns > time.December {
		return nil, fmt.Errorf("month: %d is no month: give 1 to 12", turns)
	}
	scores, err := inOrder(scores)
	if err != nil {
		return nil, err
	}
	end, _ := slices.BinarySearchFunc(scores, today+1, func(s Score, d Day) int { return compare(s.Day, d) })
	scores = scores[:end]
	if len(scores) == 0 {
		return nil, nil
	}
	var out []Year
	for y := coatYear(scores[0].Day, turns); y.From <= today; y = coatYear(y.Until, turns) {
		begin, _ := slices.BinarySearchFunc(scores, y.From, func(s Score, d Day) int { return compare(s.Day, d) })
		end, _ := slices.BinarySearchFunc(scores, y.Until, func(s Score, d Day) int { return compare(s.Day, d) })
		y.Open = today < y.Until
		y.read(scores[begin:end], begin > 0 && !scores[begin-1].None())
		y.gaps(scores, begin, end, today)
		out = append(out, y)
	}
	return out, nil
}

func compare(a, b Day) int {
	if a < b {
		return -1
	}
	if a > b {
		return 1
	}
	return 0
}

// read finds the molt in the scores of the coat year. Carried says that new
// coat showed at the last score before it, which is then the last molt's.
func (y *Year) read(scores []Score, carried bool) {
	if y.Scores = len(scores); len(scores) == 0 {
		return
	}
	y.Last = &scores[len(scores)-1].Day
	for _, s := range scores {
		if s.Doubt != "" {
			y.Doubts = append(y.Doubts, s.Day.words()+": "+s.Doubt)
		}
	}
	molt, again := split(scores, carried)
	y.molt = molt
	for i := 1; i < len(molt); i++ {
		if molt[i].below(molt[i-1]) {
			y.backward(molt[i-1], molt[i], "runs backwards")
		}
	}
	if again != nil {
		y.backward(molt[len(molt)-1], *again, "is new coat again after all of it was new")
	}
	y.State = stateOf(molt[len(molt)-1])
	for i := range molt {
		if molt[i].None() {
			y.LastNone = &molt[i].Day
		}
	}
	if y.Regions = regions(molt); molt[0].Complete() && y.State == AllNew {
		return // all new at its first score: when it molted was not seen
	}
	line := rising(molt)
	y.Onset = crossing(molt, y.From, Score.None, func(s Score) bool { return !s.None() })
	y.Middle = crossing(molt, y.From, Score.belowHalf, Score.half)
	y.End = crossing(molt, y.From, func(s Score) bool { return !s.Complete() }, Score.Complete)
	y.Onset.place(line, assumed("onset_at"))
	y.Middle.place(line, assumed("middle_at"))
	y.End.place(line, assumed("end_at"))
}

func stateOf(s Score) State {
	switch {
	case s.None():
		return NotBegun
	case s.Complete():
		return AllNew
	}
	return InMolt
}

func (y *Year) backward(before, s Score, how string) {
	words := fmt.Sprintf("%s on %s after %s on %s %s", s.words(), s.Day.words(), before.words(), before.Day.words(), how)
	y.Backward = append(y.Backward, Backward{s.Day, before.Day, words})
}

// gaps lists the stretches without a score, up to today, that reach into the
// coat year. The time before an animal's first score counts from the first day
// of that coat year.
func (y *Year) gaps(all []Score, begin, end int, today Day) {
	last, to := y.From, min(y.Until, today)
	if begin > 0 {
		last = all[begin-1].Day
	}
	add := func(next Day) {
		if from, until := max(last, y.From), min(next, to); float64(next-last) > assumed("gap") && until > from {
			y.Gaps = append(y.Gaps, Gap{from, until})
		}
		last = next
	}
	for _, s := range all[begin:end] {
		add(s.Day)
	}
	next := today
	if end < len(all) {
		next = all[end].Day
	}
	add(next)
}
