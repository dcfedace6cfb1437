package web

import (
	"math"
	"strconv"
	"time"

	"haulout/projections"
)

// px is a coordinate in a drawing, written to a tenth.
type px float64

func (p px) String() string { return string(p.appendTo(nil)) }

func (p px) appendTo(out []byte) []byte {
	return strconv.AppendFloat(out, math.Round(float64(p)*10)/10, 'f', -1, 64)
}

// box is a rectangle of a drawing.
type box struct{ X, Y, W, H px }

// point is a place in a drawing.
type point struct{ X, Y px }

// label is a text at a place. Class says how it is set: tq quiet, tb bold, te
// ends there, tm is centred there.
type label struct {
	X, Y  px
	Class string
	Text  string
}

// rule is a line across the plot with its value beside it.
type rule struct {
	Y    px
	Text string
}

// plot is what all charts have: a size, a frame and words for those who don't
// see it. Size is phone or desk; the page draws both and shows one.
type plot struct {
	ID, Size    string
	W, H        px
	Left, Right px // of the plotted area
	Title, Desc string
}

// axis maps values to heights. Top is where the greatest value lies.
type axis struct {
	low, high   float64
	top, bottom px
}

func (a axis) y(v float64) px {
	return a.bottom - px((v-a.low)/(a.high-a.low))*(a.bottom-a.top)
}

// rules draws a line at each round value.
func (a axis) rules() []rule {
	var out []rule
	step := roundStep((a.high - a.low) / 3)
	for v := math.Ceil(a.low/step-1e-9) * step; v <= a.high+step*1e-9; v += step {
		out = append(out, rule{a.y(v), plainNumber(v, step)})
	}
	return out
}

func plainNumber(v, step float64) string {
	if v == 0 {
		v = 0 // a nought from below would be written with its sign
	}
	digits := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	text := strconv.FormatFloat(v, 'f', digits, 64)
	if n, err := strconv.Atoi(text); err == nil && n >= 0 {
		return count(n)
	}
	return text
}

// roundStep is the least of 1, 2 or 5 times a power of ten that is not below x.
func roundStep(x float64) float64 {
	if x <= 0 {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= x*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// fromZero is an axis that starts at zero and ends at a round value.
func fromZero(most float64, top, bottom px) axis {
	if most <= 0 {
		most = 1
	}
	step := roundStep(most / 3)
	return axis{0, math.Ceil(most/step-1e-9) * step, top, bottom}
}

// around is an axis that holds two values and starts and ends at round ones beyond them.
func around(least, most float64, top, bottom px) axis {
	if most-least < 1 {
		least, most = least-0.5, most+0.5
	}
	step := roundStep((most - least) / 3)
	const clear = 0.15 // of a step, so that no mark lies on the frame
	return axis{math.Floor(least/step-clear) * step, math.Ceil(most/step+clear) * step, top, bottom}
}

// moment is where a time lies between two days.
func (p plot) moment(t time.Time, from, to projections.Day, zone *time.Location) px {
	start, end := from.Start(zone), to.End(zone)
	return p.Left + px(t.Sub(start).Seconds()/end.Sub(start).Seconds())*(p.Right-p.Left)
}
