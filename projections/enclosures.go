package projections

import (
	"time"

	"haulout/events"
)

// Enclosure is a pool, pen or beach as last described.
type Enclosure struct {
	Facility string          `json:"facility"`
	ID       string          `json:"enclosure"`
	Name     string          `json:"name"`
	Use      string          `json:"use,omitempty"`
	Water    events.Quantity `json:"water_area,omitzero"`
	Depth    events.Quantity `json:"water_depth,omitzero"`
	Width    events.Quantity `json:"width,omitzero"`  // the least of the pool
	Across   events.Quantity `json:"across,omitzero"` // at a right angle to the width
	Dry      events.Quantity `json:"dry_area,omitzero"`
	Volume   events.Quantity `json:"volume,omitzero"`
	Salt     string          `json:"salt,omitempty"`
	Added    []string        `json:"added,omitempty"` // to the water; none where nothing is
	Text     string          `json:"text,omitempty"`
	Since    time.Time       `json:"since"`
}

var enclosures = Whole("enclosures", 3, "enclosure", []string{"enclosure.described"}, foldEnclosure)

func foldEnclosure(_ Scope, recs []Record) *Enclosure {
	if len(recs) == 0 {
		return nil
	}
	last := recs[len(recs)-1]
	b := last.Body.(*events.EnclosureDescribed)
	return &Enclosure{
		Facility: last.Facility, ID: b.Enclosure, Name: b.Name, Use: b.Use, Water: b.WaterArea, Depth: b.WaterDepth,
		Width: b.Width, Across: b.Across, Dry: b.DryArea, Volume: b.Volume, Salt: b.Salt, Added: b.Added, Text: b.Text, Since: recs[0].Time,
	}
}

// Enclosures lists the enclosures of a facility, or of all with "".
func (s *Store) Enclosures(facility string, asOf time.Time) (out []Enclosure, err error) {
	err = s.at(asOf, func(v view) error {
		all, err := every[Enclosure](v, &enclosures)
		for _, e := range all {
			if facility == "" || e.Facility == facility {
				out = append(out, e)
			}
		}
		return err
	})
	return out, err
}
