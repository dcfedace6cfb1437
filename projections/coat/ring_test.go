package coat

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// laid writes rings as days of their year, from 0.
func laid(rings []Ring) string {
	var out []string
	for _, r := range rings {
		length := float64(On(r.Year+1, 1, 1) - On(r.Year, 1, 1))
		out = append(out, fmt.Sprint(r.Year))
		for _, a := range r.Arcs {
			out = append(out, fmt.Sprintf("%s %.0f-%.0f", a.Kind, a.From*length, a.To*length))
		}
	}
	return strings.Join(out, " ")
}

func TestRings(t *testing.T) {
	fortnightly := "2026-01-10 0\n2026-01-25 0\n2026-02-10 0\n"
	for name, c := range map[string]struct{ lines, today, want string }{
		"a molt in one year": {
			"2026-02-10 0\n2026-02-20 1\n2026-03-10 3\n2026-03-20 5", "2026-03-25",
			"2026 ended 68-78 began 40-50 molt 50-68 unchecked 0-40"},
		"scored and not in molt":       {fortnightly, "2026-02-12", "2026"},
		"not scored for a month since": {fortnightly, "2026-03-15", "2026 unchecked 40-73"},
		"in molt, its end not seen":    {fortnightly + "2026-02-20 1\n2026-03-01 2", "2026-03-05", "2026 began 40-50 molt 50-59"},
		"in molt and not scored since": {fortnightly + "2026-02-20 1\n2026-03-01 2", "2026-04-11", "2026 began 40-50 molt 50-59 unchecked 59-100"},
		"a gap within the molt":        {fortnightly + "2026-02-20 1\n2026-04-11 3", "2026-04-12", "2026 began 40-50 molt 50-100"},
		"a gap before it began":        {fortnightly + "2026-04-11 3", "2026-04-12", "2026 began 40-100"},
		"in a leap year":               {"2028-01-05 0\n2028-02-28 0\n2028-03-02 1", "2028-03-02", "2028 began 58-61 unchecked 4-58"},
	} {
		if got := laid(Rings(years(t, c.lines, 1, c.today), day(t, c.today))); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
	if got := Rings(nil, 0); len(got) != 0 {
		t.Errorf("of no scores: %v", got)
	}
}

func TestAMoltOverNewYearStandsOnTwoRings(t *testing.T) {
	rings := Rings(years(t, "2025-12-10 0\n2025-12-20 10%\n2026-01-10 50%\n2026-01-20 90%\n2026-02-01 100%", 8, "2026-02-02"), day(t, "2026-02-02"))
	if got, want := laid(rings), "2025 began 343-353 molt 353-365 unchecked 212-343 2026 ended 19-31 molt 0-19"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got := laid(Lay([]Ring{{Year: 2026}}, "expected", day(t, "2025-12-20"), day(t, "2026-01-05"))); got != "2026 expected 0-4" {
		t.Error(got)
	}
}

func TestTurnsOfTheYear(t *testing.T) {
	for text, want := range map[string]float64{"2026-01-01": 0, "2028-01-01": 0, "2026-07-02": 182. / 365, "2028-07-02": 183. / 366, "2028-12-31": 365. / 366, "1968-12-31": 365. / 366} {
		if d := day(t, text); math.Abs(d.Turn()-want) > 1e-12 || d.String() != text {
			t.Errorf("%s has turned %.6f, want %.6f", d, d.Turn(), want)
		}
	}
}
