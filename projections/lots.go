package projections

import (
	"time"

	"haulout/events"
)

// Lot is one delivery of a food and what became of it, feeds left aside.
type Lot struct {
	Facility         string          `json:"facility"`
	ID               string          `json:"lot"`
	Food             string          `json:"food"`
	Received         time.Time       `json:"received"`
	Mass             events.Quantity `json:"mass"`
	Caught           string          `json:"caught,omitempty"` // EDTF
	UseBy            string          `json:"use_by,omitempty"`
	Supplier         string          `json:"supplier,omitempty"`
	Store            string          `json:"store,omitempty"`
	Cost             events.Quantity `json:"cost,omitzero"` // of one kilogram, in the money of the house
	Text             string          `json:"text,omitempty"`
	ThawedG          float64         `json:"thawed_g"`
	DiscardedG       float64         `json:"discarded_g"`
	DiscardedThawedG float64         `json:"discarded_thawed_g"` // of these, after they had been taken out of the freezer
	FrozenG          float64         `json:"frozen_g"`           // received less thawed less discarded while frozen; below 0 where more was written down than came
	LastThaw         *time.Time      `json:"last_thaw,omitempty"`
	Assayed          bool            `json:"assayed"`
	Thaws            []Thaw          `json:"thaws,omitempty"`
	Discards         []Discard       `json:"discards,omitempty"`
	Assays           []Assay         `json:"assays,omitempty"`
}

// Thaw is a part of a lot that was taken out of the freezer.
type Thaw struct {
	ID       string     `json:"id"`
	Time     time.Time  `json:"time"`
	MassG    float64    `json:"mass_g"`
	How      string     `json:"how"`
	Complete *time.Time `json:"complete,omitempty"` // the first time it was seen to be thawed through
	By       string     `json:"by"`
}

// Discard is a part of a lot that was taken out of use.
type Discard struct {
	ID     string    `json:"id"`
	Time   time.Time `json:"time"`
	MassG  float64   `json:"mass_g"`
	Thawed bool      `json:"thawed,omitempty"`
	Reason string    `json:"reason"`
	By     string    `json:"by"`
}

// Assay is a laboratory's analysis of a lot.
type Assay struct {
	ID          string             `json:"id"`
	Time        time.Time          `json:"time"`
	Composition events.Composition `json:"composition"`
	Energy      events.Quantity    `json:"energy,omitzero"` // of 100 g
	Basis       string             `json:"basis,omitempty"`
	Sampled     string             `json:"sampled,omitempty"`
	Laboratory  string             `json:"laboratory,omitempty"`
	Text        string             `json:"text,omitempty"`
}

var lots = Whole("lots", 2, "lot", []string{
	"lot.received", "lot.assayed", "lot.thawed", "thaw.completed", "lot.discarded",
}, foldLot)

// foldLot takes the delivery as it was last described, and everything that was
// done to the lot.
func foldLot(_ Scope, recs []Record) *Lot {
	out := &Lot{}
	for _, rec := range recs {
		switch b := rec.Body.(type) {
		case *events.LotReceived:
			out.receive(b, rec)
		case *events.LotAssayed:
			out.Assays = append(out.Assays, Assay{rec.ID, rec.Time, b.Composition, b.Energy, b.Basis, b.Sampled, b.Laboratory, b.Text})
		case *events.LotThawed:
			out.Thaws = append(out.Thaws, thawOf(b, rec))
		case *events.LotDiscarded:
			out.Discards = append(out.Discards, Discard{rec.ID, rec.Time, grams(b.Mass.Milligrams()), b.Thawed, b.Reason, rec.Author})
		}
	}
	if out.ID == "" {
		return nil
	}
	out.complete(recs)
	out.sum(recs)
	return out
}

func (l *Lot) receive(b *events.LotReceived, rec Record) {
	l.Facility, l.ID, l.Food, l.Received, l.Mass = rec.Facility, b.Lot, b.Food, rec.Time, b.Mass
	l.Caught, l.UseBy, l.Supplier, l.Store, l.Cost, l.Text = b.Caught, b.UseBy, b.Supplier, b.Store, b.Cost, b.Text
}

func thawOf(b *events.LotThawed, rec Record) Thaw {
	out := Thaw{ID: rec.ID, Time: rec.Time, MassG: grams(b.Mass.Milligrams()), How: b.How, By: rec.Author}
	if at, err := events.ParseTime(b.Complete); err == nil {
		out.Complete = &at
	}
	return out
}

// complete gives each thaw the first time at which it was seen to be through:
// the clock that starts earlier is the safer one.
func (l *Lot) complete(recs []Record) {
	for _, rec := range recs {
		b, completes := rec.Body.(*events.ThawCompleted)
		if !completes {
			continue
		}
		if thaw := l.thaw(b.Thaw, rec.Time); thaw != nil && (thaw.Complete == nil || rec.Time.Before(*thaw.Complete)) {
			at := rec.Time
			thaw.Complete = &at
		}
	}
}

// thaw finds a thaw by its id, or the last one up to a moment where none is named.
func (l *Lot) thaw(id string, by time.Time) (found *Thaw) {
	for i := range l.Thaws {
		t := &l.Thaws[i]
		if t.ID == id || (id == "" && !t.Time.After(by)) {
			found = t
		}
	}
	return found
}

// sum adds up in milligrams, so that totals are exact.
func (l *Lot) sum(recs []Record) {
	var thawed, frozen, soft int64
	for _, rec := range recs {
		switch b := rec.Body.(type) {
		case *events.LotThawed:
			at := rec.Time
			thawed, l.LastThaw = thawed+b.Mass.Milligrams(), &at
		case *events.LotDiscarded:
			if b.Thawed {
				soft += b.Mass.Milligrams()
			} else {
				frozen += b.Mass.Milligrams()
			}
		}
	}
	l.ThawedG, l.DiscardedG, l.DiscardedThawedG = grams(thawed), grams(frozen+soft), grams(soft)
	l.FrozenG, l.Assayed = grams(l.Mass.Milligrams()-thawed-frozen), len(l.Assays) > 0
}

// Lots lists the lots of a facility, or of all with "".
func (s *Store) Lots(facility string, asOf time.Time) (out []Lot, err error) {
	err = s.at(asOf, func(v view) error {
		out, err = v.lots(facility)
		return err
	})
	return out, err
}

func (v view) lots(facility string) (out []Lot, err error) {
	all, err := every[Lot](v, &lots)
	for _, l := range all {
		if facility == "" || l.Facility == facility {
			out = append(out, l)
		}
	}
	return out, err
}
