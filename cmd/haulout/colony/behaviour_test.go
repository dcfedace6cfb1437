package colony

import (
	"math"
	"slices"
	"sync"
	"testing"
	"time"

	"haulout/events"
)

// meal sums are in grams and kcal, by animal and day.
type sums struct{ grams, kcal float64 }

type dayKey struct {
	animal string
	date   time.Time
}

// intake is what every animal ate on every day, from the feeds as they stand.
var intake = sync.OnceValue(func() map[dayKey]sums {
	h, out, lots := whole2y(), map[dayKey]sums{}, map[string]float64{}
	bodies(h, func(f *told, l *events.LotReceived) {
		lots[f.Facility+"/"+l.Lot] = knownAs(l.Food, f.Time).kcal
	})
	bodies(h, func(f *told, feed *events.FeedGiven) {
		key := dayKey{feed.Animal, f.Time.Truncate(24 * time.Hour)}
		sum := out[key]
		for _, item := range feed.Items {
			grams := float64(item.Eaten.Milligrams()) / 1000
			sum.grams += grams
			sum.kcal += grams / 100 * lots[f.Facility+"/"+item.Lot]
		}
		out[key] = sum
	})
	return out
})

// eaten sums the days of an animal that a test of their date picks.
func eaten(animal string, picks func(date time.Time) bool) (sum sums, days float64) {
	first, last := span(ending)
	for date := first; date.Before(last); date = date.AddDate(0, 0, 1) {
		if picks(date) {
			one := intake()[dayKey{animal, date}]
			sum.grams, sum.kcal, days = sum.grams+one.grams, sum.kcal+one.kcal, days+1
		}
	}
	return sum, days
}

func TestHerringLeadsInWinterAndSquidGrowsInSummer(t *testing.T) {
	for _, site := range []string{"saltgarth", "wrackline-bay", "tern-sluice"} {
		share := func(month time.Month, foods ...string) float64 {
			part, all := 0.0, 0.0
			bodies(whole2y(), func(f *told, r *events.RationSet) {
				if f.Facility != site || f.Time.Month() != month {
					return
				}
				for _, item := range r.Items {
					all += item.Mass.Float("g")
					if slices.Contains(foods, item.Food) {
						part += item.Mass.Float("g")
					}
				}
			})
			return part / all
		}
		january, july := share(time.January, "herring-atlantic", "herring-pacific"), share(time.July, "herring-atlantic", "herring-pacific")
		if january < july+0.12 {
			t.Errorf("%s: herring is %.0f %% of January's rations and %.0f %% of July's", site, january*100, july*100)
		}
		january, july = share(time.January, "squid-mixed"), share(time.July, "squid-mixed")
		if july < january+0.10 {
			t.Errorf("%s: squid is %.0f %% of January's rations and %.0f %% of July's", site, january*100, july*100)
		}
	}
}

var grownMales = []string{"demo-quillon", "demo-marl", "demo-basalt"}

// dailyKilos is the mean daily intake of an animal in some months of all years.
func dailyKilos(animal string, months ...time.Month) float64 {
	sum, days := eaten(animal, func(date time.Time) bool { return slices.Contains(months, date.Month()) })
	return sum.grams / 1000 / days
}

func dailyKcal(animal string, months ...time.Month) float64 {
	sum, days := eaten(animal, func(date time.Time) bool { return slices.Contains(months, date.Month()) })
	return sum.kcal / days
}

// meanMass is the mean of the weigh-ins of an animal within a span.
func meanMass(h *history, animal string, from, to time.Time) float64 {
	sum, n := 0.0, 0.0
	bodies(h, func(f *told, w *events.WeightTaken) {
		if w.Animal == animal && !f.Time.Before(from) && f.Time.Before(to) {
			sum, n = sum+w.Mass.Float("kg"), n+1
		}
	})
	return sum / n
}

func day1(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }

func TestGrownMalesFastAndDefendInSummer(t *testing.T) {
	h := whole2y()
	for _, male := range grownMales {
		spring, summer := dailyKilos(male, time.February, time.March, time.April), dailyKilos(male, time.June, time.July)
		if summer > 0.65*spring {
			t.Errorf("%s eats %.1f kg a day in spring and %.1f in June and July", male, spring, summer)
		}
		if season := dailyKilos(male, time.May, time.June, time.July, time.August); season > 0.8*spring {
			t.Errorf("%s eats %.1f kg a day in spring and %.1f from May to August", male, spring, season)
		}
		heavy, light, again := meanMass(h, male, day1(2025, 4, 10), day1(2025, 5, 1)), meanMass(h, male, day1(2025, 8, 15), day1(2025, 9, 10)), meanMass(h, male, day1(2026, 4, 10), day1(2026, 5, 1))
		if light > 0.85*heavy || again < 1.15*light {
			t.Errorf("%s weighs %.0f kg in April, %.0f at the end of August, %.0f in the next April", male, heavy, light, again)
		}
	}
	defend(t, h)
}

func defend(t *testing.T, h *history) {
	t.Helper()
	count := func(months ...time.Month) (met, won float64) {
		bodies(h, func(f *told, e *events.EncounterSeen) {
			if !slices.Contains(months, f.Time.Month()) || e.Draw {
				return
			}
			winner, loser := slices.Contains(grownMales, e.Winner), slices.Contains(grownMales, e.Loser)
			if winner || loser {
				met++
			}
			if winner {
				won++
			}
		})
		return met, won
	}
	summer, summerWins := count(time.June, time.July)
	winter, winterWins := count(time.December, time.January)
	if summer < 1.4*winter || summerWins < 1.4*winterWins {
		t.Errorf("encounters with grown males: %.0f (won %.0f) in June and July, %.0f (won %.0f) in December and January", summer, summerWins, winter, winterWins)
	}
}

// firstNewCoats are the days of the first new coat after none, by animal and year.
func firstNewCoats(h *history) map[string][]time.Time {
	none, out := map[string]bool{}, map[string][]time.Time{}
	bodies(h, func(f *told, c *events.CoatScored) {
		if c.Stage == "0" {
			none[c.Animal] = true
		} else if none[c.Animal] {
			none[c.Animal] = false
			out[c.Animal] = append(out[c.Animal], f.Time)
		}
	})
	return out
}

func TestCoatsChangeInTheirSeason(t *testing.T) {
	onset := firstNewCoats(whole2y())
	first, _ := span(ending)
	for _, who := range castList(sinceJune(first), 0) {
		if who.age < 3 || who.kind == steller {
			continue
		}
		from, to, expected := time.Date(0, 7, 28, 0, 0, 0, 0, time.UTC), time.Date(0, 9, 8, 0, 0, 0, 0, time.UTC), 2
		switch {
		case who.kind == harbour:
			from, to = time.Date(0, 7, 1, 0, 0, 0, 0, time.UTC), time.Date(0, 8, 31, 0, 0, 0, 0, time.UTC)
		case who.sex == "male":
			from, to, expected = time.Date(0, 9, 18, 0, 0, 0, 0, time.UTC), time.Date(0, 11, 1, 0, 0, 0, 0, time.UTC), 1 // two Octobers are at the edges
		}
		days := onset[idOf(who.name)]
		if len(days) < expected || len(days) > 3 {
			t.Errorf("%s has %d onsets of molt, want at least %d", who.name, len(days), expected)
		}
		for _, day := range days {
			if d := day.YearDay(); d < from.YearDay() || d > to.YearDay() {
				t.Errorf("%s begins to molt on %s", who.name, day.Format(time.DateOnly))
			}
		}
	}
}

func TestAppetiteRisesStronglyAfterMolt(t *testing.T) {
	for _, female := range []string{"demo-sorrel", "demo-eyebright", "demo-gorse"} {
		during, after := dailyKcal(female, time.August, time.September), dailyKcal(female, time.November, time.December)
		if after < 1.12*during {
			t.Errorf("%s eats %.0f kcal a day in molt and %.0f after it", female, during, after)
		}
	}
	for _, male := range grownMales {
		during, after := dailyKcal(male, time.October), dailyKcal(male, time.January, time.February)
		if after < 1.12*during {
			t.Errorf("%s eats %.0f kcal a day in October and %.0f in January and February", male, during, after)
		}
	}
}

func TestHarbourSealsLoseMassInMolt(t *testing.T) {
	h := whole2y()
	for _, seal := range []string{"demo-sedge", "demo-campion", "demo-burnet", "demo-plover", "demo-slate", "demo-saxifrage"} {
		before, after := meanMass(h, seal, day1(2025, 5, 20), day1(2025, 6, 20)), meanMass(h, seal, day1(2025, 8, 25), day1(2025, 9, 20))
		if after > 0.94*before {
			t.Errorf("%s weighs %.1f kg in June and %.1f in September", seal, before, after)
		}
		spring, molt := dailyKcal(seal, time.April, time.May), dailyKcal(seal, time.July, time.August)
		if molt > 0.85*spring {
			t.Errorf("%s eats %.0f kcal a day in spring and %.0f in molt", seal, spring, molt)
		}
	}
}

func TestPupsGrow(t *testing.T) {
	h := whole2y()
	plan := Plan(ending)
	born := plan.Birth.From
	light, heavy := meanMass(h, plan.Birth.Animal, born, born.AddDate(0, 0, 21)), meanMass(h, plan.Birth.Animal, born.AddDate(0, 10, 0), born.AddDate(0, 11, 0))
	if light < 6 || light > 12 || heavy < 20 || heavy > 40 {
		t.Errorf("the pup weighs %.1f kg after its birth and %.1f ten months later", light, heavy)
	}
	for _, young := range []string{"demo-fescue", "demo-withy", "demo-melick", "demo-osier"} {
		first, last := meanMass(h, young, day1(2024, 10, 14), day1(2024, 11, 14)), meanMass(h, young, day1(2026, 9, 14), day1(2026, 10, 14))
		if last < 1.12*first {
			t.Errorf("%s grows from %.1f to %.1f kg in two years", young, first, last)
		}
	}
}

// Kastelein et al. 2000 (Zoo Biology 19:143): intake drops about three days
// before a birth, ceases the next day, resumes the day after.
func TestAMotherStopsEatingAroundTheBirth(t *testing.T) {
	plan := Plan(ending)
	kilos := func(day int) float64 {
		return intake()[dayKey{plan.BirthFast.Animal, plan.Birth.From.AddDate(0, 0, day)}].grams / 1000
	}
	mean := func(from, to int) (sum float64) {
		for day := from; day <= to; day++ {
			sum += kilos(day) / float64(to-from+1)
		}
		return sum
	}
	usual := mean(-24, -5)
	if before := mean(-3, -1); before > 0.75*usual {
		t.Errorf("she eats %.1f kg a day in the three days before, %.1f usually", before, usual)
	}
	if kilos(1) != 0 {
		t.Errorf("she eats %.2f kg on the day after the birth", kilos(1))
	}
	if after := mean(4, 12); after < 0.85*usual {
		t.Errorf("she eats %.1f kg a day from the fourth day on, %.1f usually", after, usual)
	}
}

func kcalEaten(animal string, from, to time.Time) float64 {
	sum, _ := eaten(animal, func(date time.Time) bool { return !date.Before(from) && date.Before(to) })
	return sum.kcal
}

// What an animal ate and how its mass changed must give back nearly the same
// upkeep in each half of the time, or no filter could find it. It differs by the
// season and drifts.
func TestMassFollowsIntake(t *testing.T) {
	h, kcal := whole2y(), tissues()
	for _, animal := range []string{"demo-sorrel", "demo-basalt", "demo-gorse", "demo-sedge", "demo-plover", "demo-pumice"} {
		var found []float64
		for _, from := range []time.Time{day1(2024, 11, 1), day1(2025, 6, 1), day1(2025, 12, 1)} {
			to := from.AddDate(0, 6, 0)
			change := meanMass(h, animal, to.AddDate(0, 0, -8), to.AddDate(0, 0, 8)) - meanMass(h, animal, from.AddDate(0, 0, -8), from.AddDate(0, 0, 8))
			days := to.Sub(from).Hours() / 24
			burnt := (kcalEaten(animal, from, to) - change*kcal[animal]) / days
			basal := 0.0
			for at := from; at.Before(to); at = at.AddDate(0, 0, 30) {
				basal += resting(meanMass(h, animal, at.AddDate(0, 0, -10), at.AddDate(0, 0, 25))) / math.Ceil(days/30)
			}
			found = append(found, burnt/basal)
		}
		if slices.Min(found) < 1.7 || slices.Max(found) > 3.2 || slices.Max(found) > 1.17*slices.Min(found) {
			t.Errorf("%s: upkeep in three half-years is %.2f times 70 M^0.75", animal, found)
		}
	}
}

// tissues is the energy of a kilogram of each animal, in kcal.
func tissues() map[string]float64 {
	out := map[string]float64{}
	for _, a := range newCast(newDice(seed, "cast"), newColony(seed, ending)) {
		out[a.id] = a.tissue
	}
	return out
}

// Published fasts come to 12 to 28 MJ for a kilogram (the survey of energetics).
func TestAKilogramIsWorthSomethingElseInEachAnimal(t *testing.T) {
	var megajoules []float64
	for _, kcal := range tissues() {
		megajoules = append(megajoules, kcal*4.184/1000)
	}
	slices.Sort(megajoules)
	if low, high := megajoules[0], megajoules[len(megajoules)-1]; low < 12 || high > 28 || high < 1.25*low {
		t.Errorf("a kilogram is worth %.1f MJ", megajoules)
	}
}

func TestScalesAreHalfAPerCentOff(t *testing.T) {
	byDay := map[string][]*events.WeightTaken{}
	when := map[*events.WeightTaken]time.Time{}
	off, wrong := Plan(ending).OffScale, Plan(ending).WrongDigit
	bodies(whole2y(), func(f *told, w *events.WeightTaken) {
		if (w.Scale == off.Scale && off.covers(f.Time)) || (w.Animal == wrong.Animal && wrong.covers(f.Time)) {
			return
		}
		byDay[w.Animal] = append(byDay[w.Animal], w)
		when[w] = f.Time
	})
	sum, n := 0.0, 0.0
	for animal, weights := range byDay {
		slices.SortFunc(weights, func(a, b *events.WeightTaken) int { return when[a].Compare(when[b]) })
		for i := 1; i < len(weights); i++ {
			if animal != "demo-tansy" && when[weights[i]].Sub(when[weights[i-1]]) < 26*time.Hour {
				step := math.Log(weights[i].Mass.Float("kg") / weights[i-1].Mass.Float("kg"))
				sum, n = sum+step*step, n+1
			}
		}
	}
	// Two readings a day apart differ by the errors of both and a day's change.
	if sd := math.Sqrt(sum / n / 2); sd < 0.004 || sd > 0.0065 {
		t.Errorf("readings scatter by %.2f %% over %.0f pairs", sd*100, n)
	}
}

// taught is how long behaviours of a name took, and how many are not done.
func taught(h *history, name string) (days []float64, open, dropped int) {
	planned := map[string]time.Time{}
	bodies(h, func(f *told, b *events.BehaviourPlanned) {
		if _, again := planned[b.Behaviour]; b.Name == name && !again {
			planned[b.Behaviour] = f.Time
		}
	})
	all := len(planned)
	bodies(h, func(f *told, b *events.BehaviourApproved) {
		if start, ok := planned[b.Behaviour]; ok {
			days = append(days, f.Time.Sub(start).Hours()/24)
			delete(planned, b.Behaviour)
		}
	})
	bodies(h, func(_ *told, b *events.BehaviourDropped) {
		if _, ok := planned[b.Behaviour]; ok {
			dropped++
		}
	})
	slices.Sort(days)
	return days, all - len(days) - dropped, dropped
}

func TestStillnessTakesLongAndCalmIsQuick(t *testing.T) {
	h := whole2y()
	still, open, dropped := taught(h, "lie still for ultrasound")
	if len(still) < 10 || still[0] < 150 || still[len(still)-1] < 365 {
		t.Errorf("lie still for ultrasound took %.0f days", still)
	}
	if dropped != 1 {
		t.Errorf("%d animals were given up on, want 1", dropped)
	}
	_, openRadiograph, _ := taught(h, "lie still for radiograph")
	if open+openRadiograph < 3 {
		t.Errorf("%d still behaviours are not finished at the end, want some", open+openRadiograph)
	}
	for _, name := range []string{"stay calm beside the hose", "stay calm beside the camera", "stay calm beside the brush"} {
		calm, _, _ := taught(h, name)
		if len(calm) < 8 || calm[len(calm)/2] > 12 || calm[len(calm)-1] > 30 {
			t.Errorf("%s took %.0f days", name, calm)
		}
	}
	touch, openTouch, _ := taught(h, "touch the high target")
	if len(touch) < 10 || touch[0] > 35 || (touch[len(touch)-1] < 365 && openTouch == 0) {
		t.Errorf("touch the high target took %.0f days, %d not finished", touch, openTouch)
	}
}
