package projections

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

func massOf(t testing.TB, s *Store, animal, at string) *MassAnswer {
	t.Helper()
	now, err := time.Parse(time.RFC3339, at)
	if err != nil {
		t.Fatal(err)
	}
	out, err := s.MassOf(animal, now, time.Time{})
	if err != nil || out == nil {
		t.Fatalf("%+v %v", out, err)
	}
	if _, err := json.Marshal(out); err != nil {
		t.Fatal(err)
	}
	return out
}

// grows lets an animal be born at Saltgarth and weighed every so many days by a
// curve of growth.
func (r *recorder) grows(id, sex string, born time.Time, days, every int, kg func(years float64) float64) {
	at := born.Add(9 * time.Hour)
	r.record("saltgarth", "animal.entered", at.Format(time.RFC3339), fmt.Sprintf(`{"animal":%q,"name":%q,"taxon":"Zalophus californianus","sex":%q,"born":%q,"how":"birth"}`, id, id, sex, born.Format(time.DateOnly)))
	dice := rand.New(rand.NewPCG(uint64(len(id)), uint64(born.Unix())))
	for day := every; day < days; day += every {
		mass := kg(float64(day)/365.25) * (1 + 0.01*dice.NormFloat64())
		r.record("saltgarth", "weight.taken", at.AddDate(0, 0, day).Format(time.RFC3339), fmt.Sprintf(`{"animal":%q,"mass":{"value":"%.1f","unit":"kg"},"coat":"dry"}`, id, mass))
	}
}

func openSaltgarth(t testing.TB) *recorder {
	r := newRecorder(t)
	r.record("saltgarth", "facility.opened", "2010-01-01T08:00:00Z", `{"name":"Saltgarth","zone":"Europe/Dublin"}`)
	return r
}

// female is the mass of a sea lion that grows to 90 kg (von Bertalanffy).
func female(years float64) float64 { return 90 * (1 - math.Exp(-0.45*(years+0.2))) }

func TestAMassIsSetBesideItsWeeksAndItsScale(t *testing.T) {
	s := filledStore(t, weighedDaily(t, 6, steppedOn, 0.92))
	m := massOf(t, s, "sea-lion-1", "2026-04-27T12:00:00Z")
	if m.Last == nil || m.Last.Scale != "deck" || m.Years == nil || math.Abs(*m.Years-10.87) > 0.01 {
		t.Fatalf("%+v", m)
	}
	if len(m.Changes) != 2 || *m.Changes[1].Percent > -6 || m.Changes[1].Explained < 4 || m.Changes[1].Look || m.Changes[1].WeighIns < 8 {
		t.Errorf("%+v", m.Changes)
	}
	if len(m.Scales) != 1 || m.Scales[0].Animals != 6 || m.Scales[0].Last < "2026-04-20" {
		t.Errorf("%+v", m.Scales)
	}
	if later := massOf(t, s, "sea-lion-1", "2026-05-10T12:00:00Z").Scales[0]; len(later.Steps) != 1 || later.Steps[0].Percent.Hi > 0 || later.Steps[0].Animals < 5 {
		t.Errorf("%+v", later)
	}
	if m.Trend.NotEnough != "" || m.Trend.Going != "" && m.Trend.Going != "down" || len(m.Trend.Line) != 2 || m.Trend.Window != 90 {
		t.Errorf("%+v", m.Trend)
	}
	if !strings.Contains(m.Season.NotEnough, "700") || m.Watch.NotEnough == "" || m.Curve.NotEnough == "" || m.Curve.NoPlace == "" {
		t.Errorf("from four months: %+v, %+v, %+v", m.Season, m.Watch, m.Curve)
	}
	if m.Place.NotEnough != "" || m.Place.Caveat == "" || !strings.Contains(m.Place.Source, "Kastelein") || m.Place.Percent == nil {
		t.Errorf("%+v", m.Place)
	}
}

// The colony's own curve is found again, and the light one has its place on it.
func TestAnAnimalHasItsPlaceOnTheCurveOfItsKind(t *testing.T) {
	r := openSaltgarth(t)
	for n := range 5 {
		r.grows(fmt.Sprintf("cow-%d", n), "female", time.Date(2012+2*n, 6, 12, 0, 0, 0, 0, time.UTC), 365*(14-2*n), 28, female)
	}
	r.grows("light", "female", time.Date(2014, 6, 12, 0, 0, 0, 0, time.UTC), 365*12, 28, func(years float64) float64 { return 0.8 * female(years) })
	s := filledStore(t, r)
	m := massOf(t, s, "light", "2026-06-01T12:00:00Z")
	c := m.Curve
	if c.NotEnough != "" || c.Animals != 6 || c.NoPlace != "" || *c.Percent > -12 || *c.Percent < -22 || c.SD == nil || len(c.Line) != linePoints+1 || len(c.Own) < 100 {
		t.Fatalf("%+v, %v", c, c.Percent)
	}
	last := c.Line[len(c.Line)-1]
	if full := 90 * (5 + 0.8) / 6; math.Abs(last.Mean-full) > 5 || last.Lo > last.Mean || last.Hi < last.Mean || c.At.Years < 11.9 {
		t.Errorf("grown at %+v, want about %.0f kg", last, full)
	}
	if oldest := massOf(t, s, "cow-0", "2026-06-01T12:00:00Z").Curve; oldest.NoPlace != "" || oldest.At.Years < 13.9 {
		t.Errorf("the oldest: %+v", oldest)
	}
	if heavy := massOf(t, s, "cow-1", "2026-06-01T12:00:00Z").Curve; *heavy.Percent < 0 || *heavy.Percent > 8 || heavy.Form != c.Form {
		t.Errorf("%+v", heavy)
	}
	// A weigh-in of another animal that comes in late is in the curve at once.
	late := r.record("saltgarth", "weight.taken", "2025-01-06T08:00:00Z", `{"animal":"cow-3","mass":{"value":"88","unit":"kg"}}`)
	mustApply(t, s, r.page("saltgarth", int(late.Number), int(late.Number)))
	if got := massOf(t, s, "light", "2026-06-01T12:00:00Z").Curve; got.WeighIns != c.WeighIns+1 {
		t.Errorf("%d weigh-ins after one more, %d before", got.WeighIns, c.WeighIns)
	}
}

// A grown male is lightest after the summer, every year; that is his season, and
// what is published of it stands beside it. A loss in spring is none of it.
func TestTheSeasonAndTheWatchOfAGrownMale(t *testing.T) {
	r := openSaltgarth(t)
	season := func(years float64) float64 {
		kg := 250 + 20*math.Cos(2*math.Pi*(years-0.83)) // born in June, heaviest in April
		if years > 7.72 {
			kg *= 0.9
		}
		return kg
	}
	r.grows("bull", "male", time.Date(2018, 6, 12, 0, 0, 0, 0, time.UTC), 365*8, 5, season)
	s := filledStore(t, r)
	m := massOf(t, s, "bull", "2026-03-31T12:00:00Z")
	if se := m.Season; se.NotEnough != "" || !se.Seen || se.Peak.Likely < "03-20" || se.Peak.Likely > "05-01" || math.Abs(se.Amplitude.Mean-20) > 3 || len(se.Course) < 100 {
		t.Fatalf("%+v %+v", m.Season.Peak, m.Season.Amplitude)
	}
	seen := 0
	for _, signal := range m.Watch.Signals {
		seen += one(!signal.Up && !signal.Over && signal.Seen >= "2026-02-25" && signal.Seen <= "2026-03-10")
	}
	if seen != 2 || len(m.Watch.Days) < 15 || len(m.Expected) != 0 {
		t.Errorf("%+v, %v", m.Watch.Signals, m.Expected)
	}
	summer := massOf(t, s, "bull", "2025-07-01T12:00:00Z")
	if len(summer.Expected) == 0 || summer.Trend.Going != "down" || summer.Trend.PerDay.Hi >= 0 {
		t.Errorf("in July: %v, %+v", summer.Expected, summer.Trend)
	}
}

func TestAMassThatNobodyTookSaysSo(t *testing.T) {
	r := openSaltgarth(t)
	r.record("saltgarth", "animal.entered", "2026-01-01T09:00:00Z", `{"animal":"gorse","name":"Gorse","taxon":"Odobenus imaginarius","sex":"unknown","how":"rescue"}`)
	s := filledStore(t, r)
	m := massOf(t, s, "gorse", "2026-06-01T12:00:00Z")
	for part, why := range map[string]string{"trend": m.Trend.NotEnough, "season": m.Season.NotEnough, "watch": m.Watch.NotEnough, "curve": m.Curve.NotEnough, "place on it": m.Curve.NoPlace, "published": m.Place.NotEnough} {
		if why == "" {
			t.Errorf("the %s says nothing", part)
		}
	}
	if m.Last != nil || m.Years != nil || len(m.Changes) != 0 {
		t.Errorf("%+v", m)
	}
	if out, err := s.MassOf("nobody", time.Now(), time.Time{}); out != nil || err != nil {
		t.Errorf("%+v %v", out, err)
	}
	r.record("saltgarth", "weight.taken", "2026-05-01T08:00:00Z", `{"animal":"gorse","mass":{"value":"300","unit":"kg"},"method":"estimated"}`)
	if m := massOf(t, filledStore(t, r), "gorse", "2026-06-01T12:00:00Z"); m.Last == nil || m.Place.NotEnough != "never weighed on a scale" || m.Changes[0].NotEnough == "" {
		t.Errorf("a guess: %+v", m)
	}
}

func TestAMassIsAsItWasBelieved(t *testing.T) {
	r := weighedDaily(t, 2, steppedOn, 1)
	moment := r.clock
	r.record("saltgarth", "weight.taken", "2026-05-01T10:00:00Z", `{"animal":"sea-lion-1","mass":{"value":"60","unit":"kg"}}`)
	s := filledStore(t, r)
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	known, err := s.MassOf("sea-lion-1", now, time.Time{})
	if err != nil || known.Last.Kg != 60 || !known.Changes[0].Look {
		t.Fatalf("%+v %v", known, err)
	}
	then, err := s.MassOf("sea-lion-1", now, moment)
	if err != nil || then.Last.Kg < 70 || then.Changes[0].Look {
		t.Errorf("%+v %v", then, err)
	}
	if earlier := massOf(t, s, "sea-lion-1", "2026-05-01T09:00:00Z"); earlier.Last.Kg == 60 {
		t.Error("a weigh-in of later that day is known")
	}
}

// Ten years of an animal, and the curve of two dozen, fit a page.
func TestAMassOfTenYearsTakesAMoment(t *testing.T) {
	const limit = 100 * time.Millisecond
	r := openSaltgarth(t)
	for n := range 24 {
		r.grows(fmt.Sprintf("cow-%02d", n), "female", time.Date(2016, 6, 1+n, 0, 0, 0, 0, time.UTC), 365*10, 14, female)
	}
	s := filledStore(t, r)
	from := processor(t)
	ask := func() { massOf(t, s, "cow-07", "2026-06-01T12:00:00Z") }
	ask()
	cold := processor(t) - from
	took := least(t, limit, ask)
	if t.Logf("from rows that nobody read before %v, then %v", cold, took); took > limit {
		t.Errorf("it takes %v", took)
	}
}
