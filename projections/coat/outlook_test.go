package coat

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
)

// molting is a coat year's scores: none a week before the onset, a stage from
// there to all new, at even steps over so many days.
func molting(onset Day, days float64, facility string) (out []Score) {
	out = append(out, Score{Day: onset - 30}, Score{Day: onset - 14}, Score{Day: onset - 7})
	for _, percent := range []float64{4, 20, 40, 60, 80, 95, 100} {
		out = append(out, Score{Day: onset + Day(days*percent/100), Least: percent, Most: percent})
	}
	for i := range out {
		out[i].Day, out[i].Facility = Day(math.Round(float64(out[i].Day))), facility
	}
	return out
}

func bornOn(d Day) *Day { return &d }

// cow is a grown female that molted in each of some years about a day of August.
func cow(id string, from, to, august int) Animal {
	a := Animal{ID: id, Taxon: "Otaria byronia", Sex: "female", Born: bornOn(On(2010, 6, 15)), Grown: 4}
	for year := from; year <= to; year++ {
		a.Scores = append(a.Scores, molting(On(year, time.August, august), 80, "harbour")...)
	}
	return a
}

func outlooks(t *testing.T, today string, animals ...Animal) []Outlook {
	t.Helper()
	out, err := Outlooks(animals, map[string]string{"harbour": "north"}, day(t, today))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// also gives an animal further scores.
func also(t *testing.T, a Animal, lines string) Animal {
	t.Helper()
	a.Scores = slices.Clone(a.Scores)
	for _, s := range scored(t, lines) {
		s.Facility = "harbour"
		a.Scores = append(a.Scores, s)
	}
	return a
}

func TestStandings(t *testing.T) {
	four := cow("Ada", 2022, 2025, 10)
	for name, c := range map[string]struct {
		animal Animal
		today  string
		word   Word
		words  string
	}{
		"not begun, before its time":    {also(t, four, "2026-07-01 0"), "2026-07-01", AsExpected, "not begun; expected 9 in 10 between"},
		"began in its time":             {also(t, four, "2026-08-01 0\n2026-08-10 1"), "2026-08-11", AsExpected, "began between 1 August 2026 and 10 August 2026"},
		"began seven weeks before":      {also(t, four, "2026-06-10 0\n2026-06-20 1"), "2026-06-21", Early, "expected"},
		"began seven weeks after":       {also(t, four, "2026-09-22 0\n2026-09-29 1"), "2026-09-30", Late, "expected"},
		"not begun, after its time":     {also(t, four, "2026-09-25 0"), "2026-09-26", Late, "no new coat on 25 September 2026"},
		"after its time and not scored": {also(t, four, "2026-07-25 0"), "2026-09-26", NotEnough, "not scored since 25 July 2026"},
		"never scored in the year":      {four, "2026-09-26", NotEnough, "Score it"},
		"seen first when half was new":  {also(t, four, "2026-09-25 3"), "2026-09-26", NotEnough, "too far apart"},
		"scores far apart":              {also(t, four, "2026-06-01 0\n2026-09-25 3"), "2026-09-26", NotEnough, "too far apart"},
		"one figure for seven weeks":    {also(t, four, "2026-08-01 0\n2026-08-10 20%\n2026-09-01 25%\n2026-09-28 25%"), "2026-09-28", Stalled, "for 49 days"},
		"one stage, as long as it may":  {also(t, four, "2026-08-01 0\n2026-08-10 1\n2026-08-18 2\n2026-09-15 2"), "2026-09-15", AsExpected, "began"},
		"one stage for too long":        {also(t, four, "2026-08-01 0\n2026-08-10 1\n2026-08-18 2\n2026-10-20 2"), "2026-10-20", Stalled, "10 to 50 % of new coat since 18 August 2026"},
		"in molt for half a year":       {also(t, four, "2026-08-01 0\n2026-08-10 1\n2026-10-05 3\n2026-11-20 4\n2026-12-25 4"), "2026-12-25", Stalled, "tell the veterinarian"},
		"one molt on record":            {also(t, cow("Ada", 2025, 2025, 10), "2026-07-01 0"), "2026-07-01", NotEnough, "1 molt with a known onset on record as adult female; an expectation of its own needs 2"},
		"no molt on record":             {also(t, cow("Ada", 2025, 2024, 10), "2026-07-01 0"), "2026-07-01", NotEnough, "0 molts"},
		"never scored":                  {cow("Ada", 2025, 2024, 10), "2026-07-01", NotEnough, "never scored"},
		"all new when first looked at":  {also(t, four, "2027-01-01 0\n2027-04-01 5\n2027-04-11 5"), "2027-04-12", NotEnough, ""},
	} {
		o := outlooks(t, c.today, c.animal)[0]
		if o.Standing.Word != c.word || !strings.Contains(o.Standing.Words, c.words) {
			t.Errorf("%s: %s: %s", name, o.Standing.Word, o.Standing.Words)
		}
	}
}

func TestAnAnimalBeginsWithItsClass(t *testing.T) {
	herd := []Animal{cow("Ada", 2022, 2025, 10), cow("Bo", 2022, 2025, 12), cow("Cy", 2022, 2025, 8), also(t, cow("Dot", 2025, 2025, 28), "2026-07-01 0")}
	o := outlooks(t, "2026-07-01", herd...)[3]
	if o.Own != 1 || o.Expected != nil || o.OfClass == nil || !strings.HasPrefix(o.NotEnough, "1 molt with") {
		t.Fatalf("%+v", o)
	}
	if o.OfClass.Likely < On(2026, 8, 5) || o.OfClass.Likely > On(2026, 8, 18) {
		t.Errorf("her class begins about %s", o.OfClass.Likely)
	}
	herd[3] = also(t, cow("Dot", 2022, 2025, 28), "2026-07-01 0")
	own := outlooks(t, "2026-07-01", herd...)[3]
	if own.Own != 4 || own.Expected == nil || own.Expected.Likely < On(2026, 8, 25) || own.Expected.Likely > On(2026, 9, 1) {
		t.Errorf("with four of her own she begins about %v", own.Expected)
	}
	alone := outlooks(t, "2026-07-01", herd[3])[0]
	if alone.OfClass != nil {
		t.Errorf("a class of one: %v", alone.OfClass)
	}
	if own.Next == nil || *own.Next != *own.Expected {
		t.Errorf("next is %v, expected %v", own.Next, own.Expected)
	}
}

// An onset between scores six weeks apart says less than one between scores a
// week apart.
func TestRareScoresWidenTheInterval(t *testing.T) {
	often, rarely := Animal{ID: "Ada"}, Animal{ID: "Ada"}
	for _, year := range []string{"2022", "2023", "2024", "2025"} {
		often = also(t, often, year+"-08-07 0\n"+year+"-08-14 10%\n"+year+"-10-14 100%")
		rarely = also(t, rarely, year+"-07-21 0\n"+year+"-08-31 10%\n"+year+"-10-14 100%")
	}
	width := func(a Animal) float64 {
		o := outlooks(t, "2026-07-01", a)[0]
		return float64(o.Expected.Hi - o.Expected.Lo)
	}
	if a, b := width(often), width(rarely); b < a+2 {
		t.Errorf("%.1f d by scores a week apart, %.1f d by scores six weeks apart", a, b)
	}
}

func TestAfterAnOnsetTheNextIsNextYears(t *testing.T) {
	o := outlooks(t, "2026-08-20", also(t, cow("Ada", 2022, 2025, 10), "2026-08-01 0\n2026-08-10 1\n2026-08-20 2"))[0]
	if o.Next == nil || o.Next.Likely.Year() != 2027 || o.Expected.Likely.Year() != 2026 || o.End == nil {
		t.Fatalf("next %v, expected %v, end %v", o.Next, o.Expected, o.End)
	}
	if lasts := float64(o.End.Likely - o.Years[len(o.Years)-1].Onset.Likely); math.Abs(lasts-80*0.9) > 8 {
		t.Errorf("it is expected to last %.0f d; those before took 72 from 5 to 95 %%", lasts)
	}
	if o := outlooks(t, "2026-09-26", also(t, cow("Ada", 2022, 2025, 10), "2026-09-25 3"))[0]; o.End != nil {
		t.Errorf("an end is expected of a molt whose onset was not seen: %v", o.End)
	}
	if o.End.Lo >= o.End.Likely || o.End.Hi <= o.End.Likely {
		t.Errorf("ends %+v", o.End)
	}
}

// An age class molts at its own time (Daniel 2003: weeks apart), so a first year
// as an adult has no expectation of its own yet.
func TestClassesAreNotMixed(t *testing.T) {
	a := cow("Ada", 2022, 2025, 10)
	a.Born = bornOn(On(2022, 6, 15))
	o := outlooks(t, "2026-07-01", also(t, a, "2026-07-01 0"))[0]
	if o.Class.Age != "adult" || o.Own != 0 || !strings.Contains(o.NotEnough, "as adult female") {
		t.Errorf("%+v: %s", o.Class, o.NotEnough)
	}
	for born, want := range map[Day]string{On(2026, 6, 1): "pup", On(2024, 6, 1): "young"} {
		a.Born = bornOn(born)
		if o := outlooks(t, "2026-07-01", a)[0]; o.Class.Age != want {
			t.Errorf("born on %s: %+v", born, o.Class)
		}
	}
	a.Born = nil
	if o := outlooks(t, "2026-07-01", a)[0]; o.Class.Age != "" || o.Own != 4 {
		t.Errorf("of unknown age: %+v, %d of her own", o.Class, o.Own)
	}
	moved := also(t, cow("Ada", 2022, 2025, 10), "2026-07-01 0")
	moved.Scores[len(moved.Scores)-1].Facility = "bay"
	if o := outlooks(t, "2026-07-01", moved)[0]; o.Class.Facility != "bay" || o.Own != 0 {
		t.Errorf("after a move: %+v, %d of her own", o.Class, o.Own)
	}
}

func TestSouthernMoltsOverNewYear(t *testing.T) {
	a := Animal{ID: "Kai", Taxon: "Phocarctos hookeri", Sex: "male"}
	for _, onset := range []Day{On(2021, 12, 28), On(2023, 1, 4), On(2023, 12, 30), On(2025, 1, 2)} {
		a.Scores = append(a.Scores, molting(onset, 60, "bay")...)
	}
	o, err := Outlooks([]Animal{a}, map[string]string{"bay": "south"}, On(2025, 11, 1))
	if err != nil {
		t.Fatal(err)
	}
	if got := o[0].Expected; got == nil || got.Likely < On(2025, 12, 24) || got.Likely > On(2026, 1, 8) {
		t.Errorf("expected about %v", got)
	}
	if o[0].Turns < 6 || o[0].Turns > 8 || len(o[0].Years) != 5 {
		t.Errorf("%d coat years that turn in %s", len(o[0].Years), o[0].Turns)
	}
	if o[0].Practice == nil || len(o[0].Practice) != 0 {
		t.Errorf("northern practice said of the south: %v", o[0].Practice)
	}
}

// Steller sea lions, adult females: 7 August on average, Daniel 2003.
func TestWhatIsPublishedCountsBesideTheRecord(t *testing.T) {
	a := cow("Ada", 2024, 2025, 30)
	a.Taxon = "Eumetopias jubatus"
	here, err := Outlooks([]Animal{a}, map[string]string{"harbour": "north"}, On(2026, 7, 1))
	if err != nil {
		t.Fatal(err)
	}
	unknown, err := Outlooks([]Animal{a}, nil, On(2026, 7, 1))
	if err != nil {
		t.Fatal(err)
	}
	if h, u := here[0].Expected, unknown[0].Expected; h.Likely >= u.Likely || u.Likely-h.Likely > 6 {
		t.Errorf("with what is published %s, without %s", h.Likely, u.Likely)
	}
	if p := Published("Eumetopias jubatus"); len(p) != 4 || p[1].Onset != "08-07" || !p[1].Verified {
		t.Errorf("%+v", p)
	}
	if p := Published("Otaria byronia"); len(p) != 0 {
		t.Errorf("nothing was found on South American sea lions: %v", p)
	}
	if turn, ok := publishedOnset(Class{Taxon: "Eumetopias jubatus", Sex: "female", Age: "adult"}, "south"); ok {
		t.Errorf("a northern date holds in the south: %v", turn)
	}
	if days, _ := publishedDays(Class{Taxon: "Eumetopias jubatus", Sex: "female", Age: "adult"}); days != 83.5 {
		t.Errorf("in human care a molt lasts %v d", days)
	}
	for sex, month := range map[string]time.Month{"female": time.August, "male": time.October} {
		if p := Practices(sex, "north"); len(p) != 1 || p[0].Month != month || p[0].Verified || p[0].Source != "common practice, no source" {
			t.Errorf("%s: %+v", sex, p)
		}
	}
}

// With no molt of the class on record, how long one may last is what is
// published: 83.5 d of Steller sea lions in human care, Daniel 2003.
func TestAFirstMoltCanStallByWhatIsPublished(t *testing.T) {
	first := also(t, Animal{ID: "Ada", Taxon: "Eumetopias jubatus"}, "2026-08-01 0\n2026-08-10 1\n2026-08-18 2")
	for lines, want := range map[string]Word{"2026-09-18 2": NotEnough, "2026-11-20 2": Stalled} {
		o := outlooks(t, "2026-11-21", also(t, first, lines))[0]
		if o.Standing.Word != want || want == Stalled && !strings.Contains(o.Standing.Words, "as published: human care") || o.End != nil {
			t.Errorf("%s: %+v, ends %v", lines, o.Standing, o.End)
		}
	}
	other := also(t, first, "2026-11-20 2")
	other.Taxon = "Otaria byronia"
	if o := outlooks(t, "2026-11-21", other)[0]; o.Standing.Word != NotEnough {
		t.Errorf("nothing says how long it lasts: %+v", o.Standing)
	}
}

func TestEveryConstantNamesItsSource(t *testing.T) {
	weak := func(source string) bool {
		for _, word := range []string{"memory", "assumption", "no source", "weak source"} {
			if strings.Contains(source, word) {
				return true
			}
		}
		return false
	}
	for key, c := range reference.Constants {
		if c.Name == "" || c.Unit == "" || c.Source == "" || c.Value < c.Low || c.Value > c.High || c.Verified && weak(c.Source) {
			t.Errorf("%s: %+v", key, c)
		}
	}
	for _, p := range reference.Published {
		if p.Place == "" || p.Says == "" || p.Source == "" || p.Verified && weak(p.Source) || p.Hemisphere != "north" && p.Hemisphere != "south" {
			t.Errorf("%+v", p)
		}
	}
}

func TestBadAnimalsAreNamed(t *testing.T) {
	for want, bad := range map[string]func() error{
		`id ""`: func() error { _, err := Outlooks([]Animal{{}}, nil, 0); return err },
		`animal 2: id "Ada"`: func() error {
			_, err := Outlooks([]Animal{{ID: "Ada"}, {ID: "Ada"}}, nil, 0)
			return err
		},
		`animal "Ada": score 1`: func() error {
			_, err := Outlooks([]Animal{{ID: "Ada", Scores: []Score{{Most: 120}}}}, nil, 0)
			return err
		},
		`sites: "east"`: func() error { _, err := Outlooks(nil, map[string]string{"harbour": "east"}, 0); return err },
	} {
		if err := bad(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
}

// colony is animals of one class that molt as the model has it, scored weekly.
func colony(dice *rand.Rand, animals, years int, between, within float64) (out []Animal, next []Day) {
	for i := range animals {
		a := Animal{ID: fmt.Sprintf("a%03d", i), Taxon: "Otaria byronia", Sex: "female", Born: bornOn(On(2000, 6, 15)), Grown: 4}
		usual := between * dice.NormFloat64()
		for year := range years + 1 {
			onset := On(2016+year, time.August, 15) + Day(usual+within*dice.NormFloat64())
			if year == years {
				next = append(next, onset)
				break
			}
			first := float64(On(2016+year, time.March, 1)) + float64(dice.IntN(7))
			for d := first; d < first+330; d += 7 {
				share := 100 * (d - float64(onset)) / 80
				share = math.Round(min(max(share, 0), 100))
				a.Scores = append(a.Scores, Score{Day: Day(d), Least: share, Most: share, Facility: "harbour"})
			}
		}
		out = append(out, a)
	}
	return out, next
}

func TestTheOrderOfAnimalsDoesNotMatter(t *testing.T) {
	dice := rand.New(rand.NewPCG(3, 5))
	animals, _ := colony(dice, 6, 4, 14, 8)
	was := outlooks(t, "2020-04-01", animals...)
	for range 5 {
		dice.Shuffle(len(animals), func(i, j int) { animals[i], animals[j] = animals[j], animals[i] })
		for _, a := range animals {
			dice.Shuffle(len(a.Scores), func(i, j int) { a.Scores[i], a.Scores[j] = a.Scores[j], a.Scores[i] })
		}
		is := outlooks(t, "2020-04-01", animals...)
		slices.SortFunc(is, func(a, b Outlook) int { return strings.Compare(a.Animal, b.Animal) })
		if !reflect.DeepEqual(was, is) {
			t.Fatalf("%+v, was %+v", is, was)
		}
	}
}

// Nine in ten onsets are to fall into intervals that say nine in ten, in small
// classes with short records too.
func TestIntervalsHoldWhatTheySay(t *testing.T) {
	for name, c := range map[string]struct {
		animals, years  int
		between, within float64
	}{
		"as assumed":                {4, 3, 14, 8},
		"many alike, for ten years": {12, 10, 7, 4},
		"two with two molts":        {2, 2, 14, 8},
		"wide apart":                {6, 5, 28, 12},
	} {
		dice := rand.New(rand.NewPCG(7, 11))
		inside, all := 0, 0
		for range 120 {
			animals, next := colony(dice, c.animals, c.years, c.between, c.within)
			got, err := Outlooks(animals, nil, On(2016+c.years, time.April, 1))
			if err != nil {
				t.Fatal(err)
			}
			for i, o := range got {
				if o.Expected == nil {
					continue // an onset of a year could not be bracketed
				}
				all++
				// The line is drawn at 5 %, so that an onset reads some days later.
				if n := next[i] + 80*0.05; n >= o.Expected.Lo && n <= o.Expected.Hi {
					inside++
				}
			}
		}
		t.Logf("%s: %.3f of %d", name, float64(inside)/float64(all), all)
		if share := float64(inside) / float64(all); share < 0.85 || share > 0.97 || all < 100*c.animals {
			t.Errorf("%s: %.3f of %d onsets are inside", name, share, all)
		}
	}
}

// A hundred animals with ten years of weekly scores take well under 100 ms; the
// test allows five times that, for a machine that does other work too.
func TestAHundredAnimalsTakeAMoment(t *testing.T) {
	animals, _ := colony(rand.New(rand.NewPCG(1, 2)), 100, 10, 14, 8)
	for i := range animals {
		animals[i].Sex = []string{"female", "male"}[i%2]
	}
	best := time.Hour
	for range 3 {
		begun := time.Now()
		out, err := Outlooks(animals, map[string]string{"harbour": "north"}, On(2026, 7, 1))
		if best = min(best, time.Since(begun)); err != nil || len(out) != 100 || out[0].Expected == nil {
			t.Fatal(err)
		}
	}
	t.Logf("%v", best)
	if best > 500*time.Millisecond {
		t.Errorf("it took %v", best)
	}
}

func BenchmarkOutlooks(b *testing.B) {
	animals, _ := colony(rand.New(rand.NewPCG(1, 2)), 100, 10, 14, 8)
	for b.Loop() {
		if _, err := Outlooks(animals, nil, On(2026, 7, 1)); err != nil {
			b.Fatal(err)
		}
	}
}

func TestAnOutlookIsWrittenAsJSON(t *testing.T) {
	raw, err := json.Marshal(outlooks(t, "2026-08-20", also(t, cow("Ada", 2022, 2025, 10), "2026-08-01 0\n2026-08-10 1"))[0])
	if err != nil || !strings.Contains(string(raw), `"after":"2026-08-01"`) || !strings.Contains(string(raw), `"word":"as expected"`) {
		t.Errorf("%s, %v", raw, err)
	}
}
