package coat

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"
)

// day reads a day of the calendar.
func day(t *testing.T, text string) Day {
	t.Helper()
	d, err := ParseDay(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// scored reads lines of a day, a stage or a percentage, and regions.
func scored(t *testing.T, lines string) (out []Score) {
	t.Helper()
	for line := range strings.Lines(lines) {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		var percent *float64
		stage := words[1]
		if figure, is := strings.CutSuffix(stage, "%"); is {
			p, err := strconv.ParseFloat(figure, 64)
			if err != nil {
				t.Fatal(err)
			}
			stage, percent = "", &p
		}
		s, err := NewScore(day(t, words[0]), stage, percent)
		if err != nil {
			t.Fatal(err)
		}
		s.Regions = words[2:]
		out = append(out, s)
	}
	return out
}

func years(t *testing.T, lines string, turns time.Month, today string) []Year {
	t.Helper()
	out, err := Read(scored(t, lines), turns, day(t, today))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func between(b *Between) string {
	switch {
	case b == nil:
		return "not seen"
	case !b.Checked:
		return "by " + b.By.String()
	}
	return fmt.Sprintf("%s to %s", b.After, b.By)
}

// The scale is the project's own; its bounds are in the reference file.
func TestStagesHaveTheirOwnBounds(t *testing.T) {
	for percent, want := range map[float64]string{0: "0", 0.5: "1", 10: "1", 10.5: "2", 50: "2", 50.1: "3", 90: "3", 91: "4", 99.9: "4", 100: "5"} {
		if got, err := StageOf(percent); err != nil || got != want {
			t.Errorf("%g %% is stage %s, want %s: %v", percent, got, want, err)
		}
	}
	if list, source := Stages(); len(list) != 6 || list[2].Least != 10 || list[2].Most != 50 || !strings.Contains(source, "this project's own") {
		t.Errorf("%v, %s", list, source)
	}
	p := 20.0
	if s, err := NewScore(0, "3", &p); err != nil || s.Least != 20 || !strings.Contains(s.Doubt, "is stage 2, and stage 3 was given") {
		t.Errorf("%+v, %v", s, err)
	} else if y, err := Read([]Score{s}, 1, 1); err != nil || len(y[0].Doubts) != 1 || !strings.Contains(y[0].Words(), "stage 3 was given") {
		t.Errorf("%+v, %v", y, err)
	}
	if s, err := NewScore(0, "2", &p); err != nil || s.Doubt != "" {
		t.Errorf("%+v, %v", s, err)
	}
	over := 101.0
	for name, bad := range map[string]func() (Score, error){
		"stage: \"6\"":  func() (Score, error) { return NewScore(0, "6", nil) },
		"new_coat: 101": func() (Score, error) { return NewScore(0, "", &over) },
		"stage: is mis": func() (Score, error) { return NewScore(0, "", nil) },
	} {
		if _, err := bad(); err == nil || !strings.HasPrefix(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// told is what a coat year says of scores.
type told struct {
	lines      string
	turns      time.Month
	today      string
	state      State
	onset, end string
	words      string
}

func (c told) check(t *testing.T, name string) {
	t.Helper()
	got := years(t, c.lines, c.turns, c.today)
	if len(got) != 1 {
		t.Errorf("%s: %d years", name, len(got))
		return
	}
	y := got[0]
	if y.State != c.state || between(y.Onset) != c.onset || between(y.End) != c.end || !strings.Contains(y.Words(), c.words) {
		t.Errorf("%s: %s, onset %s, end %s\n%s", name, y.State, between(y.Onset), between(y.End), y.Words())
	}
}

func TestMoltsThatWereWatched(t *testing.T) {
	for name, c := range map[string]told{
		"a whole molt by stages": {
			"2026-06-20 0\n2026-07-01 0\n2026-07-08 1\n2026-07-20 2\n2026-08-05 3\n2026-08-19 4\n2026-09-01 5", 2, "2026-09-10",
			AllNew, "2026-07-01 to 2026-07-08", "2026-08-19 to 2026-09-01", "began between 1 July 2026 and 8 July 2026; all new between"},
		"a year that is still open, in molt": {
			"2026-07-01 0\n2026-07-08 1", 2, "2026-07-10",
			InMolt, "2026-07-01 to 2026-07-08", "not seen", "the coat year is not over"},
		"not begun": {
			"2026-07-01 0\n2026-07-08 0", 2, "2026-07-10",
			NotBegun, "not seen", "not seen", "no molt had begun by 8 July 2026"},
		"a southern molt over New Year": {
			"2025-12-10 0\n2025-12-20 10%\n2026-01-10 50%\n2026-02-01 90%\n2026-02-10 100%", 8, "2026-02-11",
			AllNew, "2025-12-10 to 2025-12-20", "2026-02-01 to 2026-02-10", "Coat year 2026:"},
		"29 February is a day": {
			"2028-02-28 0\n2028-02-29 1", 8, "2028-03-01",
			InMolt, "2028-02-28 to 2028-02-29", "not seen", "29 February 2028"},
	} {
		c.check(t, name)
	}
}

func TestMoltsThatWereHardlySeen(t *testing.T) {
	for name, c := range map[string]told{
		"nobody looked before": {
			"2026-08-05 3\n2026-08-19 5", 2, "2026-08-20",
			AllNew, "by 2026-08-05", "2026-08-05 to 2026-08-19", "nobody looked before"},
		"from none to all between two scores": {
			"2026-06-01 0\n2026-10-01 5", 2, "2026-10-02",
			AllNew, "2026-06-01 to 2026-10-01", "2026-06-01 to 2026-10-01", "not scored from 1 June 2026 to 1 October 2026"},
		"all new from its first score": {
			"2026-10-01 5\n2026-10-15 5", 2, "2026-10-20",
			AllNew, "not seen", "not seen", "when it molted was not seen"},
		"last year's new coat, then a molt": {
			"2026-03-01 5\n2026-05-01 5\n2026-05-10 1\n2026-05-20 2", 2, "2026-05-20",
			InMolt, "2026-05-01 to 2026-05-10", "not seen", ""},
		"none once more after all was new": {
			"2026-07-01 0\n2026-07-08 1\n2026-08-19 4\n2026-09-01 5\n2026-11-01 0\n2026-12-01 0", 2, "2026-12-02",
			AllNew, "2026-07-01 to 2026-07-08", "2026-08-19 to 2026-09-01", ""},
		"running backwards before it began": {
			"2026-06-20 0\n2026-07-01 1\n2026-07-08 0\n2026-07-15 1\n2026-07-22 2", 2, "2026-07-22",
			InMolt, "2026-06-20 to 2026-07-15", "not seen", "none on 8 July 2026 after 0 to 10 % on 1 July 2026 runs backwards; look at it"},
		"one slip, and none at the last": {
			"2026-06-20 0\n2026-07-01 1\n2026-07-08 0", 2, "2026-07-09",
			NotBegun, "not seen", "not seen", "runs backwards"},
	} {
		c.check(t, name)
	}
}

func TestWhatIsNotChecked(t *testing.T) {
	got := years(t, "2024-07-01 0\n2026-07-01 0\n2026-07-10 1", 2, "2027-03-10")
	if len(got) != 4 {
		t.Fatalf("%d years", len(got))
	}
	for i, want := range []State{NotBegun, NotScored, InMolt, NotScored} {
		if y := got[i]; y.State != want || len(y.Gaps) == 0 || y.Year != 2024+i || y.Open != (i == 3) {
			t.Errorf("%d: %s, open %v, gaps %v", y.Year, y.State, y.Open, y.Gaps)
		}
	}
	if g := got[1].Gaps; len(g) != 1 || g[0].From != got[1].From || g[0].To != got[1].Until {
		t.Errorf("a year without a score: %v", g)
	}
	if got := years(t, "2026-02-05 0\n2026-02-20 0\n2026-03-10 0", 2, "2026-03-20"); len(got[0].Gaps) != 0 {
		t.Errorf("scored every fortnight: %v", got[0].Gaps)
	}
	if got := years(t, "2026-07-10 1", 2, "2026-07-09"); got != nil {
		t.Errorf("a score after today was read: %v", got)
	}
}

func TestLastYearsCoatIsNoMolt(t *testing.T) {
	before := "2025-07-01 0\n2025-07-08 2\n2025-09-01 5\n2026-01-20 5\n"
	got := years(t, before+"2026-02-10 5\n2026-06-01 5", 2, "2026-06-02")
	if y := got[1]; y.State != NotBegun || y.Onset != nil || !strings.Contains(y.Words(), "no molt had begun by 1 June 2026") {
		t.Errorf("all new since last year: %s, %s", y.State, y.Words())
	}
	got = years(t, before+"2026-06-01 5\n2026-08-01 80%", 2, "2026-08-02")
	if y := got[1]; between(y.Onset) != "2026-06-01 to 2026-08-01" {
		t.Errorf("over half when it was next looked at: %s", between(y.Onset))
	}
	y := years(t, "2026-10-01 5\n2026-10-08 95%\n2026-10-15 5", 2, "2026-10-16")[0]
	if y.Onset != nil || len(y.Backward) != 1 || !strings.Contains(y.Words(), "95 % on 8 October 2026 after all on 1 October 2026 runs backwards") {
		t.Errorf("nearly all after all: %s", y.Words())
	}
}

func TestAGapOverTheTurnOfCoatYearsIsInBoth(t *testing.T) {
	got := years(t, "2026-01-01 0\n2026-02-10 0", 2, "2026-02-11")
	if a, b := got[0].Gaps, got[1].Gaps; len(a) != 2 || len(b) != 1 || a[1].To != On(2026, 2, 1) || b[0].From != On(2026, 2, 1) || b[0].To != On(2026, 2, 10) {
		t.Errorf("%v, then %v", a, b)
	}
}

func TestASecondMoltIsLeftToAPerson(t *testing.T) {
	y := years(t, "2026-07-01 0\n2026-07-08 1\n2026-08-19 4\n2026-09-01 5\n2026-11-01 0\n2026-12-01 2", 2, "2026-12-02")[0]
	if len(y.Backward) != 1 || !strings.Contains(y.Backward[0].Words, "new coat again") || between(y.End) != "2026-08-19 to 2026-09-01" {
		t.Errorf("%+v, ended %s", y.Backward, between(y.End))
	}
	y = years(t, "2026-07-01 0\n2026-07-08 5\n2026-07-15 2\n2026-08-19 4\n2026-09-01 5", 2, "2026-09-02")[0]
	if len(y.Backward) != 1 || between(y.End) != "2026-07-01 to 2026-09-01" {
		t.Errorf("all new, then not: %+v, ended %s", y.Backward, between(y.End))
	}
}

// The order, flippers, belly, sides, back and head, neck, is that of California
// sea lions as a training college describes seven years of records.
func TestRegionsComeInTheirOrder(t *testing.T) {
	y := years(t, "2026-07-01 0\n2026-07-08 1 flippers\n2026-07-20 2 flippers belly\n2026-07-25 2\n2026-08-01 2 belly sides flippers", 2, "2026-08-05")[0]
	var got []string
	for _, r := range y.Regions {
		got = append(got, r.Region+" "+between(&r.First))
	}
	want := "flippers 2026-07-01 to 2026-07-08, belly 2026-07-08 to 2026-07-20, sides 2026-07-20 to 2026-08-01"
	if strings.Join(got, ", ") != want {
		t.Errorf("%s\nwant %s", strings.Join(got, ", "), want)
	}
	if showing := y.Showing(day(t, "2026-07-21")); len(showing) != 2 {
		t.Errorf("on 21 July: %v", showing)
	}
}

func TestCoatYearsTurnWhereNoMoltIsSeen(t *testing.T) {
	for want, lines := range map[time.Month]string{
		time.February: "2025-07-20 2\n2025-08-10 2\n2026-08-30 3",
		time.July:     "2025-12-10 2\n2026-01-20 3\n2026-12-20 2\n2026-01-05 2",
		time.January:  "2026-01-20 0\n2026-02-20 0",
	} {
		if got := Turns(scored(t, lines)); got != want {
			t.Errorf("%s turns in %s, want %s", strings.ReplaceAll(lines, "\n", ", "), got, want)
		}
	}
	if got := Turns(scored(t, "2026-01-01 2\n2026-04-01 2\n2026-07-01 2\n2026-10-01 2")); got != time.January {
		t.Errorf("molts all round the year turn in %s", got)
	}
}

func TestBadScoresAreNamed(t *testing.T) {
	if _, err := Read([]Score{{Least: 50, Most: 20}}, 1, 0); err == nil || !strings.Contains(err.Error(), "score 1") {
		t.Error(err)
	}
	if _, err := Read(nil, 13, 0); err == nil || !strings.Contains(err.Error(), "month") {
		t.Error(err)
	}
	if _, err := ParseDay("2026-02-30"); err == nil || !strings.Contains(err.Error(), "2026-08-14") {
		t.Error(err)
	}
	if _, _, err := BackProjected(nil, 45); err == nil {
		t.Error("no score in molt was taken")
	}
	if _, _, err := BackProjected(nil, 0); err == nil || !strings.HasPrefix(err.Error(), "days") {
		t.Error(err)
	}
}
