package colony

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"iter"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"haulout/events"
)

// The history that most tests look at ends on a working afternoon in autumn.
var ending = time.Date(2026, time.October, 14, 15, 30, 0, 0, time.UTC)

const seed = 7

// told is one fact as it stands in the end: corrected, and not withdrawn.
type told struct {
	events.Event
	withdrawn, corrected bool
}

// history is a generated colony, read back through the vocabulary.
type history struct {
	entries []Entry
	facts   []*told // in the order of the log
	unsound []string
}

var whole2y = sync.OnceValue(func() *history { return read(seed, ending) })

// Another ends in the night, on a leap day, and is of another seed.
var leapDay = time.Date(2028, time.February, 29, 2, 10, 0, 0, time.UTC)

var leapNight = sync.OnceValue(func() *history { return read(3, leapDay) })

// ends are both, by when they end.
func ends() map[time.Time]*history {
	return map[time.Time]*history{ending: whole2y(), leapDay: leapNight()}
}

// read generates a history and lets every fact pass the checks that a recorder
// makes: the fact alone, then the register of its facility.
func read(seed uint64, until time.Time) *history {
	h := &history{}
	registers, known := map[string]*events.Register{}, map[string]*told{}
	for e := range Entries(seed, until) {
		h.entries = append(h.entries, e)
		if registers[e.Facility] == nil {
			registers[e.Facility] = events.NewRegister()
		}
		for _, draft := range e.Facts {
			fact, err := draft.Fact()
			if err != nil {
				h.complain(draft, err)
				continue
			}
			fact.Author, fact.Device, fact.Recorded = e.Author, e.Device, e.Recorded
			h.take(registers[e.Facility], known, &told{Event: fact})
		}
	}
	return h
}

func (h *history) complain(draft events.Draft, err error) {
	h.unsound = append(h.unsound, fmt.Sprintf("%s %s: %v", draft.Type, draft.Data, err))
}

func (h *history) take(register *events.Register, known map[string]*told, fact *told) {
	var target *events.Event
	if known[fact.Target()] != nil {
		target = &known[fact.Target()].Event
	}
	if err := register.Check(fact.Event, target); err != nil {
		h.unsound = append(h.unsound, fmt.Sprintf("%s %s: %v", fact.Type, fact.Data, err))
		return
	}
	register.Add(fact.Event, target)
	if known[fact.ID] != nil {
		h.unsound = append(h.unsound, "the id "+fact.ID+" is there twice")
	}
	known[fact.ID] = fact
	h.facts = append(h.facts, fact)
	switch by := fact.Body.(type) {
	case *events.EntryCorrected:
		fixed, err := target.Corrected(by)
		if err != nil {
			h.unsound = append(h.unsound, err.Error())
			return
		}
		known[by.Entry].Event, known[by.Entry].corrected = fixed, true
	case *events.EntryWithdrawn:
		known[by.Entry].withdrawn = true
	}
}

// bodies visits the facts of one kind as they stand in the end.
func bodies[B any](h *history, visit func(f *told, body *B)) {
	for _, f := range h.facts {
		if body, ok := f.Body.(*B); ok && !f.withdrawn {
			visit(f, body)
		}
	}
}

func TestFactsPassTheRecordersChecks(t *testing.T) {
	for until, h := range ends() {
		name := until.Format(time.DateTime)
		for i, problem := range h.unsound {
			if i == 10 {
				t.Fatalf("%s: and %d more", name, len(h.unsound)-10)
			}
			t.Errorf("%s: %s", name, problem)
		}
		checkOrder(t, name, h)
	}
}

// checkOrder wants each log in the order of its recorder, no fact from the
// future, and nothing after the end.
func checkOrder(t *testing.T, name string, h *history) {
	t.Helper()
	last := time.Time{}
	latest := h.entries[len(h.entries)-1].Recorded
	for _, e := range h.entries {
		if e.Recorded.Before(last) {
			t.Fatalf("%s: a batch of %s recorded %s comes after one recorded %s", name, e.Facility, e.Recorded, last)
		}
		last = e.Recorded
		if len(e.Facts) == 0 || e.Author == "" || e.Device == "" {
			t.Fatalf("%s: a batch of %s lacks facts, author or device: %+v", name, e.Facility, e)
		}
		for _, f := range e.Facts {
			at, _ := events.ParseTime(f.Time)
			if at.After(e.Recorded) || at.After(latest) {
				t.Fatalf("%s: %s happened at %s and was recorded at %s", name, f.Type, at, e.Recorded)
			}
		}
	}
}

func TestEachFacilityOpensAtItsLocalMidnightTwoYearsBefore(t *testing.T) {
	seen := map[string]bool{}
	for _, e := range whole2y().entries {
		if seen[e.Facility] {
			continue
		}
		seen[e.Facility] = true
		first, err := e.Facts[0].Fact()
		if err != nil {
			t.Fatal(err)
		}
		opened, ok := first.Body.(*events.FacilityOpened)
		if !ok {
			t.Fatalf("the first fact of %s is %s", e.Facility, first.Type)
		}
		loc, err := time.LoadLocation(opened.Zone)
		if err != nil {
			t.Fatal(err)
		}
		if want := time.Date(2024, time.October, 14, 0, 0, 0, 0, loc); !first.Time.Equal(want) {
			t.Errorf("%s opens at %s, want %s", e.Facility, first.Time, want)
		}
		if !strings.Contains(opened.Text, "Invented demo colony") {
			t.Errorf("%s does not say that it is invented: %q", e.Facility, opened.Text)
		}
	}
	if len(seen) != 3 {
		t.Errorf("%d facilities, want 3", len(seen))
	}
}

// digest is a hash over everything that is yielded.
func digest(entries iter.Seq[Entry]) string {
	h := sha256.New()
	for e := range entries {
		fmt.Fprintln(h, e.Facility, e.Author, e.Device, e.Recorded.UTC())
		for _, f := range e.Facts {
			fmt.Fprintln(h, f.ID, f.Type, f.Time, f.Facility, string(f.Data))
		}
	}
	return hex.EncodeToString(h.Sum(nil))
}

func TestTheSameSeedGivesTheSameBytes(t *testing.T) {
	first := digest(slices.Values(whole2y().entries))
	if first != digest(Entries(seed, ending.In(time.FixedZone("elsewhere", 5*3600)))) {
		t.Error("two runs with the same seed and end differ")
	}
	if first == digest(Entries(seed+1, ending)) {
		t.Error("another seed gives the same history")
	}
}

func TestARunCanBeStoppedEarly(t *testing.T) {
	n := 0
	for range Entries(seed, ending) {
		if n++; n == 5 {
			break
		}
	}
	if n != 5 {
		t.Errorf("stopped after %d batches, want 5", n)
	}
}

func TestSizeIsNearWhatComes(t *testing.T) {
	for _, until := range []time.Time{time.Date(2026, time.May, 3, 9, 0, 0, 0, time.UTC), time.Date(2027, time.January, 20, 23, 0, 0, 0, time.UTC)} {
		n := 0
		for e := range Entries(seed+2, until) {
			n += len(e.Facts)
		}
		if n < 250_000 || n > 330_000 {
			t.Errorf("%d facts up to %s, want 250,000 to 330,000", n, until.Format(time.DateOnly))
		}
		if size := Size(seed+2, until); size < n*97/100 || size > n*103/100 {
			t.Errorf("Size says %d for the %d facts up to %s", size, n, until.Format(time.DateOnly))
		}
	}
}

func TestTrialsAreAboutAThirdOfAllFacts(t *testing.T) {
	h, trials := whole2y(), 0
	bodies(h, func(*told, *events.TrialScored) { trials++ })
	if share := float64(trials) / float64(len(h.facts)); share < 0.25 || share > 0.35 {
		t.Errorf("trials are %.1f %% of the facts, want 25 to 35", share*100)
	}
}

func TestEveryKindOfFactOccurs(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range whole2y().facts {
		seen[f.Type] = true
	}
	for _, wire := range events.Types() {
		if !seen[wire] {
			t.Errorf("no %s in the whole history", wire)
		}
	}
}

func TestAuthorsAreOnTheStaffOfTheFacility(t *testing.T) {
	facilities := map[string]string{}
	for _, k := range Staff() {
		facilities[k.Name] = k.Facility
	}
	for _, e := range whole2y().entries {
		if home, known := facilities[e.Author]; !known || (home != "" && home != e.Facility) {
			t.Fatalf("%s writes at %s, but is not on its staff", e.Author, e.Facility)
		}
	}
}

func TestAnimalsCanBeToldApart(t *testing.T) {
	codes, entered := map[string]string{}, map[string][]string{}
	kinds := map[string]int{}
	bodies(whole2y(), func(f *told, a *events.AnimalEntered) {
		entered[a.Animal] = append(entered[a.Animal], f.Facility+"/"+a.How)
		kinds[a.Taxon]++
	})
	bodies(whole2y(), func(_ *told, a *events.AnimalIdentified) {
		if holder := codes[a.Code]; holder != "" && holder != a.Animal {
			t.Errorf("%s and %s bear the transponder %s", holder, a.Animal, a.Code)
		}
		codes[a.Code] = a.Animal
	})
	if len(entered) != 28 || len(codes) != 28 {
		t.Errorf("%d animals with %d transponders, want 28", len(entered), len(codes))
	}
	if moved := entered["demo-madder"]; !slices.Equal(moved, []string{"saltgarth/arrival", "tern-sluice/arrival"}) {
		t.Errorf("the animal that moves is entered as %v", moved)
	}
	if kinds["Phoca vitulina"] != 10 || kinds["Eumetopias jubatus"] != 1 {
		t.Errorf("kinds of animals: %v", kinds)
	}
}

// In each pool the bucket tapes differ, as far as eight patterns allow.
func TestTapePatternsDifferWithinAPool(t *testing.T) {
	tapes, homes := map[string]int{}, map[string]string{}
	for _, f := range whole2y().facts {
		switch body := f.Body.(type) {
		case *events.AnimalEntered:
			tapes[body.Animal] = body.Tape
		case *events.AnimalLeft:
			delete(homes, body.Animal)
		case *events.AnimalPlaced:
			homes[body.Animal] = body.Enclosure
			for other, home := range homes {
				if other != body.Animal && home == body.Enclosure && tapes[other] == tapes[body.Animal] {
					t.Errorf("on %s %s and %s in %s both have tape %d", f.Time.Format(time.DateOnly), other, body.Animal, home, tapes[other])
				}
			}
		}
	}
}

func BenchmarkEntries(b *testing.B) {
	n := 0
	for b.Loop() {
		for e := range Entries(seed, ending) {
			n += len(e.Facts)
		}
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "facts/s")
}
