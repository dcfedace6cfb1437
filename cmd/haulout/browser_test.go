package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"haulout/events"
)

// soon bounds every wait of a browser test that nothing holds up on purpose;
// holdTime is how long the Deck keeps an entry back so that it can be undone.
const (
	soon     = 60 * time.Second
	holdTime = 10 * time.Second
)

// tab is a tab of a real Chromium, with what it complained about.
type tab struct {
	t    *testing.T
	ctx  context.Context
	base string // of the server that relative addresses mean

	mu      sync.Mutex
	errors  []string // exceptions, broken policies: never right
	network []string // requests that came to nothing: right where a server is down
}

// openBrowser starts a Chromium that has never been used, with one tab.
func openBrowser(t *testing.T, base string) *tab {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(chromium(t)), chromedp.UserDataDir(t.TempDir()), chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.WindowSize(390, 844))
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox)
	}
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(cancel) // ends the browser and waits for it
	return openTab(t, ctx, base)
}

// chromium finds the browser. Without one nothing here can be proved.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Fatal("no Chromium on this machine, so the pages can't be tested; `make test` installs one, or `apt-get install chromium`")
	return ""
}

func openTab(t *testing.T, parent context.Context, base string) *tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(parent)
	t.Cleanup(cancel)
	b := &tab{t: t, ctx: ctx, base: base}
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("start Chromium: %v", err)
	}
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		for _, trouble := range b.troubles() {
			t.Errorf("the page complains: %s", trouble)
		}
	})
	return b
}

// another opens one more tab beside this one.
func (b *tab) another() *tab {
	b.t.Helper()
	return openTab(b.t, b.ctx, b.base)
}

func (b *tab) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		b.errors = append(b.errors, fmt.Sprintf("exception %s %v", e.ExceptionDetails.Text, e.ExceptionDetails.Exception))
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
			b.errors = append(b.errors, fmt.Sprintf("console.%s %v", e.Type, e.Args))
		}
	case *log.EventEntryAdded:
		if e.Entry.Source != log.EntrySourceNetwork && e.Entry.Level == log.EntryLevelError {
			b.errors = append(b.errors, e.Entry.Text+" "+e.Entry.URL)
		}
	case *network.EventLoadingFailed:
		if !e.Canceled {
			b.network = append(b.network, e.ErrorText)
		}
	case *network.EventResponseReceived:
		if e.Response.Status >= 400 {
			b.network = append(b.network, fmt.Sprint(e.Response.Status, " ", e.Response.URL))
		}
	}
}

func (b *tab) troubles() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]string{}, b.errors...)
}

// lostRequests gives the requests that came to nothing since it was last asked.
func (b *tab) lostRequests() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	out := b.network
	b.network = nil
	return out
}

// do takes steps that must come to an end soon.
func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, soon)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatalf("%v\n%s", err, b.screen())
	}
}

func (b *tab) open(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.base + path))
}

// click touches elements in their order, each once it can be touched.
func (b *tab) click(selectors ...string) {
	b.t.Helper()
	for _, s := range selectors {
		b.until(s+" can be touched", fmt.Sprintf(touchable, s))
		at := ask[[2]float64](b, `touchAt`)
		b.do(chromedp.MouseClickXY(at[0], at[1]))
	}
}

// touchable says whether an element is on screen, stands still, is enabled and
// is covered by nothing, and keeps its middle in touchAt.
const touchable = `(async () => {
	const node = document.querySelector(%q);
	if (!node || node.disabled) return false;
	node.scrollIntoView({ block: 'nearest' });
	const middle = () => { const r = node.getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; };
	const before = middle();
	await new Promise((done) => setTimeout(done, 40));
	globalThis.touchAt = middle();
	return node.isConnected && String(before) === String(touchAt) && node.contains(document.elementFromPoint(...touchAt));
})()`

// ask works an expression out in the page.
func ask[T any](b *tab, script string) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, soon)
	defer cancel()
	out, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", script, err)
	}
	return out
}

// text is what an element says.
func (b *tab) text(selector string) string {
	b.t.Helper()
	return ask[string](b, fmt.Sprintf(`document.querySelector(%q)?.textContent ?? ''`, selector))
}

// until waits for something to be true of the page.
func (b *tab) until(what, script string) {
	b.t.Helper()
	b.untilWithin(soon, what, script)
}

func (b *tab) untilWithin(patience time.Duration, what, script string) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	for {
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](script, chromedp.EvalAwaitPromise))
		if ok && err == nil {
			return
		}
		select {
		case <-ctx.Done():
			b.t.Fatalf("waited %s in vain until %s: %v\n%s", patience, what, err, b.screen())
		case <-time.After(50 * time.Millisecond): // an error is a page on its way to another
		}
	}
}

// untilThere waits for an element.
func (b *tab) untilThere(selector string) {
	b.t.Helper()
	b.until(selector+" is there", fmt.Sprintf(`document.querySelector(%q) !== null`, selector))
}

// screen is what a person would read on the page, for a test that fails.
func (b *tab) screen() string {
	ctx, cancel := context.WithTimeout(b.ctx, 2*time.Second)
	defer cancel()
	text, err := chromedp.Run(ctx, chromedp.Evaluate[string](`location.href + '\n' + document.body.innerText`))
	if err != nil {
		return err.Error()
	}
	return text
}

// poolside is the real program as a process of its own, at an address that it
// keeps over a restart, with a small colony at Saltgarth.
type poolside struct {
	t            *testing.T
	dir, address string
	process      *process
	keeper       string // token of rv, keeper at Saltgarth
	steward      *client
}

func openPoolside(t *testing.T) *poolside {
	t.Helper()
	p := &poolside{t: t, dir: t.TempDir(), address: "127.0.0.1:0"}
	p.keeper = strings.TrimSpace(command(t, "staff", "add", "rv", "--role", "keeper", "--facility", "saltgarth,wrackline-bay", "--token", "--data", p.dir))
	token := staffToken(t, p.dir, "steward", "steward")
	p.start()
	t.Cleanup(func() { p.stop() })
	p.steward = &client{where: p.process.base, base: p.process.base, token: token, http: &http.Client{}}
	p.settle()
	return p
}

func (p *poolside) start() {
	p.t.Helper()
	p.process = startProcess(p.t, "haulout", p.dir, "--listen", p.address, "--reserve", "1")
	p.address = strings.TrimPrefix(p.process.base, "http://")
}

// stop kills the program; nobody is told.
func (p *poolside) stop() { p.process.kill() }

// settle records two sea lions, their food and what they learn.
func (p *poolside) settle() {
	p.t.Helper()
	bay := saltgarthDraft("facility.opened", `{"name":"Wrackline Bay","zone":"Europe/Dublin"}`)
	bay.Facility = "wrackline-bay"
	p.record(bay)
	p.record(
		saltgarthDraft("enclosure.described", `{"enclosure":"long","name":"Long Pool"}`),
		saltgarthDraft("food.described", `{"food":"herring","name":"Herring","source":"invented"}`),
		saltgarthDraft("animal.entered", `{"animal":"marl","name":"Marl","taxon":"Zalophus californianus","sex":"female","how":"birth","tape":4}`),
		saltgarthDraft("animal.entered", `{"animal":"osier","name":"Osier","taxon":"Zalophus californianus","sex":"female","how":"birth","tape":2}`),
		saltgarthDraft("animal.placed", `{"animal":"marl","enclosure":"long"}`),
		saltgarthDraft("animal.placed", `{"animal":"osier","enclosure":"long"}`),
		saltgarthDraft("ration.set", `{"animal":"marl","items":[{"food":"herring","mass":{"value":"4.6","unit":"kg"}}]}`),
		saltgarthDraft("weight.taken", `{"animal":"marl","mass":{"value":"88.0","unit":"kg"},"coat":"dry"}`),
		saltgarthDraft("behaviour.planned", `{"behaviour":"chin","animal":"marl","name":"Chin on scale","purpose":"care","steps":[{"step":"comes"},{"step":"chin down","met":8,"of":10}]}`))
}

func (p *poolside) record(drafts ...events.Draft) {
	p.t.Helper()
	if _, err := p.steward.record(p.t.Context(), drafts); err != nil {
		p.t.Fatal(err)
	}
}

// logged gives the records that a keeper made, as the interface hands them out;
// what a phone reports of itself is none of them.
func (p *poolside) logged(by string) (out []events.Event) {
	p.t.Helper()
	lines, _, err := p.steward.lines(p.t.Context(), "saltgarth", 0)
	if err != nil {
		p.t.Fatal(err)
	}
	for line := range bytes.Lines(lines) {
		ev, err := events.Decode(bytes.TrimSpace(line))
		if err != nil {
			p.t.Fatal(err)
		}
		if ev.Author == by && events.KindName(ev.Type) != "device.reported" {
			out = append(out, ev)
		}
	}
	return out
}

// body is what a record says of one kind of thing, its JSON made comparable.
type body struct {
	Type string
	Data map[string]any
}

func bodies(t *testing.T, list []events.Event) (out []body) {
	t.Helper()
	for _, ev := range list {
		one := body{Type: ev.Type}
		if err := json.Unmarshal(ev.Data, &one.Data); err != nil {
			t.Fatal(err)
		}
		out = append(out, one)
	}
	return out
}

// says makes the body that a test expects.
func says(t *testing.T, kind, data string) body {
	t.Helper()
	return bodies(t, []events.Event{{Type: events.TypeOf(kind), Data: []byte(data)}})[0]
}

// signIn goes to a page by way of the sign-in page, as a person does.
func (b *tab) signIn(token, to string) {
	b.t.Helper()
	b.open(to)
	b.do(chromedp.SendKeys(chromedp.CSS("#token"), token))
	b.click(".signin button")
	b.until(to+" is open", fmt.Sprintf(`location.pathname === %q`, to))
}

// openDeck signs a keeper in and brings an animal's card up.
func (b *tab) openDeck(token, animal string) {
	b.t.Helper()
	b.signIn(token, "/deck")
	b.untilReady()
	b.click("[data-animal=" + animal + "]")
}

// untilReady waits until the Deck works and has said all that it says at first.
func (b *tab) untilReady() {
	b.t.Helper()
	b.untilThere("#deck[data-ready]")
	b.until("the browser has answered whether it keeps entries", `navigator.storage.persisted().then((kept) => kept || document.querySelector('#news .once') !== null)`)
}

// online tells the page that its network came back, as a phone does.
func (b *tab) online() {
	b.t.Helper()
	ask[bool](b, `dispatchEvent(new Event('online'))`)
}

// untilWaiting waits until the chip counts so many entries without a receipt.
func (b *tab) untilWaiting(n int) {
	b.t.Helper()
	b.until(fmt.Sprintf("%d wait", n), fmt.Sprintf(`document.querySelector('#queue').dataset.waiting === '%d'`, n))
}

// states counts the entries of the list behind the chip by state.
func (b *tab) states() map[string]int {
	b.t.Helper()
	b.click("#queue")
	out := ask[map[string]int](b, `(() => { const n = {}; for (const li of document.querySelectorAll('#queue-list li')) n[li.dataset.state] = (n[li.dataset.state] ?? 0) + 1; return n; })()`)
	b.click("#queue-sheet [data-close]")
	return out
}

// newest is the id of the entry that stands first in the log of the animal.
func (b *tab) newest() string {
	b.t.Helper()
	return ask[string](b, `document.querySelector('#log li').dataset.entry`)
}

// press touches the keys of a weight or an amount.
func (b *tab) press(keys, place string) {
	b.t.Helper()
	for _, k := range keys {
		b.click(fmt.Sprintf(`%s [data-key="%c"]`, place, k))
	}
}
