package dominance

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func begin(t testing.TB, scale Scale) Rating {
	t.Helper()
	r, err := NewRating(scale)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func step(t testing.TB, r Rating, day ...Seen) Rating {
	t.Helper()
	r, err := r.Step(day)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// meetings are random encounters of six animals.
var meetings = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Seen {
	two := rapid.Permutation([]string{"Ada", "Bo", "Cy", "Dot", "Eve", "Fin"}).Draw(t, "animals")
	return Seen{
		Encounter: Encounter{two[0], two[1], rapid.Bool().Draw(t, "undecided")},
		Intensity: rapid.SampledFrom([]string{"", "low", "medium", "high"}).Draw(t, "intensity"),
	}
}), 1, 40)

// A projection keeps the rating as JSON between days: that must not change what
// comes out, nor may a step change the value it starts from.
func TestARatingKeptBetweenDaysGoesOnAsIfItHadNotBeen(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		seen := meetings.Draw(rt, "encounters")
		whole := step(t, begin(t, UsualScale()), seen...)
		kept, err := json.Marshal(begin(t, UsualScale()))
		if err != nil {
			rt.Fatal(err)
		}
		for _, s := range seen {
			var r Rating
			if err := json.Unmarshal(kept, &r); err != nil {
				rt.Fatal(err)
			}
			next := step(t, r, s)
			if again, _ := json.Marshal(r); string(again) != string(kept) {
				rt.Fatalf("a step changed the rating it began with to %s", again)
			}
			if kept, err = json.Marshal(next); err != nil {
				rt.Fatal(err)
			}
		}
		var last Rating
		if err := json.Unmarshal(kept, &last); err != nil {
			rt.Fatal(err)
		}
		if !reflect.DeepEqual(last, whole) {
			rt.Fatalf("day by day %+v, at once %+v", last, whole)
		}
	})
}

func TestPointsAreNeitherMadeNorLost(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := step(t, begin(t, UsualScale()).Join("Ada", "Bo", "Cy", "Dot", "Eve", "Fin"), meetings.Draw(rt, "encounters")...)
		sum := 0.0
		for _, points := range r.Points {
			sum += points
		}
		if math.Abs(sum-6000) > 1e-9 {
			rt.Fatalf("six animals that began with 1000 have %v", sum)
		}
	})
}

// Where only the day is known, the order in which it was written down must not
// matter, to the last bit.
func TestADayTakenTogetherHasNoOrder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		day := meetings.Draw(rt, "encounters")
		other := rapid.Permutation(day).Draw(rt, "another order")
		a, err := begin(t, UsualScale()).StepTogether(day)
		if err != nil {
			rt.Fatal(err)
		}
		b, err := begin(t, UsualScale()).StepTogether(other)
		if err != nil {
			rt.Fatal(err)
		}
		if !reflect.DeepEqual(a, b) {
			rt.Fatalf("%v in one order, %v in the other", a.Points, b.Points)
		}
	})
}

func TestTheIntensityOfAnEncounterSetsWhatIsAtStake(t *testing.T) {
	for intensity, gained := range map[string]float64{"": 50, "low": 25, "medium": 50, "high": 100} {
		s := won("Ada", "Bo")
		s.Intensity = intensity
		if got := step(t, begin(t, UsualScale()), s).Points["Ada"]; math.Abs(got-1000-gained) > 1e-9 {
			t.Errorf("%q: Ada has %v, want %v more than 1000", intensity, got, gained)
		}
	}
}

func TestADrawMovesOnlyUnequals(t *testing.T) {
	draw := won("Ada", "Bo")
	draw.Undecided = true
	if r := step(t, begin(t, UsualScale()), draw); r.Points["Ada"] != 1000 || r.Points["Bo"] != 1000 || r.Met["Ada"] != 1 {
		t.Errorf("equals after a draw: %+v", r)
	}
	r := step(t, begin(t, UsualScale()), won("Ada", "Bo"), draw)
	if r.Points["Ada"] >= 1050 || r.Points["Bo"] <= 950 {
		t.Errorf("after a win and a draw: %v", r.Points)
	}
	if got := r.Ranked(); got[0] != "Ada" || len(got) != 2 {
		t.Errorf("ranked %v", got)
	}
}

func TestBadScalesAndEncountersAreRefusedByName(t *testing.T) {
	for want, change := range map[string]func(*Scale){
		`curve: "straight" is not known`:       func(s *Scale) { s.Curve = "straight" },
		"k: nothing is at stake":               func(s *Scale) { delete(s.K, "") },
		`k: -1 for intensity "low": give`:      func(s *Scale) { s.K["low"] = -1 },
		`prior: NaN for "Ada": give finite`:    func(s *Scale) { s.Prior = map[string]float64{"Ada": math.NaN()} },
		"start: +Inf: give finite":             func(s *Scale) { s.Start = math.Inf(1) },
		`k: NaN for intensity "high": give po`: func(s *Scale) { s.K["high"] = math.NaN() },
	} {
		scale := UsualScale()
		change(&scale)
		if _, err := NewRating(scale); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	strange := won("Ada", "Bo")
	strange.Intensity = "furious"
	for want, s := range map[string]Seen{
		`encounter 2: loser: "Ada" can't meet itself`:               won("Ada", "Ada"),
		"encounter 2: winner: is empty":                             won("", "Ada"),
		`encounter 2: intensity: "furious" has nothing at stake: u`: strange,
	} {
		if _, err := begin(t, UsualScale()).Step([]Seen{won("Ada", "Bo"), s}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

func TestAQuietGroupIsStable(t *testing.T) {
	same := map[string]float64{"Ada": 1100, "Bo": 1000, "Cy": 900}
	if weighted, plain, ok := (Stability{}).Step(same, same, 10).Index(); weighted != 1 || plain != 1 || !ok {
		t.Errorf("%v, %v, %v", weighted, plain, ok)
	}
	if _, _, ok := (Stability{}).Index(); ok {
		t.Error("there is a stability before the first day")
	}
}

// Ada leaves, Bo and Cy close up: no place changed. Cy and Bo change: two places
// of the floor(3²/2) = 4 that could, in the lower half.
func TestPlacesCloseUpUnderOneThatLeft(t *testing.T) {
	before := map[string]float64{"Ada": 1100, "Bo": 1000, "Cy": 900}
	if _, plain, _ := (Stability{}).Step(before, map[string]float64{"Bo": 1000, "Cy": 900}, 1).Index(); plain != 1 {
		t.Errorf("after a leaving the stability is %v", plain)
	}
	weighted, plain, _ := (Stability{}).Step(before, map[string]float64{"Ada": 1100, "Bo": 900, "Cy": 1000}, 1).Index()
	if plain != 0.5 || weighted != 0.75 {
		t.Errorf("after a change below the stability is %v weighted and %v plain, want 0.75 and 0.5", weighted, plain)
	}
}

func TestTheSameSeedShufflesAlike(t *testing.T) {
	seen := []Seen{won("Ada", "Bo"), won("Bo", "Cy"), won("Cy", "Ada"), won("Ada", "Cy")}
	run := func(seen []Seen, seed uint64) []Shuffled {
		by, _, err := Randomised(seen, UsualScale(), 50, seed)
		if err != nil {
			t.Fatal(err)
		}
		return by
	}
	back := []Seen{seen[3], seen[2], seen[1], seen[0]}
	if a, b := run(seen, 1), run(back, 1); !reflect.DeepEqual(a, b) {
		t.Errorf("the order they were given in shows: %v, %v", a, b)
	}
	if reflect.DeepEqual(run(seen, 1), run(seen, 2)) {
		t.Error("another seed gave the same")
	}
	for _, s := range run(seen, 1) {
		if !(s.Low <= s.Points && s.Points <= s.High && s.TopPlace <= s.Place && s.Place <= s.LowPlace) {
			t.Errorf("%+v lies outside its own range", s)
		}
	}
	for want, orders := range map[string]int{"orders: 1: give two or more": 1, "encounters: there are none": 50} {
		some := seen
		if orders > 1 {
			some = nil
		}
		if _, _, err := Randomised(some, UsualScale(), orders, 1); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

// From 50 points the deviation reaches that of an unknown animal after two
// years, as the reference file says; points don't move by silence.
func TestSilenceMakesARatingLessSure(t *testing.T) {
	b := Believed{1200, 50}
	if month := b.Silent(30); month.Points != 1200 || month.Deviation <= 50 || month.Deviation >= 350 {
		t.Errorf("after a month %+v", month)
	}
	if years := b.Silent(730); math.Abs(years.Deviation-350) > 1 {
		t.Errorf("after two years %+v", years)
	}
	if ages := b.Silent(1e6); ages.Deviation != Unknown().Deviation {
		t.Errorf("after ages %+v", ages)
	}
	if sure := (Believed{1200, 30}).After([]Against{{Believed{1200, 30}, 1}}); sure.Deviation != 30 || sure.Points <= 1200 {
		t.Errorf("a sure one after a win %+v", sure)
	}
}
