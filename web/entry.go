package web

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections"
)

// names turns ids into what people call things. An id without a name is shown
// as it is.
type names map[events.Ref]string

func (n names) of(sort, id string) string {
	if name, ok := n[events.Ref{Sort: sort, ID: id}]; ok {
		return name
	}
	return id
}

func (n names) in(sort, facility, id string) string {
	if name, ok := n[projections.Local(sort, facility, id)]; ok {
		return name
	}
	return id
}

// names reads every name on record.
func (s *site) names(asOf asOf) (names, error) {
	out := names{}
	animals, err := s.Store.Animals(asOf.moment)
	if err != nil {
		return nil, err
	}
	for _, a := range animals {
		out[events.Ref{Sort: "animal", ID: a.ID}] = a.Name
	}
	facilities, err := s.Store.Facilities(asOf.moment)
	if err != nil {
		return nil, err
	}
	for _, f := range facilities {
		out[events.Ref{Sort: "facility", ID: f.Code}] = f.Name
	}
	if err := s.nameThings(out, asOf); err != nil {
		return nil, err
	}
	return out, nil
}

// nameThings adds what belongs to one facility each.
func (s *site) nameThings(out names, asOf asOf) error {
	enclosures, err := s.Store.Enclosures("", asOf.moment)
	if err != nil {
		return err
	}
	for _, e := range enclosures {
		out[projections.Local("enclosure", e.Facility, e.ID)] = e.Name
	}
	foods, err := s.Store.Foods("", asOf.moment)
	if err != nil {
		return err
	}
	for _, f := range foods {
		out[projections.Local("food", f.Facility, f.ID)] = f.Name
	}
	behaviours, err := s.Store.Behaviours("", asOf.moment)
	for _, b := range behaviours {
		out[projections.Local("behaviour", b.Facility, b.ID)] = b.Name
	}
	return err
}

// words says what an entry says, in one line.
func (n names) words(e events.Event) string {
	switch b := e.Body.(type) {
	case *events.FeedGiven:
		return n.feed(b, e.Facility)
	case *events.RationSet:
		return "Ration " + n.ration(b.Items, e.Facility) + " a day" + atTimes(b.Times) + after(b.Reason)
	case *events.WeightTaken:
		return "Weight " + quantity(b.Mass) + after(b.Coat) + after(b.Method)
	case *events.CoatScored:
		return "Coat " + coat(b.Stage, b.NewCoat) + after(strings.Join(b.Regions, ", "))
	case *events.EncounterSeen:
		return n.encounter(b)
	case *events.TrialScored:
		return fmt.Sprintf("Trial, %s, step %d: %s", n.in("behaviour", e.Facility, b.Behaviour), b.Step, spaced(b.Outcome))
	case *events.CheckMade:
		return "Looked over" + findings(b)
	case *events.Note:
		return "Note: " + b.Text
	}
	return n.otherWords(e)
}

// otherWords is for the kinds that the Deck's tabs don't make.
func (n names) otherWords(e events.Event) string {
	switch b := e.Body.(type) {
	case *events.AnimalEntered:
		return "Entered as " + b.Name + ", " + b.How + after(b.From)
	case *events.AnimalIdentified:
		return "Identified by " + schemeWords(b.Scheme) + " " + b.Code + after(b.Where)
	case *events.AnimalPlaced:
		return "Moved to " + n.in("enclosure", e.Facility, b.Enclosure) + after(b.Reason)
	case *events.AnimalLeft:
		return "Left, " + b.How + after(b.To)
	case *events.ConditionScored:
		return fmt.Sprintf("Condition %s, %s from %s to %s", b.Score.Value, b.Scale, b.Least.Value, b.Most.Value)
	case *events.LengthMeasured:
		return "Length " + quantity(b.Length) + after(b.Kind)
	case *events.GirthMeasured:
		return "Girth " + quantity(b.Girth) + after(b.Where)
	case *events.SupplementGiven:
		return "Supplement " + b.Supplement + ", " + quantity(b.Dose)
	case *events.MedicationGiven, *events.FindingClosed:
		return careWords(e)
	case *events.WaterTested:
		return n.waterWords(b, e.Facility)
	case *events.VeterinaryNoted:
		return "Note of the veterinarian, " + b.Veterinarian + ": " + b.Text
	case *events.OrderGiven:
		return fmt.Sprintf("Order %s: %s, %s", b.Order, b.Medication, doseWords(b.Dose, b.Route, b.Daily))
	case *events.OrderEnded:
		return "Order " + b.Order + " ended" + after(b.Reason)
	case *events.DeviceReported:
		return plural(b.Waiting, "entry waits", "entries wait") + " on the device"
	}
	return n.trainingWords(e)
}

func (n names) trainingWords(e events.Event) string {
	switch b := e.Body.(type) {
	case *events.BehaviourPlanned:
		return "Plan for " + b.Name + ", " + plural(len(b.Steps), "step", "steps")
	case *events.BehaviourApproved:
		return "Approved: " + n.in("behaviour", e.Facility, b.Behaviour)
	case *events.BehaviourDropped:
		return "Dropped: " + n.in("behaviour", e.Facility, b.Behaviour) + after(b.Reason)
	case *events.SessionHeld:
		return "Training session, came " + spaced(b.Came)
	case *events.WatchHeld:
		return n.watch(b, e)
	case *events.CompanyScanned:
		return "Scan of " + n.in("enclosure", e.Facility, b.Enclosure) + groupWords(b.Groups)
	case *events.EnrichmentOffered:
		return "Enrichment: " + b.Item + after(b.Use)
	case *events.ChoiceMade:
		return "Choice among " + listed(b.Offered) + ": " + orElse(b.Chosen, "none")
	case *events.TouchNoted:
		return "Touch, " + spaced(b.Region) + ": " + b.Answer
	}
	return n.kitchenWords(e)
}

// kitchenWords is for what holds for a house and its stores, and for diets.
func (n names) kitchenWords(e events.Event) string {
	switch b := e.Body.(type) {
	case *events.DietGuided:
		return "Diet " + inMonths(b.Months) + ": " + n.guide(b.Items, e.Facility) + after(b.Reason)
	case *events.RuleSet:
		return "House rule, " + spaced(b.Rule) + ": " + quantity(b.Value) + after(b.Reason)
	case *events.ThawCompleted:
		return "Thawed through, lot " + b.Lot + after(b.Text)
	case *events.SupplementDescribed:
		return b.Name + ", in one " + strings.Trim(b.Per, "{}") + ": " + contents(b.Contents) + after(b.Source)
	}
	return spaced(strings.ReplaceAll(events.KindName(e.Type), ".", " "))
}

func (n names) feed(b *events.FeedGiven, facility string) string {
	parts := make([]string, len(b.Items))
	var ate int64
	for i, item := range b.Items {
		food, eaten, offered := n.in("food", facility, item.Food), item.Eaten.Milligrams(), item.Offered.Milligrams()
		ate += eaten
		switch {
		case eaten == offered:
			parts[i] = food + " " + quantity(item.Eaten)
		case eaten == 0:
			parts[i] = food + " " + quantity(item.Offered) + " refused"
		default:
			parts[i] = food + " " + item.Eaten.Value + " of " + quantity(item.Offered)
		}
	}
	if ate == 0 {
		return "Offered " + strings.Join(parts, ", ")
	}
	return "Fed " + strings.Join(parts, ", ")
}

func (n names) ration(items []events.RationItem, facility string) string {
	parts := make([]string, len(items))
	for i, item := range items {
		parts[i] = n.in("food", facility, item.Food) + " " + quantity(item.Mass)
	}
	return strings.Join(parts, ", ")
}

func atTimes(times []string) string {
	if len(times) == 0 {
		return ""
	}
	return ", at " + listed(times)
}

// inMonths names the months that a guide holds in.
func inMonths(months []string) string {
	if len(months) == 0 {
		return "all year"
	}
	called := make([]string, len(months))
	for i, m := range months {
		number, _ := strconv.Atoi(m)
		called[i] = time.Month(number).String()
	}
	return "in " + listed(called)
}

func (n names) guide(items []events.GuidedItem, facility string) string {
	parts := make([]string, len(items))
	for i, item := range items {
		parts[i] = n.in("food", facility, item.Food)
		switch {
		case !item.Least.IsZero() && !item.Most.IsZero():
			parts[i] += " " + item.Least.Value + " to " + quantity(item.Most)
		case !item.Least.IsZero():
			parts[i] += " at least " + quantity(item.Least)
		case !item.Most.IsZero():
			parts[i] += " at most " + quantity(item.Most)
		}
	}
	return strings.Join(parts, ", ")
}

func contents(of []events.Content) string {
	parts := make([]string, len(of))
	for i, c := range of {
		parts[i] = spaced(c.What) + " " + quantity(c.Amount)
	}
	return strings.Join(parts, ", ")
}

func (n names) encounter(b *events.EncounterSeen) string {
	winner, loser := n.of("animal", b.Winner), n.of("animal", b.Loser)
	if b.Draw {
		return winner + " and " + loser + " met, neither yielded" + placeWords[b.Place] + encounterMore(b)
	}
	return loser + " yielded to " + winner + placeWords[b.Place] + encounterMore(b)
}

func findings(b *events.CheckMade) string {
	if len(b.Findings) == 0 {
		return ", nothing found"
	}
	parts := make([]string, len(b.Findings))
	for i, f := range b.Findings {
		parts[i] = f.Region + " " + f.Word
		if f.Urgent {
			parts[i] += " (tell the veterinarian now)"
		}
	}
	return ": " + strings.Join(parts, "; ")
}

func after(s string) string {
	if s == "" {
		return ""
	}
	return ", " + spaced(s)
}

// placeWords say where an encounter was.
var placeWords = map[string]string{"deck": " on the deck", "gate": " at the gate", "food": " over food", "pool": " in the pool"}

func spaced(s string) string { return strings.ReplaceAll(s, "_", " ") }

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// schemeWords say what sort of mark it is.
func schemeWords(scheme string) string {
	if scheme == "iso11784" {
		return "transponder (ISO 11784)"
	}
	return scheme
}
