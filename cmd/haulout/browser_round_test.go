package main

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"haulout/events"
)

// openRound is the poolside with two orders for Marl, a sample that is to be
// repeated, an enclosure without animals, and an eye that is watched.
func openRound(t *testing.T) *poolside {
	t.Helper()
	p := openPoolside(t)
	sample := saltgarthDraft("water.tested", `{"enclosure":"long","sample":"W-117","readings":[{"what":"total_coliform","value":{"value":"1600","unit":"{MPN}/dL"}},{"what":"ph","value":{"value":"7.8","unit":"[pH]"}}]}`)
	sample.Time = time.Now().Add(-47 * time.Hour).UTC().Format(time.RFC3339)
	p.record(
		sample,
		saltgarthDraft("enclosure.described", `{"enclosure":"pen","name":"Quiet Pen"}`),
		saltgarthDraft("check.made", `{"animal":"marl","findings":[{"region":"eyes","word":"half shut","urgent":true}]}`))
	p.prescribe(
		saltgarthDraft("order.given", `{"order":"o-1","animal":"marl","veterinarian":"A. Vetch","medication":"eye drops","dose":{"value":"0.2","unit":"mL"},"route":"eye","daily":2}`),
		saltgarthDraft("order.given", `{"order":"o-2","animal":"marl","veterinarian":"A. Vetch","medication":"tablets as ordered","dose":{"value":"2","unit":"{tablet}"},"route":"mouth"}`))
	return p
}

// prescribe records as a veterinarian.
func (p *poolside) prescribe(drafts ...events.Draft) {
	p.t.Helper()
	p.stop()
	token := staffToken(p.t, p.dir, "vt", "veterinarian")
	p.start()
	vet := &client{where: p.process.base, base: p.process.base, token: token, http: &http.Client{}}
	if _, err := vet.record(p.t.Context(), drafts); err != nil {
		p.t.Fatal(err)
	}
}

func TestAllIsFineInTwoTouches(t *testing.T) {
	t.Parallel()
	p := openRound(t)
	b := openBrowser(t, p.process.base)
	b.setClock(0)
	b.openDeck(p.keeper, "osier")
	b.countTouches()
	b.click(`.verbs [data-tab=check]`, `#check-go`)
	b.untilWaiting(1)
	if n := b.touches(); n > 2 {
		t.Errorf("a check with nothing found takes %d touches from the card, want 2 at most", n)
	}
	b.untilThere(`#log [data-undo]`)
	compare(t, "what the server holds", []body{says(t, "check.made", `{"animal":"osier"}`)}, bodies(t, p.sent(b)))
}

// A keeper notes two findings, the tab dies half-way, the server is down, and
// the check is whole. What stood open from before is closed.
func TestAHalfMadeCheckOutlivesItsTabAndTheServer(t *testing.T) {
	t.Parallel()
	p := openRound(t)
	b := openBrowser(t, p.process.base)
	first := b.another()
	first.setClock(0)
	first.openDeck(p.keeper, "marl")
	first.halfACheck()
	first.crash()

	b.setClock(0)
	b.open("/deck")
	b.untilReady()
	if got := []string{b.text("#name"), b.text("#seen-ask"), b.text("#check-go")}; !slices.Equal(got, []string{"Marl", "Breathing: what do you see?", "Addto this check"}) {
		t.Fatalf("the tab after the one that died shows %q, want the finding half said", got)
	}
	p.stop()
	b.click(`#change`, `[data-animal=osier]`, `.verbs [data-tab=check]`)
	b.until("the other animal has a check of its own", `document.querySelector('#check-go').textContent.startsWith('All fine')`)
	b.click(`#change`, `[data-animal=marl]`, `.verbs [data-tab=check]`, `#check-go`)
	b.until("both findings stand there", `document.querySelectorAll('#found li').length === 2`)
	time.Sleep(400 * time.Millisecond) // or the second touch is water
	b.click(`#check-go`)
	b.untilWaiting(1)
	b.click(`.verbs [data-tab=check]`)
	b.until("three findings stand open", `document.querySelectorAll('#open-findings li').length === 3 && document.querySelector('#check-open').textContent === '3 open'`)
	b.click(`[data-close-finding$=" eyes"]`, `[data-outcome-of=veterinarian_saw]`)
	b.untilWaiting(2)
	b.click(`.verbs [data-tab=check]`)
	b.until("the eye is closed", `document.querySelectorAll('#open-findings li').length === 2`)

	p.start()
	old := ask[string](b, `fetch('/deck/sheet.json?facility=saltgarth').then((r) => r.json()).then((s) => s.animals.find((a) => a.id === 'marl').findings[0].check)`)
	want := []body{
		says(t, "check.made", `{"animal":"marl","findings":[{"region":"flippers","word":"scrape, left, hind"},{"region":"breathing","word":"cough","urgent":true}]}`),
		says(t, "finding.closed", fmt.Sprintf(`{"animal":"marl","check":%q,"region":"eyes","outcome":"veterinarian_saw"}`, old)),
	}
	compare(t, "what the server holds", want, bodies(t, p.sent(b)))
	b.open("/deck#marl/check")
	b.untilReady()
	b.until("the server says the same", `[...document.querySelectorAll('#open-findings li')].map((li) => li.textContent.split(':')[0]).join() === '▲ Breathing,Flippers'`)
	b.fixTheScrape(p, want)
}

// halfACheck notes a scrape, and begins to say of a cough.
func (b *tab) halfACheck() {
	b.t.Helper()
	b.click(`.verbs [data-tab=check]`, `[data-look=flippers]`, `[data-word=scrape]`)
	b.do(chromedp.SendKeys(chromedp.CSS("#seen-own"), "left, hind"))
	b.click(`#check-go`, `[data-look=breathing]`, `[data-word=cough]`, `#urgent`)
	if said := b.text(`#seen-vet`); !strings.Contains(said, "Tell the veterinarian now") {
		b.t.Errorf("an urgent finding is answered with %q", said)
	}
}

// fixTheScrape takes a word of the check back and puts another in its place.
func (b *tab) fixTheScrape(p *poolside, before []body) {
	b.t.Helper()
	check := p.logged("rv")[0].ID
	b.click(`.verbs [data-tab=feed]`, fmt.Sprintf("[data-fix=%q]", check))
	b.do(chromedp.SetValue(chromedp.CSS(`[data-fix-word=flippers]`), "scrape, right, hind"))
	b.click(`[data-reason="slip of the hand"]`, `#fix-save`)
	b.untilWaiting(1)
	fixed := says(b.t, "entry.corrected", fmt.Sprintf(`{"entry":%q,"reason":"slip of the hand","data":{"animal":"marl","findings":[{"region":"flippers","word":"scrape, right, hind"},{"region":"breathing","word":"cough","urgent":true}]}}`, check))
	b.click(`.verbs [data-tab=check]`)
	b.until("the pad says what it was put right to", `document.querySelector('#open-findings').textContent.includes('right, hind')`)
	compare(b.t, "after putting it right", append(before, fixed), bodies(b.t, p.sent(b)))
}

func TestDosesAreGivenAgainstAnOrder(t *testing.T) {
	t.Parallel()
	p := openRound(t)
	b := openBrowser(t, p.process.base)
	b.setClock(0)
	b.openDeck(p.keeper, "osier")
	b.click(`.verbs [data-tab=dose]`)
	if said := b.text(`#no-order`); !strings.Contains(said, "No order holds for Osier now") || ask[int](b, `document.querySelectorAll('#pad-dose button').length`) > 0 {
		t.Errorf("with no order the pad says %q; it must offer nothing", said)
	}
	b.click(`#change`, `[data-animal=marl]`, `.verbs [data-tab=dose]`)
	drops := func(taken string) string { return fmt.Sprintf(`[data-order="o-1"][data-taken=%s]`, taken) }
	b.givenOf2(0)
	b.countTouches()
	b.click(drops("all"))
	b.untilWaiting(1)
	if n := b.touches(); n != 1 {
		t.Errorf("a dose takes %d touches on its pad, want 1", n)
	}
	b.givenOf2(1)
	b.click(drops("none")) // is due still
	b.untilWaiting(2)
	b.givenOf2(1)
	b.click(drops("part"))
	b.untilWaiting(3)
	b.givenOf2(2)
	time.Sleep(400 * time.Millisecond) // or the second touch is water
	b.click(drops("all"))
	b.until("a dose too many is asked about", `document.querySelector('#orders .odd')?.textContent === '◆ 2 of 2 doses are given today. One more?'`)
	b.untilWaiting(3)
	time.Sleep(400 * time.Millisecond)
	b.click(drops("all"))
	b.untilWaiting(4)
	b.click(fmt.Sprintf("[data-undo=%q]", b.newest()))
	b.untilWaiting(3)
	b.givenOf2(2)
	given := func(taken string) body {
		return says(t, "medication.given", `{"animal":"marl","medication":"eye drops","dose":{"value":"0.2","unit":"mL"},"route":"eye","order":"o-1","taken":"`+taken+`"}`)
	}
	compare(t, "what the server holds", []body{given("all"), given("none"), given("part")}, bodies(t, p.sent(b)))
	b.do(chromedp.Reload())
	b.untilReady()
	b.givenOf2(2)
	b.fixADose(p, given("all"), given("none"), given("part"))
}

// givenOf2 waits until so many of the two drops of today are counted.
func (b *tab) givenOf2(n int) {
	b.t.Helper()
	b.until(fmt.Sprintf("%d are counted", n), fmt.Sprintf(`document.querySelector('#orders li:has([data-order="o-1"])').textContent.includes('%d of 2 given today')`, n))
}

// fixADose says of the first dose that none of it was taken, and gives the
// single dose of the other order.
func (b *tab) fixADose(p *poolside, before ...body) {
	b.t.Helper()
	first := p.logged("rv")[0].ID
	b.click(fmt.Sprintf("[data-fix=%q]", first), `[data-fix-taken=none]`, `[data-reason="slip of the hand"]`, `#fix-save`)
	b.untilWaiting(1)
	b.givenOf2(1)
	fixed := says(b.t, "entry.corrected", fmt.Sprintf(`{"entry":%q,"reason":"slip of the hand","data":{"animal":"marl","medication":"eye drops","dose":{"value":"0.2","unit":"mL"},"route":"eye","order":"o-1","taken":"none"}}`, first))
	compare(b.t, "after putting one right", append(before, fixed), bodies(b.t, p.sent(b)))
	b.click(`[data-order="o-2"][data-taken=all]`)
	b.until("the single dose is given", `document.querySelector('#orders li:has([data-order="o-2"])').textContent.includes('A single dose: given')`)
}

func TestAWaterTestHasBoundsAndRepeats(t *testing.T) {
	t.Parallel()
	p := openRound(t)
	b := openBrowser(t, p.process.base)
	b.setClock(0)
	b.signIn(p.keeper, "/deck")
	b.untilReady()
	b.open("/today")
	b.open("/deck#water")
	b.untilReady()
	b.until("the pad is open", `document.querySelector('#deck').dataset.tab === 'water'`)
	b.click(`#water-where [data-enclosure=pen]`, `#water-where [data-enclosure=""]`, `#water-where [data-enclosure=long]`)
	b.click(`[data-what=temperature]`, `#water-minus`)
	b.press("1.9", "#water-keys")
	b.click(`#water-go`, `[data-what=ph]`)
	b.press("78", "#water-keys")
	b.click(`#water-go`)
	if said := b.text(`#water-say`); !strings.Contains(said, "78 is over what water has") || !strings.HasPrefix(b.text(`#water-go`), "Yes, ") {
		t.Errorf("a pH of 78 is answered with %q, want it read back", said)
	}
	b.press("x.8", "#water-keys")
	time.Sleep(400 * time.Millisecond) // or the second touch is water
	b.click(`#water-go`, `[data-what=total_coliform]`)
	if said := b.text(`#water-limits`); !strings.Contains(said, "1000") || !strings.Contains(said, "9 CFR 3.106(b)") {
		t.Errorf("beside the count the pad says %q, want the limit in force", said)
	}
	b.do(chromedp.KeyEvent("<10"))
	b.click(`#water-go`, `#more-quantities`, `[data-what=enterococci]`, `#water-unit`, `#bound-above`, `#water-go`)
	b.do(chromedp.Reload()) // a test half made outlives its page
	b.untilReady()
	b.until("four readings stand there", `document.querySelectorAll('#readings li').length === 4`)
	b.itRepeats("W-117")
	b.click(`#water-go`)
	b.untilWaiting(1)
	want := says(t, "water.tested", `{"enclosure":"long","sample":"W-118","repeat":"W-117","readings":[
		{"what":"temperature","value":{"value":"-1.9","unit":"Cel"}},{"what":"ph","value":{"value":"7.8","unit":"[pH]"}},
		{"what":"total_coliform","value":{"value":"10","unit":"{MPN}/dL"},"bound":"below"},{"what":"enterococci","value":{"value":"0","unit":"[CFU]/dL"},"bound":"above"}]}`)
	compare(t, "what the server holds", []body{want}, bodies(t, p.sent(b)))
	b.fixTheWater(p, want)
}

// itRepeats names the sample, in two goes, and the one that it repeats.
func (b *tab) itRepeats(sample string) {
	b.t.Helper()
	b.click(`#sample-open`)
	b.do(chromedp.SendKeys(chromedp.CSS("#sample-id"), "W 118"))
	b.click(`#sample-ok`)
	if said := b.text(`#sample-say`); !strings.Contains(said, "no space") {
		b.t.Errorf("an id with a space is answered with %q", said)
	}
	b.do(chromedp.SetValue(chromedp.CSS("#sample-id"), "W-118"))
	time.Sleep(400 * time.Millisecond) // or the second touch is water
	b.click(fmt.Sprintf("[data-repeat=%q]", sample), `#sample-ok`)
}

// fixTheWater puts two readings of a test right.
func (b *tab) fixTheWater(p *poolside, before body) {
	b.t.Helper()
	entry := p.logged("rv")[0].ID
	b.click(fmt.Sprintf("[data-fix=%q]", entry))
	b.do(chromedp.SetValue(chromedp.CSS(`[data-fix-value=ph]`), "7,9"))
	b.click(`[data-fix-bound=above]`, `[data-reason="slip of the hand"]`, `#fix-save`)
	b.untilWaiting(1)
	right := says(b.t, "water.tested", `{"enclosure":"long","sample":"W-118","repeat":"W-117","readings":[
		{"what":"temperature","value":{"value":"-1.9","unit":"Cel"}},{"what":"ph","value":{"value":"7.9","unit":"[pH]"}},
		{"what":"total_coliform","value":{"value":"10","unit":"{MPN}/dL"},"bound":"above"},{"what":"enterococci","value":{"value":"0","unit":"[CFU]/dL"},"bound":"above"}]}`)
	fixed := body{events.TypeOf("entry.corrected"), map[string]any{"entry": entry, "reason": "slip of the hand", "data": right.Data}}
	compare(b.t, "after putting it right", []body{before, fixed}, bodies(b.t, p.sent(b)))
}

// darkroom stands between browser and server: it keeps what goes to and fro of
// photos, or refuses them with a status, and listens to reports.
type darkroom struct {
	mu      sync.Mutex
	status  int
	photos  [][]byte
	answers []string
	reports []map[string]any
}

func (d *darkroom) between(t *testing.T, server string) string {
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
		if r.Method != http.MethodPost {
			forward.ServeHTTP(w, r)
			return
		}
		raw, _ := io.ReadAll(r.Body)
		r.Body = io.NopCloser(strings.NewReader(string(raw)))
		if r.URL.Path == "/api/v1/photos" {
			d.develop(w, r, raw, forward)
			return
		}
		d.listen(raw, r.Header.Get("Haulout-Device"))
		forward.ServeHTTP(w, r)
	}))
	t.Cleanup(line.Close)
	return line.URL
}

func (d *darkroom) develop(w http.ResponseWriter, r *http.Request, raw []byte, forward http.Handler) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.status != 0 {
		w.Header().Set("Content-Type", "application/problem+json")
		w.WriteHeader(d.status)
		fmt.Fprint(w, `{"title":"Too large","detail":"the photo is too large"}`)
		return
	}
	answer := httptest.NewRecorder()
	forward.ServeHTTP(answer, r)
	d.photos, d.answers = append(d.photos, raw), append(d.answers, answer.Body.String())
	maps.Copy(w.Header(), answer.Header())
	w.WriteHeader(answer.Code)
	w.Write(answer.Body.Bytes())
}

func (d *darkroom) listen(raw []byte, device string) {
	var list []events.Draft
	if json.Unmarshal(raw, &list) != nil {
		return
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, one := range list {
		if one.Type == "haulout.device.reported.v1" {
			said := map[string]any{}
			json.Unmarshal(one.Data, &said)
			said["device"] = device
			d.reports = append(d.reports, said)
		}
	}
}

// printed is the digest of the one photo that the server took.
func (d *darkroom) printed(t *testing.T) string {
	t.Helper()
	d.mu.Lock()
	defer d.mu.Unlock()
	var said struct{ Digest string }
	if len(d.answers) != 1 || json.Unmarshal([]byte(d.answers[0]), &said) != nil || said.Digest == "" {
		t.Fatalf("the server answered %q to photos, want one digest", d.answers)
	}
	return said.Digest
}

func (d *darkroom) heard() (photos [][]byte, reports []map[string]any) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return slices.Clone(d.photos), slices.Clone(d.reports)
}

// shoot gives an input a picture of 3200 by 1600 px, made in the page, as a
// camera does.
func (b *tab) shoot(input string) {
	b.t.Helper()
	ask[bool](b, fmt.Sprintf(`(async () => {
		const canvas = document.createElement('canvas'), files = new DataTransfer();
		Object.assign(canvas, { width: 3200, height: 1600 });
		const on = canvas.getContext('2d');
		for (let i = 0; i < 64; i++) { on.fillStyle = 'hsl(' + i * 37 + ' 60%% 50%%)'; on.fillRect(i * 50, 0, 50, 1600); }
		const blob = await new Promise((done) => canvas.toBlob(done, 'image/png'));
		files.items.add(new File([blob], 'eye.png', { type: 'image/png' }));
		const input = document.querySelector(%q);
		input.files = files.files;
		return input.dispatchEvent(new Event('change'));
	})()`, input))
}

// keptPhotos counts the photos that the phone holds.
func (b *tab) keptPhotos() int {
	b.t.Helper()
	return ask[int](b, `new Promise((done) => {
		indexedDB.open('haulout').onsuccess = ({ target: { result: db } }) => {
			db.transaction('kept').objectStore('kept').getAllKeys().onsuccess = ({ target: { result } }) => { db.close(); done(result.filter((k) => k.startsWith('photo ')).length); };
		};
	})`)
}

// anEye notes a finding of the eyes with a photo and saves the check.
func (b *tab) anEye() {
	b.t.Helper()
	b.click(`.verbs [data-tab=check]`, `[data-look=eyes]`, `[data-word=watery]`)
	b.shoot(`#photo-take`)
	b.until("the photo is there", `!document.querySelector('#photo-has').hidden`)
	b.click(`#check-go`)
	time.Sleep(400 * time.Millisecond) // or the second touch is water
	b.click(`#check-go`)
}

// A photo outlives its tab, is made small, goes before its entry, and the entry
// names what the server made of it. Undo drops it.
func TestAPhotoGoesBeforeItsFinding(t *testing.T) {
	t.Parallel()
	p, d := openRound(t), &darkroom{}
	b := openBrowser(t, d.between(t, p.process.base))
	b.setClock(0)
	b.openDeck(p.keeper, "osier")
	b.click(`.verbs [data-tab=check]`, `[data-look=skin]`, `[data-word=lump]`)
	b.shoot(`#photo-choose`)
	b.until("the photo is there", `!document.querySelector('#photo-has').hidden`)
	b.do(chromedp.Reload())
	b.untilReady()
	b.until("the photo outlived the page", `!document.querySelector('#photo-has').hidden`)
	b.click(`#photo-drop`)
	b.until("no photo is kept", `!document.querySelector('#photo-ask').hidden`)
	b.click(`#check-back`)
	b.anEye()
	b.untilWaiting(1)
	b.click(fmt.Sprintf("[data-undo=%q]", b.newest()))
	b.untilWaiting(0)
	if n := b.keptPhotos(); n != 0 {
		t.Errorf("after Undo the phone holds %d photos, want none", n)
	}
	b.anEye()
	b.untilWaiting(1)
	list := p.sent(b)
	photos, reports := d.heard()
	want := says(t, "check.made", `{"animal":"osier","findings":[{"region":"eyes","word":"watery","photo":"`+d.printed(t)+`"}]}`)
	compare(t, "what the server holds", []body{want}, bodies(t, list))
	if len(photos) != 1 || len(photos[0]) > 400_000 || len(reports) != 0 {
		t.Fatalf("the server got %d photos and %d reports, want one photo made small", len(photos), len(reports))
	}
	jpeg := base64.StdEncoding.EncodeToString(photos[0])
	size := ask[[2]int](b, fmt.Sprintf(`createImageBitmap(new Blob([Uint8Array.from(atob(%q), (c) => c.charCodeAt(0))])).then((i) => [i.width, i.height])`, jpeg))
	if size != [2]int{1600, 800} {
		t.Errorf("the photo is %v px, want 1600 on its long side", size)
	}
	if n := b.keptPhotos(); n != 0 {
		t.Errorf("the server has it, and the phone holds %d photos still", n)
	}
}

// The server does not take a photo: its entry waits for a person and nothing
// else does; the server hears that one is held, and that none is, after the
// entry went without it. A file carries the photo to another phone.
func TestAPhotoThatIsRefusedHoldsNobodyUp(t *testing.T) {
	t.Parallel()
	p, d := openRound(t), &darkroom{status: http.StatusRequestEntityTooLarge}
	b := openBrowser(t, d.between(t, p.process.base))
	b.setClock(0)
	b.openDeck(p.keeper, "osier")
	b.anEye()
	b.untilWaiting(1)
	b.click(`.verbs [data-tab=check]`)
	time.Sleep(400 * time.Millisecond) // or the second touch is water
	b.click(`#check-go`)
	b.untilWaiting(2)
	b.later()
	b.until("one needs a person", `document.querySelector('#queue').dataset.needs === '1'`)
	b.untilWaiting(0)
	fine := says(t, "check.made", `{"animal":"osier"}`)
	compare(t, "what the server holds", []body{fine}, bodies(t, p.logged("rv")))
	p.heardReport(d, 1)
	file := ask[string](b, `(async () => {
		let said; const make = URL.createObjectURL; URL.createObjectURL = (blob) => { said = blob.text(); return make(blob); };
		document.querySelector('#to-file').click();
		while (!said) await new Promise((done) => setTimeout(done, 20));
		URL.createObjectURL = make;
		return said;
	})()`)
	if !strings.Contains(file, `"base64": "/9j/`) {
		t.Errorf("the file of entries carries no photo: %.300s", file)
	}
	b.carriedOver(p, d, file)
	b.click(`#queue`, `[data-bare]`)
	b.until("nobody is needed", `document.querySelector('#queue').dataset.needs === '0'`)
	b.untilWaiting(0) // only then: an entry that needs a person is not among those that wait
	bare := says(t, "check.made", `{"animal":"osier","findings":[{"region":"eyes","word":"watery"}]}`)
	compare(t, "what the server holds after all", []body{fine, bare}, bodies(t, p.logged("rv")))
	p.heardReport(d, 0)
}

// heardReport waits until the last report says how many are held.
func (p *poolside) heardReport(d *darkroom, waiting float64) {
	p.t.Helper()
	for deadline := time.Now().Add(soon); ; time.Sleep(50 * time.Millisecond) {
		_, reports := d.heard()
		if n := len(reports); n > 0 && reports[n-1]["waiting"] == waiting {
			oldest, said := reports[n-1]["oldest"].(string)
			if device, _ := reports[n-1]["device"].(string); device == "" || said != (waiting > 0) {
				p.t.Errorf("the report is %v", reports[n-1])
			}
			if _, err := events.ParseTime(oldest); said && err != nil {
				p.t.Errorf("the oldest entry is of %q: %v", oldest, err)
			}
			return
		}
		if time.Now().After(deadline) {
			p.t.Fatalf("the server never heard that %v are held: %v", waiting, reports)
		}
	}
}

// carriedOver takes the file in on a phone that has never seen the entry; the
// photo is there and would be sent.
func (b *tab) carriedOver(p *poolside, d *darkroom, file string) {
	b.t.Helper()
	other := openBrowser(b.t, b.base)
	other.setClock(0)
	other.signIn(p.keeper, "/deck")
	other.untilReady()
	ask[bool](other, fmt.Sprintf(`(() => {
		const files = new DataTransfer(), input = document.querySelector('#from-file');
		files.items.add(new File([%q], 'entries.json', { type: 'application/json' }));
		input.files = files.files;
		return input.dispatchEvent(new Event('change'));
	})()`, file))
	other.until("the entry is taken in and refused there too", `document.querySelector('#queue').dataset.needs === '1'`)
	if n := other.keptPhotos(); n != 1 {
		b.t.Errorf("the other phone holds %d photos, want the one of the file", n)
	}
}

// careSights are the pads of care and water, as a keeper comes to them.
func careSights() []sight {
	deck := func(name, path string, touches ...string) sight {
		return sight{name: "deck-" + name, path: "/deck#" + path, touches: touches, status: 200}
	}
	return []sight{
		deck("check", "marl/check"),
		deck("check-close", "marl/check", `[data-close-finding]`),
		deck("check-seen", "marl/check", `[data-look=behaviour]`, `[data-word=unsteady]`, `#urgent`),
		deck("check-found", "marl/check", `#check-go`),
		deck("check-other", "osier/check", `[data-look=other]`),
		deck("dose", "marl/dose"),
		deck("dose-none", "osier/dose"),
		deck("water-where", "water"),
		deck("water-list", "water", `#water-where [data-enclosure=long]`),
		deck("water-all", "water/long", `#more-quantities`),
		deck("water-value", "water/long", `[data-what=total_coliform]`, `#bound-above`),
		deck("water-readings", "water/long", `#water-go`),
		deck("water-degrees", "water/long", `[data-what=temperature]`),
		deck("water-sample", "water/long", `#water-back`, `#sample-open`, `[data-repeat]`),
		deck("water-pick", "marl", `#change`),
		deck("yield-tabs", "marl/yield", `[data-other=osier]`),
		deck("weigh-tabs", "marl/weigh"),
	}
}

// Every pad of care in every way: nothing in anybody's way, nothing too small,
// nothing wider than the screen, no word that is cut.
func TestThePadsOfCareStandInNobodysWay(t *testing.T) {
	t.Parallel()
	p := openRound(t)
	b := openBrowser(t, p.process.base)
	b.setClock(0)
	b.signIn(p.keeper, "/deck")
	b.untilReady()
	axe := axeCore(t)
	for _, s := range careSights() {
		b.look(tall)
		b.see(s)
		ask[bool](b, axe+`; true`)
		b.inspect(s.name)
		if s.name == "deck-check-seen" || s.name == "deck-dose" || s.name == "deck-water-value" {
			b.look(phone)
			b.walk()
		}
	}
}
