package events

import (
	"cmp"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"
)

// book is a register with the entries it has seen, as a recorder keeps it.
type book struct {
	t       testing.TB
	reg     *Register
	entries map[string]*Event
}

func newBook(t testing.TB) *book {
	return &book{t, NewRegister(), map[string]*Event{}}
}

// opened is the book of a facility that is open and has Marl and Quillon, the
// harbour pool and herring.
func opened(t testing.TB) *book {
	b := newBook(t)
	b.must(&FacilityOpened{Name: "Saltgarth", Zone: "Europe/Dublin"})
	b.must(entered(marl, "Marl"))
	b.must(entered(quillon, "Quillon"))
	b.must(&EnclosureDescribed{Enclosure: harbour, Name: "Harbour pool"})
	b.must(&FoodDescribed{Food: herring, Name: "Herring", Source: "supplier"})
	return b
}

func entered(id, name string) *AnimalEntered {
	return &AnimalEntered{Animal: id, Name: name, Taxon: "Zalophus californianus", Sex: "female", How: "rescue"}
}

func weighed(id string) *WeightTaken {
	return &WeightTaken{Animal: id, Mass: measured("81.5", "kg")}
}

func (b *book) fact(body Body) Event {
	b.t.Helper()
	data, err := MakeData(body)
	if err != nil {
		b.t.Fatal(err)
	}
	at := time.Date(2026, 3, 2, 9, len(b.entries), 0, 0, time.UTC)
	wire := "haulout." + kindFor(b.t, body).name + ".v1"
	e, err := Draft{goldenID(at, len(b.entries)+1), wire, at.Format(time.RFC3339), "saltgarth", data}.Fact()
	if err != nil {
		b.t.Fatal(err)
	}
	return e
}

// try records the fact if the register takes it.
func (b *book) try(body Body) (id string, err error) {
	b.t.Helper()
	e := b.fact(body)
	if err := b.reg.Check(e, b.entries[e.Target()]); err != nil {
		return "", err
	}
	b.reg.Add(e, b.entries[e.Target()])
	b.entries[e.ID] = &e
	return e.ID, nil
}

func (b *book) must(body Body) string {
	b.t.Helper()
	id, err := b.try(body)
	if err != nil {
		b.t.Fatalf("%T is refused: %v", body, err)
	}
	return id
}

func (b *book) refuses(body Body, field string, says ...string) {
	b.t.Helper()
	_, err := b.try(body)
	problems, ok := errors.AsType[Problems](err)
	if !ok || len(problems) != 1 || problems[0].Field != field {
		b.t.Errorf("%T: %v; wanted one problem at %s", body, err, field)
		return
	}
	for _, word := range says {
		if !strings.Contains(problems[0].Detail, word) {
			b.t.Errorf("%T: %q does not say %q", body, problems[0].Detail, word)
		}
	}
}

func correction(entry string, body Body) *EntryCorrected {
	data, err := MakeData(body)
	if err != nil {
		panic(err)
	}
	return &EntryCorrected{Entry: entry, Data: data, Reason: "a slip"}
}

func withdrawal(entry string) *EntryWithdrawn {
	return &EntryWithdrawn{Entry: entry, Reason: "never happened"}
}

func TestTheGoldenLogIsTakenFromItsFirstRecord(t *testing.T) {
	var log []Event
	for _, line := range golden(t) {
		log = append(log, decoded(t, line))
	}
	slices.SortFunc(log, func(a, b Event) int { return cmp.Compare(a.Number, b.Number) })
	reg, entries := NewRegister(), map[string]*Event{}
	b := &book{t, reg, map[string]*Event{}}
	for i := range log {
		e := &log[i]
		if err := reg.Check(*e, entries[e.Target()]); err != nil {
			t.Errorf("record %d, %s: %v", e.Number, e.Type, err)
		}
		reg.Add(*e, entries[e.Target()])
		entries[e.ID] = e
		if e.Number == 1 { // the golden log tells how one animal came; the others were there
			b.must(entered(quillon, "Quillon"))
			b.must(entered(osier, "Osier"))
		}
	}
	if got, want := reg.Size(), "3 animals, 1 enclosures, 1 foods, 1 lots"; got != want {
		t.Errorf("the register holds %s, wanted %s", got, want)
	}
}

func TestNothingIsTakenBeforeTheFacilityOpens(t *testing.T) {
	b := newBook(t)
	b.refuses(entered(marl, "Marl"), "facility", "saltgarth is not open", "facility.opened first")
	b.refuses(withdrawal(goldenID(goldenTime(1), 1)), "facility", "not open")
	b.must(&FacilityOpened{Name: "Saltgarth", Zone: "Europe/Dublin"})
	b.must(entered(marl, "Marl"))
}

func TestAFacilityOpensOnce(t *testing.T) {
	b := opened(t)
	b.refuses(&FacilityOpened{Name: "Saltgarth", Zone: "Europe/Dublin"}, "type", "saltgarth is open already")
}

func TestTheOpeningIsCorrectedAndNeverWithdrawn(t *testing.T) {
	b := newBook(t)
	id := b.must(&FacilityOpened{Name: "Saltgarth", Zone: "Europe/London"})
	b.must(correction(id, &FacilityOpened{Name: "Saltgarth", Zone: "Europe/Dublin"}))
	b.refuses(withdrawal(id), "data.entry", "the opening of saltgarth", "correct it instead")
	b.must(entered(marl, "Marl"))
}

func TestWhatNobodyDefinedIsRefusedByNameAndRemedy(t *testing.T) {
	b := opened(t)
	b.refuses(weighed("stranger"), "data.animal", `the animal "stranger"`, "saltgarth does not know", "animal.entered first")
	b.refuses(&AnimalPlaced{Animal: marl, Enclosure: "lagoon"}, "data.enclosure", `"lagoon"`, "enclosure.described first")
	b.refuses(&RationSet{Animal: marl, Items: []RationItem{{herring, measured("5", "kg")}, {"squid", measured("1", "kg")}}}, "data.items[1].food", `"squid"`, "food.described first")
	b.refuses(&FeedGiven{Animal: marl, Items: []FeedItem{{herring, "LOT-9", measured("1", "kg"), measured("1", "kg")}}}, "data.items[0].lot", `"LOT-9"`, "lot.received first")
	b.refuses(&LotReceived{Lot: "LOT-9", Food: "squid", Mass: measured("1", "kg")}, "data.food", `"squid"`)
	b.refuses(&BehaviourApproved{Behaviour: scan, Animal: marl}, "data.behaviour", `"`+scan+`"`, "behaviour.planned first")
	b.refuses(&CompanyScanned{Enclosure: harbour, Groups: []Group{{[]string{marl}}, {[]string{quillon, osier}}}}, "data.groups[1].animals[1]", osier)
	b.refuses(&Note{Text: "who?", Animals: []string{"stranger"}}, "data.animals[0]", `"stranger"`)
}

// Sessions and watches are written down at their end, after what happened in
// them.
func TestSessionsAndWatchesMayComeLater(t *testing.T) {
	b := opened(t)
	b.must(&EncounterSeen{Winner: marl, Loser: quillon, Watch: watch})
	b.must(&WatchHeld{Watch: watch, Enclosure: harbour, Until: "2026-03-02T14:30:00Z", Method: "scan", Animals: []string{marl}})
}

func TestNamesAreUniqueWithinAFacility(t *testing.T) {
	b := opened(t)
	b.refuses(entered(osier, "Marl"), "data.name", `"marl" is the name of animal `+marl, "unique within a facility")
	b.refuses(entered(osier, "  mARL "), "data.name", `"marl"`)
	b.must(entered(osier, "Marla"))
	b.must(&EnclosureDescribed{Enclosure: "marl-pool", Name: "Marl"}) // an enclosure is no animal
	b.refuses(&FoodDescribed{Food: "herring-2", Name: "HERRING", Source: "supplier"}, "data.name", "name of food "+herring)
	b.must(entered(marl, "Marl")) // it came back under its own name
	other := newBook(t)
	other.must(&FacilityOpened{Name: "Wrackline Bay", Zone: "Europe/Dublin"})
	other.must(entered(osier, "Marl"))
}

func TestASecondDescriptionRenames(t *testing.T) {
	b := opened(t)
	b.must(&EnclosureDescribed{Enclosure: harbour, Name: "Old harbour"})
	b.must(&EnclosureDescribed{Enclosure: "new-pool", Name: "Harbour pool"})
	b.refuses(&EnclosureDescribed{Enclosure: "third-pool", Name: "old  Harbour"}, "data.name", "name of enclosure "+harbour)
}

func TestFactsOfOneRequestSeeEachOtherAndAreDroppedTogether(t *testing.T) {
	b := opened(t)
	parent := b.reg
	b.reg = parent.Child()
	b.must(entered(osier, "Osier"))
	b.must(weighed(osier))
	b.must(&EnclosureDescribed{Enclosure: harbour, Name: "Old harbour"})
	b.reg = parent // the request is refused; nothing of it stays
	b.refuses(weighed(osier), "data.animal", osier)
	b.must(entered("other", "Osier"))
	b.refuses(&EnclosureDescribed{Enclosure: "new-pool", Name: "Harbour pool"}, "data.name", harbour)
	if got, want := parent.Size(), "3 animals, 1 enclosures, 1 foods, 0 lots"; got != want {
		t.Errorf("the register holds %s, wanted %s", got, want)
	}
}

func TestADroppedRequestDoesNotOpenTheFacility(t *testing.T) {
	b := newBook(t)
	parent := b.reg
	b.reg = parent.Child()
	b.must(&FacilityOpened{Name: "Saltgarth", Zone: "Europe/Dublin"})
	b.reg = parent
	b.refuses(entered(marl, "Marl"), "facility", "not open")
}

func TestAMergedRequestStays(t *testing.T) {
	b := opened(t)
	parent := b.reg
	b.reg = parent.Child()
	b.must(entered(osier, "Osier"))
	first := b.must(entered("other", "Kelp"))
	b.must(withdrawal(first))
	b.reg.Merge()
	b.reg = parent
	b.must(weighed(osier))
	b.refuses(entered("third", "osier"), "data.name", osier)
	b.refuses(weighed("other"), "data.animal", "other")
	b.must(entered("third", "Kelp"))
}

func TestACorrectionOfAMissingEntryIsRefused(t *testing.T) {
	b := opened(t)
	missing := goldenID(goldenTime(99), 99)
	b.refuses(correction(missing, weighed(marl)), "data.entry", "saltgarth has no entry "+missing, "only the facility that wrote an entry")
	b.refuses(withdrawal(missing), "data.entry", missing)
}

func TestACorrectionStaysWithItsAnimal(t *testing.T) {
	b := opened(t)
	id := b.must(weighed(marl))
	b.refuses(correction(id, weighed(quillon)), "data.data", "about other animals", "withdraw the entry and record it anew")
	b.must(correction(id, &WeightTaken{Animal: marl, Mass: measured("82", "kg")}))
}

func TestACorrectionStaysWithWhatItDefines(t *testing.T) {
	b := opened(t)
	id := b.must(&LotReceived{Lot: lotA, Food: herring, Mass: measured("480", "kg")})
	b.refuses(correction(id, &LotReceived{Lot: "HER-2602-B", Food: herring, Mass: measured("480", "kg")}), "data.data", "lot/HER-2602-B", "lot/"+lotA, "record it anew")
	b.must(correction(id, &LotReceived{Lot: lotA, Food: herring, Mass: measured("48", "kg")}))
	b.must(&LotDiscarded{Lot: lotA, Mass: measured("1", "kg"), Reason: "torn box"})
}

func TestACorrectionIsCheckedAsItsEntryWas(t *testing.T) {
	b := opened(t)
	id := b.must(weighed(marl))
	heavy := &WeightTaken{Animal: marl, Mass: measured("8150", "kg")}
	b.refuses(correction(id, heavy), "data.data.mass.value", "the most that is taken is 4500 kg")
	b.refuses(&EntryCorrected{Entry: id, Data: []byte(`{"animal":"` + marl + `"}`), Reason: "a slip"}, "data.data.mass", "is missing")
	other := correction(id, weighed(marl))
	other.Type = "haulout.note.v1"
	b.refuses(other, "data.type", "a correction keeps the kind")
	newer := correction(id, weighed(marl))
	newer.Type = "haulout.weight.taken.v2"
	b.refuses(newer, "data.type", "newer than this program")
	feed := b.must(&FeedGiven{Animal: marl, Items: []FeedItem{{herring, "", measured("1", "kg"), measured("1", "kg")}}})
	b.refuses(correction(feed, &FeedGiven{Animal: marl, Items: []FeedItem{{"squid", "", measured("1", "kg"), measured("1", "kg")}}}), "data.data.items[0].food", `"squid"`)
}

func TestACorrectionChangesWhatItSays(t *testing.T) {
	b := opened(t)
	original := b.entries[b.must(weighed(marl))]
	by := correction(original.ID, &WeightTaken{Animal: marl, Mass: measured("82.0", "kg")})
	by.Time = "2026-03-02T10:25:00+01:00"
	fixed, err := original.Corrected(by)
	if err != nil {
		t.Fatal(err)
	}
	if got := fixed.Body.(*WeightTaken).Mass.String(); got != "82.0 kg" || !fixed.Time.Equal(time.Date(2026, 3, 2, 9, 25, 0, 0, time.UTC)) || fixed.ID != original.ID {
		t.Errorf("corrected it is %s at %v", got, fixed.Time)
	}
	if got := original.Body.(*WeightTaken).Mass.String(); got != "81.5 kg" {
		t.Errorf("the original became %s", got)
	}
}

func TestACorrectionOfAnArrivalRenames(t *testing.T) {
	b := opened(t)
	id := b.must(entered(osier, "Ossier"))
	b.refuses(correction(id, entered(osier, "Quillon")), "data.data.name", quillon)
	b.must(correction(id, entered(osier, "Osier")))
	b.refuses(entered("other", "osier"), "data.name", osier)
	b.must(entered("other", "Ossier"))
	b.must(weighed(osier))
}

func TestAWithdrawnArrivalFreesItsName(t *testing.T) {
	b := opened(t)
	id := b.must(entered(osier, "Osier"))
	b.must(withdrawal(id))
	b.refuses(weighed(osier), "data.animal", osier)
	b.must(entered("other", "Osier"))
	b.refuses(entered(osier, "Osier"), "data.name", "other")
}

func TestAnArrivalWithdrawnTwiceCanBeRecordedAnew(t *testing.T) {
	b := opened(t)
	id := b.must(entered(osier, "Osier"))
	b.must(withdrawal(id))
	b.must(withdrawal(id))
	b.must(entered(osier, "Osier"))
	b.must(weighed(osier))
}

func TestACorrectionAfterAWithdrawalTakesNoName(t *testing.T) {
	b := opened(t)
	id := b.must(entered(osier, "Osier"))
	b.must(withdrawal(id))
	b.must(correction(id, entered(osier, "Kelp")))
	b.must(entered("other", "Kelp"))
}

// Osier was entered as Kelp and renamed; Kelp is free for another animal, and
// stays that animal's when Osier's entry goes.
func TestAWithdrawalLeavesTheNameOfAnother(t *testing.T) {
	b := opened(t)
	id := b.must(entered(osier, "Kelp"))
	b.must(correction(id, entered(osier, "Osier")))
	b.must(entered("other", "Kelp"))
	b.must(withdrawal(id))
	b.refuses(entered("third", "Kelp"), "data.name", "other")
	b.must(entered("third", "Osier"))
	b.must(entered(osier, "Tide"))
	b.refuses(entered("fourth", "Osier"), "data.name", "third")
}

func TestAnAnimalEnteredTwiceStaysKnownUntilBothGo(t *testing.T) {
	b := opened(t)
	first := b.must(entered(osier, "Osier"))
	second := b.must(entered(osier, "Osier"))
	b.must(withdrawal(first))
	b.must(weighed(osier))
	b.refuses(entered("other", "Osier"), "data.name", osier)
	b.must(withdrawal(second))
	b.refuses(weighed(osier), "data.animal", osier)
}

func TestOnlyDefiningRecordsDefine(t *testing.T) {
	want := "animal.entered animal.left animal.placed behaviour.planned enclosure.described facility.opened food.described lot.received"
	var got []string
	for _, wire := range Kinds() {
		if (Event{Type: wire}).Defines() {
			got = append(got, KindName(wire))
		}
	}
	if strings.Join(got, " ") != want {
		t.Errorf("these define: %s", got)
	}
	if (Event{Type: "haulout.unknown.v1"}).Defines() {
		t.Error("an unknown kind defines something")
	}
}
