package colony

import (
	"fmt"
	"math"
	"strings"
	"time"

	"haulout/events"
)

// lesson is one behaviour as it is taught: its steps, and how many days it
// takes from plan to approval, from the quickest animal to the slowest.
type lesson struct {
	name, purpose, cue string
	days               [2]float64
	hold               string // seconds held at the last step
	steps              []string
}

// lessons in three strands that run side by side: stillness, touch from the
// air, and everything that goes faster. The spans of days are invented, after
// what trainers tell: still behaviours for images take longest.
var lessons = [3][]lesson{
	{
		{"lie still for ultrasound", "care", "flat hand over the deck", [2]float64{200, 480}, "90",
			[]string{"lies down on the mat", "lies while the trainer kneels", "accepts the probe", "holds still for half a minute", "holds still for the whole image"}},
		{"lie still for radiograph", "care", "flat hand, plate shown", [2]float64{210, 560}, "60",
			[]string{"lies beside the plate", "lies on the plate", "stays when the tube swings over", "holds still for the exposure"}},
	},
	{
		{"touch the high target", "fitness", "target held up, whistle", [2]float64{14, 700}, "",
			[]string{"follows the target to the edge", "rises to the waist", "touches in the air"}},
		{"leap over the bar", "display", "arm swept upward", [2]float64{40, 320}, "",
			[]string{"swims under the bar", "breaks the surface", "clears the bar"}},
	},
	{
		{"stay calm beside the hose", "care", "open hand", [2]float64{3, 11}, "", []string{"stays beside the hose"}},
		{"station on the mat", "handling", "finger to the mat", [2]float64{9, 34}, "20", []string{"comes to the mat", "stays on the mat"}},
		{"open mouth", "care", "thumb and finger apart", [2]float64{12, 45}, "5", []string{"opens a little", "holds open for a look"}},
		{"stay calm beside the camera", "care", "open hand", [2]float64{3, 10}, "", []string{"stays beside the camera"}},
		{"walk onto the scale", "handling", "hand to the plate", [2]float64{10, 40}, "10", []string{"touches the plate", "stands on the plate"}},
		{"go through the gate", "gate", "arm toward the gate", [2]float64{14, 60}, "", []string{"comes to the gate", "passes and stays calm"}},
		{"stay calm beside the brush", "care", "open hand", [2]float64{3, 12}, "", []string{"stays when brushed"}},
		{"present the fore flipper", "care", "two fingers", [2]float64{18, 70}, "15", []string{"turns its side", "rests the flipper in the hand"}},
		{"take eye drops", "care", "finger beside the eye", [2]float64{28, 95}, "", []string{"holds its head still", "accepts the bottle", "accepts a drop"}},
		{"enter the crate", "handling", "hand into the crate", [2]float64{25, 95}, "60", []string{"looks in", "goes in", "stays while the door closes"}},
		{"present the hind flipper for blood", "care", "two fingers low", [2]float64{60, 170}, "40", []string{"lays the flipper out", "accepts a grip", "accepts alcohol", "accepts the needle"}},
	},
}

// criterion of every step: so many met of so many, in so many sessions running.
const (
	needMet      = 4
	needOf       = 5
	needSessions = 2
)

// behaviour is one lesson as one animal learns it.
type behaviour struct {
	lesson
	id       string
	strand   int
	pace     float64 // days for a step
	step     int     // from 0
	skill    float64 // 1 is where the criterion comes into reach
	running  int     // sessions at criterion in a row
	lastDay  int
	planned  int
	plan     events.BehaviourPlanned
	approved bool
}

// schooling is an animal's place in the three strands.
type schooling struct {
	active [3]*behaviour
	next   [3]int // lesson
	wait   [3]int // day on which the next one is planned
	ready  []*behaviour
	begun  bool
}

// train plans what is due and holds the day's sessions.
func (d *day) train(a *animal) {
	if a.years(d.date) < 1.05 || a.how() == "rescue" {
		return
	}
	d.planLessons(a)
	if d.drops(a) {
		d.drop(a)
	}
	if d.chance(d.sessionChance(a)) {
		d.hold(a, d.between(9.9, 11.2))
	}
	if d.chance(0.12) {
		d.hold(a, d.between(14.7, 15.7))
	}
}

func (d *day) planLessons(a *animal) {
	s := &a.schooling
	if !s.begun {
		s.begun = true
		s.wait = [3]int{d.n + int(d.between(5, 130)), d.n + int(d.between(3, 90)), d.n + int(d.between(2, 14))}
	}
	for strand := range lessons {
		if s.active[strand] == nil && s.wait[strand] <= d.n && s.next[strand] < len(lessons[strand]) {
			d.plan(a, strand)
		}
	}
}

func (d *day) plan(a *animal, strand int) {
	s := &a.schooling
	l := lessons[strand][s.next[strand]]
	s.next[strand]++
	days := min(max(d.logBetween(l.days[0], l.days[1])/math.Sqrt(a.talent), l.days[0]), l.days[1]*1.15)
	b := &behaviour{lesson: l, id: strings.TrimPrefix(a.id, "demo-") + "-" + strings.ReplaceAll(l.name, " ", "-"), strand: strand, planned: d.n, lastDay: d.n}
	b.pace = days / float64(len(l.steps))
	s.active[strand] = b
	body := events.BehaviourPlanned{Behaviour: b.id, Animal: a.id, Name: l.name, Purpose: l.purpose, Cue: l.cue}
	for i, text := range l.steps {
		step := events.Step{Step: text, Met: needMet, Of: needOf, Sessions: needSessions}
		if i == len(l.steps)-1 && l.hold != "" {
			step.Hold = events.Quantity{Value: l.hold, Unit: "s"}
		}
		body.Steps = append(body.Steps, step)
	}
	b.plan = body
	d.jot(d.office(), d.about(7.2, 6), "behaviour.planned", body)
}

// takeOver plans anew what an animal brings from where it lived before; what
// was approved there is approved here once the trainers have seen it.
func (d *day) takeOver(a *animal, from string) {
	s := &a.schooling
	again := func(b *behaviour) {
		b.plan.Text = "taught at " + from
		d.jot(d.office(), d.about(7.2, 6), "behaviour.planned", b.plan)
	}
	for _, b := range s.active {
		if b != nil {
			again(b)
		}
	}
	for _, b := range s.ready {
		again(b)
		d.jot(d.office(), d.about(18.2, 8), "behaviour.approved", events.BehaviourApproved{
			Behaviour: b.id, Animal: a.id, Text: "approved at " + from + "; seen here on the day of arrival",
		})
	}
}

// drops says that a plan is given up: one animal's ultrasound, after a long
// try.
func (d *day) drops(a *animal) bool {
	b := a.schooling.active[0]
	return a.id == "demo-slate" && b != nil && b.name == lessons[0][0].name && d.n-b.planned == 150
}

func (d *day) drop(a *animal) {
	s := &a.schooling
	d.jot(d.office(), d.about(18.3, 5), "behaviour.dropped", events.BehaviourDropped{
		Behaviour: s.active[0].id, Animal: a.id, Reason: "he is uneasy on the mat; we leave it be and look for another way",
	})
	s.active[0], s.wait[0] = nil, d.n+60
}

// sessionChance is higher while something quick is being taught.
func (d *day) sessionChance(a *animal) float64 {
	quick := a.schooling.active[2]
	switch {
	case quick != nil && quick.pace < 12:
		return 0.88
	case a.grownMale(d.date):
		return 0.45 - 0.2*summerHardness.at(d.date)
	}
	return 0.42
}

// hold is one session: what is being learned, most wanting first, and now and
// then something known.
func (d *day) hold(a *animal, hour float64) {
	work := d.choose(a)
	if len(work) == 0 {
		return
	}
	device, start := d.tablet(a), d.at(hour)
	body := events.SessionHeld{
		Session: d.number("s", &d.sessions), Animal: a.id, Trainer: d.author(device, d.n),
		Came: []string{"at_once", "late", "refused"}[d.draw([]float64{88, 10, 2})],
	}
	now := start.Add(time.Minute)
	if body.Came != "refused" {
		for _, b := range work {
			now = d.practise(a, b, body, now)
		}
		body.Left = d.count(0.08)
	}
	body.Until = instant(now)
	d.jotLater(device, start, now, "session.held", body)
}

func (d *day) choose(a *animal) (out []*behaviour) {
	s := &a.schooling
	var open []*behaviour
	var weights []float64
	for _, b := range s.active {
		if b != nil && b.planned < d.n {
			open = append(open, b)
			weights = append(weights, (1+float64(d.n-b.lastDay))/math.Sqrt(b.pace))
		}
	}
	for range min(len(open), 1+d.count(0.9)) {
		if i := d.draw(weights); weights[i] > 0 {
			out = append(out, open[i])
			weights[i] = 0
		}
	}
	if len(s.ready) > 0 && d.chance(0.45) {
		out = append(out, pick(d.dice, s.ready))
	}
	return out
}

// practise is a run of trials of one behaviour.
func (d *day) practise(a *animal, b *behaviour, in events.SessionHeld, now time.Time) time.Time {
	b.learn(d)
	met, tries := 0, needOf
	if b.approved {
		tries = 3
	}
	step := min(b.step, len(b.steps)-1)
	for range tries {
		body := d.trial(a, b, step, in)
		if body.Outcome == "met" {
			met++
		}
		d.jot(d.tablet(a), now, "trial.scored", body)
		now = now.Add(time.Duration(d.between(20, 55)) * time.Second)
	}
	if !b.approved && b.goesOn(met) {
		d.approve(a, b)
	}
	return now
}

// learn moves the skill on by the days since the last time.
func (b *behaviour) learn(d *day) {
	if !b.approved {
		days := min(float64(d.n-b.lastDay), 14)
		b.skill += max(days, 0.4) / b.pace * math.Exp(d.normal(0, 0.25))
	}
	b.lastDay = d.n
}

// chanceOfMet rises steeply where the skill comes near 1.
func (b *behaviour) chanceOfMet() float64 {
	if b.approved {
		return 0.94
	}
	return 0.12 + 0.84/(1+math.Exp(-9*(b.skill-0.82)))
}

// goesOn counts a session, moves to the next step at the criterion, and says
// whether the last step is done.
func (b *behaviour) goesOn(met int) bool {
	if met < needMet {
		b.running = 0
		return false
	}
	if b.running++; b.running < needSessions {
		return false
	}
	b.step, b.running, b.skill = b.step+1, 0, 0.05
	return b.step == len(b.steps)
}

func (d *day) trial(a *animal, b *behaviour, step int, in events.SessionHeld) events.TrialScored {
	body := events.TrialScored{Behaviour: b.id, Animal: a.id, Step: step + 1, Session: in.Session, Trainer: in.Trainer}
	if d.chance(b.chanceOfMet()) {
		body.Outcome, body.Reward = "met", pick(d.dice, []string{"herring", "squid", "two fish", "ice"})
		body.Latency = decimal(math.Exp(d.normal(0.6, 0.5)), 1, "s")
		if b.hold != "" && step == len(b.steps)-1 {
			body.Held = events.Quantity{Value: b.hold, Unit: "s"}
		}
		return body
	}
	body.Outcome = []string{"missed", "no_try", "swam_off", "stopped"}[d.draw([]float64{74, 17, 5, 4})]
	if body.Outcome == "missed" {
		body.Latency = decimal(math.Exp(d.normal(1.2, 0.6)), 1, "s")
	}
	return body
}

func (d *day) approve(a *animal, b *behaviour) {
	s := &a.schooling
	b.approved = true
	s.active[b.strand] = nil
	s.ready = append(s.ready, b)
	s.wait[b.strand] = d.n + int(d.between(3, 24))
	d.jot(d.office(), d.about(18.2, 8), "behaviour.approved", events.BehaviourApproved{
		Behaviour: b.id, Animal: a.id, Text: fmt.Sprintf("%d of %d in %d sessions running at the last step", needMet, needOf, needSessions),
	})
}
