package rules

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// of are so many animals of a kind and sex, all mature.
func of(n int, taxon, sex string) (out []Occupant) {
	for range n {
		out = append(out, Occupant{Taxon: taxon, Sex: sex, Mature: "yes"})
	}
	return out
}

func herd(parts ...[]Occupant) (out []Occupant) {
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

func m(v float64) *float64 { return &v }

func spaceOf(t *testing.T, animals []Occupant, has Extent) Space {
	t.Helper()
	s, err := SpaceFor(animals, has)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// required are dry area, water surface, width and depth.
func required(t *testing.T, animals []Occupant) (out [4]float64) {
	t.Helper()
	for i, measure := range spaceOf(t, animals, Extent{}).Measures {
		out[i] = measure.Required
	}
	return out
}

const (
	californian = "Zalophus californianus"
	harbourSeal = "Phoca vitulina"
	steller     = "Eumetopias jubatus"
	bearded     = "Erignathus barbatus"
	ringed      = "Phoca hispida"
)

// Worked cases S1 to S8 of the formulas of 9 CFR 3.104(d), formulas and lengths
// from memory and to be verified, the arithmetic by hand. Volumes are derived.
func TestSpaceOfWorkedCases(t *testing.T) {
	for name, c := range map[string]struct {
		animals                  []Occupant
		area, width, depth, less float64
		volume                   float64 // 0 where the case has none
	}{
		"S1, one of group I":        {of(1, californian, "female"), 6.125, 2.625, 0.91, 2.1, 5.57375},
		"S2, two of group I":        {herd(of(1, californian, "male"), of(1, californian, "female")), 8.0801, 3.36, 1.12, 2.688, 9.04971},
		"S3, three of group I":      {herd(of(1, harbourSeal, "male"), of(2, harbourSeal, "female")), 7.39, 2.55, 0.91, 2.04, 0},
		"S4, one of group II":       {of(1, bearded, "male"), 15.74381, 3.495, 1.165, 2.796, 0},
		"S5, group I as group II":   {herd(of(2, steller, "male"), of(1, steller, "female")), 31.20884, 4.29, 1.43, 3.432, 44.62864},
		"S6, six of group II":       {of(6, ringed, "male"), 13.66875, 2.025, 0.91, 1.62, 0},
		"S7, seven of group II":     {of(7, ringed, "male"), 15.49125, 2.025, 0.91, 1.62, 0},
		"S8, S5 in another order":   {herd(of(1, steller, "female"), of(2, steller, "male")), 31.20884, 4.29, 1.43, 3.432, 44.62864},
		"one mature male of a kind": {herd(of(1, steller, "male"), of(1, steller, "female")), 2.86*2.86 + 2.4*2.4, 4.29, 1.43, 3.432, 0},
	} {
		got := required(t, c.animals)
		for i, want := range []float64{c.area, c.area, c.width, c.depth} {
			if math.Abs(got[i]-want) > 1e-6 {
				t.Errorf("%s: %v, want area %g, width %g, depth %g", name, got, c.area, c.width, c.depth)
				break
			}
		}
		s := spaceOf(t, c.animals, Extent{Width: m(c.less), Across: m(2*c.width - c.less)})
		if w := s.Measures[2]; w.Standing != Passes || math.Abs(c.less-0.8*c.width) > 1e-9 {
			t.Errorf("%s, a fifth less wide: %+v", name, w)
		}
		if c.volume > 0 && math.Abs(s.Volume-c.volume) > 1e-5 {
			t.Errorf("%s: a volume of %g, want %g", name, s.Volume, c.volume)
		}
		if s.Verified || !strings.Contains(s.Cited, "to be verified") {
			t.Errorf("%s is called verified: %s", name, s.Cited)
		}
	}
}

func TestEnclosuresAgainstTheirMinimum(t *testing.T) {
	two := herd(of(1, californian, "male"), of(1, californian, "female"))
	enough := Extent{WaterArea: m(8.0801), WaterDepth: m(1.12), DryArea: m(8.0801), Width: m(3.36)}
	with := func(change func(*Extent)) Extent { e := enough; change(&e); return e }
	for name, c := range map[string]struct {
		has   Extent
		want  Standing
		words string
	}{
		"just enough":                       {enough, Passes, "2.24² + 1.75²"},
		"a centimetre too shallow":          {with(func(e *Extent) { e.WaterDepth = m(1.11) }), Fails, "depth: 1.12\u00a0m required"},
		"no dry area":                       {with(func(e *Extent) { e.DryArea = m(0) }), Fails, "0\u00a0m² present"},
		"dry area not on record":            {with(func(e *Extent) { e.DryArea = nil }), Undecided, "not on record"},
		"too little water":                  {with(func(e *Extent) { e.WaterArea = m(8) }), Fails, "8\u00a0m² present"},
		"nothing on record":                 {Extent{}, Undecided, ""},
		"narrow, the rest not on record":    {with(func(e *Extent) { e.Width = m(3) }), Undecided, "3.72\u00a0m at a right angle, which is not on record"},
		"narrow and long":                   {with(func(e *Extent) { e.Width, e.Across = m(3), m(3.72) }), Passes, "3.72"},
		"narrow and not long enough":        {with(func(e *Extent) { e.Width, e.Across = m(3), m(3.7) }), Fails, "3.7\u00a0m present"},
		"too narrow, however long":          {with(func(e *Extent) { e.Width, e.Across = m(2.6), m(9) }), Fails, ""},
		"fails, though not all is known":    {Extent{WaterDepth: m(0.5)}, Fails, ""},
		"just enough, and far more of some": {with(func(e *Extent) { e.WaterArea, e.WaterDepth = m(500), m(6) }), Passes, ""},
	} {
		s := spaceOf(t, two, c.has)
		var words []string
		for _, measure := range s.Measures {
			words = append(words, measure.Words)
		}
		if s.Standing != c.want || !strings.Contains(strings.Join(words, "\n"), c.words) {
			t.Errorf("%s: %s\n%s", name, s.Standing, strings.Join(words, "\n"))
		}
		if fails := strings.Contains(strings.Join(s.Notes, ""), "attending veterinarian each week, by 9 CFR 3.104(a)"); fails != (c.want == Fails) {
			t.Errorf("%s: %v", name, s.Notes)
		}
	}
}

func TestWhatOfAnimalsIsNotKnown(t *testing.T) {
	unknown := of(1, californian, "unknown")
	if s := spaceOf(t, unknown, Extent{}); math.Abs(s.Measures[2].Required-3.36) > 1e-9 || !strings.Contains(s.Notes[0], "sex") {
		t.Errorf("of unknown sex: %+v", s)
	}
	bulls := of(2, steller, "male")
	bulls[0].Mature, bulls[1].Mature = "", "yes"
	if s := spaceOf(t, bulls, Extent{}); math.Abs(s.Measures[0].Required-2.9*2.86*2.86) > 1e-9 || !strings.Contains(s.Notes[0], "the stricter way is taken") {
		t.Errorf("maybe mature: %+v", s)
	}
	bulls[0].Mature = "no"
	if s := spaceOf(t, bulls, Extent{}); math.Abs(s.Measures[0].Required-2*2.86*2.86) > 1e-9 || len(s.Notes) != 0 {
		t.Errorf("one is too young: %+v", s)
	}
	mixed := herd(of(2, harbourSeal, "female"), of(2, ringed, "male"))
	if s := spaceOf(t, mixed, Extent{}); math.Abs(s.Measures[0].Required-(2*1.5*1.5+2.9*1.35*1.35)) > 1e-9 || !strings.Contains(s.Notes[0], "uncertain") {
		t.Errorf("both groups: %+v", s)
	}
	if s := spaceOf(t, of(1, "Otaria byronia", "male"), Extent{}); s.Standing != Undecided || !strings.Contains(s.NotEnough, `no adult length of "Otaria byronia"`) {
		t.Errorf("not in the table: %+v", s)
	}
	given := []Occupant{{Taxon: "Otaria byronia", Sex: "male", Length: 2.4, Group: 1}}
	if s := spaceOf(t, given, Extent{}); math.Abs(s.Measures[0].Required-2*2.4*2.4) > 1e-9 {
		t.Errorf("with a length of its own: %+v", s)
	}
	given[0].Mature = "yes"
	if s := spaceOf(t, append(given, given...), Extent{}); math.Abs(s.Measures[0].Required-2.9*2.4*2.4) > 1e-9 || !strings.Contains(s.Notes[0], "stricter way") {
		t.Errorf("two males of a kind that may be marked: %+v", s)
	}
	if s := spaceOf(t, nil, Extent{}); !strings.Contains(s.NotEnough, "no animal") {
		t.Errorf("empty: %+v", s)
	}
	for want, bad := range map[string]func() error{
		"length: -1": func() error { _, err := SpaceFor([]Occupant{{Length: -1}}, Extent{}); return err },
		"group: 3":   func() error { _, err := SpaceFor([]Occupant{{Group: 3}}, Extent{}); return err },
		"dry_area":   func() error { _, err := SpaceFor(given, Extent{DryArea: m(-1)}); return err },
		"width":      func() error { _, err := SpaceFor(given, Extent{Width: m(math.NaN())}); return err },
	} {
		if err := bad(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
}

// Another animal never makes the minimum smaller, the order never matters, and
// group II is never smaller than group I. A single animal of a group is reckoned
// as two of its size, so a smaller one beside it does make the area smaller: that
// is how the formulas are remembered, and it is not held against them.
func TestSpaceGrowsWithItsAnimals(t *testing.T) {
	kinds := []string{californian, harbourSeal, steller, bearded, ringed}
	rapid.Check(t, func(t *rapid.T) {
		draw := rapid.Custom(func(t *rapid.T) Occupant {
			return Occupant{
				Taxon: rapid.SampledFrom(kinds).Draw(t, "kind"), Sex: rapid.SampledFrom([]string{"female", "male", "unknown"}).Draw(t, "sex"),
				Mature: rapid.SampledFrom([]string{"yes", "no", ""}).Draw(t, "mature"),
			}
		})
		animals := rapid.SliceOfN(draw, 1, 9).Draw(t, "animals")
		of := func(animals []Occupant) Space {
			s, err := SpaceFor(animals, Extent{})
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		was, shuffled := of(animals), of(rapid.Permutation(animals).Draw(t, "shuffled"))
		more := of(append(animals[:len(animals):len(animals)], draw.Draw(t, "newcomer")))
		ofTwo := 0
		for _, a := range animals {
			if a.Taxon == bearded || a.Taxon == ringed {
				ofTwo++
			}
		}
		single := ofTwo == 1 || len(animals)-ofTwo == 1
		for i, measure := range was.Measures {
			if math.Abs(shuffled.Measures[i].Required-measure.Required) > 1e-9 {
				t.Fatalf("%s %g, shuffled %g", measure.What, measure.Required, shuffled.Measures[i].Required)
			}
			if area := i < 2; !(area && single) && more.Measures[i].Required < measure.Required-1e-9 {
				t.Fatalf("%s %g, with one more %g", measure.What, measure.Required, more.Measures[i].Required)
			}
		}
	})
	for n := 2; n < 9; n++ {
		one, two := make([]Occupant, n), make([]Occupant, n)
		for i := range one {
			one[i], two[i] = Occupant{Taxon: "x", Sex: "female", Length: 2, Group: 1}, Occupant{Taxon: "x", Sex: "female", Length: 2, Group: 2}
		}
		if a, b := required(t, one)[0], required(t, two)[0]; b < a {
			t.Errorf("%d of group II need %g, of group I %g", n, b, a)
		}
	}
}
