package projections

import (
	"time"

	"haulout/events"
)

// Facility is one place with keepers and animals.
type Facility struct {
	Code   string    `json:"facility"`
	Name   string    `json:"name"`
	Zone   string    `json:"zone"`
	Text   string    `json:"text,omitempty"`
	Opened time.Time `json:"opened"`
}

var facilities = Whole("facilities", 1, "facility", []string{"facility.opened"}, foldFacility)

func foldFacility(sc Scope, recs []Record) *Facility {
	if len(recs) == 0 {
		return nil
	}
	last := recs[len(recs)-1]
	body := last.Body.(*events.FacilityOpened)
	return &Facility{sc.Ref.ID, body.Name, body.Zone, body.Text, last.Time}
}

// Facilities lists every facility, by code.
func (s *Store) Facilities(asOf time.Time) (out []Facility, err error) {
	err = s.at(asOf, func(v view) error {
		out, err = every[Facility](v, &facilities)
		return err
	})
	return out, err
}
