package projections

import (
	"time"

	"haulout/events"
)

// Behaviour is what one animal is to learn, as last planned.
type Behaviour struct {
	Facility string        `json:"facility"`
	ID       string        `json:"behaviour"`
	Animal   string        `json:"animal"`
	Name     string        `json:"name"`
	Purpose  string        `json:"purpose"`
	Cue      string        `json:"cue,omitempty"`
	Steps    []events.Step `json:"steps"`
	Planned  time.Time     `json:"planned"`
	Approved *time.Time    `json:"approved,omitempty"`
	Dropped  *time.Time    `json:"dropped,omitempty"`
}

var behaviours = Whole("behaviours", 1, "behaviour",
	[]string{"behaviour.planned", "behaviour.approved", "behaviour.dropped"}, foldBehaviour)

func foldBehaviour(_ Scope, recs []Record) *Behaviour {
	var out *Behaviour
	for _, rec := range recs {
		at := rec.Time
		switch b := rec.Body.(type) {
		case *events.BehaviourPlanned:
			planned := at
			if out != nil {
				planned = out.Planned
			}
			out = &Behaviour{
				Facility: rec.Facility, ID: b.Behaviour, Animal: b.Animal, Name: b.Name,
				Purpose: b.Purpose, Cue: b.Cue, Steps: b.Steps, Planned: planned,
			}
		case *events.BehaviourApproved:
			if out != nil {
				out.Approved = &at
			}
		case *events.BehaviourDropped:
			if out != nil {
				out.Dropped = &at
			}
		}
	}
	return out
}

// Behaviours lists what the animals of a facility, or of all with "", are to learn.
func (s *Store) Behaviours(facility string, asOf time.Time) (out []Behaviour, err error) {
	err = s.at(asOf, func(v view) error {
		all, err := every[Behaviour](v, &behaviours)
		for _, b := range all {
			if facility == "" || b.Facility == facility {
				out = append(out, b)
			}
		}
		return err
	})
	return out, err
}
