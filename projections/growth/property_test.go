package growth

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// drawn are weigh-ins of some years, several of a day among them.
func drawn(t *rapid.T) []Weighing {
	w := walk{
		days: rapid.IntRange(800, 1300).Draw(t, "days"), every: rapid.IntRange(2, 9).Draw(t, "every"), start: 90, perDay: 0.01,
		amplitude: float64(rapid.IntRange(0, 10).Draw(t, "amplitude")), peak: 100, sd: 0.8, alike: 0.4, scale: "deck",
		from: rapid.IntRange(0, 20_000).Draw(t, "from"),
	}
	out := w.weighings(rapid.Uint64().Draw(t, "seed"))
	for range rapid.IntRange(0, 30).Draw(t, "twice a day") {
		twin := out[rapid.IntRange(0, len(out)-1).Draw(t, "of")]
		twin.Kg += float64(rapid.IntRange(-9, 9).Draw(t, "more")) / 10
		out = append(out, twin)
	}
	return out
}

// said is all that is said of an animal.
type said struct {
	Trend   Trend
	Season  Season
	Watch   Watch
	Changes []Change
	Growth  []Growth
	Asked   Question
}

func saidOf(t fatal, w []Weighing, today int) (out said) {
	var errs [6]error
	out.Trend, errs[0] = TrendOf(w)
	out.Season, errs[1] = SeasonOf(w)
	out.Watch, errs[2] = WatchOf(w, today)
	out.Changes, errs[3] = ChangesOn(w, today)
	var aged []Aged
	for _, one := range w {
		aged = append(aged, Aged{"one", "male", float64(one.Day-w[0].Day+3000) / 365.25, one.Kg})
	}
	out.Growth, errs[4] = BySex(aged)
	out.Asked, errs[5] = Asked(w, Weighing{Day: today, Kg: 95})
	for _, err := range errs {
		if err != nil {
			t.Fatal(err)
		}
	}
	return out
}

type fatal interface{ Fatal(...any) }

var toTheDigit = cmp.Options{cmpopts.IgnoreUnexported(Season{}, Curve{}), cmpopts.EquateNaNs()}

// The order in which weigh-ins are given makes no difference, nor do those of one
// day among each other.
func TestTheOrderOfWeighInsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawn(t)
		first, today := w[0], w[0].Day
		for _, one := range w {
			today = max(today, one.Day)
		}
		shuffled := append([]Weighing{first}, rapid.Permutation(w[1:]).Draw(t, "shuffled")...)
		if diff := cmp.Diff(saidOf(t, w, today), saidOf(t, shuffled, today), toTheDigit); diff != "" {
			t.Fatal(diff)
		}
	})
}

func changed(w []Weighing, kg func(float64) float64, days int) []Weighing {
	out := make([]Weighing, len(w))
	for i, one := range w {
		one.Kg, one.Day = kg(one.Kg), one.Day+days
		out[i] = one
	}
	return out
}

func alike(t *rapid.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-6*(1+math.Abs(want))) {
		t.Fatalf("%s: %v, want %v", what, got, want)
	}
}

func TestAShiftOfMassOrDayShiftsTheAnswers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawn(t)
		kg, days := float64(rapid.IntRange(-40, 400).Draw(t, "kg")), rapid.IntRange(-5000, 5000).Draw(t, "days")
		before, err := TrendOf(w)
		after, err2 := TrendOf(changed(w, func(v float64) float64 { return v + kg }, days))
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		for _, c := range [][2]float64{{after.PerDay.Value, before.PerDay.Value}, {after.PerDay.Lo, before.PerDay.Lo}, {after.PerDay.Hi, before.PerDay.Hi}, {after.Start, before.Start + kg}, {after.Serial, before.Serial}} {
			alike(t, "trend", c[0], c[1])
		}
		winter, err := SeasonOf(w)
		summer, err2 := SeasonOf(changed(w, func(v float64) float64 { return v + kg }, days))
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		alike(t, "amplitude", summer.Amplitude.Value, winter.Amplitude.Value)
		alike(t, "expected", summer.Expected(w[0].Day+days), winter.Expected(w[0].Day)+kg)
		if winter.Amplitude.Lo > 0 {
			moved := math.Mod(summer.Peak.Value-winter.Peak.Value-float64(days), 365.2425)
			alike(t, "top", math.Abs(math.Remainder(moved, 365.2425))+1, 1)
		}
	})
}

func TestAnotherUnitOfMassScalesTheAnswers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, c := drawn(t), rapid.SampledFrom([]float64{0.25, 0.5, 2, 8, 64}).Draw(t, "times") // of which no tie is lost
		before, after := saidOf(t, w, w[0].Day+700), saidOf(t, changed(w, func(v float64) float64 { return v * c }, 0), w[0].Day+700)
		for _, pair := range [][2]float64{
			{after.Trend.PerDay.Value, c * before.Trend.PerDay.Value}, {after.Trend.PerDay.Lo, c * before.Trend.PerDay.Lo}, {after.Trend.Rising.P, before.Trend.Rising.P},
			{after.Season.Amplitude.Value, c * before.Season.Amplitude.Value}, {after.Season.Peak.Value, before.Season.Peak.Value},
			{after.Changes[1].Percent, before.Changes[1].Percent}, {after.Changes[1].Median, c * before.Changes[1].Median},
		} {
			alike(t, "scaled", pair[0], pair[1])
		}
	})
}

// A curve scales with the mass, and goes with the age.
func TestCurvesScaleAndShift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, later := rapid.Float64Range(0.2, 40).Draw(t, "times"), rapid.Float64Range(0, 3).Draw(t, "years")
		masses := grown(forms[0], female, 0.1, 11, 0.5, 2, rapid.Uint64().Draw(t, "seed"))
		var x, y, shifted, scaled []float64
		for _, m := range masses {
			x, y, shifted, scaled = append(x, m.Years), append(y, m.Kg), append(shifted, m.Years+later), append(scaled, c*m.Kg)
		}
		for i, f := range forms[:3] {
			was, is := f.fitted(x, y), f.fitted(shifted, scaled)
			if !was.Converged || !is.Converged {
				t.Fatalf("%s: did not converge", f.name)
			}
			alike(t, "final mass", is.Params[0].Value, c*was.Params[0].Value)
			alike(t, "its error", is.Params[0].SE, c*was.Params[0].SE)
			rate := []int{1, 2, 2}[i]
			alike(t, "rate", is.Params[rate].Value, was.Params[rate].Value)
			switch f.name {
			case Bertalanffy:
				alike(t, "t0", is.Params[2].Value, was.Params[2].Value+later)
			case Logistic:
				alike(t, "xm", is.Params[1].Value, was.Params[1].Value+later)
			}
		}
	})
}

// Scales don't mind in which order, and by which names, animals are given.
func TestTheOrderOfReadingsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		readings := from(weekly.readings(rapid.Uint64Range(0, 20).Draw(t, "seed")), "deck", 220, func(kg float64) float64 { return kg + 1.5 })
		a, err := Scales(readings)
		b, err2 := Scales(rapid.Permutation(readings).Draw(t, "shuffled"))
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if diff := cmp.Diff(a, b); diff != "" {
			t.Fatal(diff)
		}
	})
}

// Whatever is said can be written down: no number is infinite or none at all.
func TestWhatIsSaidCanBeWritten(t *testing.T) {
	for situation, w := range map[string][]Weighing{
		"one weigh-in":           {{Day: 5, Kg: 80}},
		"an animal that stays":   walk{days: 1200, every: 3, start: 90}.weighings(1),
		"one that goes straight": walk{days: 1200, every: 3, start: 90, perDay: 0.1}.weighings(1),
		"a pup":                  walk{days: 120, every: 3, start: 9, perDay: 0.1, sd: 0.1}.weighings(1),
		"a grown male":           male.weighings(1),
	} {
		if _, err := json.Marshal(saidOf(t, w, w[len(w)-1].Day)); err != nil {
			t.Errorf("%s: %v", situation, err)
		}
	}
	if _, err := json.Marshal(scalesOf(t, from(weekly.readings(1), "deck", 220, func(kg float64) float64 { return kg + 2 }))); err != nil {
		t.Error(err)
	}
}
