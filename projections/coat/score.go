package coat

import (
	"cmp"
	"fmt"
	"slices"
)

// Score is how much of a coat was new on a day, in per cent from 0 to 100: one
// figure, or the bounds of a stage.
type Score struct {
	Day         Day
	Least, Most float64  // the same where a figure was given
	Over        bool     // it is more than Least, as in stages 1 to 4
	Regions     []string // where new coat showed
	Facility    string   // where the animal was
	Doubt       string   // why the entry does not agree with itself; "" where it does
}

// NewScore reads an entry: a stage from 0 to 5, a percentage, or both. Of both
// the percentage counts, and Doubt says where the stage disagrees. Errors: a
// stage that is not on the scale, a percentage outside 0 to 100, neither.
func NewScore(day Day, stage string, percent *float64) (Score, error) {
	out := Score{Day: day}
	if percent == nil && stage == "" {
		return out, fmt.Errorf("stage: is missing: give a stage from 0 to 5, or new_coat in per cent")
	}
	if stage != "" {
		s, err := stageNamed(stage)
		if err != nil {
			return out, err
		}
		out.Least, out.Most, out.Over = s.Least, s.Most, s.Least < s.Most
	}
	if percent == nil {
		return out, nil
	}
	is, err := StageOf(*percent)
	if err != nil {
		return out, err
	}
	if stage != "" && is != stage {
		out.Doubt = fmt.Sprintf("%g %% of new coat is stage %s, and stage %s was given; the percentage counts", *percent, is, stage)
	}
	out.Least, out.Most, out.Over = *percent, *percent, false
	return out, nil
}

func stageNamed(name string) (Stage, error) {
	for _, s := range reference.Stages.List {
		if s.Stage == name {
			return s, nil
		}
	}
	return Stage{}, fmt.Errorf("stage: %q is not on the scale: give 0, none, to 5, all new", name)
}

// Stages is the scale, from none to all, and where it comes from.
func Stages() (list []Stage, source string) {
	return slices.Clone(reference.Stages.List), reference.Stages.Source
}

// StageOf is the stage of a percentage of new coat. Errors: one outside 0 to 100.
func StageOf(percent float64) (string, error) {
	list := reference.Stages.List
	if !(percent >= 0 && percent <= 100) {
		return "", fmt.Errorf("new_coat: %v per cent can't be: give 0 to 100", percent)
	}
	if last := list[len(list)-1]; percent >= last.Least {
		return last.Stage, nil
	}
	i := slices.IndexFunc(list, func(s Stage) bool { return percent <= s.Most })
	return list[i].Stage, nil
}

// None says that no new coat showed.
func (s Score) None() bool { return s.Most == 0 }

// Complete says that all of the coat was new.
func (s Score) Complete() bool { return s.Least == 100 }

// Molting says that old and new coat showed.
func (s Score) Molting() bool { return !s.None() && !s.Complete() }

// middle is the figure, or the middle of the stage.
func (s Score) middle() float64 { return (s.Least + s.Most) / 2 }

// below says that there was certainly less new coat than at another score.
func (s Score) below(other Score) bool {
	return s.Most < other.Least || s.Most == other.Least && other.Over || other.Complete() && !s.Complete()
}

func (s Score) words() string {
	switch {
	case s.None():
		return "none"
	case s.Complete():
		return "all"
	case s.Least == s.Most:
		return fmt.Sprintf("%g %%", s.Least)
	}
	return fmt.Sprintf("%g to %g %%", s.Least, s.Most)
}

func (s Score) check() error {
	if !(s.Least >= 0 && s.Least <= s.Most && s.Most <= 100) || s.Day-s.Day != 0 {
		return fmt.Errorf("score: %v to %v per cent on day %v can't be: make it with NewScore", s.Least, s.Most, float64(s.Day))
	}
	return nil
}

// inOrder sorts scores so that the order in which they came does not matter.
func inOrder(scores []Score) ([]Score, error) {
	out := slices.Clone(scores)
	for i, s := range out {
		if err := s.check(); err != nil {
			return nil, fmt.Errorf("score %d: %w", i+1, err)
		}
	}
	slices.SortFunc(out, func(a, b Score) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Least, b.Least), cmp.Compare(a.Most, b.Most),
			cmp.Compare(a.Facility, b.Facility), slices.Compare(a.Regions, b.Regions))
	})
	return out, nil
}
