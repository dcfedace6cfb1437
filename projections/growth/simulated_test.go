package growth

import (
	"math"
	"math/rand/v2"
)

// walk is what is invented of an animal to try the package on: a straight line,
// a sine of the year, and days that are off it and alike.
type walk struct {
	days, every         int
	start, perDay       float64 // kg, kg/d
	amplitude, peak     float64 // kg, day of the year
	sd, alike           float64 // kg; the correlation of weigh-ins that follow one another
	from                int
	scale, coat, method string
}

// weighings invents them by a seed; readings are to a tenth of a kilogram.
func (w walk) weighings(seed uint64) (out []Weighing) {
	dice, off := rand.New(rand.NewPCG(seed, 7)), 0.0
	for day := 0; day < w.days; day += max(1, w.every) {
		if off = w.alike*off + w.sd*math.Sqrt(1-w.alike*w.alike)*dice.NormFloat64(); day == 0 {
			off = w.sd * dice.NormFloat64()
		}
		at := w.from + day
		kg := w.start + w.perDay*float64(day) + w.amplitude*math.Cos(2*math.Pi*(float64(at)-w.peak)/365.2425) + off
		out = append(out, Weighing{Day: at, Kg: math.Round(10*kg) / 10, Scale: w.scale, Coat: w.coat, Method: w.method})
	}
	return out
}
