package projections

import (
	"slices"
	"time"

	"haulout/events"
)

// HouseRule is what a house set for one rule over time.
type HouseRule struct {
	Facility string      `json:"facility"`
	Rule     string      `json:"rule"`
	Set      []HouseTurn `json:"set"`
}

// HouseTurn is a value that holds from a moment on.
type HouseTurn struct {
	From   time.Time       `json:"from"`
	Value  events.Quantity `json:"value"`
	Reason string          `json:"reason"`
	By     string          `json:"by"`
}

var house = Whole("house", 1, "rule", []string{"rule.set"}, foldHouse)

func foldHouse(_ Scope, recs []Record) *HouseRule {
	if len(recs) == 0 {
		return nil
	}
	out := &HouseRule{Facility: recs[0].Facility, Rule: recs[0].Body.(*events.RuleSet).Rule}
	for _, rec := range recs {
		b := rec.Body.(*events.RuleSet)
		out.Set = append(out.Set, HouseTurn{rec.Time, b.Value, b.Reason, rec.Author})
	}
	return out
}

// House is what a facility had set for itself at a moment, by rule. A rule that
// it left alone is not in it.
func (s *Store) House(facility string, at, asOf time.Time) (out map[string]HouseTurn, err error) {
	err = s.at(asOf, func(v view) error {
		out, err = v.house(facility, at)
		return err
	})
	return out, err
}

func (v view) house(facility string, at time.Time) (map[string]HouseTurn, error) {
	all, err := every[HouseRule](v, &house)
	if err != nil {
		return nil, err
	}
	out := map[string]HouseTurn{}
	for _, rule := range all {
		if rule.Facility != facility {
			continue
		}
		for _, turn := range slices.Backward(rule.Set) {
			if !turn.From.After(at) {
				out[rule.Rule] = turn
				break
			}
		}
	}
	return out, nil
}

// houseValues are the numbers that a house had set for itself at a moment, in the
// units of its rules.
func (v view) houseValues(facility string, at time.Time) (map[string]float64, error) {
	set, err := v.house(facility, at)
	out := map[string]float64{}
	for name, turn := range set {
		out[name] = turn.Value.Float(turn.Value.Unit)
	}
	return out, err
}
