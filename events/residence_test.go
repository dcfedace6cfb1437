package events

import (
	"strings"
	"testing"
	"time"
)

const cove = "cove"

// together is the book of a facility where Marl and Quillon came to live in the
// harbour pool on 2 March, and the cove is empty.
func together(t *testing.T) *book {
	b := opened(t)
	b.must(&EnclosureDescribed{Enclosure: cove, Name: "Cove"})
	b.must(&AnimalPlaced{Animal: marl, Enclosure: harbour})
	b.must(&AnimalPlaced{Animal: quillon, Enclosure: harbour})
	return b
}

func met(enclosure string) *EncounterSeen {
	return &EncounterSeen{Winner: marl, Loser: quillon, Enclosure: enclosure}
}

// later is what the book says of a fact some days after.
func (b *book) later(days int, body Body) error {
	b.t.Helper()
	e := b.fact(body)
	e.Time = e.Time.AddDate(0, 0, days)
	return b.reg.Check(e, nil)
}

// refusesLater wants the one problem that a fact of the next day has.
func (b *book) refusesLater(body Body, field, word string) {
	b.t.Helper()
	problems := asProblems(b.later(1, body))
	if len(problems) != 1 || problems[0].Field != field || !strings.Contains(problems[0].Detail, word) {
		b.t.Errorf("%T: %v; wanted one problem at %s that says %q", body, problems, field, word)
	}
}

func (b *book) takesLater(body Body) {
	b.t.Helper()
	if err := b.later(1, body); err != nil {
		b.t.Errorf("%T: %v", body, err)
	}
}

func TestAnEncounterIsWhereBothLived(t *testing.T) {
	b := together(t)
	b.takesLater(met(harbour))
	b.takesLater(met("")) // in no enclosure, as on the way
	b.must(&AnimalPlaced{Animal: marl, Enclosure: cove})
	b.refusesLater(met(harbour), "data.winner", "in cove")
	b.refusesLater(met(cove), "data.loser", "in "+harbour)
}

func TestOnTheDayOfAMoveBothEnclosuresHold(t *testing.T) {
	b := together(t)
	moving := b.fact(&AnimalPlaced{Animal: quillon, Enclosure: cove})
	moving.Time = moving.Time.AddDate(0, 0, 3)
	b.reg.Add(moving, nil)
	if err := b.later(3, met(harbour)); err != nil {
		t.Errorf("before the move, on its day: %v", err)
	}
	if err := b.later(4, met(harbour)); err == nil {
		t.Error("Quillon is taken to be in the harbour pool on the day after the move")
	}
}

// In summer Dublin is an hour ahead of UTC.
func TestDaysAreThoseOfTheFacility(t *testing.T) {
	b := together(t)
	moving := b.fact(&AnimalPlaced{Animal: quillon, Enclosure: cove})
	moving.Time = time.Date(2026, 6, 10, 12, 0, 0, 0, time.UTC)
	b.reg.Add(moving, nil)
	late := b.fact(met(harbour))
	late.Time = time.Date(2026, 6, 10, 22, 59, 0, 0, time.UTC)
	if err := b.reg.Check(late, nil); err != nil {
		t.Errorf("a minute before midnight: %v", err)
	}
	late.Time = time.Date(2026, 6, 10, 23, 0, 0, 0, time.UTC)
	if err := b.reg.Check(late, nil); err == nil {
		t.Error("at midnight of the next day it still lives in the harbour pool")
	}
}

func TestWhatNobodyWroteDownRefusesNothing(t *testing.T) {
	b := opened(t)
	b.takesLater(met(harbour)) // neither was ever placed
	b.must(&AnimalPlaced{Animal: marl, Enclosure: harbour})
	b.takesLater(met(harbour))
}

func TestAnAnimalThatLeftIsNotSeen(t *testing.T) {
	b := together(t)
	b.must(&AnimalLeft{Animal: quillon, How: "release"})
	b.refusesLater(met(harbour), "data.loser", "had left")
}

func TestACorrectedPlaceIsTheOneThatCounts(t *testing.T) {
	b := together(t)
	slip := b.must(&AnimalPlaced{Animal: quillon, Enclosure: cove})
	b.must(&EntryCorrected{Entry: slip, Reason: "the wrong pool", Data: []byte(`{"animal":"` + quillon + `","enclosure":"` + harbour + `"}`)})
	b.takesLater(met(harbour))
	if err := b.later(1, met(cove)); err == nil {
		t.Error("the place before the correction still counts")
	}
}

func TestAWithdrawnPlaceDoesNotCount(t *testing.T) {
	b := together(t)
	slip := b.must(&AnimalPlaced{Animal: quillon, Enclosure: cove})
	b.must(withdrawal(slip))
	b.takesLater(met(harbour))
}

func TestAWatchAndAScanHoldThoseWhoLiveThere(t *testing.T) {
	b := together(t)
	b.refusesLater(&WatchHeld{Watch: "w-1", Enclosure: cove, Until: "2026-03-03T14:30:00Z", Method: "focal", Animals: []string{marl}}, "data.animals[0]", marl)
	b.must(&AnimalPlaced{Animal: quillon, Enclosure: cove})
	b.refusesLater(&CompanyScanned{Enclosure: harbour, Groups: []Group{{[]string{marl}}, {[]string{quillon}}}}, "data.groups[1].animals[0]", quillon)
	b.takesLater(&CompanyScanned{Enclosure: harbour, Groups: []Group{{[]string{marl}}}})
}

func TestWhoYieldedCanBePutRight(t *testing.T) {
	b := together(t)
	entry := b.must(met(harbour))
	b.must(&EntryCorrected{Entry: entry, Reason: "the other way round", Data: []byte(`{"winner":"` + quillon + `","loser":"` + marl + `","enclosure":"` + harbour + `"}`)})
	elsewhere := &EntryCorrected{Entry: entry, Reason: "the wrong pool", Time: "2026-03-03T10:00:00Z",
		Data: []byte(`{"winner":"` + marl + `","loser":"` + quillon + `","enclosure":"` + cove + `"}`)}
	target := b.entries[entry]
	if problems := asProblems(b.reg.Check(b.fact(elsewhere), target)); len(problems) != 2 || problems[0].Field != "data.data.winner" {
		t.Errorf("found %v", problems)
	}
}

func TestARequestSeesItsOwnMoves(t *testing.T) {
	b := together(t)
	child := b.reg.Child()
	for _, animal := range []string{marl, quillon} {
		moved := b.fact(&AnimalPlaced{Animal: animal, Enclosure: cove})
		b.entries[moved.ID] = &moved // so that the next one has an id of its own
		child.Add(moved, nil)
	}
	next := b.fact(met(cove))
	next.Time = next.Time.AddDate(0, 0, 1)
	if err := child.Check(next, nil); err != nil {
		t.Errorf("in the request that moves both: %v", err)
	}
	if err := b.reg.Check(next, nil); err == nil {
		t.Error("a request that was dropped left its moves behind")
	}
	child.Merge()
	if err := b.reg.Check(next, nil); err != nil {
		t.Errorf("after the request: %v", err)
	}
}

func TestCountsOfAWatchNameEachSignalOnce(t *testing.T) {
	w := &WatchHeld{Counts: []Tally{{"threat", 3}, {"bite", 1}, {"threat", 2}}}
	var out Problems
	w.check(&out)
	if len(out) != 1 || out[0].Field != "data.counts[2]" {
		t.Errorf("found %v", out)
	}
}

func TestAJudgementIsOfTwoAnimals(t *testing.T) {
	for _, animals := range [][]string{{marl}, {marl, marl}, {marl, quillon, osier}} {
		var out Problems
		(&CompanyJudged{Animals: animals}).check(&out)
		if len(out) != 1 {
			t.Errorf("of %v: %v", animals, out)
		}
	}
}
