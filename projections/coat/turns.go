package coat

import (
	"math"
	"time"
)

// Turns is the month with which coat years best begin: half a year from the
// middle of the scores in molt, and January where there are none or where they
// lie all round the year.
func Turns(scores []Score) time.Month {
	var turns []float64
	for _, s := range scores {
		if s.Molting() {
			turns = append(turns, s.Day.Turn())
		}
	}
	return awayFrom(turns)
}

func awayFrom(turns []float64) time.Month {
	c, err := Directions(turns)
	if err != nil || c.Resultant < assumed("round") {
		return time.January
	}
	return time.Month(int(math.Round(12*wrap(c.Mean+0.5)))%12 + 1)
}

// coatYear is the empty coat year that holds a day.
func coatYear(day Day, turns time.Month) Year {
	year := day.Year()
	if day < On(year, turns, 1) {
		year--
	}
	out := Year{From: On(year, turns, 1), Until: On(year+1, turns, 1)}
	out.Year = (out.From + (out.Until-out.From)/2).Year()
	out.State, out.Gaps, out.Backward, out.Regions, out.Doubts = NotScored, []Gap{}, []Backward{}, []Region{}, []string{}
	return out
}
