package coat

import "fmt"

// Word is how a molt stands against what was expected of it.
type Word string

// How a molt can stand.
const (
	Early      Word = "early"
	Late       Word = "late"
	Stalled    Word = "stalled"
	AsExpected Word = "as expected"
	NotEnough  Word = "not enough data"
)

// Standing is the word and its grounds. What it means for the animal is for the
// veterinarian to judge.
type Standing struct {
	Word  Word   `json:"word"`
	Words string `json:"words"`
}

// stand says how the molt of the coat year that runs stands. Stalled comes
// first: it is told from how the coat went on, not from when it began.
func (h *herd) stand(o Outlook, now Year, c *course) Standing {
	if now.State == InMolt {
		if why := now.stalled(c, o.Animal); why != "" {
			return Standing{Stalled, why + "; look at it, and tell the veterinarian"}
		}
	}
	if o.Expected == nil {
		return Standing{NotEnough, o.lacking()}
	}
	if now.Onset != nil {
		return now.began(*o.Expected)
	}
	return now.toBegin(*o.Expected, h.today)
}

func (o Outlook) lacking() string {
	switch {
	case len(o.Years) == 0:
		return "its coat was never scored"
	case o.NotEnough != "":
		return o.NotEnough
	}
	return "its class has molts all round the year, so none is expected at a time"
}

// began holds an onset that was seen against the one expected.
func (y Year) began(expected Interval) Standing {
	grounds := fmt.Sprintf("began %s; expected %s", y.Onset.words(), expected.words())
	switch {
	case y.Onset.By < expected.Lo:
		return Standing{Early, grounds}
	case y.Onset.After > expected.Hi:
		return Standing{Late, grounds}
	case !y.Onset.Checked || !y.Onset.Known() && (y.Onset.After < expected.Lo || y.Onset.By > expected.Hi):
		return Standing{NotEnough, grounds + "; the scores about it are too far apart to say more"}
	}
	return Standing{AsExpected, grounds}
}

// toBegin holds a molt that has not begun against the one expected.
func (y Year) toBegin(expected Interval, today Day) Standing {
	switch {
	case y.State == AllNew:
		return Standing{NotEnough, "all new at its first score of the coat year; when it molted was not seen"}
	case y.LastNone != nil && *y.LastNone > expected.Hi:
		return Standing{Late, fmt.Sprintf("no new coat on %s; expected %s", y.LastNone.words(), expected.words())}
	case today > expected.Hi && y.Last == nil:
		return Standing{NotEnough, fmt.Sprintf("not scored in this coat year; expected %s. Score it", expected.words())}
	case today > expected.Hi:
		return Standing{NotEnough, fmt.Sprintf("not scored since %s; expected %s. Score it", y.Last.words(), expected.words())}
	}
	return Standing{AsExpected, "not begun; expected " + expected.words()}
}

// stalled says why a molt that runs has stopped or gone on for too long, by how
// long molts last; "" where it has not, or where nothing says how long.
func (y Year) stalled(c *course, animal string) string {
	_, most, basis, ok := c.lasts(animal)
	if !ok {
		return ""
	}
	if since := float64(*y.Last - y.Onset.By); since > most {
		return fmt.Sprintf("in molt for %.0f days or more; 19 in 20 molts last up to %.0f, %s", since, most, basis)
	}
	last := y.molt[len(y.molt)-1]
	lo, hi, first := last.Least, last.Most, last.Day
	for i := len(y.molt) - 1; i >= 0 && y.molt[i].Molting() && !last.risenFrom(y.molt[i]); i-- {
		lo, hi, first = min(lo, y.molt[i].Least), max(hi, y.molt[i].Most), y.molt[i].Day
	}
	allowed := (hi - lo + assumed("reading_error")) / 100 * most
	if since := float64(last.Day - first); since > allowed {
		return fmt.Sprintf("%s of new coat since %s, for %.0f days; it was to take up to %.0f, %s", last.words(), first.words(), since, allowed, basis)
	}
	return ""
}

// risenFrom says that there is certainly more new coat than at an earlier score,
// by more than readings of the same coat differ.
func (s Score) risenFrom(earlier Score) bool {
	if s.Least == s.Most && earlier.Least == earlier.Most {
		return s.Least > earlier.Most+assumed("reading_error")
	}
	return earlier.below(s)
}
