package main

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// A proposal becomes the ration in force by one press and a reason.
func TestARationIsSetFromItsProposal(t *testing.T) {
	t.Parallel()
	p := openPoolside(t)
	p.record(
		saltgarthDraft("food.described", `{"food":"herring","name":"Herring","source":"invented","portion":{"value":"150","unit":"g"},"energy":{"value":"150","unit":"kcal"},"basis":"metabolizable_atwater"}`),
		saltgarthDraft("lot.received", `{"lot":"H-1","food":"herring","mass":{"value":"100","unit":"kg"},"use_by":"2099-01-31"}`))
	w := &written{openBrowser(t, p.process.base), p}
	w.signIn(p.keeper, "/animals/marl")
	w.open("/animals/marl/ration?kcal=4500&times=08:30,15:30")
	w.untilThere("#write-back[data-ready]")
	w.save("ration.set", `said.textContent.includes('Reason is missing')`)
	w.fill("#reason", "as agreed with the nutritionist")
	w.save("ration.set", atServer)
	// 4,500 kcal of 1,500 kcal/kg are twenty fish of 150 g.
	want := []body{says(t, "ration.set", `{"animal":"marl","items":[{"food":"herring","mass":{"value":"3000","unit":"g"}}],"times":["08:30","15:30"],"reason":"as agreed with the nutritionist"}`)}
	if diff := cmp.Diff(want, bodies(t, p.logged("rv"))); diff != "" {
		t.Fatal(diff)
	}
}
