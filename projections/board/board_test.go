package board

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// at is a Wednesday evening in winter.
var at = time.Date(2026, 2, 18, 18, 30, 0, 0, time.UTC)

func ago(days float64) time.Time { return at.Add(-time.Duration(days * 24 * float64(time.Hour))) }

// well is an animal that nobody needs to see to.
func well() Animal {
	return Animal{
		ID: "marl", Name: "Marl", At: at, Entered: ago(400), Heard: true, Ate: ago(0.1), Yesterday: &Fed{Ration: 4600, Eaten: 4500, Feeds: 3, Day: ago(1)},
		Changes: []Change{{7, -1, 81, 81.8, 3, ago(1), 0}, {30, -2, 81, 82.6, 9, ago(1), 0}}, Weighed: ago(1), Checked: ago(0.4), CoatScored: ago(3),
		Taught: []Taught{{"training", ago(1)}}, Trials: Trials{Lately: 20, LatelyRefused: 1, Before: 200, BeforeRefused: 12, Since: ago(3)},
		Coat: &Coat{Standing: "as expected"},
	}
}

func rulesOf(calls []Call) (out []string) {
	for _, c := range Ordered(calls) {
		out = append(out, c.Rule)
	}
	return out
}

func TestAnAnimalThatIsWellCallsNobody(t *testing.T) {
	if calls := well().Calls(nil); len(calls) != 0 {
		t.Errorf("found %+v", calls)
	}
}

// causes are what may be wrong with an animal, and what the board then says.
var causes = map[string]struct {
	change func(*Animal)
	want   []string
	says   string
}{
	"takes nothing for over a day": {func(a *Animal) { a.Ate, a.Refused, a.Refusals = ago(1.1), ago(0.1), 3; a.Yesterday.Eaten = 0 }, []string{"refusal"}, "no food taken for 26 h 24 min"},
	"a fast that is expected excuses no refusal": {func(a *Animal) {
		a.Ate, a.Refused, a.Refusals, a.Expected = ago(3), ago(0.1), 9, []string{"males fast"}
	}, []string{"refusal"}, "no food taken for 3 days"},
	"refused for less than a day": {func(a *Animal) { a.Ate, a.Refused = ago(0.9), ago(0.1) }, nil, ""},
	"a keeper asks for the vet":   {func(a *Animal) { a.Findings = []Finding{{ago(0.3), "eyes", "half shut", "rv", true}} }, []string{"urgent"}, "eyes, half shut"},
	"two findings are one line": {func(a *Animal) {
		a.Findings = []Finding{{ago(2), "skin", "scratch", "rv", false}, {ago(5), "stool", "soft", "jo", false}}
	}, []string{"finding"}, "2 open findings"},
	"doses missed yesterday": {func(a *Animal) { a.Orders = []Order{{"o-1", "drops", 2, 2, 1, true}} }, []string{"dose-missed"}, "1 of 2 doses"},
	"two orders missed are one line": {func(a *Animal) {
		a.Orders = []Order{{"o-1", "drops", 2, 2, 1, true}, {"o-2", "tablets", 1, 1, 0, true}}
	}, []string{"dose-missed"}, "drops: 1 of 2 doses; tablets: 0 of 1 dose"},
	"an order that is new": {func(a *Animal) {
		a.Ordered = []OrderNews{{"o-1", "the veterinarian", "drops, 2 a day", ago(3), false}, {"o-2", "the veterinarian", "tablet, once", ago(0.5), false}}
	}, []string{"order-news"}, "Order of the veterinarian o-2: tablet, once"},
	"an order that was ended this morning": {func(a *Animal) {
		a.Ordered = []OrderNews{{"o-1", "the veterinarian", "drops, 2 a day", ago(0.9), false}, {"o-1", "the veterinarian", "healed", ago(0.2), true}}
	}, []string{"order-news"}, "o-1 ended: healed"},
	"an order of the day before yesterday": {func(a *Animal) { a.Ordered = []OrderNews{{"o-1", "the veterinarian", "drops", ago(1.1), false}} }, nil, ""},
	"an order that began yesterday":        {func(a *Animal) { a.Orders = []Order{{"o-1", "drops", 2, 2, 1, false}} }, nil, ""},
	"a dose due this evening":              {func(a *Animal) { a.Orders = []Order{{"o-1", "drops", 2, 1, 2, true}} }, []string{"dose-due"}, "1 of 2 doses given today"},
	"five per cent in a week":              {func(a *Animal) { a.Changes[0].Percent = -5 }, []string{"mass-down"}, "5 % under the median of 7 days"},
	"a week and a month are one line":      {func(a *Animal) { a.Changes[0].Percent, a.Changes[1].Percent = -6, -11 }, []string{"mass-down"}, "11 % under the median of 30 days"},
	"four and nine per cent":               {func(a *Animal) { a.Changes[0].Percent, a.Changes[1].Percent = -4.9, -9.9 }, nil, ""},
	"a loss that the season explains":      {func(a *Animal) { a.Changes[0].Percent, a.Expected = -8, []string{"the molt"} }, nil, ""},
	"a loss that the scale explains":       {func(a *Animal) { a.Changes[0].Percent, a.Changes[0].Explained = -8, 6 }, nil, ""},
	"a loss beyond the step of a scale":    {func(a *Animal) { a.Changes[0].Percent, a.Changes[0].Explained = -12, 6 }, []string{"mass-down"}, "12 % under the median of 7 days"},
	"half of the ration left":              {func(a *Animal) { a.Yesterday.Eaten = 2000 }, []string{"ration"}, "43 % of yesterday's ration"},
	"a ration and no feed":                 {func(a *Animal) { a.Yesterday.Eaten, a.Yesterday.Feeds = 0, 0 }, []string{"ration"}, "no feed on record"},
	"not looked over since two days":       {func(a *Animal) { a.Checked = ago(2) }, []string{"check-due"}, "Not looked over for 2 days"},
	"looked over yesterday":                {func(a *Animal) { a.Checked = ago(1) }, nil, ""},
	"not weighed for eight days":           {func(a *Animal) { a.Weighed = ago(8) }, []string{"weigh-due"}, "Not weighed for 8 days"},
	"never weighed":                        {func(a *Animal) { a.Weighed = time.Time{} }, []string{"weigh-due"}, "Not weighed for 400 days"},
	"nothing is due where none is heard":   {func(a *Animal) { a.Heard, a.Checked, a.Weighed, a.CoatScored = false, ago(9), ago(9), ago(30) }, nil, ""},
	"coat not scored":                      {func(a *Animal) { a.CoatScored = ago(15) }, []string{"coat-due"}, "Coat not scored for 15 days"},
	"no training":                          {func(a *Animal) { a.Taught[0].Last = ago(16) }, []string{"train-due"}, "1 behaviour not asked for"},
	"refuses trials":                       {func(a *Animal) { a.Trials.LatelyRefused = 7 }, []string{"trials"}, "than it used to"},
	"too few trials to tell":               {func(a *Animal) { a.Trials.Lately, a.Trials.LatelyRefused = 5, 5 }, nil, ""},
	"a late coat":                          {func(a *Animal) { a.Coat = &Coat{"late", "Nine days late.", ago(9)} }, []string{"coat"}, "Coat late"},
	"a coat that nothing is known of":      {func(a *Animal) { a.Coat = &Coat{Standing: "not enough data"} }, nil, ""},
}

func TestEachRuleFindsItsOwnCause(t *testing.T) {
	for name, c := range causes {
		t.Run(name, func(t *testing.T) {
			a := well()
			c.change(&a)
			calls := a.Calls(nil)
			if got := rulesOf(calls); !slices.Equal(got, c.want) {
				t.Fatalf("found %v; wanted %v", got, c.want)
			}
			if len(calls) == 1 && (!strings.Contains(calls[0].What, c.says) || calls[0].ID() != c.want[0]+".marl" || calls[0].Next == "" || calls[0].Cited == "" || calls[0].Evidence == "" || calls[0].Since.IsZero()) {
				t.Errorf("%+v", calls[0])
			}
		})
	}
}

func TestAHouseSetsItsOwnLimitsAndTightensALaw(t *testing.T) {
	a := well()
	a.Weighed = ago(4)
	if calls := a.Calls(House{"weigh_days": 3}); len(calls) != 1 || !strings.Contains(calls[0].Cited, "the house's own") {
		t.Errorf("weighs every three days: %+v", calls)
	}
	a = well()
	a.Ate, a.Refused = ago(0.6), ago(0.1)
	if calls := a.Calls(House{"refusal": 12}); len(calls) != 1 {
		t.Errorf("a stricter house: %+v", calls)
	}
	a.Ate = ago(1.5)
	if calls := a.Calls(House{"refusal": 72}); len(calls) != 1 {
		t.Errorf("a law was loosened: %+v", calls)
	}
}

func TestTheGravestComesFirstAndEachCauseOnce(t *testing.T) {
	calls := []Call{
		{Rule: "weigh-due", Subject: "a", Harm: Look, Since: ago(9)}, {Rule: "refusal", Subject: "b", Harm: Now, Since: ago(1)},
		{Rule: "weigh-due", Subject: "c", Harm: Look, Since: ago(20)}, {Rule: "refusal", Subject: "b", Harm: Look, Since: ago(5)},
	}
	var got []string
	for _, c := range Ordered(calls) {
		got = append(got, c.ID())
	}
	if !slices.Equal(got, []string{"refusal.b", "weigh-due.c", "weigh-due.a"}) {
		t.Errorf("in order: %v", got)
	}
}

func TestASilentFacilityIsOneCall(t *testing.T) {
	if _, silent := Silent("saltgarth", "Saltgarth", ago(0.4), at, nil); silent {
		t.Error("silent after ten hours")
	}
	call, silent := Silent("saltgarth", "Saltgarth", at.Add(-864*time.Minute), at, nil)
	if !silent || call.What != "Nothing has come in for 14 h 24 min" {
		t.Errorf("%v %+v", silent, call)
	}
	if _, silent := Silent("saltgarth", "Saltgarth", time.Time{}, at, nil); silent {
		t.Error("a facility without a record is silent")
	}
}

func TestADeviceThatHoldsEntriesIsMissed(t *testing.T) {
	held := Held{Device: "tablet-2", By: "rv", Waiting: 3, Oldest: ago(0.2), Since: ago(0.1), Said: ago(0.09)}
	call, found := HeldBack(held, at, nil)
	if !found || call.What != "3 entries are on a device and not on record" || call.ID() != "held-back.tablet-2" || call.Since != held.Since {
		t.Errorf("%v %+v", found, call)
	}
	held.Since = at.Add(-2 * time.Hour)
	if _, found := HeldBack(held, at, nil); found {
		t.Error("missed after two hours, the limit itself")
	}
	if _, found := HeldBack(held, at, House{"waiting_hours": 1}); !found {
		t.Error("a house that wants to know after an hour does not")
	}
	held.Waiting, held.Since = 0, ago(3)
	if _, found := HeldBack(held, at, nil); found {
		t.Error("a device that holds nothing is missed")
	}
}

func TestTheReferenceSaysWhereItsFiguresComeFrom(t *testing.T) {
	for _, r := range Rules() {
		if r.Source == "" || r.Says == "" || r.Unit == "" || (r.Kind != "law" && r.Kind != "practice") || r.Value < r.Least || r.Value > r.Most {
			t.Errorf("%+v", r)
		}
	}
}
