package projections

import (
	"maps"
	"math"

	"haulout/events"
	"haulout/projections/dominance"
)

// ratedRow is how the animals of an enclosure stand after a day: those that met
// on it, for readers of many days, and the state that goes on. The state goes
// through every period: who moves away and comes back is where it was.
type ratedRow struct {
	ratedDay
	State ratedState `json:"state"`
}

// ratedDay is what a day changed.
type ratedDay struct {
	Moved []ratedMove `json:"moved"`
	Day   Day         `json:"day"` // the last with an encounter that counts
}

// ratedMove is where an animal stands after a day on which it met another, to a
// thousandth of a point: nobody reads more, and years of days are read at once.
type ratedMove struct {
	Animal string  `json:"animal"`
	Points float64 `json:"points"`
	Off    float64 `json:"off"` // deviation of the points
	Plain  float64 `json:"plain"`
}

// ratedState is carried on from day to day.
type ratedState struct {
	Rating    dominance.Rating              `json:"rating"`
	Believed  map[string]dominance.Believed `json:"believed"`
	Met       map[string]Day                `json:"met"` // the last day each was seen to meet another
	Stability dominance.Stability           `json:"stability"`
}

var ratings = Running("ratings", 1, "enclosure", []string{"encounter.seen"}, stepRatings)

func stepRatings(before *ratedRow, sc Scope, recs []Record) *ratedRow {
	counted := countedOf(recs)
	if len(counted) == 0 {
		return before
	}
	if before == nil {
		before = newRatings(sc.Day)
	}
	after, err := before.State.Rating.Step(counted)
	if err != nil { // recorders take no encounter that can't be rated
		return before
	}
	out := &ratedRow{ratedDay{Day: sc.Day}, ratedState{Rating: after, Met: maps.Clone(before.State.Met)}}
	out.State.Stability = before.State.Stability.Step(before.State.Rating.Points, after.Points, max(1, before.Day.until(sc.Day)))
	out.State.Believed = before.State.believe(sc.Day, counted)
	for _, s := range counted {
		out.State.Met[s.Winner], out.State.Met[s.Loser] = sc.Day, sc.Day
	}
	for _, animal := range sortedKeys(out.State.Met) {
		if out.State.Met[animal] == sc.Day {
			b := out.State.Believed[animal]
			out.Moved = append(out.Moved, ratedMove{animal, thousandths(b.Points), thousandths(b.Deviation), thousandths(after.Points[animal])})
		}
	}
	return out
}

func newRatings(day Day) *ratedRow {
	rating, err := dominance.NewRating(dominance.UsualScale())
	if err != nil {
		panic("projections: the usual scale is none: " + err.Error())
	}
	return &ratedRow{ratedDay{Day: day}, ratedState{Rating: rating, Believed: map[string]dominance.Believed{}, Met: map[string]Day{}}}
}

func thousandths(v float64) float64 { return math.Round(1000*v) / 1000 }

// countedOf are the encounters that count towards an order, in order of time.
func countedOf(recs []Record) (out []dominance.Seen) {
	for i := range recs {
		if b := recs[i].Body.(*events.EncounterSeen); whyApart(b) == "" {
			out = append(out, seenOf(b))
		}
	}
	return out
}

// believe takes in a day at once, so that the order within it does not count.
// Doubt grows with the days on which an animal was not seen to meet another.
func (r *ratedState) believe(day Day, counted []dominance.Seen) map[string]dominance.Believed {
	out := maps.Clone(r.Believed)
	against := map[string][]dominance.Against{}
	for _, s := range counted {
		score := 1.0
		if s.Undecided {
			score = 0.5
		}
		against[s.Winner] = append(against[s.Winner], dominance.Against{Other: r.believed(s.Loser, day), Score: score})
		against[s.Loser] = append(against[s.Loser], dominance.Against{Other: r.believed(s.Winner, day), Score: 1 - score})
	}
	for animal, met := range against {
		out[animal] = r.believed(animal, day).After(met)
	}
	return out
}

// believed is what is believed of an animal on the morning of a day.
func (r *ratedState) believed(animal string, day Day) dominance.Believed {
	was, known := r.Believed[animal]
	if !known {
		return dominance.Unknown()
	}
	return was.Silent(float64(r.Met[animal].until(day)))
}
