package energetics

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// simulated is an animal that lives by rules which are not the filter's: its factor
// swings with the year and wanders, its appetite leaves part of the ration, its
// keeper corrects the ration monthly, its tissue is its own, and its scale and
// its keepers have bad days.
type simulated struct {
	class  Class
	factor float64 // times that of its class
	swing  float64 // of the factor over the year
	tissue float64 // MJ/kg
	scale  float64 // relative error of a weigh-in
	weighs float64 // chance of a weigh-in a day
	gaps   float64 // chance of a day without a log
	mass   float64
	dice   *rand.Rand
	ration float64
	wander float64
	mood   float64
	days   []Day
	truth  []float64 // mass at the end of each day
}

// simulate lets the n-th animal live.
func simulate(seed uint64, n, days int) *simulated {
	dice := rand.New(rand.NewPCG(seed, uint64(n)))
	classes := []Class{
		{Taxon: "Zalophus californianus", Sex: "female", Years: 8},
		{Taxon: "Zalophus californianus", Sex: "male", Years: 4},
		{Taxon: "Eumetopias jubatus", Sex: "female", Years: 12},
		{Taxon: "Phoca vitulina", Sex: "female", Years: 10},
		{Taxon: "Callorhinus ursinus", Sex: "female", Years: 6},
	}
	masses := []float64{88, 150, 270, 85, 40}
	kind := n % len(classes)
	uniform := func(lo, hi float64) float64 { return lo + (hi-lo)*dice.Float64() }
	s := &simulated{
		class: classes[kind], mass: masses[kind] * uniform(0.85, 1.1), dice: dice,
		factor: math.Exp(0.25 * dice.NormFloat64()), swing: uniform(0, 0.15), tissue: uniform(13, 27),
		scale: uniform(0.003, 0.01), weighs: uniform(0.2, 0.6), gaps: uniform(0, 0.05),
	}
	s.ration = s.need(0)
	target := s.mass
	for day := range days {
		if day%30 == 0 {
			s.ration = s.need(day) * math.Exp(0.05*dice.NormFloat64()) * (1 + 0.4*(target*(1+0.08*math.Sin(2*math.Pi*float64(day)/365))-s.mass)/target)
		}
		s.live(day)
	}
	return s
}

func (s *simulated) need(day int) float64 {
	season := 1 + s.swing*math.Sin(2*math.Pi*float64(day)/365+1)
	return NeedOf(s.class).Factor * s.factor * season * math.Exp(s.wander) * Kleiber(s.mass)
}

func (s *simulated) live(day int) {
	s.mood = 0.8*s.mood + 0.05*s.dice.NormFloat64()
	s.wander = 0.995*s.wander + 0.008*s.dice.NormFloat64()
	eaten := s.ration * math.Min(1, 1+s.mood)
	s.mass += (eaten - s.need(day)) / (s.tissue * kcalPerMJ)
	d := Day{Class: s.class, Logged: s.dice.Float64() >= s.gaps, EatenKg: eaten / 1600, Kcal: eaten * (1 + 0.03*s.dice.NormFloat64())}
	if s.dice.Float64() < s.weighs {
		kg := s.mass * (1 + s.scale*s.dice.NormFloat64())
		if s.dice.Float64() < 0.01 {
			kg *= 1 + 0.2*s.dice.NormFloat64() // a slip of the hand
		}
		d.Weighings = []Weighing{{Kg: math.Round(kg*10) / 10}}
	}
	s.days = append(s.days, d)
	s.truth = append(s.truth, s.mass)
}

// score is what a back-test counts.
type score struct {
	n, inside   int
	off, line   float64 // sums of absolute errors, relative to mass
	width       float64
	notForetold int
}

func (c *score) String() string {
	return fmt.Sprintf("%d forecasts, %.1f %% of them inside the band, error %.2f %% of mass against %.2f %% of a straight line, band %.1f %% wide",
		c.n, 100*float64(c.inside)/float64(c.n), 100*c.off/float64(c.n), 100*c.line/float64(c.n), 100*c.width/float64(c.n))
}

// lineThrough extends the least-squares line of the weigh-ins of the last 30
// days.
func lineThrough(days []Day, ahead int) (float64, bool) {
	var n, sx, sy, sxx, sxy float64
	for i := max(0, len(days)-30); i < len(days); i++ {
		for _, w := range days[i].Weighings {
			x := float64(i - len(days) + 1)
			n, sx, sy, sxx, sxy = n+1, sx+x, sy+w.Kg, sxx+x*x, sxy+x*w.Kg
		}
	}
	det := n*sxx - sx*sx
	if n < 3 || det == 0 {
		return 0, false
	}
	slope := (n*sxy - sx*sy) / det
	return (sy-slope*sx)/n + slope*float64(ahead), true
}

const ahead = 30

func backtest(animals []*simulated) (c score) {
	for _, s := range animals {
		for from := 90; from+ahead < len(s.days); from += 23 {
			b := Run(s.days[:from], 1)
			classes := make([]Class, ahead)
			for i := range classes {
				classes[i] = s.class
			}
			band, why := b.Forecast(nil, classes)
			line, ok := lineThrough(s.days[:from], ahead)
			if why != "" || !ok {
				c.notForetold++
				continue
			}
			was := s.truth[from+ahead-1]
			last := band[ahead-1]
			c.n++
			if was >= last.Lo && was <= last.Hi {
				c.inside++
			}
			c.off += math.Abs(last.Mean-was) / was
			c.line += math.Abs(line-was) / was
			c.width += (last.Hi - last.Lo) / was
		}
	}
	return c
}

func herd(seed uint64, n, days int) (out []*simulated) {
	for i := range n {
		out = append(out, simulate(seed, i, days))
	}
	return out
}

// Back-test: of the bands that say 9 in 10, between 85 and 95 of 100 hold, and
// the middle is nearer than a straight line through the last weigh-ins.
func TestForecastsHoldWhatTheyPromise(t *testing.T) {
	for name, seed := range map[string]uint64{"one herd": 1, "another": 2} {
		c := backtest(herd(seed, 60, 500))
		t.Logf("%s: %s", name, &c)
		if share := float64(c.inside) / float64(c.n); share < 0.85 || share > 0.95 {
			t.Errorf("%s: %.1f %% of the truths lie inside bands of 90 %%", name, 100*share)
		}
		if c.off >= c.line {
			t.Errorf("%s: the forecast is off by %.2f %%, a straight line by %.2f %%", name, 100*c.off/float64(c.n), 100*c.line/float64(c.n))
		}
	}
}

// The animal's own factor is learnt: it lies within its interval in 8 to 10 of
// ten animals, and less of it comes from the prior the longer one looks.
func TestTheOwnFactorIsLearnt(t *testing.T) {
	inside, n := 0, 0
	for _, s := range herd(7, 120, 250) {
		b := Run(s.days, 1)
		if b.NotEnough != "" {
			t.Errorf("%s", b.NotEnough)
			continue
		}
		truth := s.need(len(s.days)-1) / Kleiber(s.mass)
		n++
		if truth >= b.Factor.Lo && truth <= b.Factor.Hi {
			inside++
		}
		early := Run(s.days[:40], 1)
		if early.NotEnough == "" && b.FromPrior > early.FromPrior+0.02 {
			t.Errorf("%.2f comes from the prior after 250 days, %.2f after 40", b.FromPrior, early.FromPrior)
		}
	}
	t.Logf("%d of %d factors lie inside their interval", inside, n)
	if share := float64(inside) / float64(n); share < 0.8 {
		t.Errorf("%.0f %% of the factors lie inside intervals of 90 %%", 100*share)
	}
}

func BenchmarkTwoYearsOfAnAnimal(b *testing.B) {
	s := simulate(1, 0, 730)
	for b.Loop() {
		Run(s.days, 42)
	}
}
