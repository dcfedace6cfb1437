package main

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// What is decided about two animals, and that a period begins, is written on
// the page of their pool.
func TestADecisionIsWrittenOnThePageOfAPool(t *testing.T) {
	t.Parallel()
	p := openPoolside(t)
	w := &written{openBrowser(t, p.process.base), p}
	w.signIn(p.keeper, "/animals")
	w.open("/colony/saltgarth/long")
	w.untilThere("#write-back[data-ready]")
	w.save("company.judged", `said.textContent.includes('First animal is missing')`)
	w.fill("#judge-a", "marl")
	w.fill("#judge-b", "marl")
	w.fill("#judge-verdict", "apart")
	w.fill("#judge-reason", "bites at the gate; decided with the veterinarian")
	w.save("company.judged", `said.dataset.state === 'needs-you' && said.textContent.includes('two different ones')`)
	w.fill("#judge-b", "osier")
	w.save("company.judged", atServer)
	w.fill("#begin-reason", "separation")
	w.fill("#begin-text", "Osier goes to another pool")
	w.save("period.begun", atServer)
	want := []body{
		says(t, "company.judged", `{"animals":["marl","osier"],"verdict":"apart","reason":"bites at the gate; decided with the veterinarian"}`),
		says(t, "period.begun", `{"enclosure":"long","reason":"separation","text":"Osier goes to another pool"}`),
	}
	if diff := cmp.Diff(want, bodies(t, p.logged("rv"))); diff != "" {
		t.Fatal(diff)
	}
	w.open("/colony/saltgarth/long")
	w.untilThere("[role=alert]")
}
