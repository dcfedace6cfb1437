package coat

import (
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

const hair = 1e-9

func drawTurns(t *rapid.T, least int) []float64 {
	return rapid.SliceOfN(rapid.Float64Range(0, 0.4), least, 30).Draw(t, "turns")
}

// drawDays are days of the year, three or more, as shares of it.
func drawDays(t *rapid.T) (out []float64) {
	for _, d := range rapid.SliceOfN(rapid.IntRange(0, 150), 3, 30).Draw(t, "days") {
		out = append(out, float64(d)/yearDays)
	}
	return out
}

func directions(t *rapid.T, turns []float64) Circle {
	c, err := Directions(turns)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestTurningTheYearTurnsTheMean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turns, by := drawTurns(t, 1), rapid.Float64Range(-3, 3).Draw(t, "by")
		turned := make([]float64, len(turns))
		for i := range turns {
			turned[i] = turns[i] + by
		}
		was, is := directions(t, turns), directions(t, turned)
		if math.Abs(apart(is.Mean, was.Mean+by)) > hair || math.Abs(is.Resultant-was.Resultant) > hair {
			t.Fatalf("turned by %g: mean %g, was %g; length %g, was %g", by, is.Mean, was.Mean, is.Resultant, was.Resultant)
		}
	})
}

func TestTheOrderOfDirectionsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turns := drawTurns(t, 1)
		if was, is := directions(t, turns), directions(t, rapid.Permutation(turns).Draw(t, "shuffled")); was != is {
			t.Fatalf("%+v, was %+v", is, was)
		}
	})
}

func TestGroupsTurnedAlikeDifferAlike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, by := drawDays(t), drawDays(t), rapid.Float64Range(0, 1).Draw(t, "by")
		was, err := WatsonWilliams(a, b)
		if err != nil {
			t.Fatal(err)
		}
		turn := func(list []float64) (out []float64) {
			for _, x := range list {
				out = append(out, wrap(x+by))
			}
			return out
		}
		is, err := WatsonWilliams(turn(b), turn(a))
		if err != nil || (is.NotEnough == "") != (was.NotEnough == "") {
			t.Fatal(is, was, err)
		}
		if was.NotEnough == "" && math.Abs(is.F-was.F) > 1e-6*(1+was.F) {
			t.Fatalf("F %g, was %g", is.F, was.F)
		}
	})
}

// 28 December and 4 January meet at New Year, and not in July, where the mean of
// the days of the year lies.
func TestMoltsAroundNewYearHaveTheirMeanThere(t *testing.T) {
	for _, year := range []int{2023, 2024, 2027} { // before, in and before a leap year
		c := circle(t, []float64{On(year, 12, 28).Turn(), On(year+1, 1, 4).Turn()})
		if off := math.Abs(apart(c.Mean, On(year, 12, 31).Turn()+0.5/365)); off > 1/yearDays {
			t.Errorf("%d: the mean is at %.4f of the year", year, c.Mean)
		}
	}
}

func TestWhatCannotBeCompared(t *testing.T) {
	for words, groups := range map[string][][]float64{
		"too widely":    {{0, 0.25, 0.5, 0.75}, {0.1, 0.35, 0.6, 0.85}},
		"one direction": {{0.1}, {0.2, 0.3}},
		"the same":      {{0.1, 0.1}, {0.3, 0.3}},
	} {
		if got, err := WatsonWilliams(groups...); err != nil || !strings.Contains(got.NotEnough, words) {
			t.Errorf("%s: %+v, %v", words, got, err)
		}
	}
	if _, err := WatsonWilliams([]float64{1}); err == nil {
		t.Error("one group was compared")
	}
	if _, err := WatsonWilliams([]float64{1}, nil); err == nil || !strings.Contains(err.Error(), "group 2") {
		t.Error(err)
	}
	if _, err := Directions([]float64{math.NaN()}); err == nil {
		t.Error("no number is a direction")
	}
	if c := circle(t, []float64{0, 0.25, 0.5, 0.75}); c.Resultant > hair || c.Rayleigh.P < 0.9 {
		t.Errorf("all round: %+v", c)
	}
}

func drawScores(t *rapid.T) []Score {
	stages := rapid.SliceOfN(rapid.SampledFrom([]string{"0", "1", "2", "3", "4", "5"}), 1, 30).Draw(t, "stages")
	var out []Score
	for _, stage := range stages {
		s, err := NewScore(On(2024, 1, 1)+Day(rapid.IntRange(0, 900).Draw(t, "day")), stage, nil)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, s)
	}
	return out
}

func TestTheOrderOfScoresDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scores, turns := drawScores(t), time.Month(rapid.IntRange(1, 12).Draw(t, "turns"))
		was, err := Read(scores, turns, On(2026, 8, 1))
		if err != nil {
			t.Fatal(err)
		}
		is, err := Read(rapid.Permutation(scores).Draw(t, "shuffled"), turns, On(2026, 8, 1))
		if err != nil || !reflect.DeepEqual(was, is) {
			t.Fatalf("%+v, was %+v: %v", is, was, err)
		}
	})
}

// Whatever the scores: intervals are in order and within their coat year, and
// arcs within their ring.
func TestIntervalsAndArcsAreInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		today := On(2026, 8, 1)
		years, err := Read(drawScores(t), time.Month(rapid.IntRange(1, 12).Draw(t, "turns")), today)
		if err != nil {
			t.Fatal(err)
		}
		for i, y := range years {
			for _, b := range []*Between{y.Onset, y.Middle, y.End} {
				if b != nil && !(y.From <= b.After && b.After <= b.Likely && b.Likely <= b.By && b.By < y.Until) {
					t.Fatalf("%s to %s: %+v", y.From, y.Until, b)
				}
			}
			if y.Onset != nil && y.End != nil && (y.End.By < y.Onset.By || y.End.After < y.Onset.After) {
				t.Fatalf("began %+v, ended %+v", y.Onset, y.End)
			}
			if i > 0 && y.From != years[i-1].Until || y.Words() == "" {
				t.Fatalf("%d follows on %d", y.Year, years[i-1].Year)
			}
		}
		for _, r := range Rings(years, today) {
			for _, a := range r.Arcs {
				if !(0 <= a.From && a.From < a.To && a.To <= 1) {
					t.Fatalf("%d: %+v", r.Year, a)
				}
			}
		}
	})
}

// A coat that grows evenly and is scored begins and ends where the scores say.
func TestTheTruthLiesBetweenTheScores(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		onset := float64(On(2026, 6, 1)) + rapid.Float64Range(0, 60).Draw(t, "onset")
		days := rapid.Float64Range(20, 120).Draw(t, "days")
		step := rapid.IntRange(1, 20).Draw(t, "step")
		byStage := rapid.Bool().Draw(t, "by stage")
		var scores []Score
		for d := On(2026, 5, 1); d < On(2026, 12, 31); d += Day(step) {
			percent := min(max((float64(d)-onset)/days*100, 0), 100)
			stage, err := StageOf(percent)
			if err != nil {
				t.Fatal(err)
			}
			s, err := NewScore(d, stage, &percent)
			if byStage {
				s, err = NewScore(d, stage, nil)
			}
			if err != nil || s.Doubt != "" {
				t.Fatal(s, err)
			}
			scores = append(scores, s)
		}
		years, err := Read(scores, time.February, On(2026, 12, 31))
		if err != nil || len(years) != 1 || len(years[0].Backward) > 0 {
			t.Fatal(years, err)
		}
		for share, b := range map[float64]*Between{0: years[0].Onset, 0.5: years[0].Middle, 1: years[0].End} {
			if truth := onset + share*days; truth < float64(b.After)-hair || truth > float64(b.By)+hair || b.Days() > float64(step) {
				t.Fatalf("%g of it was new on %.2f; %+v", share, truth, b)
			}
		}
	})
}

func drawFigures(t *rapid.T) (out []Observed) {
	for range rapid.IntRange(2, 20).Draw(t, "n") {
		out = append(out, Observed{
			rapid.SampledFrom([]string{"a", "b", "c", "d"}).Draw(t, "animal"),
			rapid.Float64Range(-60, 60).Draw(t, "value"), rapid.Float64Range(0, 10).Draw(t, "error"),
		})
	}
	return out
}

// Moving all figures moves all answers; with a prior, an animal lies between its
// own mean and that of its class.
func TestPoolingMovesWithItsFigures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		figures, by := drawFigures(t), rapid.Float64Range(-100, 100).Draw(t, "by")
		prior := &Prior{Between: 14, Within: 8, Worth: 4}
		was, err := Pool(rapid.Permutation(figures).Draw(t, "shuffled"), prior)
		if err != nil {
			t.Fatal(err)
		}
		for i := range figures {
			figures[i].Value += by
		}
		is, err := Pool(figures, prior)
		if err != nil {
			t.Fatal(err)
		}
		for i, a := range was.Animals {
			if math.Abs(is.Animals[i].Value-a.Value-by) > 0.01 {
				t.Fatalf("%+v moved by %g is %+v", a, by, is.Animals[i])
			}
			if lo, hi := min(a.Mean, was.Mean), max(a.Mean, was.Mean); a.Value < lo-hair || a.Value > hi+hair || a.Weight <= 0 || a.Weight >= 1 {
				t.Fatalf("%+v in a class at %g", a, was.Mean)
			}
			if _, lo, hi := was.Next(a.Animal); !(lo < a.Value && a.Value < hi) {
				t.Fatalf("%g lies outside %g to %g", a.Value, lo, hi)
			}
		}
	})
}

// An animal with more years is drawn less, and its interval is narrower; of one
// without any the class alone speaks.
func TestARecordNarrowsTheInterval(t *testing.T) {
	var figures []Observed
	for i, value := range []float64{-10, 0, 10} {
		for year := range 3 {
			figures = append(figures, Observed{string(rune('a' + i)), value + float64(year-1)*3, 0})
		}
	}
	figures = append(figures, Observed{"d", 20, 0})
	p, err := Pool(figures, &Prior{Between: 14, Within: 8, Worth: 4})
	if err != nil {
		t.Fatal(err)
	}
	width := func(animal string) float64 { _, lo, hi := p.Next(animal); return hi - lo }
	if !(width("a") < width("d") && width("d") < width("nobody")) || p.Of("a").Weight <= p.Of("d").Weight || p.Of("nobody").Value != p.Mean {
		t.Errorf("widths %g, %g, %g", width("a"), width("d"), width("nobody"))
	}
	sure := p
	if sure.Error = 0; !(width("nobody") > func() float64 { _, lo, hi := sure.Next("nobody"); return hi - lo }()) {
		t.Error("not knowing the mean of the class widens nothing")
	}
	if _, err := Pool(nil, nil); err == nil {
		t.Error("nothing was pooled")
	}
	if _, err := Pool([]Observed{{"a", math.NaN(), 0}}, nil); err == nil || !strings.Contains(err.Error(), "figure 1") {
		t.Error(err)
	}
}

func TestSeasonsThatCannotBeFitted(t *testing.T) {
	half := 50.0
	one := Score{Day: 10, Least: half, Most: half}
	for words, c := range map[string]struct {
		scores []Score
		sample Sample
	}{
		"a season needs 10":         {[]Score{one}, ByScore},
		"0 scores in molt":          {make([]Score, 12), ByScore},
		"no score before, or none":  {repeated(one, 12), ByState},
		"the scores settle no seas": {repeated(one, 12), ByScore},
	} {
		if got, err := FitSeason(c.scores, c.sample); err != nil || !strings.Contains(got.NotEnough, words) {
			t.Errorf("%s: %+v, %v", words, got, err)
		}
	}
	if _, err := FitSeason(nil, 4); err == nil || !strings.HasPrefix(err.Error(), "sample") {
		t.Error(err)
	}
}

func repeated(s Score, n int) (out []Score) {
	for range n {
		out = append(out, s)
	}
	return out
}

// Scores of the sanderlings a hundred days later give the same season a hundred
// days later; told by stages alone it is near.
func TestASeasonMovesWithItsScores(t *testing.T) {
	scores, _ := sanderlings(t, 0)
	was := season(t, scores, ByScore)
	staged := make([]Score, len(scores))
	for i := range scores {
		stage, err := StageOf(min(scores[i].Least, 100))
		if err != nil {
			t.Fatal(err)
		}
		if staged[i], err = NewScore(scores[i].Day, stage, nil); err != nil {
			t.Fatal(err)
		}
		scores[i].Day += 100
	}
	is := season(t, scores, ByScore)
	if math.Abs(float64(is.Onset-was.Onset)-100) > 0.01 || math.Abs(is.Duration-was.Duration) > 0.01 {
		t.Errorf("%+v, was %+v", is, was)
	}
	rough := season(t, staged, ByScore)
	if math.Abs(rough.Duration-was.Duration) > 2*was.Errors[0] || math.Abs(float64(rough.Onset-was.Onset)) > 2*was.Errors[1] {
		t.Errorf("by stages %+v, by figures %+v", rough, was)
	}
}
