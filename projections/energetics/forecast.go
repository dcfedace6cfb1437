package energetics

import (
	"fmt"
	"math"
)

// Plan is what an animal is to eat each day from now on.
type Plan struct {
	Kcal   float64
	Spread float64 // how far the daily mean may be off, as one standard deviation of its logarithm
}

// LevelError is how far the level of intake may be off, as one standard
// deviation of its logarithm.
func LevelError() float64 { return needs.Constants["lately_error"].Value }

// Forecast foretells mass at the end of each coming day, under a plan, or as it
// ate lately where that is nil. Classes gives each coming day's class.
// Why says why there is none, or why it ends early.
func (b *Balance) Forecast(plan *Plan, classes []Class) (out []Interval, why string) {
	if b.NotEnough != "" {
		return nil, b.NotEnough
	}
	if b.Span < leastWeighDays || b.Weighed < leastWeighings {
		return nil, fmt.Sprintf("%s over %s; a forecast needs %d over %d", several(b.Weighed, "weigh-in"), several(b.Span, "day"), leastWeighings, leastWeighDays)
	}
	if plan == nil && b.lately == 0 {
		return nil, "no logged day with known energy since the first weigh-in"
	}
	now := mixtureOf(b.models, massOf).mean()
	models := append([]model(nil), b.models...)
	p := Plan{b.lately, LevelError()}
	if plan != nil {
		p = *plan
	}
	own, drift := needs.Constants["factor_drift"].Value, needs.Constants["mass_drift"].Value
	for day, class := range classes {
		for i := range models {
			m := &models[i]
			factor := class.factor()
			// What intake may be off acts on mass as if the need were off by as much.
			share := p.Kcal / m.need(factor)
			walk := own*own + share*share*b.wander
			if day == 0 {
				walk += share * share * p.Spread * p.Spread
			}
			m.day(p.Kcal, needs.Constants["day_error"].Value*p.Kcal, factor, drift*drift, 0)
			m.pOO += walk
		}
		band := mixtureOf(models, massOf).interval()
		if apart(band.Mean, now) {
			return out, fmt.Sprintf("it ends after %d days, when half of its mass would be gone or as much again gained; nobody feeds like that", day)
		}
		band.Lo = max(band.Lo, 0)
		out = append(out, band)
	}
	return out, ""
}

// Holds is the energy a day that would hold the mass, in kcal.
func (b *Balance) Holds() (Interval, string) {
	if b.NotEnough != "" {
		return Interval{}, b.NotEnough
	}
	return mixtureOf(b.models, logNeed(b.last.Class.factor())).exponential(), ""
}

// ToReach is the energy a day that would bring the mass to a target in so many
// days, in kcal: the need halfway, plus the change's energy.
func (b *Balance) ToReach(kg float64, days int) (float64, string) {
	if b.NotEnough != "" {
		return 0, b.NotEnough
	}
	if days < 1 {
		return 0, fmt.Sprintf("the target is %d days away; give a later day", days)
	}
	class, total := b.last.Class.factor(), 0.0
	for i, w := range weights(b.models) {
		m := b.models[i]
		change := kg - m.mass
		m.mass = max(m.mass+change/2, 1)
		total += w * (m.need(class) + change*m.tissue/float64(days))
	}
	return math.Max(total, 0), ""
}

// MassNow is the mass at the end of the last day.
func (b *Balance) MassNow() (Interval, string) {
	if b.NotEnough != "" {
		return Interval{}, b.NotEnough
	}
	return mixtureOf(b.models, massOf).interval(), ""
}

func several(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
