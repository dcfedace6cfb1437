package colony

import (
	"math"
	"slices"
	"strconv"
	"time"

	"haulout/events"
)

// lookAfter is the morning's look at one animal, and what is measured of it.
func (d *day) lookAfter(a *animal) {
	d.check(a)
	d.weigh(a)
	d.scoreCoat(a)
	d.touch(a)
	if d.n > 0 && d.n%30 == int(a.factor*1000)%30 {
		d.measure(a)
	}
}

var smallFindings = []struct{ region, word string }{
	{"skin", "small scratch on the shoulder"}, {"eyes", "squints a little in the sun"}, {"flippers", "worn nail"},
	{"stool", "softer than usual"}, {"behaviour", "quiet this morning"}, {"mouth", "a bit of scale between the teeth"},
	{"whiskers", "a broken whisker"}, {"breathing", "one sneeze"}, {"belly", "sand rubbed in"},
}

func (d *day) check(a *animal) {
	body := events.CheckMade{Animal: a.id}
	if d.chance(0.05) {
		found := pick(d.dice, smallFindings)
		body.Findings = []events.Finding{{Region: found.region, Word: found.word}}
	}
	entry := d.jotCheck(a, d.about(7.8, 18), body)
	for _, f := range body.Findings {
		d.findings = append(d.findings, finding{d.n + 1 + d.IntN(6), a, entry, f.Region})
	}
}

// finding is something seen in a check, until somebody closes it on a day.
type finding struct {
	due    int
	animal *animal
	check  string
	region string
}

// closeFindings looks again, in the afternoon.
func (d *day) closeFindings() {
	open := d.findings[:0:0]
	for _, f := range d.findings {
		if f.due > d.n || !slices.Contains(d.animals, f.animal) {
			open = append(open, f)
			continue
		}
		outcome := []string{"healed", "harmless", "veterinarian_saw", "mistaken"}[d.draw([]float64{50, 35, 12, 3})]
		d.jot(d.tablet(f.animal), d.about(15.2, 10), "finding.closed", events.FindingClosed{Animal: f.animal.id, Check: f.check, Region: f.region, Outcome: outcome})
	}
	d.findings = open
}

// weigh puts an animal on the scale two or three times a week. A scale is off
// by about half a per cent either way, and one of them by more for a week.
func (d *day) weigh(a *animal) {
	at := d.about(8.1, 10)
	missed := d.c.plan.MissedWeighIns
	typed := d.c.plan.WrongDigit
	wrong := a.id == typed.Animal && typed.covers(d.date)
	if !(d.chance(a.weighs) || wrong) || (a.id == missed.Animal && missed.covers(at)) {
		return
	}
	scale := d.scaleFor(a)
	read := a.mass * d.normal(1, 0.005)
	if off := d.c.plan.OffScale; scale == off.Scale && off.covers(at) {
		read *= miscalibration
	}
	step := 0.1
	if read > 150 {
		step = 0.5
	}
	body := events.WeightTaken{
		Animal: a.id, Mass: decimal(math.Round(read/step)*step, 1, "kg"), Scale: scale,
		Coat: pick(d.dice, []string{"dry", "wet", "wet"}), Method: "voluntary",
	}
	if a.nursing(d.date) {
		body.Method = "carried"
	}
	if wrong {
		body.Mass = misread(body.Mass)
		d.jot(d.tablet(a), at, "weight.taken", body)
		return
	}
	d.jotWeight(a, at, body)
}

// misread puts the tens of a mass three too low: 61.2 for 91.2.
func misread(q events.Quantity) events.Quantity { return decimal(q.Float("kg")-30, 1, "kg") }

func (d *day) scaleFor(a *animal) string {
	main := 0
	if a.home != d.pools[0].Enclosure {
		main = 1
	}
	if d.chance(0.06) {
		main = 1 - main
	}
	return d.scales[main]
}

// scoreCoat scores weekly, and twice a week in molt.
func (d *day) scoreCoat(a *animal) {
	share, molting := a.newCoat(d.date)
	day := (d.n + int(a.factor*700)) % 7
	if day != 0 && !(molting && day == 3) {
		return
	}
	seen := share
	if molting {
		seen = min(share+d.normal(0, min(2.5, share/5)), 99) // nobody sees none again once it has begun
	}
	body := events.CoatScored{Animal: a.id, Stage: stageOf(seen), Regions: regionsOf(seen)}
	if molting || d.chance(0.3) {
		body.NewCoat = whole(math.Round(seen), "%")
	}
	d.jot(d.tablet(a), d.about(8.0, 12), "coat.scored", body)
}

// stageOf follows the stages that the fact defines, on the share as written.
func stageOf(share float64) string {
	share = math.Round(share)
	for stage, upTo := range []float64{0, 10, 50, 90, 99} {
		if share <= upTo {
			return strconv.Itoa(stage)
		}
	}
	return "5"
}

var coatOrder = []string{"flippers", "belly", "sides", "back", "head", "neck"}

func regionsOf(share float64) []string {
	if math.Round(share) == 0 {
		return nil
	}
	return coatOrder[:min(len(coatOrder), 1+int(share/17))]
}

var touchRegions = []string{"head", "muzzle", "whiskers", "neck", "chest", "belly", "back", "sides", "fore_flippers", "hind_flippers", "tail", "mouth", "ears"}

// touch notes twice a week how it takes being touched; most come round with
// time.
func (d *day) touch(a *animal) {
	if !d.chance(0.3) || a.years(d.date) < 0.5 {
		return
	}
	region := d.IntN(len(touchRegions))
	ease := 1.2 - 1.6*a.shy + float64(d.n)/float64(d.c.days) + 0.15*float64(region%5) - 0.3 + d.normal(0, 0.35)
	answers := []string{"threatens", "avoids", "tolerates", "accepts", "seeks"}
	i := min(max(int(math.Floor(ease*1.6+1.2)), 0), 4)
	d.jot(d.tablet(a), d.about(11.2, 35), "touch.noted", events.TouchNoted{
		Animal: a.id, Region: touchRegions[region], Answer: answers[i], With: pick(d.dice, []string{"hand", "hand", "brush", "target"}),
	})
}

// measure takes lengths and girths about monthly, and scores condition.
func (d *day) measure(a *animal) {
	at, device := d.about(10.6, 12), d.tablet(a)
	length := 82 * math.Cbrt(a.kind.mass(a.sex, max(a.years(d.date), 0.05))*a.build/16) * d.normal(1, 0.008)
	girth := 61 * math.Sqrt(a.mass/length) * 1.6 * d.normal(1, 0.01)
	score := min(max(3+8*(a.mass/(a.kind.mass(a.sex, a.years(d.date))*a.build)-1)+d.normal(0, 0.4), 1), 5)
	d.jot(device, at, "length.measured", events.LengthMeasured{Animal: a.id, Length: whole(length, "cm"), Kind: "standard"})
	d.jot(device, at.Add(40*time.Second), "girth.measured", events.GirthMeasured{Animal: a.id, Girth: whole(girth, "cm"), Where: "axillary"})
	d.jot(device, at.Add(70*time.Second), "condition.scored", events.ConditionScored{
		Animal: a.id, Scale: "house scale 1 to 5", Least: whole(1, "1"), Most: whole(5, "1"), Score: decimal(math.Round(score*2)/2, 1, "1"),
	})
}
