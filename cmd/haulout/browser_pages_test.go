package main

import (
	"bytes"
	"fmt"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/go-cmp/cmp"

	"haulout/cmd/haulout/colony"
)

// colonyDays is how much of the invented colony's history the pages are tested
// with: charts and tables are full, and it takes a second or two to record.
const colonyDays = 45

// visitColony serves the first days of the invented colony, up to now, and
// signs the lead keeper of Saltgarth in.
func visitColony(t *testing.T) *tab {
	t.Helper()
	dir := t.TempDir()
	n := tryNode(t, dir)
	w := settlers{node: n}
	for entry := range colony.Entries(7, time.Now().AddDate(2, 0, -colonyDays)) {
		if entry.Recorded.After(time.Now()) {
			break
		}
		if err := w.take(t.Context(), entry); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.flush(); err != nil {
		t.Fatal(err)
	}
	if err := n.close(); err != nil {
		t.Fatal(err)
	}
	token := strings.TrimSpace(command(t, "staff", "add", "lw", "--role", "lead", "--facility", "saltgarth", "--token", "--data", dir))
	p := startProcess(t, "haulout", dir, "--reserve", "1")
	t.Cleanup(p.kill)
	b := openBrowser(t, p.base)
	b.signIn(token, "/deck")
	b.untilReady()
	b.until("the worker serves the page", `navigator.serviceWorker.controller !== null`)
	return b
}

// look is a way to look at a page.
type look struct {
	name           string
	width, height  int64
	scheme, colors string // light or dark; none or active
}

func (b *tab) look(l look) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(l.width, l.height, chromedp.EmulateTouch))
	features := []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: l.scheme}, {Name: "forced-colors", Value: l.colors}, {Name: "prefers-reduced-motion", Value: "reduce"},
	}
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: features}); err != nil {
		b.t.Fatal(err)
	}
}

// sight is a page, or a page after some touches.
type sight struct {
	name, path string
	touches    []string
	status     int64
}

// sights lists what there is to see, by a reader who is signed in but for the
// sign-in page, which is the same for everybody.
func sights(animal string) []sight {
	deck := func(name string, touches ...string) sight {
		return sight{"deck-" + name, "/deck#" + animal, touches, http.StatusOK}
	}
	return []sight{
		{"sign-in", "/sign-in", nil, http.StatusOK},
		{"sign-in-wrong", "/sign-in?wrong=1", nil, http.StatusOK},
		{"today", "/today", nil, http.StatusOK},
		{"animals", "/animals", nil, http.StatusOK},
		{"animal", "/animals/" + animal, []string{"#energy-days summary", "#energy-rests summary", "#days summary", "#weighings summary", "#coat-published summary"}, http.StatusOK},
		{"ration", "/animals/" + animal + "/ration?times=08:30,15:30", nil, http.StatusOK},
		{"fish-room", "/fishroom?facility=saltgarth", []string{"#all-rules summary"}, http.StatusOK},
		{"colony", "/colony", nil, http.StatusOK},
		{"enclosure", "/colony/saltgarth/sg-long", []string{"#ladder-numbers summary", "#rating-numbers summary", "#company-numbers summary", "#group-figures summary", "#order-rests summary"}, http.StatusOK},
		{"enclosure-then", "/colony/saltgarth/sg-long?" + firstWeeks(), nil, http.StatusOK},
		{"water", "/water", nil, http.StatusOK},
		{"water-of", "/water/saltgarth/sg-cove?with=" + animal, []string{"#water-numbers summary", "#more-tests summary", "#water-rules summary"}, http.StatusOK},
		{"not-found", "/animals/nobody", nil, http.StatusNotFound},
		deck("pick", "#change"),
		deck("feed", ".verbs [data-tab=feed]"),
		deck("weigh", ".verbs [data-tab=weigh]"),
		deck("coat", ".verbs [data-tab=coat]"),
		deck("yield", ".verbs [data-tab=yield]"),
		deck("trial", ".verbs [data-tab=trial]"),
		deck("check", ".verbs [data-tab=check]"),
		deck("dose", ".verbs [data-tab=dose]"),
		deck("water", "#change", ".pad [data-tab=water]", "#water-where [data-enclosure]"),
		deck("queue", "#queue"),
		deck("amount", ".verbs [data-tab=feed]", "[data-kg=other]"),
		deck("time", "#when"),
		deck("fix", ".verbs [data-tab=feed]", "#log [data-fix]"),
	}
}

// firstWeeks asks to compare with the first weeks of the history.
func firstWeeks() string {
	day := func(n int) string { return time.Now().AddDate(0, 0, n-colonyDays).Format(time.DateOnly) }
	return "with_from=" + day(1) + "&with_to=" + day(21)
}

// sightOf is one of them by its name.
func sightOf(name, animal string) sight {
	all := sights(animal)
	return all[slices.IndexFunc(all, func(s sight) bool { return s.name == name })]
}

func (b *tab) see(s sight) {
	b.t.Helper()
	b.do(chromedp.Navigate("about:blank")) // or the Deck would only hear of another fragment
	resp, err := chromedp.Run(b.ctx, chromedp.NavigateResponse(b.base+s.path))
	if err != nil || resp.Status != s.status {
		b.t.Fatalf("%s answers %v, %v, want %d", s.path, resp, err, s.status)
	}
	if strings.HasPrefix(s.path, "/deck") {
		b.untilReady()
		b.until("the sheet is there", `document.querySelector('#name').textContent !== 'Deck'`)
	}
	b.click(s.touches...)
	want := []string{}
	if s.status >= 400 {
		want = append(want, fmt.Sprint(s.status, " ", b.base+s.path))
	}
	if diff := cmp.Diff(want, append([]string{}, b.lostRequests()...)); diff != "" {
		b.t.Errorf("requests that came to nothing on %s: %s", s.name, diff)
	}
}

// someAnimal is one with weights, feeds and something to learn.
func (b *tab) someAnimal() string {
	b.t.Helper()
	return ask[string](b, `fetch('/deck/sheet.json?facility=saltgarth').then((r) => r.json()).then((s) => s.animals.find((a) => a.weight && a.recent.length > 2 && s.behaviours.some((x) => x.animal === a.id)).id)`)
}

func TestThePagesOfAColony(t *testing.T) {
	t.Parallel()
	b := visitColony(t)
	animal := b.someAnimal()
	t.Run("nothing stands in anybody's way", func(t *testing.T) { b.t = t; findBarriers(b, animal) })
	t.Run("wet fingers and gloves hit the buttons of the Deck", func(t *testing.T) { b.t = t; measureButtons(b, animal) })
	t.Run("the keyboard reaches everything on the feed pad", func(t *testing.T) { b.t = t; feedByKeyboard(b, animal) })
	t.Run("pages go on paper of size A4", func(t *testing.T) { b.t = t; printPages(b, animal) })
	if folder := os.Getenv("HAULOUT_SHOTS"); folder != "" {
		t.Run("pictures for people to look at", func(t *testing.T) { b.t = t; takePictures(b, animal, folder) })
	}
	b.t = t
}

// findBarriers looks at every page in every way with axe-core. Nothing may be
// found, no page may be wider than the screen, and nothing may be complained of.
func findBarriers(b *tab, animal string) {
	axe := axeCore(b.t)
	looks := []look{
		{"narrow light", 320, 640, "light", "none"}, {"narrow dark", 320, 640, "dark", "none"}, {"narrow forced", 320, 640, "light", "active"},
		{"wide light", 1280, 900, "light", "none"}, {"wide dark", 1280, 900, "dark", "none"}, {"wide forced", 1280, 900, "dark", "active"},
	}
	for _, s := range sights(animal) {
		b.see(s)
		ask[bool](b, axe+`; true`)
		for _, l := range looks {
			b.look(l)
			if over := ask[int](b, `document.scrollingElement.scrollWidth - innerWidth`); over > 0 {
				b.t.Errorf("%s, %s: %d px wider than the screen", s.name, l.name, over)
			}
			for _, found := range ask[[]string](b, runAxe) {
				b.t.Errorf("%s, %s: %s", s.name, l.name, found)
			}
		}
	}
}

// axeCore is the source of the checker, which make test installs.
func axeCore(t *testing.T) string {
	t.Helper()
	raw, err := os.ReadFile("../../.tools/node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Fatalf("axe-core is missing, so nothing can be said of accessibility; `make test` installs it, or npm install --no-save --prefix .tools axe-core@4.14.1: %v", err)
	}
	return string(raw)
}

const runAxe = `axe.run(document, {
	runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22a', 'wcag22aa'],
	rules: { 'target-size': { enabled: true } }, resultTypes: ['violations'], iframes: false, preload: false,
}).then((r) => r.violations.flatMap((v) => v.nodes.map((n) => v.id + ' at ' + n.target + ': ' + n.failureSummary)))`

var phone = look{"phone", 360, 740, "light", "none"}

// measureButtons holds the size and the distance of everything that can be
// touched on the Deck against the sizes of its design.
func measureButtons(b *tab, animal string) {
	b.look(phone)
	for _, s := range sights(animal) {
		if !strings.HasPrefix(s.path, "/deck") {
			continue
		}
		b.see(s)
		for _, gloves := range []bool{false, true} {
			ask[bool](b, fmt.Sprintf(`document.documentElement.toggleAttribute('data-gloves', %v)`, gloves))
			for _, wrong := range ask[[]string](b, fmt.Sprintf(touchSizes, gloves)) {
				b.t.Errorf("%s, gloves %v: %s", s.name, gloves, wrong)
			}
		}
	}
	b.see(sightOf("deck-pick", animal))
	b.click("#gloves")
	b.untilThere(":root[data-gloves]")
	time.Sleep(500 * time.Millisecond) // or the second touch is water
	b.click("#gloves")
	b.untilThere(":root:not([data-gloves])")
}

// touchSizes lists what is too small, or too near to another. Everything has
// 48 px and 8 px to its neighbour, buttons of pads and dialogs 64 px, with
// gloves 96 px; those above the pad have 80 px with gloves. The tabs stand in
// two rows with a rule between, 64 px high; the two wide ones 56 px on short
// screens. What a list has scrolled away, or
// lies under the tabs, is cut off.
const touchSizes = `((gloves) => {
	const root = document.querySelector('dialog[open]') ?? document;
	const least = (node) => {
		if (node.closest('.verbs')) return [48, gloves ? 96 : node.matches('.care') ? 56 : 64];
		if (!node.matches('button, .btn')) return [48, 48];
		if (node.closest('.pad, dialog')) return gloves ? [96, 96] : [48, 64];
		return [48, gloves ? 80 : 48];
	};
	const box = (node) => {
		const r = node.getBoundingClientRect(), list = node.closest('#log, #others, #queue-list')?.getBoundingClientRect();
		const out = { left: r.left, right: r.right, top: r.top, bottom: r.bottom };
		if (list) Object.assign(out, { top: Math.max(out.top, list.top), bottom: Math.min(out.bottom, list.bottom) });
		return node.closest('.verbs, dialog') ? out : { ...out, bottom: Math.min(out.bottom, document.querySelector('.verbs').getBoundingClientRect().top - 8) };
	};
	const name = (node) => (node.id || node.textContent.trim()).replace(/\s+/g, ' ');
	const all = [...root.querySelectorAll('button, select, .btn, input.field')].filter((n) => n.checkVisibility()).map((node) => ({ node, r: box(node) })).filter(({ r }) => r.bottom - r.top > 1);
	const out = all.length > 5 || root !== document ? [] : ['only ' + all.length + ' things to touch'];
	for (const { node } of all) {
		const { width, height } = node.getBoundingClientRect(), [w, h] = least(node);
		if (width < w - 0.01 || height < h - 0.01) out.push(name(node) + ' is ' + width.toFixed(1) + ' by ' + height.toFixed(1) + ' px, want ' + w + ' by ' + h);
	}
	for (const [i, a] of all.entries()) for (const c of all.slice(i + 1)) {
		if (a.node.closest('.verbs') && c.node.closest('.verbs')) continue;
		const gap = Math.max(a.r.left - c.r.right, c.r.left - a.r.right, a.r.top - c.r.bottom, c.r.top - a.r.bottom);
		if (gap < 7.99) out.push(name(a.node) + ' and ' + name(c.node) + ' are ' + gap.toFixed(1) + ' px apart');
	}
	return out;
})(%v)`

// feedByKeyboard walks over the feed pad with Tab alone, gives a feed with
// Enter, and takes it back the same way.
func feedByKeyboard(b *tab, animal string) {
	b.look(phone)
	b.see(sightOf("deck-feed", animal))
	b.walk()
	b.tabTo("tab=feed")
	for _, next := range []string{"tab-weigh", "tab-coat", "tab-yield", "tab-trial", "tab-check", "tab-dose", "tab-feed"} {
		b.do(chromedp.KeyEvent(kb.ArrowRight))
		if got := ask[string](b, `document.querySelector('[role=tab][aria-selected=true]').id`); got != next {
			b.t.Errorf("the right arrow comes to %s, want %s", got, next)
		}
	}
	b.tabTo("kg=")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.untilWaiting(1)
	b.tabTo("undo=")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.untilWaiting(0)
	for _, name := range []string{"deck-pick", "today"} {
		b.see(sightOf(name, animal))
		b.walk()
	}
}

// walk goes over a page with Tab. It comes to everything that can be used, and
// what has the focus shows it and lies under nothing.
func (b *tab) walk() {
	b.t.Helper()
	wanted := ask[[]string](b, `(() => {
		globalThis.nameOf = (n) => n.id || Object.entries(n.dataset ?? {}).flat().join('=') || n.textContent;
		document.activeElement.blur();
		return [...document.querySelectorAll('button:enabled, select, a[href], input, summary')].filter((n) => n.checkVisibility() && n.tabIndex >= 0).map(nameOf);
	})()`)
	reached := []string{}
	for range len(wanted) + 5 {
		reached = append(reached, b.tabKey())
	}
	for _, name := range wanted {
		if !slices.Contains(reached, name) {
			b.t.Errorf("Tab does not reach %s; it goes %q", name, reached)
		}
	}
}

// tabKey presses Tab and names what has the focus then, which must show it.
func (b *tab) tabKey() string {
	b.t.Helper()
	b.do(chromedp.KeyEvent(kb.Tab))
	name := ask[string](b, `document.activeElement === document.body ? '' : nameOf(document.activeElement)`)
	if name != "" && !ask[bool](b, focusSeen) {
		b.t.Errorf("%s has the focus and does not show it, or lies under something", name)
	}
	return name
}

const focusSeen = `(() => {
	const node = document.activeElement, r = node.getBoundingClientRect();
	const seen = document.elementFromPoint(r.left + r.width / 2, r.top + r.height / 2);
	return getComputedStyle(node).outlineStyle !== 'none' && node.contains(seen);
})()`

func (b *tab) tabTo(start string) {
	b.t.Helper()
	for range 60 {
		if strings.HasPrefix(strings.Replace(b.tabKey(), "tab-", "tab=", 1), start) {
			return
		}
	}
	b.t.Fatalf("Tab never comes to %s", start)
}

var (
	pdfPage  = regexp.MustCompile(`/Type\s*/Page\b`)
	pdfPaper = regexp.MustCompile(`/MediaBox\s*\[0 0 ([0-9.]+) ([0-9.]+)\]`)
)

// onPaper lays the page out as on paper of so many millimetres between its
// margins, until the returned function is called.
func (b *tab) onPaper(mm float64) (back func()) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(int64(mm/25.4*96), 900))
	set := func(media string) {
		if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media}); err != nil {
			b.t.Fatal(err)
		}
	}
	set("print")
	return func() { set("") }
}

// tooWide names the tables that are wider than the place they have, which paper cuts.
const tooWide = `[...document.querySelectorAll('.scroll')].filter((n) => n.scrollWidth > n.clientWidth)
	.map((n) => n.getAttribute('aria-label') + ' by ' + (n.scrollWidth - n.clientWidth) + ' px').join(', ')`

// keepsToPaper says whether A4 with margins of 13 mm takes every table whole.
func (b *tab) keepsToPaper(path string) {
	b.t.Helper()
	defer b.onPaper(210 - 2*13)()
	if over := ask[string](b, tooWide); over != "" {
		b.t.Errorf("%s: wider than the paper: %s", path, over)
	}
}

// printPages prints as the browser's own menu does, with the page's wish for paper.
func printPages(b *tab, animal string) {
	b.look(look{"desk", 1280, 900, "light", "none"})
	for _, path := range []string{"/today", "/animals/" + animal, "/colony", "/colony/saltgarth/sg-long", "/water", "/water/saltgarth/sg-cove"} {
		b.open(path)
		b.keepsToPaper(path)
		pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize()))
		if err != nil {
			b.t.Fatal(err)
		}
		pages, papers := len(pdfPage.FindAll(pdf, -1)), pdfPaper.FindAllSubmatch(pdf, -1)
		if !bytes.HasPrefix(pdf, []byte("%PDF-")) || pages == 0 || len(papers) != pages {
			b.t.Fatalf("%s prints %d pages, %d of them with a size", path, pages, len(papers))
		}
		for _, p := range papers {
			// ISO 216: A4 is 210 mm by 297 mm; a point is 1/72 in.
			w, h := number(b.t, string(p[1]))/72*25.4, number(b.t, string(p[2]))/72*25.4
			if math.Round(w) != 210 || math.Round(h) != 297 {
				b.t.Errorf("%s prints on paper of %.1f mm by %.1f mm", path, w, h)
			}
		}
		if folder := os.Getenv("HAULOUT_SHOTS"); folder != "" {
			keepFile(b.t, filepath.Join(folder, strings.ReplaceAll(path[1:], "/", "-")+".pdf"), pdf)
		}
	}
}

// takePictures keeps a picture of every page on a phone and on a desk.
func takePictures(b *tab, animal, folder string) {
	for _, l := range []look{
		{"phone-light", 390, 844, "light", "none"}, {"phone-dark", 390, 844, "dark", "none"},
		{"desk-light", 1280, 900, "light", "none"}, {"desk-dark", 1280, 900, "dark", "none"}, {"phone-forced", 390, 844, "dark", "active"},
	} {
		b.look(l)
		for _, s := range sights(animal) {
			b.see(s)
			take := chromedp.FullScreenshot(100)
			if strings.HasPrefix(s.path, "/deck") {
				take = chromedp.CaptureScreenshot() // the Deck is what fits the screen
			}
			picture, err := chromedp.Run(b.ctx, take)
			if err != nil {
				b.t.Fatal(err)
			}
			keepFile(b.t, filepath.Join(folder, s.name+"-"+l.name+".png"), picture)
		}
	}
}

func keepFile(t *testing.T, path string, content []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, content, 0o644); err != nil {
		t.Fatal(err)
	}
}
