package dominance

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// allOver has each animal win so often over each that follows it.
func allOver(times int, ids string) (out []Encounter) {
	names := strings.Fields(ids)
	for i, winner := range names {
		for _, loser := range names[i+1:] {
			out = append(out, repeat(times, winner, loser)...)
		}
	}
	return out
}

func judged(t *testing.T, e Evidence) Verdict {
	t.Helper()
	v, err := Judge(e)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func gates(v Verdict) (out []string) {
	for _, g := range v.Failed {
		out = append(out, g.Name)
	}
	return out
}

const six = "Ada Bo Cy Dot Eve Fin"

func TestTheGatesOfAnOrder(t *testing.T) {
	cases := map[string]struct {
		ids        string
		encounters []Encounter
		state      State
		failed     []string
	}{
		"six that met often and always alike": {six, allOver(8, six), Supported, nil},
		"four encounters of each pair":        {"Ada Bo Cy Dot", allOver(4, "Ada Bo Cy Dot"), Provisional, []string{"encounters"}},
		"one that was never seen to meet":     {six, allOver(20, "Ada Bo Cy Dot Eve"), NoOrder, []string{"decided", "linked", "unseen pairs", "encounters"}},
		"one that only ever drew":             {"Ada Bo Cy", append(allOver(30, "Ada Bo"), Encounter{"Ada", "Cy", true}, Encounter{"Bo", "Cy", true}), NoOrder, []string{"decided", "encounters"}},
		"a chain of neighbours":               {six, slices.Concat(repeat(30, "Ada", "Bo"), repeat(30, "Bo", "Cy"), repeat(30, "Cy", "Dot"), repeat(30, "Dot", "Eve"), repeat(30, "Eve", "Fin")), NoOrder, []string{"unseen pairs"}},
		"neighbours who win by turns":         {"Ada Bo Cy", slices.Concat(allOver(12, "Ada Bo Cy"), repeat(12, "Bo", "Ada")), Provisional, []string{"neighbours"}},
		"two halves that nothing links":       {"Ada Bo Cy Dot", slices.Concat(repeat(30, "Ada", "Bo"), repeat(30, "Cy", "Dot")), NoOrder, []string{"unseen pairs", "linked"}},
		"one of four pairs in ten unseen":     {"Ada Bo Cy Dot", slices.Concat(allOver(20, "Ada Bo Cy"), repeat(20, "Cy", "Dot")), Provisional, []string{"unseen pairs"}},
		"many encounters, but few of one":     {"Ada Bo Cy", slices.Concat(repeat(60, "Ada", "Bo"), repeat(4, "Bo", "Cy"), repeat(4, "Ada", "Cy")), Provisional, []string{"encounters"}},
	}
	for name, c := range cases {
		v := judged(t, Evidence{Matrix: groupSeen(t, c.ids, c.encounters...)})
		if v.State != c.state || !slices.Equal(gates(v), c.failed) {
			t.Errorf("%s: %s for %q, want %s for %q", name, v.State, v.Failed, c.state, c.failed)
		}
		if (len(v.Order) == 0) != (v.State == NoOrder) {
			t.Errorf("%s: %s with the order %v", name, v.State, v.Order)
		}
		if v.State == NoOrder && !strings.HasPrefix(v.Sentence, "No order yet: "+v.Failed[0].Why) {
			t.Errorf("%s: %q", name, v.Sentence)
		}
	}
}

func TestASupportedOrderIsRead(t *testing.T) {
	v := judged(t, Evidence{Matrix: groupSeen(t, "Fin Eve Dot Cy Bo Ada", allOver(8, six)...), When: "since 2026-05-01"})
	if v.Sentence != "The order since 2026-05-01 is supported: Ada, Bo, Cy, Dot, Eve, Fin." || len(v.Watch) != 0 {
		t.Errorf("%q, watch %v", v.Sentence, v.Watch)
	}
}

func TestGroupsTooSmallForAnOrder(t *testing.T) {
	for want, m := range map[string]Matrix{
		"This group has no animals.":                                               groupSeen(t, ""),
		"Ada is alone in this group; one animal has no order.":                     groupSeen(t, "Ada"),
		"Ada and Bo were not seen to meet since 2026-05-01.":                       groupSeen(t, "Ada Bo"),
		"Ada over Bo, 8–1 since 2026-05-01.":                                       groupSeen(t, "Bo Ada", append(repeat(8, "Ada", "Bo"), repeat(1, "Bo", "Ada")...)...),
		"Ada and Bo are even, 1–1, 1 undecided since 2026-05-01.":                  groupSeen(t, "Ada Bo", Encounter{"Ada", "Bo", false}, Encounter{"Bo", "Ada", false}, Encounter{"Bo", "Ada", true}),
		"No encounter was seen since 2026-05-01, so nothing is known of an order.": groupSeen(t, "Ada Bo Cy"),
	} {
		e := Evidence{Matrix: m, When: "since 2026-05-01"}
		if v := judged(t, e); v.Sentence != want {
			t.Errorf("%q, want %q", v.Sentence, want)
		}
		if said, err := Straightness(e, 100, 1); err != nil || strings.Contains(said, "h'") {
			t.Errorf("of linearity: %q, %v", said, err)
		}
	}
}

func TestPairsNeverTogetherAreNoGap(t *testing.T) {
	m := groupSeen(t, "Ada Bo Cy Dot", slices.Concat(allOver(30, "Ada Bo Cy"), repeat(30, "Cy", "Dot"))...)
	hour := time.Hour
	together := [][]time.Duration{{0, hour, hour, 0}, {hour, 0, hour, hour}, {hour, hour, 0, hour}, {0, hour, hour, 0}}
	v := judged(t, Evidence{Matrix: m, Together: together})
	if want := []Match{{"Ada", "Dot", "never together"}}; !reflect.DeepEqual(v.Pairs.Never, want) {
		t.Errorf("never together: %v", v.Pairs.Never)
	}
	if want := []Match{{"Bo", "Dot", "together but never seen to meet"}}; !reflect.DeepEqual(v.Watch, want) {
		t.Errorf("to watch: %v", v.Watch)
	}
	if v.Pairs.Lived != 5 || math.Abs(v.Pairs.Unknown()-0.2) > 1e-12 || v.State != Supported {
		t.Errorf("%s with %+v", v.State, v.Pairs)
	}
	if all := judged(t, Evidence{Matrix: m}); all.State != Provisional || len(all.Watch) != 2 {
		t.Errorf("all together: %s, watch %v", all.State, all.Watch)
	}
}

func TestWhatIsSaidOfLinearity(t *testing.T) {
	cases := map[string]struct {
		ids        string
		encounters []Encounter
		want       string
	}{
		"a perfect order of five":   {"Ada Bo Cy Dot Eve", allOver(20, "Ada Bo Cy Dot Eve"), "No figure for linearity: with 5 animals even a perfect order comes about by chance with p = 0.117."},
		"a perfect order of six":    {six, allOver(20, six), "The order is more linear than chance would make it: h' = 1.00, p = 0.022, 0 % of pairs unseen."},
		"six, seldom seen":          {six, allOver(1, six), "No figure for linearity: 15 encounters of 6 animals are 2.5 an animal; 10 are wanted."},
		"six of whom one is unseen": {six, allOver(20, "Ada Bo Cy Dot Eve"), "No figure for linearity: no decided encounter of Fin."},
	}
	for name, c := range cases {
		got, err := Straightness(Evidence{Matrix: groupSeen(t, c.ids, c.encounters...)}, 100, 1)
		if err != nil || got != c.want {
			t.Errorf("%s: %q (%v), want %q", name, got, err, c.want)
		}
	}
}

// Whatever is seen of up to five animals, nothing is called linear.
func TestFiveOrFewerAreNeverCalledLinear(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		ids := strings.Fields(six)[:rapid.IntRange(0, 5).Draw(rt, "animals")]
		m := empty(ids)
		for i := range ids {
			for j := range i {
				m.Wins[i][j], m.Wins[j][i] = float64(rapid.IntRange(0, 90).Draw(rt, "won")), float64(rapid.IntRange(0, 90).Draw(rt, "lost"))
			}
		}
		said, err := Straightness(Evidence{Matrix: m}, 100, 1)
		if err != nil || strings.Contains(said, "h'") || strings.Contains(said, "more linear") {
			rt.Fatalf("%q, %v", said, err)
		}
	})
}

// Names and the order that animals are listed in decide nothing.
func TestAVerdictDoesNotDependOnTheListing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var encounters []Encounter
		for _, s := range meetings.Draw(rt, "encounters") {
			encounters = append(encounters, s.Encounter)
		}
		other := rapid.Permutation(strings.Fields(six)).Draw(rt, "listing")
		a, b := judged(t, Evidence{Matrix: groupSeen(t, six, encounters...)}), judged(t, Evidence{Matrix: groupSeen(t, strings.Join(other, " "), encounters...)})
		if a.State != b.State || !slices.Equal(gates(a), gates(b)) || len(a.Watch) != len(b.Watch) {
			rt.Fatalf("%s %v, listed otherwise %s %v", a.State, a.Failed, b.State, b.Failed)
		}
	})
}

func TestEvidenceThatDoesNotFitIsRefused(t *testing.T) {
	m := groupSeen(t, "Ada Bo")
	hour := time.Hour
	for want, together := range map[string][][]time.Duration{
		"together: 1 rows for 2 animals":                 {{0, hour}},
		`together: the row of "Bo" does not have 2 colu`: {{0, hour}, {hour}},
		"together: is not the same both ways":            {{0, hour}, {0, 0}},
	} {
		if _, err := Judge(Evidence{Matrix: m, Together: together}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

func TestEveryAssumptionNamesItsSource(t *testing.T) {
	if assumptions.Dated == "" || len(assumptions.Constants) == 0 {
		t.Fatal("the file is empty or not dated")
	}
	for key, c := range assumptions.Constants {
		if c.Name == "" || c.Unit == "" || c.Source == "" || !(c.Low <= c.Value && c.Value <= c.High) || c.Low <= 0 {
			t.Errorf("%s is %+v", key, c)
		}
		if doubt := strings.Contains(c.Source, "assumption:") || strings.Contains(c.Source, "no source"); doubt && c.Verified {
			t.Errorf("%s is called verified: %s", key, c.Source)
		}
	}
}

// The bonobos of de Vries et al. 2006: by David's score Ko stands above Re, by
// their abilities below.
func TestNeighboursWhoseAbilitiesCrossAreNotCalledAlike(t *testing.T) {
	v := judged(t, Evidence{Matrix: readVector(t, "bonobos_devries2006.json").group(t)})
	last := v.Failed[len(v.Failed)-1]
	if last.Name != neighbours || !strings.Contains(last.Why, "score and abilities put Ko and Re in different order") {
		t.Errorf("the gates are %+v", v.Failed)
	}
}

func TestTheBestOrdersAreAsManyAsAreCounted(t *testing.T) {
	for _, name := range []string{"devries1998_fictional.json", "matrix_archie_2006f.json", "edge_cycle_3.json"} {
		m := readVector(t, name).group(t)
		best, err := m.InconsistenciesAndStrengths()
		if err != nil {
			t.Fatal(err)
		}
		all, err := m.BestOrders(1000)
		if err != nil || uint64(len(all)) != best.Orders {
			t.Errorf("%s: %d orders are listed, %d counted, %v", name, len(all), best.Orders, err)
		}
		for i, order := range all {
			inconsistent, strength := 0, 0
			for at, lower := range order {
				for above, higher := range order[:at] {
					if m.Dominates(lower, higher) {
						inconsistent, strength = inconsistent+1, strength+at-above
					}
				}
			}
			if inconsistent != best.I || strength != best.SI {
				t.Errorf("%s, order %d: %d and %d; the best have %d and %d", name, i, inconsistent, strength, best.I, best.SI)
			}
			for _, other := range all[:i] {
				if slices.Equal(order, other) {
					t.Errorf("%s: %v is listed twice", name, order)
				}
			}
		}
		if few, _ := m.BestOrders(1); len(few) != 1 {
			t.Errorf("%s: of one order %d are listed", name, len(few))
		}
	}
}
