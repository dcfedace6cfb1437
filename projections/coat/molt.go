package coat

import "slices"

// split takes the molt out of the scores of a coat year. A coat that is all new
// at first is the last molt's, and no new coat yet, where it is carried over
// from the coat year before or where a new molt then begins. Once all is new, none says that the new coat has become the old one;
// again is the first score in molt after that.
func split(scores []Score, carried bool) (molt []Score, again *Score) {
	molt = slices.Clone(scores)
	begun := slices.IndexFunc(molt, func(s Score) bool { return !s.Complete() })
	if begun < 0 && carried {
		begun = len(molt)
	}
	if begun == len(molt) || begun > 0 && (carried || molt[begun].belowHalf()) {
		for i := range begun {
			molt[i].Least, molt[i].Most = 0, 0
		}
	}
	done := slices.IndexFunc(molt, Score.Complete)
	if done < 0 {
		return molt, nil
	}
	old := slices.IndexFunc(molt[done:], Score.None)
	if old < 0 {
		return molt, nil
	}
	rest := molt[done+old:]
	molt = molt[:done+old]
	if i := slices.IndexFunc(rest, Score.Molting); i >= 0 {
		again = &rest[i]
	}
	return molt, again
}
