package web_test

import (
	"strings"
	"testing"

	"haulout/events"
	"haulout/web"
)

// cared records a check with two findings, an order, and a dose of it.
func (c *colony) cared() (check string) {
	c.settle()
	check = c.record("saltgarth", "rhona", "check.made", "2026-06-16T08:00:00Z", &events.CheckMade{
		Animal: "marl", Findings: []events.Finding{{Region: "skin", Word: "scratch", Photo: strings.Repeat("ab", 32)}, {Region: "eyes", Word: "half closed", Urgent: true}},
	})
	c.record("saltgarth", "vt", "order.given", "2026-06-16T11:00:00Z", &events.OrderGiven{
		Order: "o-7", Animal: "marl", Veterinarian: "the veterinarian", Medication: "eye drops", Dose: events.Quantity{Value: "0.2", Unit: "mL"}, Route: "eye", Daily: 2,
	})
	c.record("saltgarth", "vt", "veterinary.noted", "2026-06-16T11:05:00Z", &events.VeterinaryNoted{Animal: "marl", Veterinarian: "the veterinarian", Text: "I look again on Friday."})
	c.record("saltgarth", "rhona", "medication.given", "2026-06-16T17:00:00Z", &events.MedicationGiven{Animal: "marl", Medication: "eye drops", Dose: events.Quantity{Value: "0.2", Unit: "mL"}, Order: "o-7", Taken: "part"})
	return check
}

func TestTheBodyOfAnAnimalSaysWhatIsOpenFirst(t *testing.T) {
	c := newColony(t)
	c.cared()
	part := between(t, c.page("/animals/marl", 200), `aria-labelledby="body"`, "</section>")
	wants(t, part, "A keeper asks for the veterinarian: eyes, half closed.", "Skin: scratch", "eye drops", "in the eye, 2 a day", "I look again on Friday.", "for the veterinarian to say")
	if !strings.Contains(part, `href="/api/v1/photos/`+strings.Repeat("ab", 32)) {
		t.Error("the photo is not to be had")
	}
	if strings.Index(part, "Eyes: half closed") > strings.Index(part, "Skin: scratch") {
		t.Error("what is urgent does not stand first")
	}
	if strings.Contains(part, "Give an order") || strings.Contains(part, "End this order") {
		t.Error("a keeper may give or end an order")
	}
}

func TestAFindingIsClosedAndAnOrderEndedInWords(t *testing.T) {
	c := newColony(t)
	check := c.cared()
	c.record("saltgarth", "rhona", "finding.closed", "2026-06-17T08:00:00Z", &events.FindingClosed{Animal: "marl", Check: check, Region: "eyes", Outcome: "healed"})
	c.record("saltgarth", "vt", "order.ended", "2026-06-17T08:10:00Z", &events.OrderEnded{Order: "o-7", Animal: "marl", Reason: "healed"})
	part := between(t, c.page("/animals/marl", 200), `aria-labelledby="body"`, "</section>")
	wants(t, part, "1 finding is open.", "Closed: eyes, healed", "Orders that are over")
}

func TestAVeterinarianGivesOrdersAndOthersClose(t *testing.T) {
	c := newColony(t)
	c.cared()
	c.visitor = web.Visitor{Name: "vt", Role: "veterinarian", Records: true, Signs: true, SignedIn: true}
	page := c.page("/animals/marl", 200)
	wants(t, page, "Give this order", "End this order", "Write this note", "Close this finding")
	if !strings.Contains(page, `&#34;veterinarian&#34;:&#34;vt&#34;`) {
		t.Error("an order would not say who signs it")
	}
	c.visitor = web.Visitor{Name: "rv", Role: "reader", SignedIn: true}
	page = c.page("/animals/marl", 200)
	for _, form := range []string{"Give this order", "End this order", "Write this note", "Close this finding"} {
		if strings.Contains(page, form) {
			t.Errorf("a reader is offered %q", form)
		}
	}
}
