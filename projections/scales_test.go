package projections

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"haulout/projections/board"
	"haulout/projections/growth"
)

// weighedDaily is Saltgarth with some sea lions that are weighed every third day on
// the deck scale, from which on a day it reads otherwise, by a factor.
func weighedDaily(t testing.TB, animals int, stepped time.Time, factor float64) *recorder {
	r := newRecorder(t)
	r.record("saltgarth", "facility.opened", "2026-01-01T08:00:00Z", `{"name":"Saltgarth","zone":"Europe/Dublin"}`)
	r.record("saltgarth", "enclosure.described", "2026-01-01T08:10:00Z", `{"enclosure":"long","name":"Long Pool"}`)
	dice := rand.New(rand.NewPCG(4, 2))
	for n := range animals {
		id := fmt.Sprintf("sea-lion-%d", n)
		r.lives(id, "female", "2015-06-12", "arrival", "2026-01-01T09:00:00Z")
		for day := n % 3; day < 140; day += 3 {
			at := time.Date(2026, 1, 2, 8, n, 0, 0, time.UTC).AddDate(0, 0, day)
			kg := (70 + 6*float64(n)) * (1 + 0.004*dice.NormFloat64())
			if !at.Before(stepped) {
				kg *= factor
			}
			r.weigh(at, id, kg, "deck")
		}
	}
	return r
}

func (r *recorder) weigh(at time.Time, animal string, kg float64, scale string) {
	r.record("saltgarth", "weight.taken", at.Format(time.RFC3339), fmt.Sprintf(`{"animal":%q,"mass":{"value":"%.1f","unit":"kg"},"scale":%q,"coat":"dry","method":"voluntary"}`, animal, kg, scale))
}

var steppedOn = time.Date(2026, 4, 20, 0, 0, 0, 0, time.UTC)

func scalesOf(t testing.TB, s *Store, to Day) []growth.Scale {
	t.Helper()
	list, err := s.Scales("saltgarth", to, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestAScaleThatStepsIsSeenFromItsWeighIns(t *testing.T) {
	s := filledStore(t, weighedDaily(t, 6, steppedOn, 0.94))
	list := scalesOf(t, s, "2026-05-10")
	if len(list) != 1 || list[0].Scale != "deck" || list[0].Animals != 6 || len(list[0].Steps) != 1 {
		t.Fatalf("%+v", list)
	}
	step := list[0].Steps[0]
	if day := Day("2026-04-20").number(); step.Between[0] > int(day) || step.Between[1] < int(day) || step.Percent.Lo > -6 || step.Percent.Hi < -6 || len(step.Of) < 5 {
		t.Errorf("%+v", step)
	}
	if list := scalesOf(t, s, "2026-04-19"); len(list) != 1 || len(list[0].Steps) > 0 {
		t.Errorf("the day before: %+v", list)
	}
	if list, err := s.Scales("nowhere", "2026-05-10", time.Time{}); err != nil || len(list) != 0 {
		t.Errorf("%+v %v", list, err)
	}
}

// What was kept from an earlier reading never stands in the way of a weigh-in
// that comes in late, or of one that is withdrawn.
func TestAScaleForgetsWhatWasWithdrawn(t *testing.T) {
	r := weighedDaily(t, 6, steppedOn, 0.94)
	s := filledStore(t, r)
	count := func() int { return scalesOf(t, s, "2026-05-10")[0].Weighings }
	before := count()
	late := r.record("saltgarth", "weight.taken", "2026-05-01T18:00:00Z", `{"animal":"sea-lion-1","mass":{"value":"71","unit":"kg"},"scale":"deck"}`)
	mustApply(t, s, r.page("saltgarth", int(late.Number), int(late.Number)))
	if got := count(); got != before+1 {
		t.Errorf("%d weigh-ins after one more, before %d", got, before)
	}
	gone := r.withdraw(late)
	mustApply(t, s, r.page("saltgarth", int(gone.Number), int(gone.Number)))
	if got := count(); got != before {
		t.Errorf("%d weigh-ins after it was withdrawn, before %d", got, before)
	}
	other := r.record("saltgarth", "weight.taken", "2026-05-02T18:00:00Z", `{"animal":"sea-lion-1","mass":{"value":"71","unit":"kg"},"scale":"dock"}`)
	mustApply(t, s, r.page("saltgarth", int(other.Number), int(other.Number)))
	if list := scalesOf(t, s, "2026-05-10"); len(list) != 2 || list[1].NotEnough == "" {
		t.Errorf("%+v", list)
	}
}

// A fall is explained as far as the scale steps, and no further.
func TestAStepExplainsAFallAsFarAsItGoes(t *testing.T) {
	deck := func(percent float64) []growth.Scale {
		return []growth.Scale{{Scale: "deck", Steps: []growth.Step{{Since: 100, Percent: growth.Interval{Value: percent}, Same: "percent"}}}}
	}
	series := func(scale string, last float64, before ...float64) (out []growth.Weighing) {
		for i, kg := range before {
			out = append(out, growth.Weighing{Day: 99 - len(before) + i, Kg: kg, Scale: "deck"})
		}
		return append(out, growth.Weighing{Day: 101, Kg: last, Scale: scale})
	}
	level := []float64{100, 100, 100, 100}
	for name, c := range map[string]struct {
		series []growth.Weighing
		scales []growth.Scale
		want   float64
	}{
		"the scale reads 6 % less, and so does the animal":   {series("deck", 94, level...), deck(-6), 6},
		"it fell by 12 % on such a scale":                    {series("deck", 88, level...), deck(-6), 5.617},
		"it fell on another scale":                           {series("dock", 94, level...), deck(-6), 0},
		"the scale reads more, and it fell":                  {series("deck", 94, level...), deck(4), 0},
		"nothing steps":                                      {series("deck", 94, level...), nil, 0},
		"it was weighed on a scale that was set right again": {append(series("deck", 104, level...), growth.Weighing{Day: 104, Kg: 100, Scale: "deck"})[4:], deck(4), 3.846},
	} {
		changes, err := changesOf(c.series, c.scales)
		if err != nil {
			t.Fatal(err)
		}
		if got := changes[0].Explained; got < c.want-0.01 || got > c.want+0.01 {
			t.Errorf("%s: %.3f of %.3f %% explained, want %.3f", name, got, changes[0].Percent, c.want)
		}
	}
	kilos := deck(0)
	kilos[0].Steps[0].Same, kilos[0].Steps[0].Kg.Value = "kg", -2
	if changes, err := changesOf(series("deck", 98, level...), kilos); err != nil || changes[0].Explained < 1.99 {
		t.Errorf("%+v %v", changes, err)
	}
}

// What is too small to be named hides no fall either.
func TestAStepThatIsNotNamedExplainsNothing(t *testing.T) {
	s := filledStore(t, weighedDaily(t, 6, steppedOn, 0.985))
	if list := scalesOf(t, s, "2026-05-20"); len(list) != 1 || len(list[0].Steps) != 1 {
		t.Fatalf("the step is not seen at all: %+v", list)
	}
	steps := func(house board.House) int {
		n := 0
		err := s.at(time.Time{}, func(v view) error {
			all, err := every[Animal](v, &animals)
			if err != nil {
				return err
			}
			list, err := v.namedSteps("saltgarth", all, "2026-05-20", house)
			n = len(list[0].Steps)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	if usual, strict := steps(nil), steps(board.House{"scale_least": 1}); usual != 0 || strict != 1 {
		t.Errorf("%d steps of 1.5 %% count where 2 %% are named, %d where 1 %% are", usual, strict)
	}
	if list := scalesOf(t, s, "2026-05-20"); len(list[0].Steps) != 1 {
		t.Error("what is shared was changed")
	}
}

// One cause is one line: the scale is named, and the animals that seem lighter on
// it are not, but for the one that lost more than the scale explains.
func TestAScaleThatStepsIsOneLineOfTheBoard(t *testing.T) {
	r := weighedDaily(t, 6, steppedOn, 0.92)
	r.weigh(time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC), "sea-lion-1", 76*0.92*0.9, "deck")
	now := "2026-05-01T15:00:00Z"
	of := func(b *Board, rule string) (out []string) {
		for _, c := range b.Calls {
			if c.Rule == rule {
				out = append(out, c.ID)
			}
		}
		return out
	}
	s := filledStore(t, r)
	b := boardOf(t, s, now)
	if got := of(b, "scale"); !slices.Equal(got, []string{"scale.deck"}) {
		t.Fatalf("%v of %v", got, idsOf(b.Calls))
	}
	if got := of(b, "mass-down"); !slices.Equal(got, []string{"mass-down.sea-lion-1"}) {
		t.Errorf("%v", got)
	}
	for _, c := range b.Calls {
		if c.Rule == "scale" && (c.Sort != "facility" || len(c.Behind) != 6 || !strings.Contains(c.Evidence, "9 in 10") || !strings.Contains(c.Next, "known mass")) {
			t.Errorf("%+v", c)
		}
	}
	r.record("saltgarth", "call.answered", "2026-05-01T15:30:00Z", `{"call":"scale.deck","answer":"needless","reason":"the scale was set anew on purpose"}`)
	after := boardOf(t, filledStore(t, r), "2026-05-01T16:00:00Z")
	if len(of(after, "scale")) != 0 || !slices.Contains(idsOf(after.PutOff), "scale.deck") || !slices.Equal(of(after, "mass-down"), []string{"mass-down.sea-lion-1"}) {
		t.Errorf("after an answer: %v, put off %v", idsOf(after.Calls), idsOf(after.PutOff))
	}
	if got := of(boardOf(t, s, "2026-05-25T15:00:00Z"), "scale"); len(got) != 0 {
		t.Errorf("five weeks later: %v", got)
	}
}
