package projections

import (
	"time"

	"haulout/events"
)

// Lot is one delivery of a food and what became of it, feeds left aside.
type Lot struct {
	Facility   string          `json:"facility"`
	ID         string          `json:"lot"`
	Food       string          `json:"food"`
	Received   time.Time       `json:"received"`
	Mass       events.Quantity `json:"mass"`
	Caught     string          `json:"caught,omitempty"`
	UseBy      string          `json:"use_by,omitempty"`
	ThawedG    float64         `json:"thawed_g"`
	DiscardedG float64         `json:"discarded_g"`
	LastThaw   *time.Time      `json:"last_thaw,omitempty"`
	Assayed    bool            `json:"assayed"`
}

var lots = Whole("lots", 1, "lot", []string{"lot.received", "lot.assayed", "lot.thawed", "lot.discarded"}, foldLot)

func foldLot(_ Scope, recs []Record) *Lot {
	var out *Lot
	var thawed, discarded int64
	var lastThaw *time.Time
	assayed := false
	for _, rec := range recs {
		switch b := rec.Body.(type) {
		case *events.LotReceived:
			out = &Lot{Facility: rec.Facility, ID: b.Lot, Food: b.Food, Received: rec.Time, Mass: b.Mass, Caught: b.Caught, UseBy: b.UseBy}
		case *events.LotAssayed:
			assayed = true
		case *events.LotThawed:
			at := rec.Time
			thawed, lastThaw = thawed+b.Mass.Milligrams(), &at
		case *events.LotDiscarded:
			discarded += b.Mass.Milligrams()
		}
	}
	if out != nil {
		out.ThawedG, out.DiscardedG, out.LastThaw, out.Assayed = grams(thawed), grams(discarded), lastThaw, assayed
	}
	return out
}

// Lots lists the lots of a facility, or of all with "".
func (s *Store) Lots(facility string, asOf time.Time) (out []Lot, err error) {
	err = s.at(asOf, func(v view) error {
		all, err := every[Lot](v, &lots)
		for _, l := range all {
			if facility == "" || l.Facility == facility {
				out = append(out, l)
			}
		}
		return err
	})
	return out, err
}
