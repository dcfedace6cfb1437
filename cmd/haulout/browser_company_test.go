package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"haulout/events"
)

// openCompany is the poolside with four sea lions in one enclosure and two in another.
func openCompany(t *testing.T) *poolside {
	t.Helper()
	p := openPoolside(t)
	p.record(saltgarthDraft("enclosure.described", `{"enclosure":"cove","name":"Cove"}`))
	for i, who := range []string{"thrift long", "quillon long", "dunlin cove", "teasel cove"} {
		id, enclosure, _ := strings.Cut(who, " ")
		p.record(
			saltgarthDraft("animal.entered", fmt.Sprintf(`{"animal":%q,"name":%q,"taxon":"Zalophus californianus","sex":"female","how":"birth","tape":%d}`, id, strings.ToUpper(id[:1])+id[1:], i+5)),
			saltgarthDraft("animal.placed", fmt.Sprintf(`{"animal":%q,"enclosure":%q}`, id, enclosure)))
	}
	return p
}

// countTouches counts what a finger does from now on, until touches is asked.
func (b *tab) countTouches() {
	b.t.Helper()
	ask[bool](b, `(() => { globalThis.touched = 0; globalThis.touching ??= addEventListener('pointerdown', () => touched++, { capture: true }) ?? true; return true; })()`)
}

// touches is how often the page was touched since it was last counted.
func (b *tab) touches() int {
	b.t.Helper()
	return ask[int](b, `touched`)
}

// sent waits until everything is at the server and gives what rv recorded there.
func (p *poolside) sent(b *tab) []events.Event {
	p.t.Helper()
	b.later()
	b.untilWaiting(0)
	return p.logged("rv")
}

// compare holds what the server got against what was expected, ids aside.
func compare(t *testing.T, what string, want, got []body, ignored ...string) {
	t.Helper()
	ids := cmpopts.IgnoreMapEntries(func(name string, _ any) bool {
		for _, i := range ignored {
			if i == name {
				return true
			}
		}
		return false
	})
	if diff := cmp.Diff(want, got, ids); diff != "" {
		t.Errorf("%s: %s", what, diff)
	}
}

func TestAWholeEncounterTakesFourTouches(t *testing.T) {
	t.Parallel()
	p := openCompany(t)
	b := openBrowser(t, p.process.base)
	b.setClock(0)
	b.openDeck(p.keeper, "marl")
	b.countTouches()
	b.click(`.verbs [data-tab=yield]`, `[data-other=osier]`, `[data-signal=lunge]`, `[data-yielded=other]`)
	b.untilWaiting(1)
	if n := b.touches(); n > 4 {
		t.Errorf("an encounter with who, who, what and who yielded takes %d touches from the card, want 4 at most", n)
	}
	b.click(`.verbs [data-tab=yield]`, `[data-other=thrift]`, `[data-signal=vocal]`, `[data-place=pool]`)
	if says := b.text(`[data-yielded=unanswered]`); says != "Callno answer" {
		t.Errorf("with a call chosen the button of what nobody answered says %q", says)
	}
	b.click(`[data-yielded=unanswered]`)
	b.untilWaiting(2)
	b.hurt()
	b.click(`.verbs [data-tab=yield]`, `#someone-else`, `[data-other=dunlin]`, `[data-yielded=unclear]`)
	b.untilWaiting(4)
	want := []body{
		says(t, "encounter.seen", `{"winner":"marl","loser":"osier","signal":"lunge","place":"deck","enclosure":"long"}`),
		says(t, "encounter.seen", `{"winner":"marl","loser":"thrift","draw":true,"signal":"vocal","place":"pool","enclosure":"long"}`),
		says(t, "encounter.seen", `{"winner":"quillon","loser":"marl","signal":"bite","intensity":"high","cause":"coalition","injury":true,"place":"pool","enclosure":"long"}`),
		says(t, "encounter.seen", `{"winner":"marl","loser":"dunlin","draw":true,"place":"pool","text":"could not tell who yielded"}`),
	}
	compare(t, "what the server holds", want, bodies(t, p.sent(b)))
}

// hurt notes a bite of Quillon's with all that can be said of it.
func (b *tab) hurt() {
	b.t.Helper()
	b.click(`.verbs [data-tab=yield]`, `[data-other=quillon]`, `[data-signal=bite]`, `#more-open`, `[data-intensity=high]`, `[data-cause=coalition]`, `#injury`)
	b.click(`#more [data-close]`)
	if says := b.text(`#encounter [data-vet]`); !strings.Contains(says, "tell the veterinarian") || ask[bool](b, `document.querySelector('#encounter [data-vet]').hidden`) {
		b.t.Errorf("an injury is answered with %q, want the word to tell the veterinarian", says)
	}
	b.click(`[data-yielded=self]`)
	b.untilWaiting(3)
	if says := b.text("#log li"); !strings.Contains(says, "Marl yielded to Quillon, bite, a third animal in it, injury, tell the veterinarian") {
		b.t.Errorf("the log says %q of the bite", says)
	}
}

func TestFixOfAnEncounterSwapsWhoYielded(t *testing.T) {
	t.Parallel()
	p := openCompany(t)
	b := openBrowser(t, p.process.base)
	b.setClock(0)
	b.openDeck(p.keeper, "marl")
	b.click(`.verbs [data-tab=yield]`, `[data-other=osier]`, `[data-signal=threat]`, `[data-yielded=self]`)
	b.untilWaiting(1)
	entry := p.sent(b)[0].ID
	b.click(fmt.Sprintf("[data-fix=%q]", entry), `[data-moved=osier]`, `[data-reason="wrong animal"]`, `#fix-save`)
	b.untilThere("#log del")
	if says := b.text("#log li"); !strings.Contains(says, "Put right to Osier yielded to Marl, threat") {
		t.Errorf("the log says %q, want what it was put right to", says)
	}
	b.untilWaiting(1)
	p.sent(b)
	b.click(fmt.Sprintf("[data-fix=%q]", entry), `[data-moved=neither]`, `[data-reason="slip of the hand"]`, `#fix-save`)
	b.untilWaiting(1)
	fixed := func(reason, data string) body {
		return says(t, "entry.corrected", fmt.Sprintf(`{"entry":%q,"reason":%q,"data":%s}`, entry, reason, data))
	}
	want := []body{
		says(t, "encounter.seen", `{"winner":"osier","loser":"marl","signal":"threat","place":"deck","enclosure":"long"}`),
		fixed("wrong animal", `{"winner":"marl","loser":"osier","signal":"threat","place":"deck","enclosure":"long"}`),
		fixed("slip of the hand", `{"winner":"marl","loser":"osier","draw":true,"signal":"threat","place":"deck","enclosure":"long"}`),
	}
	compare(t, "what the server holds", want, bodies(t, p.sent(b)))
}

// A keeper watches, the tab dies, the line goes down, and the watch is whole.
func TestAWatchOutlivesItsTabAndTheServer(t *testing.T) {
	t.Parallel()
	p := openCompany(t)
	b := openBrowser(t, p.process.base)
	first := b.another()
	first.setClock(0)
	first.signIn(p.keeper, "/deck")
	first.untilReady()
	first.click(`.pad [data-tab=watch]`, `[data-enclosure=long]`, `[data-view=quillon]`, `#watch-go`)
	for _, signal := range []string{"threat", "vocal", "threat", "chase"} {
		first.count(signal, 1)
	}
	first.click(`[data-less=chase]`)
	first.counted("chase", 0)
	first.countTouches()
	first.click(`[data-met=thrift]`, `[data-met=osier]`, `[data-signal=displaced]`, `[data-yielded=self]`)
	first.untilWaiting(1)
	if n := first.touches(); n > 4 {
		t.Errorf("an encounter within a watch takes %d touches, want 4 at most", n)
	}
	first.crash()

	b.setClock(0)
	b.open("/deck")
	b.untilReady()
	b.counted("threat", 2)
	b.counted("vocal", 1)
	if says := b.text("#watch-says"); !strings.HasSuffix(says, ", 1 encounter") {
		t.Errorf("the watch that outlived its tab says %q, want its encounter counted", says)
	}
	p.stop()
	b.aroundTheDeck()
	b.click(`#watch-stop`)
	b.until("the watch is at its end", `!document.querySelector('#watch-plan').hidden`)
	b.click(`#log [data-undo]`) // it runs on
	b.counted("threat", 2)
	b.click(`#watch-stop`)
	b.until("the watch is at its end again", `document.querySelector('#running').hidden`)
	p.start()
	theWatchIsWhole(t, p.sent(b))
}

// count touches a counter, which says one more.
func (b *tab) count(signal string, by int) {
	b.t.Helper()
	was := ask[int](b, fmt.Sprintf(`Number(document.querySelector('[data-count=%s] b')?.textContent ?? 0)`, signal))
	b.click(fmt.Sprintf("[data-count=%s]", signal))
	b.counted(signal, was+by)
	time.Sleep(400 * time.Millisecond) // or the second touch is water
}

func (b *tab) counted(signal string, n int) {
	b.t.Helper()
	b.until(fmt.Sprintf("%s stands at %d", signal, n), fmt.Sprintf(`document.querySelector('[data-count=%s] b')?.textContent === '%d'`, signal, n))
}

// aroundTheDeck goes to the card of an animal while a watch runs. The line is
// there, and an encounter that is logged there is the watch's.
func (b *tab) aroundTheDeck() {
	b.t.Helper()
	b.click(`#change`, `[data-animal=marl]`)
	b.until("the watch is talked about on the card", `!document.querySelector('#running').hidden && /^Watching Long Pool0:\d\d$/.test(document.querySelector('#running').textContent)`)
	b.click(`.verbs [data-tab=yield]`, `[data-other=osier]`, `[data-yielded=unanswered]`)
	b.untilWaiting(2)
	b.click(`.verbs [data-tab=yield]`, `[data-other=quillon]`, `[data-yielded=neither]`) // who was left out of view
	b.untilWaiting(3)
	b.click(`#running`)
}

func theWatchIsWhole(t *testing.T, list []events.Event) {
	t.Helper()
	watch := ""
	for _, e := range list {
		if held, ok := e.Body.(*events.WatchHeld); ok {
			watch = held.Watch
			until, err := events.ParseTime(held.Until)
			if length := until.Sub(e.Time); err != nil || length <= 0 || length > time.Minute+soon {
				t.Errorf("the watch went from %s to %s", e.Time, held.Until)
			}
		}
	}
	want := []body{
		says(t, "encounter.seen", fmt.Sprintf(`{"winner":"osier","loser":"thrift","signal":"displaced","place":"deck","enclosure":"long","watch":%q}`, watch)),
		says(t, "encounter.seen", fmt.Sprintf(`{"winner":"marl","loser":"osier","draw":true,"signal":"threat","place":"deck","enclosure":"long","watch":%q}`, watch)),
		says(t, "encounter.seen", `{"winner":"marl","loser":"quillon","draw":true,"place":"deck","enclosure":"long"}`),
		says(t, "watch.held", fmt.Sprintf(`{"watch":%q,"enclosure":"long","method":"all_occurrences","observer":"rv","animals":["marl","osier","thrift"],"counts":[{"signal":"threat","count":2},{"signal":"vocal","count":1}]}`, watch)),
	}
	byKind := cmpopts.SortSlices(func(a, b body) bool { return fmt.Sprint(a) < fmt.Sprint(b) })
	until := cmpopts.IgnoreMapEntries(func(name string, _ any) bool { return name == "until" })
	if diff := cmp.Diff(want, bodies(t, list), byKind, until); diff != "" {
		t.Errorf("what the server holds: %s", diff)
	}
}

// startedEarlier puts the start of the running watch back, as if the phone had
// been forgotten in a pocket.
func (b *tab) startedEarlier(by time.Duration) {
	b.t.Helper()
	ask[bool](b, fmt.Sprintf(`new Promise((done) => {
		indexedDB.open('haulout').onsuccess = ({ target: { result: db } }) => {
			const store = db.transaction('kept', 'readwrite').objectStore('kept');
			store.get('watch').onsuccess = ({ target: { result: w } }) => { store.put({ ...w, start: w.start - %[1]d, touched: w.touched - %[1]d + 60000 }, 'watch'); };
			store.transaction.oncomplete = () => { db.close(); done(true); };
		};
	})`, by.Milliseconds()))
	b.do(chromedp.Reload())
	b.untilReady()
}

// One is followed, nobody stops the watch for six hours, and the Deck asks when
// it really ended. The next one is thrown away.
func TestAForgottenWatchIsAskedForItsEnd(t *testing.T) {
	t.Parallel()
	p := openCompany(t)
	b := openBrowser(t, p.process.base)
	b.setClock(0)
	b.signIn(p.keeper, "/deck")
	b.untilReady()
	b.click(`.pad [data-tab=watch]`, `[data-enclosure=cove]`, `[data-method=focal]`, `[data-view=teasel]`, `#watch-go`)
	b.count("lunge", 1)
	b.startedEarlier(6 * time.Hour)
	b.click(`#change`)
	b.until("the line asks", `document.querySelector('#running').textContent.startsWith('Still watching Cove?6:00')`)
	b.click(`#running`, `#watch-stop`)
	if says := b.text("#ended-says"); !strings.Contains(says, "6\u00a0h 0\u00a0min") {
		t.Errorf("the question is %q, want how long it has run", says)
	}
	b.click(`#ended-touch`)
	b.until("the watch is at its end", `!document.querySelector('#watch-plan').hidden`)
	list := p.sent(b)
	want := []body{says(t, "watch.held", `{"enclosure":"cove","method":"focal","observer":"rv","animals":["teasel"],"counts":[{"signal":"lunge","count":1}]}`)}
	compare(t, "what the server holds", want, bodies(t, list), "watch", "until")
	until, err := events.ParseTime(list[0].Body.(*events.WatchHeld).Until)
	if length := until.Sub(list[0].Time); err != nil || length < time.Minute || length > time.Minute+soon {
		t.Errorf("the watch lasted %s, %v; want the minute to its last touch", length, err)
	}

	b.click(`[data-method=ad_libitum]`, `#watch-go`)
	b.count("bite", 1)
	b.click(`#watch-drop`, `#watch-drop-no`, `#watch-drop`, `#watch-drop-yes`)
	b.until("nothing runs", `document.querySelector('#running').hidden && !document.querySelector('#watch-plan').hidden`)
	if n := len(p.sent(b)); n != 1 {
		t.Errorf("the server holds %d records after a watch was thrown away, want 1", n)
	}
}

func TestScansSayWhoWasBesideWhom(t *testing.T) {
	t.Parallel()
	p := openCompany(t)
	b := openBrowser(t, p.process.base)
	b.setClock(0)
	b.signIn(p.keeper, "/deck")
	b.untilReady()
	b.click(`.pad [data-tab=scan]`, `[data-enclosure=long]`)
	b.click(`[data-scan=marl]`, `[data-scan=osier]`, `[data-scan=thrift]`, `#next-group`, `[data-scan=quillon]`)
	time.Sleep(400 * time.Millisecond) // or the second touch is water
	b.click(`[data-scan=quillon]`)     // touched again, it leaves
	if says := b.text("#scan-save"); says != "Save scan1 to place" {
		t.Errorf("with one left to place, saving says %q", says)
	}
	b.click(`#rest-away`, `#scan-save`)
	b.untilWaiting(1)

	b.click(`[data-enclosure=""]`, `[data-enclosure=long]`, `#same-groups`, `[data-scan=osier]`, `#rest-alone`, `#scan-save`)
	b.untilWaiting(2)
	b.click(`#change`, `.pad [data-tab=watch]`, `#watch-go`)
	b.untilThere(`[data-count=threat]`)
	b.click(`#change`, `.pad [data-tab=scan]`, `#rule-open`)
	b.do(chromedp.SetValue(chromedp.CSS("#rule-text"), "touching"))
	b.click(`#rule-ok`, `#rest-alone`, `#scan-save`)
	b.untilWaiting(3)
	want := []body{
		says(t, "company.scanned", `{"enclosure":"long","groups":[{"animals":["marl","osier","thrift"]}],"rule":"within one body length"}`),
		says(t, "company.scanned", `{"enclosure":"long","groups":[{"animals":["marl","thrift"]},{"animals":["osier"]}],"rule":"within one body length"}`),
		says(t, "company.scanned", `{"enclosure":"long","groups":[{"animals":["marl"]},{"animals":["osier"]},{"animals":["quillon"]},{"animals":["thrift"]}],"rule":"touching"}`),
	}
	list := p.sent(b)
	compare(t, "what the server holds", want, bodies(t, list), "watch")
	for i, e := range list {
		if scan := e.Body.(*events.CompanyScanned); (scan.Watch != "") != (i == 2) {
			t.Errorf("scan %d names the watch %q; only the third was made while one ran", i+1, scan.Watch)
		}
	}
}

// companySights are the pads of company, as a keeper comes to them.
func companySights() []sight {
	deck := func(name string, touches ...string) sight {
		return sight{name: "deck-" + name, path: "/deck#marl", touches: touches, status: 200}
	}
	return []sight{
		deck("company-pick", `#change`),
		deck("yield-whom", `.verbs [data-tab=yield]`),
		deck("yield-what", `.verbs [data-tab=yield]`, `[data-other=osier]`, `[data-signal=threat]`),
		deck("yield-more", `.verbs [data-tab=yield]`, `#more-open`, `#injury`),
		deck("scan-where", `#change`, `.pad [data-tab=scan]`),
		deck("scan", `#change`, `.pad [data-tab=scan]`, `[data-enclosure=long]`, `[data-scan=marl]`, `[data-scan=osier]`, `#next-group`, `[data-scan=thrift]`),
		deck("scan-placed", `#change`, `.pad [data-tab=scan]`, `#rest-away`),
		deck("scan-rule", `#change`, `.pad [data-tab=scan]`, `#rule-open`),
		deck("watch-plan", `#change`, `.pad [data-tab=watch]`),
		deck("watch-run", `#change`, `.pad [data-tab=watch]`, `#watch-go`, `[data-count=threat]`, `[data-met=marl]`),
		deck("watch-drop", `#running`, `#watch-drop`),
		deck("feed-watched", `.verbs [data-tab=feed]`),
		deck("yield-watched", `.verbs [data-tab=yield]`),
		deck("watch-met", `#running`, `[data-met=osier]`),
		deck("watch-undo", `#running`, `[data-yielded=self]`),
		deck("fix-encounter", `.verbs [data-tab=feed]`, `#log [data-fix]`),
	}
}

// Every pad of company in every way: nothing in anybody's way, nothing too
// small, nothing wider than the screen, no word that is cut.
func TestThePadsOfCompanyStandInNobodysWay(t *testing.T) {
	t.Parallel()
	p := openCompany(t)
	p.record(saltgarthDraft("encounter.seen", `{"winner":"marl","loser":"osier","signal":"threat","enclosure":"long"}`))
	b := openBrowser(t, p.process.base)
	b.setClock(0)
	b.signIn(p.keeper, "/deck")
	b.untilReady()
	axe := axeCore(t)
	for _, s := range companySights() {
		b.look(tall)
		b.see(s)
		ask[bool](b, axe+`; true`)
		b.inspect(s.name)
		if s.name == "deck-yield-what" || s.name == "deck-scan" || s.name == "deck-watch-run" {
			b.look(phone)
			b.walk()
		}
	}
	b.startedEarlier(5 * time.Hour)
	b.click(`#running`, `#watch-stop`)
	ask[bool](b, axe+`; true`)
	b.inspect("deck-watch-ended")
}

var tall = look{"390", 390, 844, "light", "none"}

// inspect looks at what is on the screen now, in every way.
func (b *tab) inspect(name string) {
	b.t.Helper()
	short := look{"320", 320, 640, "light", "none"}
	ways := []struct {
		look
		root string // of the settings of the Deck
		axe  bool   // where the colours or the order of things are others
	}{
		{tall, "", false}, {tall, "sun", false}, {tall, "gloves", false}, {look{"390-forced", 390, 844, "dark", "active"}, "", true},
		{short, "", true}, {short, "sun", true}, {short, "gloves", false}, {look{"320-dark", 320, 640, "dark", "none"}, "", true},
	}
	for _, way := range ways {
		b.look(way.look)
		ask[bool](b, fmt.Sprintf(`['sun', 'gloves'].every((way) => { document.documentElement.toggleAttribute('data-' + way, way === %q); return true; })`, way.root))
		b.inspectNow(strings.TrimSuffix(name+"-"+way.name+"-"+way.root, "-"), way.axe)
	}
	ask[bool](b, `document.documentElement.toggleAttribute('data-gloves', false)`)
}

func (b *tab) inspectNow(name string, axe bool) {
	b.t.Helper()
	if over := ask[int](b, `document.scrollingElement.scrollWidth - innerWidth`); over > 0 {
		b.t.Errorf("%s: %d px wider than the screen", name, over)
	}
	gloves := ask[bool](b, `document.documentElement.hasAttribute('data-gloves')`)
	wrong := ask[[]string](b, fmt.Sprintf(touchSizes, gloves))
	wrong = append(wrong, ask[[]string](b, cutTexts)...)
	if axe {
		wrong = append(wrong, ask[[]string](b, runAxe)...)
	}
	for _, w := range wrong {
		b.t.Errorf("%s: %s", name, w)
	}
	if folder := os.Getenv("HAULOUT_SHOTS"); folder != "" {
		picture, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
		if err != nil {
			b.t.Fatal(err)
		}
		keepFile(b.t, filepath.Join(folder, name+".png"), picture)
	}
}

// cutTexts lists the buttons whose words do not fit in them, or break within a
// word where no hyphen is meant.
const cutTexts = `[...document.querySelectorAll('.pad:not(#pad-feed) button, dialog[open] button, #running')].filter((n) => n.checkVisibility()).flatMap((n) => {
	const out = n.scrollWidth > n.clientWidth + 1 || n.scrollHeight > n.clientHeight + 1 ? ['the words of "' + n.textContent + '" do not fit'] : [];
	const texts = document.createTreeWalker(n, NodeFilter.SHOW_TEXT);
	while (texts.nextNode()) {
		for (const word of texts.currentNode.data.matchAll(/[^\s\u00ad-]+/g)) {
			const range = document.createRange();
			const hyphened = word.index > 0 && texts.currentNode.data[word.index - 1] === '\u00ad'; // whose line before belongs to the next sign
			range.setStart(texts.currentNode, word.index + (hyphened ? 1 : 0));
			range.setEnd(texts.currentNode, word.index + word[0].length);
			if (new Set([...range.getClientRects()].map((r) => Math.round(r.top))).size > 1) out.push('"' + word[0] + '" is broken in two');
		}
	}
	return out;
})`
