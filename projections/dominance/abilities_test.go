package dominance

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
)

func groupSeen(t *testing.T, ids string, encounters ...Encounter) Matrix {
	t.Helper()
	m, err := FromEvents(strings.Fields(ids), encounters)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func repeat(times int, winner, loser string) []Encounter {
	return slices.Repeat([]Encounter{{Winner: winner, Loser: loser}}, times)
}

func abilitiesOf(t *testing.T, m Matrix) Abilities {
	t.Helper()
	a, err := m.BradleyTerry()
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestWhyThereAreNoLikeliestAbilities(t *testing.T) {
	cases := map[string]Matrix{
		"fewer than two animals":                        groupSeen(t, "Ada"),
		"Ada never yielded to any of the others":        groupSeen(t, "Ada Bo Cy", Encounter{"Ada", "Bo", false}, Encounter{"Bo", "Cy", false}, Encounter{"Cy", "Bo", false}),
		"Cy never met any of the others":                groupSeen(t, "Ada Bo Cy", Encounter{"Ada", "Bo", true}),
		"Bo, Cy never yielded to any of the others":     groupSeen(t, "Ada Bo Cy Dot", Encounter{"Bo", "Cy", true}, Encounter{"Cy", "Ada", false}, Encounter{"Ada", "Dot", false}, Encounter{"Dot", "Ada", false}),
		"so nothing compares them: use those with a pr": groupSeen(t, "Ada Bo"),
	}
	for want, m := range cases {
		if _, err := m.Likeliest(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
		if _, err := m.BradleyTerry(); err != nil {
			t.Errorf("with a prior: %v", err)
		}
	}
}

// Two animals, 3 to 1: the likeliest odds are 3, and the standard error of their
// logarithm is √(1/3 + 1/1), as for any count of two outcomes.
func TestLikeliestAbilitiesOfTwoInClosedForm(t *testing.T) {
	m := groupSeen(t, "Ada Bo", append(repeat(3, "Ada", "Bo"), repeat(1, "Bo", "Ada")...)...)
	a, err := m.Likeliest()
	if err != nil {
		t.Fatal(err)
	}
	if d := a.Log[0] - a.Log[1]; math.Abs(d-math.Log(3)) > 1e-9 {
		t.Errorf("the difference is %v, want ln 3", d)
	}
	if e := a.Error(0, 1); math.Abs(e-math.Sqrt(4.0/3)) > 1e-9 {
		t.Errorf("its error is %v, want √(4/3)", e)
	}
}

// Before anything is seen the prior is one win and one loss against a ghost: its
// information at 0 is 2·¼, so the interval is ±1.645·√2.
func TestAnAnimalNeverSeenHasAWideInterval(t *testing.T) {
	a := abilitiesOf(t, groupSeen(t, "Ada Bo"))
	low, high := a.Interval(0)
	if math.Abs(high-1.6449*math.Sqrt2) > 1e-3 || low != -high || a.Above(0, 1) != 0.5 {
		t.Errorf("%v to %v, above by %v", low, high, a.Above(0, 1))
	}
}

func TestTenThousandToNoneStillSettles(t *testing.T) {
	a := abilitiesOf(t, groupSeen(t, "Ada Bo Cy", slices.Concat(repeat(10000, "Ada", "Bo"), repeat(10000, "Bo", "Cy"))...))
	if !(a.Log[0] > a.Log[1] && a.Log[1] > a.Log[2]) || math.Abs(a.Log[1]) > 1e-6 || a.Above(0, 2) < 0.99 {
		t.Errorf("abilities %v", a.Log)
	}
}

func TestPlacesOfAnUnknownGroupAreAllOpen(t *testing.T) {
	open := func(ids string, encounters ...Encounter) []Place {
		p, err := abilitiesOf(t, groupSeen(t, ids, encounters...)).Places(4000, 3)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	for _, p := range open("Ada Bo Cy") {
		if p.First != 1 || p.Last != 3 {
			t.Errorf("unseen: %+v", p)
		}
	}
	clear := open("Ada Bo Cy", slices.Concat(repeat(60, "Ada", "Bo"), repeat(60, "Bo", "Cy"), repeat(60, "Ada", "Cy"))...)
	want := []Place{{"Ada", 1, 1, 1}, {"Bo", 2, 2, 2}, {"Cy", 3, 3, 3}}
	if !reflect.DeepEqual(clear, want) {
		t.Errorf("after 180 encounters %+v, want %+v", clear, want)
	}
	if _, err := abilitiesOf(t, groupSeen(t, "Ada")).Places(0, 1); err == nil || !strings.Contains(err.Error(), "draws: 0: give one") {
		t.Errorf("no draws: %v", err)
	}
}

// Only computed: 3–0 gives 0.9375 and 5–0 gives 0.984, the closed sums
// 1 - 1/2^4 and 1 - 1/2^6.
func TestComputedDirectionOfAPair(t *testing.T) {
	for _, c := range []struct{ won, lost, want float64 }{{3, 0, 15.0 / 16}, {5, 0, 63.0 / 64}, {0, 0, 0.5}, {2, 2, 0.5}, {0.5, 0.5, 0.5}, {0, 3, 1.0 / 16}} {
		got, err := Direction(c.won, c.lost)
		if err != nil || math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g–%g is %v (%v), want %v", c.won, c.lost, got, err, c.want)
		}
	}
	if _, err := Direction(-1, 0); err == nil || !strings.Contains(err.Error(), "give counts from zero") {
		t.Errorf("-1 wins: %v", err)
	}
}

// With 1 won of 1 the chance to win has density 2x: its 5th and 95th hundredths
// are √0.05 and √0.95.
func TestThePairOfTwoAnimals(t *testing.T) {
	m := groupSeen(t, "Ada Bo Cy", Encounter{"Ada", "Bo", false})
	p := m.Pair(0, 1)
	if p.A != "Ada" || p.B != "Bo" || p.Won != 1 || p.Lost != 0 || p.Direction != 0.75 {
		t.Errorf("%+v", p)
	}
	if math.Abs(p.Low-math.Sqrt(0.05)) > 1e-9 || math.Abs(p.High-math.Sqrt(0.95)) > 1e-9 {
		t.Errorf("%v to %v", p.Low, p.High)
	}
	if p := m.Pair(0, 2); p.Direction != 0.5 || math.Abs(p.Low-0.05) > 1e-9 || math.Abs(p.High-0.95) > 1e-9 {
		t.Errorf("never met: %+v", p)
	}
}
