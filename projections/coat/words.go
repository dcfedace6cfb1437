package coat

import (
	"fmt"
	"strings"
)

// Words says in a sentence what was seen of the molt.
func (y Year) Words() string {
	var parts []string
	switch {
	case y.State == NotScored:
		return fmt.Sprintf("Coat year %d: not scored.", y.Year)
	case y.State == NotBegun:
		parts = append(parts, "no molt had begun by "+y.Last.words())
	case y.Onset == nil:
		parts = append(parts, "all new at its first score; when it molted was not seen")
	case y.Onset.Checked:
		parts = append(parts, "began "+y.Onset.words())
	default:
		parts = append(parts, "under way "+y.Onset.words())
	}
	switch {
	case y.End != nil:
		parts = append(parts, "all new "+y.End.words())
	case y.State == InMolt:
		parts = append(parts, "in molt at the last score on "+y.Last.words())
	}
	if y.Open {
		parts = append(parts, "the coat year is not over")
	}
	for _, b := range y.Backward {
		parts = append(parts, b.Words+"; look at it")
	}
	parts = append(parts, y.Doubts...)
	for _, g := range y.Gaps {
		parts = append(parts, fmt.Sprintf("not scored from %s to %s", g.From.words(), g.To.words()))
	}
	return fmt.Sprintf("Coat year %d: %s.", y.Year, strings.Join(parts, "; "))
}
