package main

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// openCare opens Marl's page as a veterinarian, with a finding that is open.
func openCare(t *testing.T) (w *written, check string) {
	p := openPoolside(t)
	p.stop()
	vet := strings.TrimSpace(command(t, "staff", "add", "vt", "--role", "veterinarian", "--facility", "saltgarth", "--token", "--data", p.dir))
	p.start()
	found := saltgarthDraft("check.made", `{"animal":"marl","findings":[{"region":"eyes","word":"half closed","urgent":true}]}`)
	p.record(found)
	w = &written{openBrowser(t, p.process.base), p}
	w.signIn(vet, "/animals/marl")
	w.untilThere("#write-back[data-ready]")
	return w, found.ID
}

// What was found is closed with a reason, and is open no more.
func TestAFindingIsClosedOnTheAnimalsPage(t *testing.T) {
	t.Parallel()
	w, check := openCare(t)
	w.click("[data-finding=Eyes] summary")
	w.save("finding.closed", `said.textContent.includes('is missing')`)
	w.fill("#finding-1-out", "veterinarian_saw")
	w.save("finding.closed", atServer)
	want := []body{says(t, "finding.closed", `{"animal":"marl","check":"`+check+`","region":"eyes","outcome":"veterinarian_saw"}`)}
	if diff := cmp.Diff(want, bodies(t, w.p.logged("vt"))); diff != "" {
		t.Fatal(diff)
	}
	w.open("/animals/marl")
	if got := w.text("[aria-labelledby=body] .answer b"); got != "Nothing is open." {
		t.Errorf("the page then says %q", got)
	}
}

// An order carries its dose with the unit that was chosen, and is ended.
func TestAVeterinarianGivesAnOrderAndEndsIt(t *testing.T) {
	t.Parallel()
	w, _ := openCare(t)
	w.click("#give summary")
	for field, text := range map[string]string{"what": "eye drops", "dose": "0,2", "unit": "mL", "route": "eye", "daily": "2", "until": "2099-03-09T20:00"} {
		w.fill("#give-"+field, text)
	}
	w.save("order.given", atServer)
	w.open("/animals/marl")
	w.untilThere("#write-back[data-ready]")
	w.click("[data-order] summary")
	w.fill("#order-1-why", "healed")
	w.save("order.ended", atServer)
	got := bodies(t, w.p.logged("vt"))
	if len(got) != 2 {
		t.Fatalf("%d facts", len(got))
	}
	id, _ := got[0].Data["order"].(string)
	want := []body{
		says(t, "order.given", `{"order":"`+id+`","animal":"marl","veterinarian":"vt","medication":"eye drops","dose":{"value":"0.2","unit":"mL"},"route":"eye","daily":2,"until":"2099-03-09T20:00:00.000Z"}`),
		says(t, "order.ended", `{"order":"`+id+`","animal":"marl","reason":"healed"}`),
	}
	if diff := cmp.Diff(want, got); diff != "" || id == "" {
		t.Fatal(diff)
	}
}
