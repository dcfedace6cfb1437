package growth

import "math"

// Reading is a weigh-in of one of many animals.
type Reading struct {
	Animal string
	Weighing
}

// jumps are how far a track steps at each of its days from its own straight line
// about that day; NaN where there is too little on either side.
type jumps struct {
	at []float64
	sd float64 // of a jump where nothing steps: by the middle of all jumps of the track
}

func (s series) jumpsOf(values []float64, least float64) jumps {
	out := jumps{at: make([]float64, len(values))}
	var all []float64
	for i := range values {
		out.at[i] = s.jump(values, i)
		if !math.IsNaN(out.at[i]) {
			all = append(all, out.at[i])
		}
	}
	out.sd = max(spread(all), least)
	return out
}

// jump is the step at a day in a straight line through the days about it.
func (s series) jump(values []float64, at int) float64 {
	most, window := int(assumed("step_most")), assumed("step_window")
	from, to := at, at
	for from > 0 && at-from < most && s.day[at]-s.day[from-1] <= window {
		from--
	}
	for to < len(values) && to-at < most && s.day[to]-s.day[at] <= window {
		to++
	}
	if least := int(assumed("step_each")); at-from < least || to-at < least {
		return math.NaN()
	}
	after := func(i int) float64 {
		if i >= at {
			return 1
		}
		return 0
	}
	along, squares := freed(s.day, values, from, to, after)
	return along / squares
}

// freed is how values go with a shape, of which a straight line in x is taken
// out, and how that shape goes with itself: their quotient is the size of the
// shape beside a line. It looks at the values from one up to another.
func freed(x, values []float64, from, to int, shape func(i int) float64) (along, squares float64) {
	n, sumX, sumR := float64(to-from), 0.0, 0.0
	for i := from; i < to; i++ {
		sumX, sumR = sumX+x[i], sumR+shape(i)
	}
	middle, mean := sumX/n, sumR/n
	xx, xr := 0.0, 0.0
	for i := from; i < to; i++ {
		xx, xr = xx+square(x[i]-middle), xr+(x[i]-middle)*shape(i)
	}
	for i := from; i < to; i++ {
		free := shape(i) - mean - xr/xx*(x[i]-middle)
		along, squares = along+free*values[i], squares+free*free
	}
	return along, squares
}
