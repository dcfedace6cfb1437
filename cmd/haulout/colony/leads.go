package colony

import (
	"time"

	"haulout/events"
)

// ruling is what a lead and the veterinarian decided about two animals on a day.
type ruling struct {
	facility     string
	day          int
	one, other   string
	verdict, why string
}

// rulings are those of the whole history.
var rulings = []ruling{
	{"saltgarth", 0, "Marl", "Basalt", "watched", "bit each other as young males; decided with the veterinarian before the history begins"},
	{"saltgarth", 330, "Quillon", "Marl", "apart", "three fights over the haul-out shelf within a week; decided with the veterinarian"},
	{"wrackline-bay", 505, "Saxifrage", "Slate", "watched", "he takes her fish when nobody stands by"},
	{"tern-sluice", 160, "Bracken", "Flint", "watched", "first weeks in one pool"},
	{"tern-sluice", 230, "Bracken", "Flint", "together", "ten weeks without an injury"},
}

// decideCompany notes what the lead decides: who may live with whom, and that a
// pool's company begins anew where an animal joined those who live there.
func (d *day) decideCompany() {
	for _, r := range rulings {
		if r.facility == d.code && r.day == d.n {
			d.jot(d.office(), d.about(16.9, 8), "company.judged", events.CompanyJudged{
				Animals: []string{idOf(r.one), idOf(r.other)}, Verdict: r.verdict, Reason: r.why,
			})
		}
	}
	for _, a := range d.animals {
		if d.joined(a) && len(d.group(a.home)) > 1 && d.use(a.home) == "display" {
			d.jot(d.office(), d.about(7.4, 4), "period.begun", events.PeriodBegun{Enclosure: a.home, Reason: "introduction", Text: a.name + " joins."})
		}
	}
}

// joined says that an animal came to live in its pool today.
func (d *day) joined(a *animal) bool {
	if d.n == 0 {
		return false
	}
	for _, s := range a.stays {
		for _, p := range s.pools {
			if s.facility == d.code && p.day == d.n {
				return true
			}
		}
	}
	return false
}

// use is what a pool is for.
func (f *facility) use(enclosure string) string {
	for _, p := range f.pools {
		if p.Enclosure == enclosure {
			return p.Use
		}
	}
	return ""
}

// reportDevices lets a tablet say what it holds: the late one before it is lost
// and when it is back, and one that has not been seen since.
func (d *day) reportDevices() {
	late, held := d.c.plan.LateTablet, d.c.plan.HeldBack
	say := func(s Span, at time.Time, waiting int) {
		if s.Facility != d.code || !d.holds(at) {
			return
		}
		body := events.DeviceReported{Waiting: waiting}
		if waiting > 0 {
			body.Oldest = instant(at.Add(-40 * time.Minute))
		}
		d.jot(s.Device, at, "device.reported", body)
	}
	say(late, late.From.Add(-time.Hour), 6)
	say(late, d.c.plan.LateRecorded.Add(time.Minute), 0)
	say(held, held.From, 4)
}

// answerCalls has the lead take on the planted run of missed weigh-ins.
func (d *day) answerCalls() {
	missed := d.c.plan.MissedWeighIns
	if d.code == missed.Facility && d.c.dayOf(missed.From)+noticed == d.n {
		d.jot(d.office(), d.about(9.6, 5), "call.answered", events.CallAnswered{Call: "weigh-due." + missed.Animal, Answer: "taken", Reason: "will be tried on the platform"})
	}
}

// noticed is how many days pass before somebody takes a line of Today on.
const noticed = 6
