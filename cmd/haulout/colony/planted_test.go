package colony

import (
	"slices"
	"strings"
	"testing"
	"time"

	"haulout/events"
)

func TestOneAnimalMissesItsWeighIns(t *testing.T) {
	missed := Plan(ending).MissedWeighIns
	last := map[string]time.Time{}
	bodies(whole2y(), func(f *told, w *events.WeightTaken) {
		if f.Time.After(last[w.Animal]) {
			last[w.Animal] = f.Time
		}
	})
	if gap := ending.Sub(last[missed.Animal]); gap < 35*24*time.Hour || gap > 45*24*time.Hour {
		t.Errorf("%s was last weighed %.0f days ago, want five weeks", missed.Animal, gap.Hours()/24)
	}
	for animal, at := range last {
		gone := animal == "demo-samphire"
		if gap := ending.Sub(at); animal != missed.Animal && !gone && gap > 21*24*time.Hour {
			t.Errorf("%s was last weighed %.0f days ago too", animal, gap.Hours()/24)
		}
	}
}

func TestOneScaleReadsTooMuch(t *testing.T) {
	h, plan := whole2y(), Plan(ending)
	off := plan.OffScale
	within := func(animal string, from, to time.Time) (kg []float64) {
		bodies(h, func(f *told, w *events.WeightTaken) {
			if w.Animal == animal && w.Scale == off.Scale && !f.Time.Before(from) && f.Time.Before(to) {
				kg = append(kg, w.Mass.Float("kg"))
			}
		})
		return kg
	}
	animals, sum := 0, 0.0
	for _, a := range newCast(newDice(seed, "cast"), newColony(seed, ending)) {
		during := within(a.id, off.From, off.To)
		around := slices.Concat(within(a.id, off.From.AddDate(0, 0, -9), off.From), within(a.id, off.To, off.To.AddDate(0, 0, 9)))
		if len(during) == 0 || len(around) == 0 {
			continue
		}
		animals++
		sum += average(during) / average(around)
	}
	if mean := sum / float64(animals); animals < 5 || mean < 1.03 || mean > 1.05 {
		t.Errorf("%d animals weigh %.3f times as much in those weeks on %s, want %.2f", animals, mean, off.Scale, plan.OffBy)
	}
}

func average(of []float64) (mean float64) {
	for _, v := range of {
		mean += v / float64(len(of))
	}
	return mean
}

func TestOneTabletComesBackThreeWeeksLate(t *testing.T) {
	plan := Plan(ending)
	batches, facts := 0, 0
	for _, e := range whole2y().entries {
		first, _ := events.ParseTime(e.Facts[0].Time)
		if e.Device == plan.LateTablet.Device && e.Recorded.Sub(first) > 15*24*time.Hour {
			batches++
			facts += len(e.Facts)
		}
		if e.Device == plan.LateTablet.Device && plan.LateTablet.covers(e.Recorded.Add(-2*time.Hour)) && plan.LateTablet.covers(e.Recorded) {
			t.Errorf("the tablet handed something over at %s", e.Recorded)
		}
	}
	if facts < 80 || batches > 1+facts/60 {
		t.Errorf("%d facts came late in %d batches, want many in few", facts, batches)
	}
	bodies(whole2y(), func(f *told, _ *events.FeedGiven) {
		late := f.Recorded.Sub(f.Time) > 15*24*time.Hour
		if late && (!plan.LateTablet.covers(f.Time) || f.Recorded.Sub(plan.LateRecorded) > time.Minute) {
			t.Errorf("a feed of %s was recorded on %s", f.Time, f.Recorded)
		}
	})
}

func TestAboutThreeInAThousandEntriesArePutRight(t *testing.T) {
	h := whole2y()
	reasons, repairs, instead := map[string]int{}, 0, 0
	bodies(h, func(_ *told, c *events.EntryCorrected) { reasons[c.Reason]++; repairs++ })
	bodies(h, func(_ *told, w *events.EntryWithdrawn) {
		reasons[w.Reason]++
		repairs++
		if w.Instead != "" {
			instead++
		}
	})
	if share := float64(repairs) / float64(len(h.facts)); share < 0.002 || share > 0.004 {
		t.Errorf("%.2f %% of the entries were put right", share*100)
	}
	for _, reason := range []string{"decimal point slipped", "wrong time", "noted twice", "wrong animal"} {
		if reasons[reason] < 20 {
			t.Errorf("only %d were put right for: %s", reasons[reason], reason)
		}
	}
	if instead < 20 {
		t.Errorf("only %d withdrawals name what stands instead", instead)
	}
}

// Once everything is put right no mass is ten times another; one that is wrong
// was planted.
func TestNoSlipStaysBehind(t *testing.T) {
	h, wrong := whole2y(), Plan(ending).WrongDigit
	last := map[string]float64{}
	bodies(h, func(f *told, w *events.WeightTaken) {
		kg := w.Mass.Float("kg")
		if w.Animal == wrong.Animal && wrong.covers(f.Time) {
			return
		}
		if before := last[w.Animal]; before > 0 && (kg > 1.5*before || kg < before/1.5) {
			t.Errorf("%s weighs %.1f kg on %s, after %.1f", w.Animal, kg, f.Time.Format(time.DateOnly), before)
		}
		if f.Recorded.Sub(f.Time) < 24*time.Hour {
			last[w.Animal] = kg
		}
	})
	bodies(h, func(f *told, feed *events.FeedGiven) {
		for _, item := range feed.Items {
			if kg := item.Offered.Float("kg"); kg > 9 {
				t.Errorf("%s was offered %.1f kg of %s on %s", feed.Animal, kg, item.Food, f.Time.Format(time.DateOnly))
			}
		}
	})
}

// lastMeal is when an animal last took any food, and how often it was offered
// some afterwards.
func lastMeal(h *history, animal string) (at time.Time, offered int) {
	bodies(h, func(f *told, feed *events.FeedGiven) {
		if feed.Animal != animal {
			return
		}
		offered++
		for _, item := range feed.Items {
			if item.Eaten.Milligrams() > 0 && f.Time.After(at) {
				at, offered = f.Time, 0
			}
		}
	})
	return at, offered
}

func TestOneAnimalHasRefusedAllFoodForMoreThanADay(t *testing.T) {
	h, refusal := whole2y(), Plan(ending).Refusal
	at, offered := lastMeal(h, refusal.Animal)
	if gap := ending.Sub(at); gap < 30*time.Hour || gap > 46*time.Hour || offered < 2 {
		t.Errorf("%s last ate %.0f hours ago and was offered food %d times since", refusal.Animal, gap.Hours(), offered)
	}
	for _, a := range newCast(newDice(seed, "cast"), newColony(seed, ending)) {
		gone := a.id == "demo-samphire" || a.nursing(ending)
		if at, _ := lastMeal(h, a.id); a.id != refusal.Animal && !gone && ending.Sub(at) > 26*time.Hour {
			t.Errorf("%s last ate at %s too", a.id, at)
		}
	}
}

func TestNothingComesFromTheSilentTablets(t *testing.T) {
	silent := Plan(ending).SilentTablets
	last, before := time.Time{}, 0
	for _, e := range whole2y().entries {
		if e.Facility != silent.Facility {
			continue
		}
		last = e.Recorded
		if silent.From.Sub(e.Recorded) < 24*time.Hour {
			before += len(e.Facts)
		}
	}
	if last.After(silent.From) || before < 50 {
		t.Errorf("the last batch came at %s, %d facts in the day before", last, before)
	}
}

func TestTheColonyHasABirthAReleaseAndAMove(t *testing.T) {
	got := map[string]string{}
	bodies(whole2y(), func(_ *told, a *events.AnimalLeft) { got[a.Animal] = a.How })
	if got["demo-samphire"] != "release" || got["demo-madder"] != "move" || len(got) != 2 {
		t.Errorf("animals that left: %v", got)
	}
	born := 0
	first, _ := span(ending)
	bodies(whole2y(), func(f *told, a *events.AnimalEntered) {
		if a.How == "birth" && f.Time.After(first.AddDate(0, 0, 2)) {
			born++
			if a.Animal != Plan(ending).Birth.Animal || a.Dam != "demo-lovage" {
				t.Errorf("%s was born to %s", a.Animal, a.Dam)
			}
		}
	})
	if born != 1 {
		t.Errorf("%d births, want 1", born)
	}
}

// withoutFeeds are the whole days on which nobody noted a feed for an animal.
func withoutFeeds(animal string, from time.Time) (dates []time.Time) {
	for date := from; ending.Sub(date) > 36*time.Hour; date = date.AddDate(0, 0, 1) {
		if _, fed := intake()[dayKey{animal, date}]; !fed {
			dates = append(dates, date)
		}
	}
	return dates
}

func TestNobodyWroteDownThreeDaysOfFeedsAndTheAnimalAte(t *testing.T) {
	h, plan := whole2y(), Plan(ending).UnloggedFeeds
	dates := withoutFeeds(plan.Animal, ending.AddDate(0, -3, 0).Truncate(24*time.Hour))
	if len(dates) != 3 || !dates[0].Equal(plan.From) {
		t.Errorf("no feed of %s on %v, want three days from %s", plan.Animal, dates, plan.From)
	}
	if others := withoutFeeds("demo-sedge", ending.AddDate(0, -3, 0).Truncate(24*time.Hour)); len(others) > 0 {
		t.Errorf("no feed of another on %v either", others)
	}
	before, after := meanMass(h, plan.Animal, plan.From.AddDate(0, 0, -9), plan.From), meanMass(h, plan.Animal, plan.To, plan.To.AddDate(0, 0, 9))
	if after < 0.98*before { // three days without food would cost a seal some 3 %
		t.Errorf("%s weighs %.1f kg before and %.1f after", plan.Animal, before, after)
	}
}

func TestOneWeighInHasAWrongDigit(t *testing.T) {
	h, plan := whole2y(), Plan(ending).WrongDigit
	around := meanMass(h, plan.Animal, plan.From.AddDate(0, 0, -14), plan.From)
	found := 0
	bodies(h, func(f *told, w *events.WeightTaken) {
		if w.Animal != plan.Animal || !plan.covers(f.Time) {
			return
		}
		found++
		if gap := around - w.Mass.Float("kg"); f.corrected || gap < 27 || gap > 33 {
			t.Errorf("%s weighs %.1f kg on %s after %.1f", w.Animal, w.Mass.Float("kg"), f.Time.Format(time.DateOnly), around)
		}
	})
	if ago := ending.Sub(plan.From).Hours() / 24; found != 1 || ago < 60 || ago > 63 {
		t.Errorf("%d weigh-ins on a day %.0f days ago", found, ago)
	}
}

// Whenever the history ends, fish is thawing.
func TestThawClocksRunAtTheEnd(t *testing.T) {
	for until, h := range ends() {
		plan := Plan(until)
		out := map[string]*told{}
		bodies(h, func(f *told, l *events.LotThawed) { out[f.Facility+f.Time.String()] = f })
		running, through, over := out[plan.ThawRunning.Facility+plan.ThawRunning.From.String()], out[plan.ThawThrough.Facility+plan.ThawThrough.From.String()], out[plan.ThawOver.Facility+plan.ThawOver.From.String()]
		if running == nil || through == nil || over == nil {
			t.Fatalf("up to %s: fish taken out: %v, %v, %v", until, running, through, over)
		}
		if lot := over.Body.(*events.LotThawed).Lot; lot != plan.ThawOver.Lot {
			t.Errorf("%s is over its time, want %s", lot, plan.ThawOver.Lot)
		}
		if age := until.Sub(over.Time).Hours(); age < houseThawHours || age > 24 {
			t.Errorf("it has been out for %.1f hours", age)
		}
		seen := false
		bodies(h, func(f *told, c *events.ThawCompleted) {
			seen = seen || (c.Thaw == through.ID && f.Time.Equal(plan.ThawThrough.To))
		})
		if age := until.Sub(plan.ThawThrough.To); !seen || age < 0 || age > 12*time.Hour {
			t.Errorf("up to %s: seen to be through: %t, %s ago", until, seen, age)
		}
	}
}

func TestOneFoodRunsShortInAFewDays(t *testing.T) {
	for until, h := range ends() {
		plan := Plan(until).ShortFood
		left, used := map[string]float64{}, map[string]float64{}
		for name, s := range shelves(h) {
			facility, _, _ := strings.Cut(name, "/")
			left[facility+"/"+s.lot.Food] += s.frozen
		}
		foodOfLot := map[string]string{}
		bodies(h, func(f *told, l *events.LotReceived) { foodOfLot[f.Facility+"/"+l.Lot] = l.Food })
		bodies(h, func(f *told, l *events.LotThawed) {
			if age := until.Sub(f.Recorded).Hours() / 24; age > 1 && age < 15 {
				used[f.Facility+"/"+foodOfLot[f.Facility+"/"+l.Lot]] += l.Mass.Float("g") / 14
			}
		})
		for food, grams := range left {
			days, short := grams/used[food], food == plan.Facility+"/"+plan.Food
			if short && (days < 2 || days > 6) || !short && days < 8 {
				t.Errorf("up to %s: %s lasts for %.1f days", until.Format(time.DateOnly), food, days)
			}
		}
	}
}

func TestOneLotIsNearItsStorageLimitAndOnePastIt(t *testing.T) {
	h, plan := whole2y(), Plan(ending)
	limit := func(facility, food string, caught time.Time) time.Time {
		switch {
		case foodOf(food).fat >= 5 || food == "capelin":
			return caught.AddDate(0, fattyMonths, 0)
		case facility == plan.PastLimit.Facility:
			return caught.AddDate(0, houseLeanMonths, 0)
		}
		return caught.AddDate(1, 0, 0)
	}
	var near, past []string
	for name, s := range shelves(h) {
		facility, _, _ := strings.Cut(name, "/")
		caught, err := time.Parse(time.DateOnly, s.lot.Caught)
		if err != nil {
			caught, _ = time.Parse("2006-01", s.lot.Caught)
		}
		days := limit(facility, s.lot.Food, caught).Sub(ending).Hours() / 24
		switch {
		case s.frozen < 1000:
		case days < 0:
			past = append(past, name)
		case days < 14:
			near = append(near, name)
		}
	}
	if !slices.Equal(near, []string{plan.NearLimit.Facility + "/" + plan.NearLimit.Lot}) || !slices.Equal(past, []string{plan.PastLimit.Facility + "/" + plan.PastLimit.Lot}) {
		t.Errorf("near their limit: %v; past it: %v", near, past)
	}
}
