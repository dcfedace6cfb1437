package main

import (
	"slices"
	"strings"
	"testing"
	"time"

	"haulout/cmd/haulout/colony"
	"haulout/projections"
)

func boardAt(t *testing.T, s *projections.Store, facility string, at time.Time) *projections.Board {
	t.Helper()
	b, err := s.Today(facility, at, time.Time{})
	if err != nil || b == nil {
		t.Fatalf("%s at %s: %+v %v", facility, at, b, err)
	}
	return b
}

// boardShowsWhatWasPlanted asks on the last day of the history for every problem
// that was planted and lasts to its end.
func boardShowsWhatWasPlanted(t *testing.T, s *projections.Store, until time.Time) {
	plan := colony.Plan(until)
	boards := map[string]*projections.Board{}
	for _, code := range s.Codes() {
		boards[code] = boardAt(t, s, code, until)
		for _, c := range boards[code].Calls {
			t.Logf("%s: %d %s: %s (%s)", code, c.Harm, c.ID, c.What, c.Evidence)
		}
	}
	for what, c := range map[string]struct{ facility, id string }{
		"a real refusal":       {plan.Refusal.Facility, "refusal." + plan.Refusal.Animal},
		"missed weigh-ins":     {plan.MissedWeighIns.Facility, "weigh-due." + plan.MissedWeighIns.Animal},
		"silent tablets":       {plan.SilentTablets.Facility, "silent." + plan.SilentTablets.Facility},
		"a scale that is off":  {plan.OffScale.Facility, "scale." + plan.OffScale.Scale},
		"a tablet held back":   {plan.HeldBack.Facility, "held-back." + plan.HeldBack.Device},
		"a lot past its limit": {plan.PastLimit.Facility, "storage." + plan.PastLimit.Lot},
		"a sample forgotten":   {plan.ForgottenSample.Facility, "water-due." + plan.ForgottenSample.Enclosure},
		"a food that runs out": {plan.ShortFood.Facility, "shortage." + plan.ShortFood.Food},
	} {
		if !slices.ContainsFunc(boards[c.facility].Calls, func(call projections.BoardCall) bool { return call.ID == c.id }) {
			t.Errorf("%s: no %s on the board of %s", what, c.id, c.facility)
		}
	}
	thawed := slices.IndexFunc(boards[plan.ThawOver.Facility].Calls, func(call projections.BoardCall) bool { return call.Rule == "thaw" })
	if thawed < 0 || boards[plan.ThawOver.Facility].Calls[thawed].Harm != 1 {
		t.Error("thawed fish past its time is not on the board")
	}
	yarrow := slices.IndexFunc(boards["wrackline-bay"].Calls, func(call projections.BoardCall) bool { return call.Answer != nil })
	if yarrow < 0 || boards["wrackline-bay"].Calls[yarrow].Answer.Answer != "taken" {
		t.Error("nobody is said to have taken on the missed weigh-ins")
	}
	waterIsCalm(t, boards, plan)
	for code, b := range boards {
		seen := map[string]bool{}
		for _, c := range b.Calls {
			if seen[c.ID] {
				t.Errorf("%s: %s stands twice", code, c.ID)
			}
			seen[c.ID] = true
		}
	}
}

// waterIsCalm wants no more lines about water than what was planted explains.
func waterIsCalm(t *testing.T, boards map[string]*projections.Board, plan colony.Planted) {
	t.Helper()
	wetCalls := 0
	for _, b := range boards {
		for _, c := range b.Calls {
			if c.Sort == "water" {
				wetCalls++
			}
			if c.Place == plan.HighCount.Enclosure {
				t.Errorf("a count whose mean is below the limit still calls: %s, %s", c.What, c.Evidence)
			}
		}
	}
	if wetCalls > 3 {
		t.Errorf("%d lines about water and space: the invented colony is in a bad state", wetCalls)
	}
}

// boardIsQuietAboutTheSeasons asks in the middle of each planted fast whether
// the board takes it for a problem. A refusal of all food is one at any time.
func boardIsQuietAboutTheSeasons(t *testing.T, s *projections.Store, until time.Time) {
	plan := colony.Plan(until)
	asked := 0
	for _, span := range slices.Concat(plan.SummerFasts, plan.MoltFasts, []colony.Span{plan.BirthFast}) {
		for at := span.From.AddDate(0, 0, 1).Add(15 * time.Hour); at.Before(span.To) && at.Before(until); at = at.AddDate(0, 0, 17) {
			asked++
			for _, c := range boardAt(t, s, span.Facility, at).Calls {
				if strings.HasSuffix(c.ID, "."+span.Animal) && (c.Rule == "mass-down" || c.Rule == "ration" || c.Rule == "coat") {
					t.Errorf("on %s: %s: %s (%s)", at.Format(time.DateOnly), c.ID, c.What, c.Evidence)
				}
			}
		}
	}
	if asked < 50 {
		t.Errorf("only %d days were asked", asked)
	}
}

// boardNamesTheScale asks day by day about the scale that reads 4 % too much, and
// before. It is named in the last days, when three weeks of weigh-ins tell; no
// animal is said to have lost mass on it, and no other scale is ever named.
func boardNamesTheScale(t *testing.T, s *projections.Store, until time.Time) {
	off := colony.Plan(until).OffScale
	for at := off.From.AddDate(0, 0, -28); !at.After(until); at = at.AddDate(0, 0, 1) {
		b := boardAt(t, s, off.Facility, at)
		named := false
		for _, c := range b.Calls {
			mine := c.ID == "scale."+off.Scale && strings.Contains(c.What, " more ") && !at.Before(off.From)
			named = named || mine
			if c.Rule == "mass-down" || c.Rule == "scale" && !mine {
				t.Errorf("%s: %s: %s (%s)", at.Format(time.DateOnly), c.ID, c.What, c.Evidence)
			}
		}
		if !named && at.After(off.From.AddDate(0, 0, 21)) {
			t.Errorf("%s: the scale is not named", at.Format(time.DateOnly))
		}
	}
	for at := until; at.After(until.AddDate(0, 0, -600)); at = at.AddDate(0, 0, -10) {
		for _, code := range []string{"wrackline-bay", "tern-sluice"} {
			for _, c := range boardAt(t, s, code, at).Calls {
				if c.Rule == "scale" {
					t.Errorf("%s: %s: %s (%s)", at.Format(time.DateOnly), c.ID, c.What, c.Evidence)
				}
			}
		}
	}
}
