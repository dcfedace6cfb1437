package dominance

import (
	"strings"
	"testing"
	"time"
)

func TestScansAreCountedByPair(t *testing.T) {
	scans := []Scan{
		{[][]string{{"Ada", "Bo"}, {"Cy"}}},
		{[][]string{{"Ada"}, {"Bo"}}},
		{[][]string{{"Ada", "Cy"}}},
		{nil},
	}
	got, err := CompanyOf([]string{"Ada", "Bo", "Cy"}, scans)
	if err != nil {
		t.Fatal(err)
	}
	want := []Company{
		{A: "Ada", B: "Bo", Together: 1, BothApart: 1, OnlyA: 1},
		{A: "Ada", B: "Cy", Together: 1, BothApart: 1, OnlyA: 1},
		{A: "Bo", B: "Cy", BothApart: 1, OnlyA: 1, OnlyB: 1},
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%+v, want %+v", got[i], want[i])
		}
	}
	if none, ok := got[2].SimpleRatio(); none != 0 || !ok {
		t.Errorf("seen, and never together: %v, %v", none, ok)
	}
}

func TestPairsThatNobodySawHaveNoIndex(t *testing.T) {
	var c Company
	if _, ok := c.SimpleRatio(); ok {
		t.Error("there is a simple ratio")
	}
	if _, ok := c.HalfWeight(); ok {
		t.Error("there is a half-weight index")
	}
	if _, _, ok := (Company{OnlyA: 3}).Shares(); ok {
		t.Error("there is a share of the scans of one that was not seen")
	}
}

func TestBadScansAreRefused(t *testing.T) {
	for want, scan := range map[string]Scan{
		`scan 1: groups: "Zed" is not listed`:    {[][]string{{"Zed"}}},
		`scan 1: groups: "Ada" is named twice: `: {[][]string{{"Ada"}, {"Ada", "Bo"}}},
	} {
		if _, err := CompanyOf([]string{"Ada", "Bo"}, []Scan{scan}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	if _, err := CompanyOf([]string{"Ada", "Ada"}, nil); err == nil || !strings.Contains(err.Error(), "listed twice") {
		t.Errorf("twice: %v", err)
	}
}

func day(n int) time.Time { return time.Date(2026, 5, n, 0, 0, 0, 0, time.UTC) }

func TestWhoLivedTogetherAndHowLong(t *testing.T) {
	ids := []string{"Ada", "Bo", "Cy"}
	stays := []Stay{
		{"Ada", "north", day(1), time.Time{}},
		{"Bo", "north", day(3), day(5)},
		{"Bo", "south", day(5), time.Time{}},
		{"Cy", "south", day(1), day(5)},
		{"Bo", "north", day(20), day(25)},
	}
	got, err := Together(ids, stays, day(4), day(21))
	if err != nil {
		t.Fatal(err)
	}
	if got[0][1] != 48*time.Hour || got[1][0] != got[0][1] || got[0][2] != 0 || got[1][2] != 0 {
		t.Errorf("together for %v", got)
	}
}

func TestBadStaysAreRefused(t *testing.T) {
	ids := []string{"Ada"}
	for want, stays := range map[string][]Stay{
		`stay 1: animal "Zed" is not listed`: {{"Zed", "north", day(1), day(2)}},
		"stay 1: until: is before from":      {{"Ada", "north", day(2), day(1)}},
	} {
		if _, err := Together(ids, stays, day(1), day(9)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	if _, err := Together(ids, nil, day(2), day(1)); err == nil || !strings.Contains(err.Error(), "window: ends before") {
		t.Errorf("a window back in time: %v", err)
	}
}

func TestWhatIsCountedAndWhatIsKeptApart(t *testing.T) {
	with := func(place, cause string, undecided bool) Seen {
		return Seen{Encounter: Encounter{"Ada", "Bo", undecided}, Place: place, Cause: cause}
	}
	threat := with("deck", "", true) // without an answer
	counted, apart, err := Sort([]Seen{
		with("food", "", false), with("", "keeper", false), threat, with("gate", "", false), with("", "gate", false), with("pool", "coalition", true),
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(counted) != 2 || counted[1] != threat {
		t.Errorf("counted %+v", counted)
	}
	m := groupSeen(t, "Ada Bo", Encounters(counted)...)
	if m.Decided(0, 1) != 1 || m.Wins[0][1] != 1.5 || m.Wins[1][0] != 0.5 {
		t.Errorf("a win and a threat without an answer are %v", m.Wins)
	}
	want := []string{"a keeper brought it about", "it happened at a gate", "a gate brought it about", "a third animal took part"}
	for i, a := range apart {
		if len(apart) != len(want) || a.Reason != want[i] {
			t.Fatalf("kept apart %+v, want %q", apart, want)
		}
	}
	for want, s := range map[string]Seen{
		`encounter 1: cause "weather" is not known: use keeper`: with("", "weather", false),
		`encounter 1: loser: "Ada" can't meet itself`:           won("Ada", "Ada"),
		"encounter 1: loser: is empty":                          won("Ada", ""),
	} {
		if _, _, err := Sort([]Seen{s}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
