package main

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/inspector"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"haulout/events"
)

const (
	halfAKilo = `{"animal":"marl","how":"hand","items":[{"food":"herring","offered":{"value":"0.5","unit":"kg"},"eaten":{"value":"0.5","unit":"kg"}}]}`
	oneKilo   = `{"animal":"marl","how":"hand","items":[{"food":"herring","offered":{"value":"1.0","unit":"kg"},"eaten":{"value":"1.0","unit":"kg"}}]}`
)

// A keeper logs while the server is down, loads the page anew, and finds
// everything recorded once when the server is back.
func TestTheDeckKeepsEverythingWhileTheServerIsDown(t *testing.T) {
	t.Parallel()
	p := openPoolside(t)
	b := openBrowser(t, p.process.base)
	b.signIn(p.keeper, "/deck")
	b.untilReady()
	chooseMarl(b)
	b.until("the worker serves the page", `navigator.serviceWorker.controller !== null`)
	b.click(`[data-kg="0.5"]`)
	b.untilThere(`#log li[data-state=recorded]`)
	if diff := cmp.Diff([]body{says(t, "feed.given", halfAKilo)}, bodies(t, p.logged("rv"))); diff != "" {
		t.Fatalf("the feed with the server up: %s", diff)
	}

	p.stop()
	logOneOfEach(b)
	b.untilWaiting(5)
	b.do(chromedp.Reload())
	b.untilReady()
	b.untilWaiting(5)
	if diff := cmp.Diff(map[string]int{"waiting": 5, "recorded": 1}, b.states()); diff != "" {
		t.Errorf("after loading the page with no server: %s", diff)
	}
	b.until("none of them can be undone any more", `!document.querySelector('#deck').hasAttribute('data-held')`)

	p.start()
	b.online()
	b.untilWaiting(0)
	if diff := cmp.Diff(map[string]int{"recorded": 6}, b.states()); diff != "" {
		t.Errorf("after the server came back: %s", diff)
	}
	want := []body{
		says(t, "feed.given", halfAKilo),
		says(t, "feed.given", oneKilo),
		says(t, "weight.taken", `{"animal":"marl","mass":{"value":"88.4","unit":"kg"},"coat":"wet"}`),
		says(t, "coat.scored", `{"animal":"marl","stage":"2","regions":["flippers"]}`),
		says(t, "encounter.seen", `{"winner":"marl","loser":"osier","place":"gate","enclosure":"long"}`),
		says(t, "trial.scored", `{"animal":"marl","behaviour":"chin","step":2,"outcome":"met"}`),
	}
	if diff := cmp.Diff(want, bodies(t, p.logged("rv"))); diff != "" {
		t.Errorf("what the server holds: %s", diff)
	}
}

// chooseMarl goes by way of the other facility, which has no animals.
func chooseMarl(b *tab) {
	b.t.Helper()
	choose := func(code string) {
		ask[bool](b, `(() => { const s = document.querySelector('#facility'); s.value = '`+code+`'; return s.dispatchEvent(new Event('change')); })()`)
	}
	choose("wrackline-bay")
	b.until("the bay has no animals", `!document.querySelector('#nobody').hidden && document.querySelector('#where').textContent === 'Wrackline Bay'`)
	choose("saltgarth")
	b.click("[data-animal=marl]")
}

// logOneOfEach makes one entry of each of the five kinds for Marl.
func logOneOfEach(b *tab) {
	b.t.Helper()
	b.click(`[data-kg="1.0"]`, `.verbs [data-tab=weigh]`)
	b.press("88.4", "#keys")
	b.click(`#wet`, `#save-weight`)
	b.click(`.verbs [data-tab=coat]`, `[data-region=flippers]`, `[data-stage="2"]`)
	b.click(`.verbs [data-tab=yield]`, `[data-other=osier]`, `[data-place=gate]`, `[data-yielded=other]`)
	b.click(`.verbs [data-tab=trial]`, `#step-up`, `[data-outcome=met]`)
}

// lossyLine stands between browser and server. While it is cut, the server
// gets what is posted and its answer never arrives.
type lossyLine struct {
	cut atomic.Bool

	mu      sync.Mutex
	answers []string // of the server to posted records
}

func (l *lossyLine) between(t *testing.T, server string) string {
	t.Helper()
	target, err := url.Parse(server)
	if err != nil {
		t.Fatal(err)
	}
	forward := &httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(target)
		r.Out.Host = r.In.Host
	}}
	line := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodPost || r.URL.Path != "/api/v1/records" {
			forward.ServeHTTP(w, r)
			return
		}
		answer := httptest.NewRecorder()
		forward.ServeHTTP(answer, r)
		l.mu.Lock()
		l.answers = append(l.answers, answer.Body.String())
		l.mu.Unlock()
		if l.cut.Load() {
			panic(http.ErrAbortHandler)
		}
		w.Header().Set("Content-Type", answer.Header().Get("Content-Type"))
		w.WriteHeader(answer.Code)
		w.Write(answer.Body.Bytes())
	}))
	t.Cleanup(line.Close)
	return line.URL
}

func (l *lossyLine) heard() []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return slices.Clone(l.answers)
}

func TestAnEntryWhoseAnswerWasLostIsOneRecord(t *testing.T) {
	t.Parallel()
	p, line := openPoolside(t), &lossyLine{}
	b := openBrowser(t, line.between(t, p.process.base))
	b.setClock(0)
	b.openDeck(p.keeper, "marl")
	line.cut.Store(true)
	b.click(`[data-kg="0.5"]`)
	b.untilWaiting(1)
	b.later()
	b.until("the line is known to be bad", `document.querySelector('#queue-age').textContent.startsWith('no signal')`)
	b.untilWaiting(1)
	if got := len(p.logged("rv")); got != 1 {
		t.Fatalf("the server holds %d records before the line is mended, want 1", got)
	}
	line.cut.Store(false)
	b.online()
	b.untilThere(`#log li[data-state=recorded]`)
	answers := line.heard()
	if first, last := answers[0], answers[len(answers)-1]; !strings.Contains(first, `"repeated":false`) || !strings.Contains(last, `"repeated":true`) {
		t.Errorf("the server answered %s first and %s at last; the last must be the receipt of a repeat", first, last)
	}
	if diff := cmp.Diff([]body{says(t, "feed.given", halfAKilo)}, bodies(t, p.logged("rv"))); diff != "" {
		t.Errorf("what the server holds: %s", diff)
	}
}

// The phone's clock is an hour ahead, and the animal it weighs is taken off the
// books before the weight is sent. The weight waits for a person with the
// reason; the feed, logged later, goes out, at the server's time.
func TestARefusedEntryNeedsAPersonAndHoldsNobodyUp(t *testing.T) {
	t.Parallel()
	p := openPoolside(t)
	b := openBrowser(t, p.process.base)
	b.setClock(time.Hour)
	b.openDeck(p.keeper, "osier")
	b.until("the clock is talked about", `document.querySelector('#news').textContent.includes('clock is 60 min ahead')`)
	b.click(`.verbs [data-tab=weigh]`)
	b.press("61", "#keys")
	b.click("#save-weight")
	b.click("#change", "[data-animal=marl]", `[data-kg="0.5"]`)
	b.untilWaiting(2)
	p.withdrawOsier()
	b.later()
	b.until("one needs a person", `document.querySelector('#queue').dataset.needs === '1'`)
	b.untilWaiting(0)
	if diff := cmp.Diff(map[string]int{"needs-you": 1, "recorded": 1}, b.states()); diff != "" {
		t.Errorf("the list behind the chip: %s", diff)
	}
	list := p.logged("rv")
	if diff := cmp.Diff([]body{says(t, "feed.given", halfAKilo)}, bodies(t, list)); diff != "" {
		t.Fatalf("what the server holds: %s", diff)
	}
	if off := time.Since(list[0].Time).Abs(); off > time.Minute {
		t.Errorf("the feed is %s away from the server's time", off)
	}
	b.click("#queue")
	if why := b.text(`#queue-list li[data-state=needs-you]`); !strings.Contains(why, "Weight 61 kg") || !strings.Contains(why, "osier") {
		t.Errorf("the refused weight says %q, which names no reason", why)
	}
	b.click("[data-aside]", "#queue-sheet [data-close]")
	b.until("nobody is needed", `document.querySelector('#queue').dataset.needs === '0'`)
}

// setClock puts the clock of every page of the tab ahead, and lets later move it.
func (b *tab) setClock(ahead time.Duration) {
	b.t.Helper()
	const script = `{
		const Right = Date, now = () => Right.now() + Number(sessionStorage.ahead ??= %d);
		Date = class extends Right { constructor(...a) { if (a.length) super(...a); else super(now()); } static now() { return now(); } };
	}`
	if _, err := chromedp.Call(b.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: fmt.Sprintf(script, ahead.Milliseconds())}); err != nil {
		b.t.Fatal(err)
	}
}

// later lets the phone's clock jump past the time in which entries can be
// undone, and the network come back.
func (b *tab) later() {
	b.t.Helper()
	ask[int](b, fmt.Sprintf(`sessionStorage.ahead = Number(sessionStorage.ahead) + %d`, (holdTime+time.Second).Milliseconds()))
	b.online()
}

// withdrawOsier takes back that Osier ever came.
func (p *poolside) withdrawOsier() {
	p.t.Helper()
	for _, ev := range p.logged("steward") {
		switch of := ev.Body.(type) {
		case *events.AnimalEntered:
			if of.Animal == "osier" {
				p.record(saltgarthDraft("entry.withdrawn", fmt.Sprintf(`{"entry":%q,"reason":"belongs to the bay"}`, ev.ID)))
			}
		case *events.AnimalPlaced:
			if of.Animal == "osier" {
				defer p.record(saltgarthDraft("entry.withdrawn", fmt.Sprintf(`{"entry":%q,"reason":"belongs to the bay"}`, ev.ID)))
			}
		}
	}
}

func TestEntriesOutliveTheSessionOfTheirKeeper(t *testing.T) {
	t.Parallel()
	p := openPoolside(t)
	b := openBrowser(t, p.process.base)
	b.setClock(0)
	b.openDeck(p.keeper, "marl")
	b.click(`[data-kg="0.5"]`)
	b.untilWaiting(1)
	b.endSession()
	b.later()
	b.until("the page asks to sign in", `document.querySelector('#queue-age').textContent.startsWith('sign in to send')`)
	b.untilWaiting(1)
	if got := p.logged("rv"); len(got) > 0 {
		t.Fatalf("the server took %d records of somebody who is not signed in", len(got))
	}
	b.click(`[data-kg="1.0"]`) // saving goes on
	b.untilWaiting(2)
	b.click(`#news a[href^="/sign-in"]`)
	b.do(chromedp.SendKeys(chromedp.CSS("#token"), p.keeper))
	b.click(".signin button")
	b.untilReady()
	b.later()
	b.untilWaiting(0)
	want := []body{says(t, "feed.given", halfAKilo), says(t, "feed.given", oneKilo)}
	if diff := cmp.Diff(want, bodies(t, p.logged("rv"))); diff != "" {
		t.Errorf("what the server holds: %s", diff)
	}
}

// endSession ends the browser's session at the server and leaves the browser
// its cookie, as when a session runs out.
func (b *tab) endSession() {
	b.t.Helper()
	jar, err := chromedp.Call(b.ctx, network.GetCookies, network.GetCookiesParams{})
	if err != nil || len(jar.Cookies) != 1 {
		b.t.Fatalf("cookies %v, %v", jar.Cookies, err)
	}
	req, err := http.NewRequestWithContext(b.t.Context(), http.MethodPost, b.base+"/sign-out", nil)
	if err != nil {
		b.t.Fatal(err)
	}
	req.AddCookie(&http.Cookie{Name: jar.Cookies[0].Name, Value: jar.Cookies[0].Value})
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		b.t.Fatal(err)
	}
	resp.Body.Close()
}

func TestADraftOutlivesItsTabAndTwoTabsMakeOneRecordEach(t *testing.T) {
	t.Parallel()
	p := openPoolside(t)
	b := openBrowser(t, p.process.base)
	first := b.another()
	first.openDeck(p.keeper, "marl")
	first.click(`.verbs [data-tab=weigh]`)
	first.press("88", "#keys")
	first.crash()

	b.open("/deck")
	b.untilReady()
	if got := []string{b.text("#name"), b.text("#kg")}; !slices.Equal(got, []string{"Marl", "88"}) {
		t.Fatalf("the tab after the one that died shows %q, want Marl with 88 kg half typed", got)
	}
	second := b.another()
	second.open("/deck")
	second.untilReady()
	second.click(`.verbs [data-tab=feed]`, `[data-kg="0.5"]`)
	b.press(".5", "#keys")
	b.click("#save-weight")
	for _, tab := range []*tab{b, second} {
		tab.until("both tabs know of both entries", `document.querySelectorAll('#log li[data-state]').length >= 2`)
		tab.untilWaiting(0)
	}
	want := []body{
		says(t, "feed.given", halfAKilo),
		says(t, "weight.taken", `{"animal":"marl","mass":{"value":"88.5","unit":"kg"},"coat":"dry"}`),
	}
	if diff := cmp.Diff(want, bodies(t, p.logged("rv"))); diff != "" {
		t.Errorf("what the server holds: %s", diff)
	}
}

// crash kills the process behind the tab, with no goodbye to the page.
func (b *tab) crash() {
	b.t.Helper()
	gone := chromedp.Events(b.ctx, inspector.TargetCrashed)
	go chromedp.Call(b.ctx, page.Crash, cdp.Empty{}) // is never answered
	for _, err := range gone {
		if err != nil {
			b.t.Fatal(err)
		}
		return
	}
}

func TestDripsLimitsAndUndoOnTheDeck(t *testing.T) {
	t.Parallel()
	p := openPoolside(t)
	b := openBrowser(t, p.process.base)
	b.openDeck(p.keeper, "marl")

	twice := func(selector string) {
		ask[string](b, fmt.Sprintf(`{ const k = document.querySelector(%q); k.click(); k.click(); '' }`, selector))
	}
	twice(`[data-kg="0.5"]`)
	b.untilWaiting(1)
	b.click(".verbs [data-tab=weigh]")
	twice(`#keys [data-key="4"]`)
	b.press("00", "#keys")
	b.press("0", "#keys")
	b.click("#save-weight")
	if said := b.text("#kg-say"); !strings.Contains(said, "Over 4500 kg") {
		t.Errorf("44000 kg are answered with %q; two touches on a digit are two digits, and no seal weighs that", said)
	}
	b.press("xxxxx", "#keys")
	b.press("66", "#keys")
	b.click("#save-weight")
	if said, save := b.text("#kg-say"), b.text("#save-weight"); said != "◆ 22.0 kg under 1 March. Right?" || save != "Yes, 66\u00a0kg" {
		t.Errorf("66 kg are answered with %q and %q, want the value read back and asked about once", said, save)
	}
	time.Sleep(500 * time.Millisecond) // or the second touch is water
	b.click("#save-weight")
	b.untilWaiting(2)

	b.click(".verbs [data-tab=feed]", `[data-kg="1.0"]`)
	b.untilWaiting(3)
	gone := b.newest()
	b.click(fmt.Sprintf("[data-undo=%q]", gone))
	b.untilWaiting(2)

	b.until("the two that stay are sent", `document.querySelectorAll('#log li[data-state=recorded]').length >= 2 && document.querySelector('#queue').dataset.waiting === '0'`)
	time.Sleep(time.Second) // the undone one would have been due by now
	want := []body{says(t, "feed.given", halfAKilo), says(t, "weight.taken", `{"animal":"marl","mass":{"value":"66","unit":"kg"},"coat":"dry"}`)}
	if diff := cmp.Diff(want, bodies(t, p.logged("rv"))); diff != "" {
		t.Errorf("what the server holds: %s", diff)
	}
}

func TestFixMakesACorrectionAndTheOriginalStaysReadable(t *testing.T) {
	t.Parallel()
	p := openPoolside(t)
	b := openBrowser(t, p.process.base)
	b.setClock(0)
	b.openDeck(p.keeper, "marl")
	b.click(`[data-kg="1.0"]`)
	b.untilWaiting(1)
	b.later()
	b.untilThere("#log li[data-state=recorded]")
	entry := b.newest()
	b.click(fmt.Sprintf("[data-fix=%q]", entry))
	b.do(chromedp.SetValue(chromedp.CSS("#fix-kg"), "0,4"))
	b.click("#fix-save")
	if said := b.text("#fix-say"); !strings.Contains(said, "Say why") {
		t.Errorf("a fix without a reason is answered with %q", said)
	}
	time.Sleep(500 * time.Millisecond) // or the second touch is water
	b.click(`[data-reason="slip of the hand"]`, "#fix-save")
	b.untilThere("#log del")
	b.untilWaiting(1)
	b.later()
	b.untilWaiting(0)
	want := []body{
		says(t, "feed.given", oneKilo),
		says(t, "entry.corrected", fmt.Sprintf(`{"entry":%q,"reason":"slip of the hand","data":%s}`, entry, strings.ReplaceAll(oneKilo, "1.0", "0.4"))),
	}
	if diff := cmp.Diff(want, bodies(t, p.logged("rv"))); diff != "" {
		t.Errorf("what the server holds: %s", diff)
	}
	b.open("/animals/marl")
	if got := b.text(".entries li:has(del)"); !strings.Contains(b.text(".entries li del"), "1.0") || !strings.Contains(got, "0.4") || !strings.Contains(got, "slip of the hand") {
		t.Errorf("the animal's page says %q, want the original struck through, the new amount and the reason", got)
	}
}

// New coat does not grow old: a lower stage is asked about once, and then taken.
func TestACoatThatRunsBackwardsIsAskedAboutOnce(t *testing.T) {
	t.Parallel()
	p := openPoolside(t)
	p.record(saltgarthDraft("coat.scored", `{"animal":"marl","stage":"3"}`))
	b := openBrowser(t, p.process.base)
	b.openDeck(p.keeper, "marl")
	b.click(`.verbs [data-tab=coat]`, `[data-stage="1"]`)
	b.until("it is asked about", `document.querySelector('#coat-say').textContent.includes('3 past half')`)
	if n := len(p.logged("rv")); n != 0 {
		t.Fatalf("%d entries were made without an answer", n)
	}
	b.do(chromedp.Sleep(450 * time.Millisecond)) // sooner it would be water and not a person
	b.click(`[data-stage="1"]`)
	b.untilThere("#log li[data-state=recorded]")
	want := []body{says(t, "coat.scored", `{"animal":"marl","stage":"1"}`)}
	if diff := cmp.Diff(want, bodies(t, p.logged("rv"))); diff != "" {
		t.Fatal(diff)
	}
}
