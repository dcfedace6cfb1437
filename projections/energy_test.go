package projections

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

var energyStart = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)

func energyAt(day int, hour int) string {
	return energyStart.AddDate(0, 0, day).Add(time.Duration(hour) * time.Hour).Format(time.RFC3339)
}

func energyDay(day int) Day { return Day(energyStart.AddDate(0, 0, day).Format(time.DateOnly)) }

// fedAndWeighed lets Marl eat 3.4 kg of herring a day and weigh 81.5 kg every
// third day.
func fedAndWeighed(t *testing.T, days int) *recorder {
	r := saltgarth(t)
	for day := range days {
		r.record("saltgarth", "feed.given", energyAt(day, 9), feedBody("marl", "herring", "3.6", "3.4"))
		if day%3 == 0 {
			r.record("saltgarth", "weight.taken", energyAt(day, 10), weightBody("marl", "81.5"))
		}
	}
	return r
}

func energyOfMarl(t *testing.T, s *Store, from, to, open Day) *Energy {
	t.Helper()
	e, err := s.Energy("marl", from, to, open, time.Time{})
	if err != nil || e == nil {
		t.Fatalf("%v %v", e, err)
	}
	return e
}

func TestEnergyOfAnAnimal(t *testing.T) {
	s := filledStore(t, fedAndWeighed(t, 90))
	e := energyOfMarl(t, s, energyDay(80), energyDay(89), "")
	if e.NotEnough != "" || e.Balance == nil || len(e.Days) != 10 || e.LoggedIn7 != 7 || e.Weighed != 30 {
		t.Fatalf("%+v", e)
	}
	// 3.4 kg of USDA's Atlantic herring by its own factors; level weigh-ins make that the need.
	kcal := 34 * (4.27*17.96 + 9.02*9.04)
	if got := e.Days[9].Eaten.Kcal; math.Abs(got-kcal) > 0.1 {
		t.Errorf("eaten %.1f kcal, want %.1f", got, kcal)
	}
	if e.Need.Lo > kcal || e.Need.Hi < kcal || e.Balance.Lo > 0 || e.Balance.Hi < 0 {
		t.Errorf("need %+v, balance %+v with level weigh-ins", e.Need, e.Balance)
	}
	if got := e.Days[9].Eaten.Bases; len(got) != 1 || got[0] != "metabolizable_atwater, food table" {
		t.Errorf("bases %q", got)
	}
	f, err := s.Forecast("marl", nil, energyDay(89), "", energyStart.AddDate(0, 0, 90), time.Time{})
	if err != nil || f.NotEnough != "" || len(f.Days) != 60 {
		t.Fatalf("%+v %v", f, err)
	}
	last := f.Days[59]
	if last.Lo > 81.5 || last.Hi < 81.5 || last.Hi-last.Lo <= f.Days[0].Hi-f.Days[0].Lo {
		t.Errorf("in 60 days %+v", last)
	}
}

func TestAGivenRationMovesTheForecast(t *testing.T) {
	s := filledStore(t, fedAndWeighed(t, 90))
	at := func(grams float64) ForecastDay {
		f, err := s.Forecast("marl", []RationPart{{Facility: "saltgarth", Food: "herring", Grams: grams}}, energyDay(89), "", energyStart.AddDate(0, 0, 90), time.Time{})
		if err != nil || f.NotEnough != "" {
			t.Fatalf("%+v %v", f, err)
		}
		return f.Days[59]
	}
	if less, more := at(2400), at(4400); less.Hi > 81.5 || more.Lo < 81.5 {
		t.Errorf("2.4 kg a day leads to %+v, 4.4 kg to %+v", less, more)
	}
	f, err := s.Forecast("marl", []RationPart{{Facility: "saltgarth", Food: "sprat", Grams: 100}}, energyDay(89), "", energyStart, time.Time{})
	if err != nil || !strings.Contains(f.NotEnough, "sprat") || len(f.Days) > 0 {
		t.Errorf("a ration of an unknown food: %+v %v", f, err)
	}
}

// The set of records alone decides: told in another order, and an entry at a
// time, the same happenings give the same balance.
func TestEnergyIsAFunctionOfTheSet(t *testing.T) {
	type told struct{ kind, at, body string }
	var all []told
	for day := range 60 {
		all = append(all, told{"feed.given", energyAt(day, 9), feedBody("marl", "herring", "3.6", fmt.Sprintf("3.%d", day%6))})
		if day%3 == 0 {
			all = append(all, told{"weight.taken", energyAt(day, 10), weightBody("marl", fmt.Sprintf("81.%d", day%10))})
		}
	}
	balance := func(order []told) string {
		r := saltgarth(t)
		for _, one := range order {
			r.record("saltgarth", one.kind, one.at, one.body)
		}
		fed := r.record("saltgarth", "feed.given", energyAt(30, 15), feedBody("marl", "herring", "1.0", "1.0"))
		r.correct(fed, feedBody("marl", "herring", "1.0", "0.5"))
		r.withdraw(r.record("saltgarth", "weight.taken", energyAt(31, 15), weightBody("marl", "91.5")))
		s := openStore(t, t.TempDir(), All())
		defer closeStore(t, s)
		for n := range r.all {
			mustApply(t, s, r.page("saltgarth", n+1, n+1))
		}
		out, err := json.Marshal(energyOfMarl(t, s, energyDay(0), energyDay(59), ""))
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	want := balance(all)
	shuffled := slices.Clone(all)
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	if diff := cmp.Diff(want, balance(shuffled)); diff != "" {
		t.Error(diff)
	}
	if balance(all[2:]) == want {
		t.Error("a feed less changes nothing")
	}
}

// A feed that comes in a year late is in today's balance at once: nothing waits
// for a fold from back then.
func TestALateFeedIsInTodaysBalanceAtOnce(t *testing.T) {
	r := fedAndWeighed(t, 400)
	s := filledStore(t, r)
	before := energyOfMarl(t, s, energyDay(399), energyDay(399), "")
	took := time.Hour
	for i := range 5 {
		late := r.record("saltgarth", "feed.given", energyAt(30+i, 16), feedBody("marl", "herring", "4.0", "4.0"))
		start := time.Now()
		mustApply(t, s, r.page("saltgarth", int(late.Number), int(late.Number)))
		energyOfMarl(t, s, energyDay(399), energyDay(399), "")
		took = min(took, time.Since(start))
	}
	t.Logf("a late feed is in the balance after %s", took)
	if took > 100*time.Millisecond {
		t.Errorf("a late feed took %s", took)
	}
	if after := energyOfMarl(t, s, energyDay(399), energyDay(399), ""); after.Factor.Mean == before.Factor.Mean {
		t.Error("the late feeds changed nothing")
	}
}

// A lot's own assay goes before the food's table, also for what was eaten before
// the laboratory answered.
func TestAnAssayRevaluesWhatWasEaten(t *testing.T) {
	r := saltgarth(t)
	r.record("saltgarth", "lot.received", energyAt(0, 6), `{"lot":"H-1","food":"herring","mass":{"value":"100","unit":"kg"}}`)
	r.record("saltgarth", "weight.taken", energyAt(0, 8), weightBody("marl", "81.5"))
	r.record("saltgarth", "feed.given", energyAt(1, 9), `{"animal":"marl","items":[{"food":"herring","lot":"H-1","offered":{"value":"2","unit":"kg"},"eaten":{"value":"2","unit":"kg"}},{"food":"herring","offered":{"value":"1","unit":"kg"},"eaten":{"value":"1","unit":"kg"}}]}`)
	table := filledStore(t, r)
	assay := r.record("saltgarth", "lot.assayed", energyAt(40, 9), `{"lot":"H-1","composition":{"water":{"value":"66.4","unit":"g"},"protein":{"value":"17.5","unit":"g"},"fat":{"value":"13.1","unit":"g"},"ash":{"value":"2.4","unit":"g"}},"laboratory":"Cinder Quay"}`)
	assayed := filledStore(t, r)
	was := energyOfMarl(t, table, energyDay(1), energyDay(1), "").Days[0].Eaten
	is := energyOfMarl(t, assayed, energyDay(1), energyDay(1), "").Days[0].Eaten
	want := 20*(4.27*17.5+9.02*13.1) + 10*(4.27*17.96+9.02*9.04)
	if math.Abs(is.Kcal-want) > 0.1 || was.Kcal >= is.Kcal {
		t.Errorf("%.1f kcal by the table, %.1f with the assay, want %.1f", was.Kcal, is.Kcal, want)
	}
	if strings.Join(is.Bases, "; ") != "metabolizable_atwater, food table; metabolizable_atwater, lot assay" {
		t.Errorf("bases %q", is.Bases)
	}
	back, err := assayed.Energy("marl", energyDay(1), energyDay(1), "", assay.Recorded.Add(-time.Nanosecond))
	if err != nil || math.Abs(back.Days[0].Eaten.Kcal-was.Kcal) > 0.1 {
		t.Errorf("before the assay came in one believed %+v, %v", back.Days[0].Eaten, err)
	}
}

// Assays may state gross energy: then Atwater's losses are taken off, and only
// once.
func TestStatedGrossEnergyIsBroughtDown(t *testing.T) {
	r := saltgarth(t)
	r.record("saltgarth", "food.described", energyAt(0, 5), `{"food":"capelin","name":"Capelin","taxon":"Mallotus villosus","form":"fish","energy":{"value":"860","unit":"kJ"},"basis":"gross","source":"Martensson, Nordoy & Blix 1994: 8.6 kJ/g wet"}`)
	r.record("saltgarth", "weight.taken", energyAt(0, 8), weightBody("marl", "81.5"))
	r.record("saltgarth", "feed.given", energyAt(0, 9), feedBody("marl", "capelin", "1.0", "1.0"))
	eaten := energyOfMarl(t, filledStore(t, r), energyDay(0), energyDay(0), "").Days[0].Eaten
	gross := 8600 / 4.184
	if eaten.Kcal >= 0.94*gross || eaten.Kcal <= 0.6*gross || eaten.Bases[0] != "metabolizable, from gross, food table" {
		t.Errorf("%.0f kcal of %.0f gross, %q", eaten.Kcal, gross, eaten.Bases)
	}
	if len(eaten.NoLosses) != 1 || eaten.Bases == nil {
		t.Errorf("losses of a food without composition: %+v", eaten)
	}
}

// Ice brings water and no energy. Common practice, no source.
func TestIceCountsAsWater(t *testing.T) {
	r := saltgarth(t)
	r.record("saltgarth", "food.described", energyAt(0, 5), `{"food":"ice","name":"Ice","form":"other","composition":{"water":{"value":"100","unit":"g"}},"source":"common practice"}`)
	r.record("saltgarth", "weight.taken", energyAt(0, 8), weightBody("marl", "81.5"))
	r.record("saltgarth", "feed.given", energyAt(1, 9), `{"animal":"marl","items":[{"food":"herring","offered":{"value":"2","unit":"kg"},"eaten":{"value":"2","unit":"kg"}},{"food":"ice","offered":{"value":"3","unit":"kg"},"eaten":{"value":"3","unit":"kg"}}]}`)
	eaten := energyOfMarl(t, filledStore(t, r), energyDay(1), energyDay(1), "").Days[0].Eaten
	if want := 20 * (4.27*17.96 + 9.02*9.04); math.Abs(eaten.Kcal-want) > 0.1 || eaten.AsWaterG != 3000 || eaten.Water.PreformedG != 3000 || len(eaten.Unknown) > 0 {
		t.Errorf("%+v, want %.1f kcal", eaten, want)
	}
	// 25 to 33 mg of thiamine a kilogram of fish (Geraci 1972, Can J Zool z72-027): of the 2 kg of fish, not of the ice.
	if v := eaten.Vitamins[0]; v.What != "thiamine" || v.Least != 50 || v.Most != 66 {
		t.Errorf("%+v", v)
	}
}

func TestWhatNobodyLoggedIsNotZero(t *testing.T) {
	r := saltgarth(t)
	for day := range 40 {
		if day%3 == 0 {
			r.record("saltgarth", "weight.taken", energyAt(day, 10), weightBody("marl", "81.5"))
		}
		if day < 30 {
			r.record("saltgarth", "feed.given", energyAt(day, 9), feedBody("marl", "herring", "3.6", "3.4"))
		}
	}
	e := energyOfMarl(t, filledStore(t, r), energyDay(30), energyDay(39), "")
	for _, d := range e.Days {
		if d.Logged || d.Used || d.Eaten != nil {
			t.Errorf("%s: %+v", d.Day, d)
		}
	}
	if e.Balance != nil || e.Week != nil || e.Short == "" || e.NotEnough != "" {
		t.Errorf("balance %v, %q, %q", e.Balance, e.Short, e.NotEnough)
	}
	if mass := e.Mass; mass.Lo > 81.5 || mass.Hi < 81.5 {
		t.Errorf("mass %+v drifts off without a log", mass)
	}
}

// A day that is not over lends its weigh-in, not its half day of food.
func TestADayThatIsNotOver(t *testing.T) {
	r := fedAndWeighed(t, 60)
	r.record("saltgarth", "feed.given", energyAt(60, 9), feedBody("marl", "herring", "0.5", "0.5"))
	s := filledStore(t, r)
	open := energyOfMarl(t, s, energyDay(60), energyDay(60), energyDay(60))
	whole := energyOfMarl(t, s, energyDay(59), energyDay(59), "")
	if open.Balance == nil || math.Abs(open.Balance.Mean-whole.Balance.Mean) > 150 {
		t.Errorf("balance %+v with an open day, %+v before it", open.Balance, whole.Balance)
	}
	if d := open.Days[0]; !d.Logged || d.Used {
		t.Errorf("%+v", d)
	}
}

func TestAPupMakesItsMotherNurse(t *testing.T) {
	r := fedAndWeighed(t, 30)
	r.record("saltgarth", "animal.entered", energyAt(10, 4), `{"animal":"spray","name":"Spray","taxon":"Zalophus californianus","sex":"male","born":"2026-01-11","how":"birth","dam":"marl"}`)
	s := filledStore(t, r)
	before := energyOfMarl(t, s, energyDay(9), energyDay(9), "")
	after := energyOfMarl(t, s, energyDay(29), energyDay(29), "")
	birth := energyOfMarl(t, s, energyDay(11), energyDay(11), "")
	if len(before.Expected) > 0 || len(after.Expected) > 0 || len(birth.Expected) != 1 || !strings.Contains(birth.Expected[0], "Kastelein et al. 2000") {
		t.Errorf("around the birth: %q, %q, %q", before.Expected, birth.Expected, after.Expected)
	}
	if before.Class.Nursing || !after.Class.Nursing || after.Prior.Mean <= before.Prior.Mean {
		t.Errorf("%+v then %+v", before.Class, after.Class)
	}
}

func TestEnergyOfNobody(t *testing.T) {
	s := filledStore(t, saltgarth(t))
	if e, err := s.Energy("nobody", "2026-01-01", "2026-01-02", "", time.Time{}); e != nil || err != nil {
		t.Errorf("%v %v", e, err)
	}
	e := energyOfMarl(t, s, "2026-01-01", "2026-01-02", "")
	if !strings.Contains(e.NotEnough, "no weigh-in") || e.Factor != nil || e.Need != nil {
		t.Errorf("%+v", e)
	}
}

// BenchmarkEnergyOfAColony works out a hundred animals over two years.
func BenchmarkEnergyOfAColony(b *testing.B) {
	r := herd(b)
	for day := range 730 {
		for n := range 100 {
			at := energyStart.AddDate(0, 0, day)
			for feed := range 3 {
				r.record("saltgarth", "feed.given", at.Add(time.Duration(8+3*feed)*time.Hour+time.Duration(n)*time.Second).Format(time.RFC3339), feedBody(animalID(n), "herring", "1.2", "1.1"))
			}
			if (day+n)%3 == 0 {
				r.record("saltgarth", "weight.taken", at.Add(time.Duration(n)*time.Second).Format(time.RFC3339), weightBody(animalID(n), fmt.Sprintf("%.1f", 80+2*math.Sin(float64(day+n)/60))))
			}
		}
	}
	s := openStore(b, b.TempDir(), All())
	defer closeStore(b, s)
	for from := 1; from <= len(r.all); from += 500 {
		mustApply(b, s, r.page("saltgarth", from, min(from+499, len(r.all))))
	}
	var ids []string
	for n := range 100 {
		ids = append(ids, animalID(n))
	}
	for b.Loop() {
		list, err := s.Energies(ids, energyDay(700), energyDay(729), "", time.Time{})
		if err != nil || len(list) != 100 || list[99].Balance == nil {
			b.Fatal(err, len(list))
		}
	}
}
