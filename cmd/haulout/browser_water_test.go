package main

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// A test is written down as the laboratory wrote it: figures, bounds and what was
// too numerous to count.
func TestAWaterTestIsWrittenOnThePageOfAPool(t *testing.T) {
	t.Parallel()
	p := openPoolside(t)
	w := &written{openBrowser(t, p.process.base), p}
	w.signIn(p.keeper, "/water")
	w.open("/water/saltgarth/long")
	w.untilThere("#write-back[data-ready]")
	w.save("water.tested", `said.dataset.state === 'needs-you' && said.textContent.includes('write at least one result')`)
	w.fill("#m-ph", "about 8")
	w.save("water.tested", `said.textContent.includes('write a number, <1, >2419 or TNTC')`)
	w.fill("#m-ph", "7,9")
	w.fill("#m-temperature", "-1.2")
	w.fill("#m-salinity", "< 33.5")
	w.fill("#m-total_coliform", "tntc")
	w.fill("#m-sample", "W-1")
	w.save("water.tested", atServer)
	want := []body{says(t, "water.tested", `{"enclosure":"long","sample":"W-1","readings":[
		{"what":"total_coliform","value":{"value":"0","unit":"{MPN}/dL"},"bound":"above"},{"what":"ph","value":{"value":"7.9","unit":"[pH]"}},
		{"what":"salinity","value":{"value":"33.5","unit":"[ppth]"},"bound":"below"},{"what":"temperature","value":{"value":"-1.2","unit":"Cel"}}]}`)}
	if diff := cmp.Diff(want, bodies(t, p.logged("rv"))); diff != "" {
		t.Fatal(diff)
	}
	w.open("/water/saltgarth/long")
	w.until("the count and its samples stand on the page", `document.querySelector('#open') !== null && document.body.textContent.includes('TNTC') && document.querySelector('#m-repeat') !== null`)
}
