package colony

import (
	"testing"
	"time"

	"haulout/events"
)

// record counts decided encounters of two animals within a span.
func record(h *history, one, other string, from, to time.Time) (won, lost int) {
	bodies(h, func(f *told, e *events.EncounterSeen) {
		if e.Draw || f.Time.Before(from) || !f.Time.Before(to) {
			return
		}
		switch {
		case e.Winner == one && e.Loser == other:
			won++
		case e.Winner == other && e.Loser == one:
			lost++
		}
	})
	return won, lost
}

func TestTheStrongerMostlyWin(t *testing.T) {
	cast := map[string]character{}
	first, _ := span(ending)
	for _, who := range castList(sinceJune(first), 0) {
		cast[idOf(who.name)] = who
	}
	forOrder, against, draws, caused := 0, 0, 0, 0
	bodies(whole2y(), func(_ *told, e *events.EncounterSeen) {
		if e.Cause != "" {
			caused++
		}
		if e.Draw {
			draws++
			return
		}
		winner, loser := cast[e.Winner], cast[e.Loser]
		if winner.growing+loser.growing > 0 {
			return // their order changes
		}
		if winner.strength > loser.strength {
			forOrder++
		} else {
			against++
		}
	})
	share := float64(against) / float64(forOrder+against)
	if share < 0.03 || share > 0.2 {
		t.Errorf("%d encounters follow the order and %d do not", forOrder, against)
	}
	if draws == 0 || caused == 0 {
		t.Errorf("%d draws and %d caused by people or gates, want some of both", draws, caused)
	}
}

func TestAYoungMaleRisesInTwoYears(t *testing.T) {
	h := whole2y()
	half := ending.AddDate(-1, -3, 0)
	won, lost := record(h, "demo-osier", "demo-sorrel", time.Time{}, half)
	if won*3 > lost {
		t.Errorf("in the first months Osier wins %d against Sorrel and loses %d", won, lost)
	}
	won, lost = record(h, "demo-osier", "demo-sorrel", ending.AddDate(0, -9, 0), ending)
	if lost*3 > won {
		t.Errorf("in the last months Osier wins %d against Sorrel and loses %d", won, lost)
	}
}

func TestEncountersAreBetweenThoseWhoLiveTogether(t *testing.T) {
	home := map[string]string{}
	for _, f := range whole2y().facts {
		switch body := f.Body.(type) {
		case *events.AnimalPlaced:
			home[body.Animal] = body.Enclosure
		case *events.EncounterSeen:
			late := f.Recorded.Sub(f.Time) > 24*time.Hour // put right, or from the tablet that came late
			if !late && (home[body.Winner] != body.Enclosure || home[body.Loser] != body.Enclosure) {
				t.Fatalf("%s and %s met in %s on %s, but live in %s and %s", body.Winner, body.Loser, body.Enclosure, f.Time, home[body.Winner], home[body.Loser])
			}
		}
	}
}
