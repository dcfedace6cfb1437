package colony

import (
	"testing"
	"time"

	"haulout/events"
)

// sample is a count of coliforms as it was sent.
type sample struct {
	told   *told
	body   *events.WaterTested
	counts float64
}

// samplesOf are the counts of a pool, in order of the log.
func samplesOf(h *history, facility, enclosure string) (out []sample) {
	bodies(h, func(f *told, w *events.WaterTested) {
		if f.Facility != facility || w.Enclosure != enclosure {
			return
		}
		for _, r := range w.Readings {
			if r.What == "total_coliform" {
				out = append(out, sample{f, w, r.Value.Float("{MPN}/dL")})
			}
		}
	})
	return out
}

// A high count is repeated twice, 48 hours apart, as the law asks, and no pool
// goes without a sample for more than a week but the planted one.
func TestEveryPoolIsSampledWeeklyAndHighCountsAgain(t *testing.T) {
	for until, h := range ends() {
		plan, high := Plan(until), 0
		for _, s := range sites {
			for _, p := range s.pools {
				list := samplesOf(h, s.code, p.Enclosure)
				last := list[0].told.Time
				for i, one := range list {
					if gap := one.told.Time.Sub(last).Hours() / 24; gap > 8.2 {
						t.Errorf("%s: %.1f days without a sample before %s", p.Enclosure, gap, one.told.Time)
					}
					last = one.told.Time
					if one.counts <= 1000 || until.Sub(one.told.Time) < 5*24*time.Hour || one.body.Repeat != "" {
						continue
					}
					high++
					sum := one.counts
					for n, again := range list[i+1 : i+3] {
						sum += again.counts
						if off := again.told.Time.Sub(one.told.Time).Hours() - 48*float64(n+1); again.body.Repeat != one.body.Sample || off > 3 || off < -3 {
							t.Errorf("%s: %s repeats %q, %.1f hours off", p.Enclosure, again.body.Sample, again.body.Repeat, off)
						}
					}
					if sum >= 3000 {
						t.Errorf("%s: the mean is %.0f", one.body.Sample, sum/3)
					}
				}
				if gap := until.Sub(last).Hours() / 24; (gap > 8.2) != (p.Enclosure == plan.ForgottenSample.Enclosure) {
					t.Errorf("up to %s: %s was last sampled %.1f days ago", until.Format(time.DateOnly), p.Enclosure, gap)
				}
			}
		}
		if high < 10 {
			t.Errorf("only %d high counts", high)
		}
	}
}

func TestAPlantedHighCountPassesByItsMean(t *testing.T) {
	plan := Plan(ending).HighCount
	var got []float64
	for _, one := range samplesOf(whole2y(), plan.Facility, plan.Enclosure) {
		if day := one.told.Time; !day.Before(plan.From) && day.Before(plan.To) {
			got = append(got, one.counts)
		}
	}
	if len(got) != 3 || got[0] != 1400 || (got[0]+got[1]+got[2])/3 >= 1000 {
		t.Errorf("counts %v", got)
	}
}
