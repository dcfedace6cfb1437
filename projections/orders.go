package projections

import (
	"slices"
	"time"

	"haulout/events"
)

// MedicalOrder is what the veterinarian ordered for an animal.
type MedicalOrder struct {
	Order        string          `json:"order"`
	Facility     string          `json:"facility"`
	Veterinarian string          `json:"veterinarian"`
	Medication   string          `json:"medication"`
	Dose         events.Quantity `json:"dose"`
	Route        string          `json:"route,omitempty"`
	Daily        int             `json:"daily,omitempty"` // doses a day; 0 for a single one
	From         time.Time       `json:"from"`
	Until        *time.Time      `json:"until,omitempty"` // open where nobody set an end
	Ended        string          `json:"ended,omitempty"` // why it was ended
	Text         string          `json:"text,omitempty"`
}

// ordersRow is every order for an animal, by the time it was given.
type ordersRow struct {
	Orders []MedicalOrder `json:"orders"`
}

var orders = Whole("orders", 1, "animal", []string{"order.given", "order.ended"}, foldOrders)

func foldOrders(_ Scope, recs []Record) *ordersRow {
	out := &ordersRow{}
	for i := range recs {
		switch body := recs[i].Body.(type) {
		case *events.OrderGiven:
			out.give(body, &recs[i])
		case *events.OrderEnded:
			out.end(body, &recs[i])
		}
	}
	if len(out.Orders) == 0 {
		return nil
	}
	return out
}

// give adds an order, in the place of what was ordered under its id.
func (o *ordersRow) give(b *events.OrderGiven, rec *Record) {
	o.Orders = slices.DeleteFunc(o.Orders, func(old MedicalOrder) bool { return old.Order == b.Order && old.Facility == rec.Facility })
	given := MedicalOrder{
		Order: b.Order, Facility: rec.Facility, Veterinarian: b.Veterinarian, Medication: b.Medication,
		Dose: b.Dose, Route: b.Route, Daily: b.Daily, From: rec.Time, Text: b.Text,
	}
	if until, err := events.ParseTime(b.Until); b.Until != "" && err == nil {
		given.Until = &until
	}
	o.Orders = append(o.Orders, given)
}

func (o *ordersRow) end(b *events.OrderEnded, rec *Record) {
	for i := range o.Orders {
		if old := &o.Orders[i]; old.Order == b.Order && old.Facility == rec.Facility && (old.Until == nil || old.Until.After(rec.Time)) {
			at := rec.Time
			old.Until, old.Ended = &at, b.Reason
		}
	}
}

// holds says that an order is in force at a moment.
func (m MedicalOrder) holds(at time.Time) bool {
	return !m.From.After(at) && (m.Until == nil || !m.Until.Before(at))
}

// Medicated is a dose that was given.
type Medicated struct {
	Time       time.Time       `json:"time"`
	Facility   string          `json:"facility"`
	Medication string          `json:"medication"`
	Dose       events.Quantity `json:"dose"`
	Order      string          `json:"order,omitempty"`
	Taken      string          `json:"taken,omitempty"`
	By         string          `json:"by"`
}

// medicatedRow is the doses of an animal on a local day.
type medicatedRow struct {
	Doses []Medicated `json:"doses"`
}

// countsFor says that a dose is one of an order; one that the animal took none of
// is not.
func (m Medicated) countsFor(o MedicalOrder) bool {
	return m.Order == o.Order && m.Facility == o.Facility && m.Taken != "none"
}

var medications = Daily("medications", 1, "animal", []string{"medication.given"}, foldMedications)

func foldMedications(_ Scope, recs []Record) *medicatedRow {
	if len(recs) == 0 {
		return nil
	}
	out := &medicatedRow{}
	for _, rec := range recs {
		b := rec.Body.(*events.MedicationGiven)
		out.Doses = append(out.Doses, Medicated{rec.Time, rec.Facility, b.Medication, b.Dose, b.Order, b.Taken, rec.Author})
	}
	return out
}
