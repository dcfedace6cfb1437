package colony

import (
	"math"
	"slices"
	"testing"
	"time"

	"haulout/events"
)

// shelf is what the facts say of one lot, in grams.
type shelf struct {
	lot                                  *events.LotReceived
	received                             time.Time
	frozen, thawed, offered, thrown, rot float64
}

// shelves reads the store from the facts, by facility and lot.
func shelves(h *history) map[string]*shelf {
	out := map[string]*shelf{}
	bodies(h, func(f *told, l *events.LotReceived) {
		out[f.Facility+"/"+l.Lot] = &shelf{lot: l, received: f.Time, frozen: l.Mass.Float("g")}
	})
	bodies(h, func(f *told, l *events.LotThawed) {
		s := out[f.Facility+"/"+l.Lot]
		s.frozen -= l.Mass.Float("g")
		s.thawed += l.Mass.Float("g")
	})
	bodies(h, func(f *told, l *events.LotDiscarded) {
		s := out[f.Facility+"/"+l.Lot]
		if l.Thawed {
			s.thrown += l.Mass.Float("g")
			return
		}
		s.frozen -= l.Mass.Float("g")
		s.rot += l.Mass.Float("g")
	})
	bodies(h, func(f *told, feed *events.FeedGiven) {
		for _, item := range feed.Items {
			out[f.Facility+"/"+item.Lot].offered += item.Offered.Float("g")
		}
	})
	return out
}

// What comes in goes out: a lot never gives more than it had, and what was
// thawed was offered or thrown away, all but a little.
func TestTheBooksOfTheStoreAddUp(t *testing.T) {
	thawed, spent, rot, in := 0.0, 0.0, 0.0, 0.0
	for name, s := range shelves(whole2y()) {
		if s.frozen < -1 {
			t.Errorf("%s gave %.0f g more than it had", name, -s.frozen)
		}
		if over := s.offered + s.thrown - s.thawed; over > 3000 {
			t.Errorf("%.0f g more of %s were offered and thrown away than thawed", over, name)
		}
		thawed, spent = thawed+s.thawed, spent+s.offered+s.thrown
		rot, in = rot+s.rot, in+s.lot.Mass.Float("g")
	}
	if share := spent / thawed; share < 0.97 || share > 1.002 {
		t.Errorf("%.1f %% of what was thawed was offered or thrown away", share*100)
	}
	if share := rot / in; share == 0 || share > 0.01 {
		t.Errorf("%.2f %% of what came was thrown away frozen, want little", share*100)
	}
}

func TestEachLotHasAPriceAndEachFoodAPortion(t *testing.T) {
	bodies(whole2y(), func(_ *told, l *events.LotReceived) {
		if price := l.Cost.Float("1"); price < 1 || price > 5 {
			t.Errorf("a kilogram of %s costs %.2f", l.Lot, price)
		}
	})
	bodies(whole2y(), func(_ *told, f *events.FoodDescribed) {
		if g := f.Portion.Float("g"); g < 20 || g > 350 {
			t.Errorf("one %s weighs %.0f g", f.Name, g)
		}
	})
}

func TestRationsAreCutInWholeFishAndSaySomeTimes(t *testing.T) {
	bodies(whole2y(), func(_ *told, r *events.RationSet) {
		for _, item := range r.Items {
			fish := item.Mass.Float("g") / float64(foodOf(item.Food).portion)
			if math.Abs(fish-math.Round(fish)) > 1e-6 || fish < 1 {
				t.Fatalf("%s gets %.2f fish of %s", r.Animal, fish, item.Food)
			}
		}
		if len(r.Times) < 2 || r.Times[0] < "08:00" || r.Times[len(r.Times)-1] > "17:00" {
			t.Fatalf("%s is fed at %v", r.Animal, r.Times)
		}
	})
}

// The house's own rule of 18 hours is kept at every feed, even after the night
// in which the clock goes back.
func TestSaltgarthKeepsItsThawRule(t *testing.T) {
	out := map[string][]time.Time{}
	bodies(whole2y(), func(f *told, l *events.LotThawed) {
		if f.Facility == "saltgarth" {
			out[l.Lot] = append(out[l.Lot], f.Time)
		}
	})
	late, all := 0, 0
	bodies(whole2y(), func(f *told, feed *events.FeedGiven) {
		if f.Facility != "saltgarth" {
			return
		}
		for _, item := range feed.Items {
			fresh := slices.ContainsFunc(out[item.Lot], func(at time.Time) bool {
				return !at.After(f.Time) && f.Time.Sub(at) <= houseThawHours*time.Hour
			})
			if all++; !fresh {
				late++
			}
		}
	})
	if late > 0 {
		t.Errorf("%d of %d foods were given more than %d hours after the freezer", late, all, houseThawHours)
	}
}

// Each facility has its own way of thawing: one sees in the morning, as a fact
// of its own, that what was noted in the evening is through.
func TestOneFacilitySeesItsThawsThroughLater(t *testing.T) {
	begun := map[string]time.Time{}
	bodies(whole2y(), func(f *told, l *events.LotThawed) {
		if f.Recorded.Sub(f.Time) < time.Hour && l.How == "refrigerated" {
			begun[f.ID] = f.Time
		}
	})
	seen := 0
	bodies(whole2y(), func(f *told, c *events.ThawCompleted) {
		out, ok := begun[c.Thaw]
		if gap := f.Time.Sub(out); !ok || f.Facility != "wrackline-bay" || gap < 8*time.Hour || gap > 15*time.Hour {
			t.Fatalf("at %s a thaw of %s is through %s after it began", f.Facility, c.Lot, gap)
		}
		seen++
	})
	if seen < 2000 {
		t.Errorf("%d thaws were seen through, want some each day", seen)
	}
}

func TestRationsKeepWithinWhatWasAgreed(t *testing.T) {
	agreed := map[string][]*events.DietGuided{}
	bodies(whole2y(), func(_ *told, g *events.DietGuided) { agreed[g.Animal] = append(agreed[g.Animal], g) })
	if len(agreed) != len(guided) {
		t.Errorf("diets of %d animals are guided, want %d", len(agreed), len(guided))
	}
	held, n := 0, 0
	bodies(whole2y(), func(f *told, r *events.RationSet) {
		for _, g := range agreed[r.Animal] {
			if slices.Contains(g.Months, f.Time.Format("01")) {
				if n++; within(r, g) {
					held++
				}
			}
		}
	})
	if n < 100 || held < n {
		t.Errorf("%d of %d rations keep within the shares that were agreed on", held, n)
	}
}

func within(r *events.RationSet, g *events.DietGuided) bool {
	all, part := 0.0, map[string]float64{}
	for _, item := range r.Items {
		all += item.Mass.Float("g")
		part[item.Food] = item.Mass.Float("g")
	}
	for _, item := range g.Items {
		share := part[item.Food] / all * 100
		if share < item.Least.Float("%") || share > item.Most.Float("%") {
			return false
		}
		delete(part, item.Food)
	}
	return len(part) == 0
}

// The doses are those of the supplements that the facility described, in the
// units that it gives them in.
func TestDosesAreOfDescribedSupplements(t *testing.T) {
	described, units := map[string]bool{}, map[string]map[string]bool{}
	bodies(whole2y(), func(f *told, s *events.SupplementDescribed) { described[f.Facility+"/"+s.Name] = true })
	bodies(whole2y(), func(f *told, s *events.SupplementGiven) {
		if !described[f.Facility+"/"+s.Supplement] {
			t.Fatalf("%s was given at %s and never described", s.Supplement, f.Facility)
		}
		if units[f.Facility] == nil {
			units[f.Facility] = map[string]bool{}
		}
		units[f.Facility][s.Dose.Unit] = true
	})
	if len(described) != 6 || !units["saltgarth"]["mg"] || !units["wrackline-bay"]["{tablet}"] || units["wrackline-bay"]["mg"] {
		t.Errorf("supplements %v in %v", described, units)
	}
}

func TestHousesSetRulesOfTheirOwn(t *testing.T) {
	got := map[string]string{}
	bodies(whole2y(), func(f *told, r *events.RuleSet) {
		got[f.Facility+" "+r.Rule] = r.Value.String()
		if r.Reason == "" {
			t.Errorf("%s gives no reason", r.Rule)
		}
	})
	if len(got) != 5 || got["saltgarth ph_most"] != "8.4 [pH]" || got["tern-sluice ozone_most"] != "0.1 mg/L" || got["saltgarth thaw_hours"] != "18 h" || got["wrackline-bay lean_months"] != "9 mo" {
		t.Errorf("rules of the houses: %v", got)
	}
}
