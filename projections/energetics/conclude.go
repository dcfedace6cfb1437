package energetics

import (
	"fmt"
	"math"
)

// How much of the record a statement needs. Common practice, no source.
const (
	leastOfWeek     = 3  // logged days in seven, for a balance
	leastWeighings  = 3  // weigh-ins, for a forecast
	leastWeighDays  = 14 // days that they span
	doubtDays       = 28 // over which the log is held against the basal rate
	leastDoubtDays  = 14 // logged ones of those
	doubtfulShare   = 0.5
	mostImpossible  = 0.2 // share of days that no animal could have eaten
	impossibleLeast = 3
)

// conclude says what the days come to, or why they come to nothing.
func (f *filter) conclude() {
	if f.NotEnough = f.missing(); f.NotEnough != "" {
		f.States, f.models = nil, nil
		return
	}
	f.last = f.days[len(f.days)-1]
	f.Weighed, f.Span = len(f.weighed), f.weighed[len(f.weighed)-1]-f.weighed[0]
	f.factors()
	if f.NotEnough = f.unbelievable(); f.NotEnough != "" {
		f.States, f.models = nil, nil
		return
	}
	f.wander = wandering(f.days)
	f.Today, f.Short = f.balanceOver(1)
	f.Week, _ = f.balanceOver(7)
}

func (f *filter) missing() string {
	if f.models == nil {
		for _, flag := range f.Flags {
			if flag.Weighing >= 0 {
				return "no weigh-in that can be: " + flag.Reason
			}
		}
		return "no weigh-in; weigh it to see its need"
	}
	if f.days[len(f.days)-1].Class.Suckling {
		return "it is of an age to suckle, and milk is not in the record"
	}
	impossible, logged, example := 0, 0, ""
	for _, flag := range f.Flags {
		if flag.Weighing < 0 {
			impossible, example = impossible+1, flag.Reason
		}
	}
	for i := range f.days {
		if f.days[i].Logged {
			logged++
		}
	}
	if impossible > 0 && impossible == logged || impossible >= impossibleLeast && float64(impossible) > mostImpossible*float64(logged) {
		return fmt.Sprintf("the feeds of %d of %d days can't be: %s", impossible, logged, example)
	}
	return ""
}

func (f *filter) factors() {
	class := f.last.Class.factor()
	n := NeedOf(f.last.Class)
	f.Reasons = n.Reasons
	f.Prior = Interval{n.Factor, n.Factor * math.Exp(-ninety*n.Spread), n.Factor * math.Exp(ninety*n.Spread)}
	f.Factor = mixtureOf(f.models, logFactor(class)).exponential()
	tissue, from := 0.0, 0.0
	for i, w := range weights(f.models) {
		tissue += w * f.models[i].tissue / kcalPerMJ
		from += w * f.models[i].sOwn
	}
	f.FromPrior = min(max(from, 0), 1)
	lo, hi := f.tissueRange()
	f.Tissue = Interval{tissue, lo, hi}
}

// tissueRange is the span of the energies that hold nine tenths of the weight.
func (f *filter) tissueRange() (lo, hi float64) {
	byStep := make([]float64, len(tissueSteps))
	for i, w := range weights(f.models) {
		byStep[i/len(noises)] += w
	}
	value := func(step int) float64 { return f.models[step*len(noises)].tissue / kcalPerMJ }
	first, last := 0, len(byStep)-1
	for below := byStep[first]; below < 0.05 && first < last; below += byStep[first] {
		first++
	}
	for above := byStep[last]; above < 0.05 && last > first; above += byStep[last] {
		last--
	}
	return value(first), value(last)
}

// unbelievable says why a factor can't be an animal's: feeds, foods and
// weigh-ins do not fit together, so no number made from them would be true.
func (f *filter) unbelievable() string {
	least, most := needs.Constants["least_factor"].Value, needs.Constants["most_factor"].Value
	switch {
	case f.Factor.Hi < least:
		return fmt.Sprintf("what was logged as eaten is too little for the mass that was weighed: it would leave %.2g times the basal rate, and nothing lives on less than %.2g. Look for feeds that were not logged, units and decimal points", f.Factor.Mean, least)
	case f.Factor.Lo > most:
		return fmt.Sprintf("what was logged as eaten is too much for the mass that was weighed: it would take %.2g times the basal rate, and %.2g is the most that was measured. Look at units, decimal points and the foods' figures", f.Factor.Mean, most)
	}
	if why := f.doubtful(); why != "" {
		return why
	}
	return f.unmatched()
}

// unmatched says that the last weigh-ins do not go with what was logged as
// eaten: half of them or more were set aside, or the log alone would have
// brought the mass to half or twice what the scale last said.
func (f *filter) unmatched() string {
	from := max(0, len(f.days)-doubtDays)
	counted, left := 0, 0
	for _, day := range f.weighed {
		if day >= from {
			counted++
		}
	}
	for _, flag := range f.Flags {
		if flag.Weighing >= 0 && flag.Day >= from {
			left++
		}
	}
	if left >= leastWeighings && left >= counted {
		return fmt.Sprintf("%d of the last %d weigh-ins do not go with what was logged as eaten; look for feeds that were not logged, units and decimal points, and at the scale", left, left+counted)
	}
	if mass := mixtureOf(f.models, massOf).mean(); apart(mass, f.scale) {
		return fmt.Sprintf("what was logged as eaten would have brought it from %.1f kg at its last weigh-in to %.1f kg. Weigh it; look for feeds that were not logged, units and decimal points", f.scale, mass)
	}
	return ""
}

// doubtful holds the log against the basal rate where too few weigh-ins could
// have shown whether the animal really ate so little.
func (f *filter) doubtful() string {
	from := max(0, len(f.days)-doubtDays)
	logged, kcal := 0, 0.0
	for i, d := range f.days[from:] {
		if f.uses(from + i) {
			logged, kcal = logged+1, kcal+d.Kcal
		}
	}
	weighed := 0
	for _, day := range f.weighed {
		if day >= from {
			weighed++
		}
	}
	basal := Kleiber(f.scale) // not the modelled mass, which starves along with the log
	if logged < leastDoubtDays || weighed >= leastWeighings || kcal/float64(logged) >= doubtfulShare*basal {
		return ""
	}
	return fmt.Sprintf("the feeds of the last %d days come to %.2g times the basal rate, and there are too few weigh-ins to show that it ate so little. Weigh it; look for feeds that were not logged, units and decimal points", doubtDays, kcal/float64(logged)/basal)
}

// balanceOver is what was eaten less what was needed, a day, over the last n
// days, where enough of them are logged.
func (f *filter) balanceOver(n int) (*Interval, string) {
	logged, kcal := 0, 0.0
	end := len(f.days)
	if f.last.Open {
		end--
	}
	for i := max(0, end-n); i < end; i++ {
		if f.uses(i) {
			logged, kcal = logged+1, kcal+f.days[i].Kcal
		}
	}
	switch least := min(n, leastOfWeek); {
	case logged < least && n == 1:
		return nil, "the last whole day is not logged with known energy"
	case logged < least:
		return nil, fmt.Sprintf("%d of the last %d days logged with known energy; needs %d", logged, n, least)
	}
	kcal /= float64(logged)
	need := mixtureOf(f.models, logNeed(f.last.Class.factor()))
	out := lessNeed(kcal, needs.Constants["day_error"].Value*kcal/math.Sqrt(float64(logged)), need)
	return &out, ""
}

// lessNeed is the interval of kcal eaten, with its standard deviation, less a
// need that is known by the mixture of its logarithm.
func lessNeed(kcal, sd float64, logNeed mixture) Interval {
	// P(eaten - need <= b), over nine equal parts of what may have been eaten.
	below := func(b float64) (sum float64) {
		for i := range parts {
			need := kcal + sd*parts[i] - b
			if need <= 0 {
				sum++
			} else {
				sum += 1 - logNeed.below(math.Log(need))
			}
		}
		return sum / float64(len(parts))
	}
	most := math.Exp(logNeed.quantile(0.999))
	lo, hi := kcal-5*sd-most, kcal+5*sd
	return Interval{bisect(lo, hi, 0.5, below), bisect(lo, hi, 0.05, below), bisect(lo, hi, 0.95, below)}
}

// parts are the middles of nine equal parts of a standard normal distribution.
var parts = [9]float64{-1.5932188, -0.9674216, -0.5894558, -0.2822161, 0, 0.2822161, 0.5894558, 0.9674216, 1.5932188}

// Levels of intake are compared over blocks of a week, four weeks apart. An
// animal's own blocks count beside the assumption's, which count as two.
const (
	blockDays   = 7
	blockLag    = 4
	priorBlocks = 2
)

// wandering is how much the level of intake changes, a day, as a variance of its
// logarithm: by the animal's own record as far as that goes.
func wandering(days []Day) float64 {
	assumed := needs.Constants["intake_drift"].Value
	sum, n := priorBlocks*assumed*assumed, float64(priorBlocks)
	blocks := levels(days)
	for i := blockLag; i < len(blocks); i++ {
		if now, then := blocks[i], blocks[i-blockLag]; now > 0 && then > 0 {
			change := math.Log(now / then)
			sum += change * change / (blockDays * blockLag) / blockLag // blocks overlap fourfold
			n += 1.0 / blockLag
		}
	}
	return sum / n
}

// levels are the means of intake over blocks of days, counted back from the
// last; 0 where less than half of a block is logged.
func levels(days []Day) (out []float64) {
	for end := len(days); end >= blockDays; end -= blockDays {
		logged, kcal := 0, 0.0
		for _, d := range days[end-blockDays : end] {
			if d.counts() {
				logged, kcal = logged+1, kcal+d.Kcal
			}
		}
		level := 0.0
		if 2*logged > blockDays {
			level = kcal / float64(logged)
		}
		out = append(out, level)
	}
	return out
}
