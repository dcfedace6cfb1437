package growth

import "fmt"

// Change is a mass against the median of the days before it.
type Change struct {
	Window    int        // days before the day, which is not among them
	Kg        float64    // of the day
	Median    float64    // kg, of the days before
	Percent   float64    // of the median; below nought where it fell
	Of        []Weighing // what the median was made from, by day
	Limit     float64    // %, the fall at which a person should look
	Look      bool       // it fell by the limit or more
	NotEnough string
}

// ChangesOn holds a day's mass against the medians of the short and the long
// window of the reference file (7 and 30 days; falls of 5 and 10 %, which are
// assumptions: nothing is published for pinnipeds). A fall is expected of grown
// males in the breeding months and of mothers about a birth, and near a molt;
// that is for the reader of the records to say. Errors: a mass or coat that
// can't be.
func ChangesOn(weighings []Weighing, day int) ([]Change, error) {
	if err := check(weighings); err != nil {
		return nil, err
	}
	var out []Change
	for _, window := range []string{"fall_short", "fall_long"} {
		out = append(out, changeOn(weighings, day, int(assumed(window+"_days")), assumed(window)))
	}
	return out, nil
}

func changeOn(weighings []Weighing, day, window int, limit float64) Change {
	out := Change{Window: window, Limit: limit, Of: read(within(weighings, day-window, day))}
	today := daily(within(weighings, day, day+1))
	if len(today.day) == 0 {
		out.NotEnough = "not weighed on this day"
		return out
	}
	out.Kg = today.kg[0]
	if len(out.Of) == 0 {
		out.NotEnough = fmt.Sprintf("not weighed in the %d days before", window)
		return out
	}
	out.Median = median(daily(out.Of).kg)
	out.Percent = 100 * (out.Kg/out.Median - 1)
	out.Look = out.Percent <= -limit
	return out
}
