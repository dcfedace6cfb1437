package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"haulout/events"
)

// paper is a size of paper in inches and in whole millimetres.
type paper struct {
	name       string
	wide, high float64
}

// ISO 216 and ANSI/ASME Y14.1.
var papers = []paper{{"A4", 210 / 25.4, 297 / 25.4}, {"Letter", 8.5, 11}}

// stock gives a facility thirty animals that are fed some foods, in turn at one
// list of times or the next.
func (p *poolside) stock(facility string, times []string, foods ...string) {
	p.t.Helper()
	var facts []events.Draft
	add := func(kind, body string) {
		d := saltgarthDraft(kind, body)
		d.Facility = facility
		facts = append(facts, d)
	}
	var items []string
	for _, food := range foods {
		add("food.described", fmt.Sprintf(`{"food":%q,"name":%q,"source":"invented","composition":{"fat":{"value":"4","unit":"g"},"protein":{"value":"17","unit":"g"}}}`, food, strings.ToUpper(food[:1])+food[1:]))
		for _, lot := range []string{"a", "b"} {
			add("lot.received", fmt.Sprintf(`{"lot":"%s-%s","food":%q,"mass":{"value":"900","unit":"kg"},"use_by":"2099-01-31","caught":"2026-01","store":"freezer 2"}`, food, lot, food))
		}
		items = append(items, fmt.Sprintf(`{"food":%q,"mass":{"value":"4.27","unit":"kg"}}`, food))
	}
	for i := range 30 {
		animal := fmt.Sprintf("%s-%02d", facility, i)
		add("animal.entered", fmt.Sprintf(`{"animal":%q,"name":"Strandling %d","taxon":"Zalophus californianus","sex":"female","how":"birth","tape":%d}`, animal, i, i%8+1))
		add("ration.set", fmt.Sprintf(`{"animal":%q,"items":[%s],"times":[%s]}`, animal, strings.Join(items, ","), times[i%len(times)]))
	}
	p.record(facts...)
}

// Thirty animals are one sheet of buckets, on A4 and on Letter, upright with a
// few columns and on its side with twelve and the times of feeds. Page one is the thaw list.
func TestThirtyBucketsFitOneSheetOfPaper(t *testing.T) {
	t.Parallel()
	p := openPoolside(t)
	p.record(saltgarthDraft("animal.left", `{"animal":"marl","how":"move","to":"elsewhere"}`), saltgarthDraft("animal.left", `{"animal":"osier","how":"move","to":"elsewhere"}`))
	p.stock("saltgarth", []string{`"08:00","11:00","14:00"`, `"09:15","12:15","15:15"`}, "capelin", "mackerel", "sprat", "squid")
	p.stock("wrackline-bay", []string{`"08:30","12:00","15:30"`}, "capelin", "sprat")
	b := openBrowser(t, p.process.base)
	b.signIn(p.keeper, "/fishroom")
	for facility, lying := range map[string]bool{"saltgarth": true, "wrackline-bay": false} {
		b.open("/fishroom?facility=" + facility)
		if got := ask[int](b, `document.querySelectorAll('.buckets tbody tr').length`); got != 31 {
			t.Errorf("%s has %d rows of buckets, want 30 and their sum", facility, got)
		}
		for _, sheet := range papers {
			printFishRoom(b, facility, sheet, lying)
			measureSheet(b, facility, sheet, lying)
		}
	}
}

// printFishRoom prints on a paper and counts its pages.
func printFishRoom(b *tab, facility string, sheet paper, lying bool) {
	b.t.Helper()
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPaper(chromedp.PaperSize{Width: sheet.wide, Height: sheet.high}), chromedp.PDFPrintBackground()))
	if err != nil {
		b.t.Fatal(err)
	}
	if folder := os.Getenv("HAULOUT_SHOTS"); folder != "" {
		keepFile(b.t, filepath.Join(folder, "fishroom-"+facility+"-"+sheet.name+".pdf"), pdf)
	}
	var got [][2]float64
	for _, box := range pdfPaper.FindAllSubmatch(pdf, -1) {
		got = append(got, [2]float64{inches(b.t, box[1]), inches(b.t, box[2])})
	}
	round := func(v float64) float64 { return math.Round(v*10) / 10 }
	want := [][2]float64{{round(sheet.wide), round(sheet.high)}, {round(sheet.wide), round(sheet.high)}}
	if lying {
		want[1] = [2]float64{round(sheet.high), round(sheet.wide)}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		b.t.Errorf("%s on %s has pages of these inches (- wanted, + printed): %s", facility, sheet.name, diff)
	}
}

func inches(t *testing.T, points []byte) float64 {
	return math.Round(number(t, string(points))/72*10) / 10
}

// measureSheet lays the page out as it goes on the paper, which has margins of
// 8 mm: nothing may be wider than that, or a browser makes all of it smaller,
// and grams are set in 12 pt or more.
func measureSheet(b *tab, facility string, sheet paper, lying bool) {
	b.t.Helper()
	width := sheet.wide
	if lying {
		width = sheet.high
	}
	defer b.onPaper(width*25.4 - 2*8)()
	if over := ask[int](b, `(() => { const t = document.querySelector('.buckets'); return t.scrollWidth - t.closest('.sheet').clientWidth; })()`); over > 0 {
		b.t.Errorf("%s on %s: the buckets are %d px wider than the paper", facility, sheet.name, over)
	}
	if pt := ask[float64](b, `Math.min(...[...document.querySelectorAll('.buckets td.g')].map((n) => parseFloat(getComputedStyle(n).fontSize) * 0.75))`); pt < 12 {
		b.t.Errorf("%s on %s: grams are set in %.1f pt", facility, sheet.name, pt)
	}
}

// written is the fish room's page of a poolside, whose forms a keeper fills in.
type written struct {
	*tab
	p *poolside
}

func openFishRoom(t *testing.T) *written {
	p := openPoolside(t)
	p.record(
		saltgarthDraft("ration.set", `{"animal":"marl","items":[{"food":"herring","mass":{"value":"4.6","unit":"kg"}}],"times":["08:30"]}`),
		saltgarthDraft("lot.received", `{"lot":"H-1","food":"herring","mass":{"value":"100","unit":"kg"},"use_by":"2099-01-31"}`))
	w := &written{openBrowser(t, p.process.base), p}
	w.signIn(p.keeper, "/fishroom")
	w.load()
	return w
}

func (w *written) load() {
	w.t.Helper()
	w.open("/fishroom?facility=saltgarth")
	w.untilThere("#write-back[data-ready]")
}

func (w *written) fill(selector, text string) {
	w.t.Helper()
	w.do(chromedp.SetValue(chromedp.CSS(selector), text))
}

// save presses a form's button and waits for what it then says of the entry.
func (w *written) save(kind, until string) {
	w.t.Helper()
	form := fmt.Sprintf(`[data-kind="%s"]`, events.TypeOf(kind))
	w.click(form + " button")
	w.until(kind+" is answered", fmt.Sprintf(`((said) => %s)(document.querySelector('%s .said'))`, until, form))
}

const atServer = `said.dataset.state === 'recorded'`

// What was really used is written back: saved at once, sent when there is a
// line, and what the server refuses stays in the form with the reason.
func TestTheFishRoomWritesBack(t *testing.T) {
	t.Parallel()
	w := openFishRoom(t)
	w.fill("#out-mass", "a box")
	w.save("lot.thawed", `said.textContent.includes('write a number such as 12.5')`)
	w.fill("#out-mass", "12,50")
	w.save("lot.thawed", atServer)
	want := []body{says(t, "lot.thawed", `{"lot":"H-1","mass":{"value":"12.50","unit":"kg"},"how":"refrigerated"}`)}
	if diff := cmp.Diff(want, bodies(t, w.p.logged("rv"))); diff != "" {
		t.Fatal(diff)
	}
	w.fill("#in-lot", "two words")
	w.fill("#in-mass", "5")
	w.save("lot.received", `said.textContent.includes('data.lot')`)
	if kept := ask[string](w.tab, `document.querySelector('#in-lot').value`); kept != "two words" {
		t.Errorf("after a refusal the form holds %q", kept)
	}
}

func TestTheFishRoomLosesNothingWhileTheServerIsDown(t *testing.T) {
	t.Parallel()
	w := openFishRoom(t)
	w.fill("#out-mass", "12.5")
	w.save("lot.thawed", atServer)
	w.p.stop()
	w.fill("#bin-mass", "1.5")
	w.fill("#bin-reason", "burst")
	w.save("lot.discarded", `said.textContent.includes('no line to the server')`)
	w.p.start()
	w.online()
	w.until("it is at the server too", `((said) => `+atServer+`)(document.querySelector('[data-kind="haulout.lot.discarded.v1"] .said'))`)
	w.load()
	if page := strings.ReplaceAll(w.text("main"), "\u00a0", " "); !strings.Contains(page, "11.0 of 12.5") {
		t.Errorf("the clock does not show what is left: %s", page)
	}
	w.save("thaw.completed", atServer)
	got := w.p.logged("rv")
	if len(got) != 3 || events.KindName(got[2].Type) != "thaw.completed" {
		t.Errorf("the keeper's entries are %v", bodies(t, got))
	}
}
