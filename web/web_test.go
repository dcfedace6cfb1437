package web_test

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"haulout/events"
	"haulout/projections"
	"haulout/web"
)

// noon is when the pages of these tests are looked at: 13:00 at Saltgarth.
var noon = time.Date(2026, 6, 17, 12, 0, 0, 0, time.UTC)

// colony is a store that a test fills fact by fact.
type colony struct {
	t       *testing.T
	store   *projections.Store
	visitor web.Visitor
	notices []string
	heads   map[string]projections.Head
	counts  map[string]uint64
	ids     int
}

func newColony(t *testing.T) *colony {
	store, err := projections.Open(t.TempDir(), projections.All(), slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	return &colony{
		t: t, store: store, heads: map[string]projections.Head{}, counts: map[string]uint64{},
		visitor: web.Visitor{Name: "Rhona", Role: "lead keeper", Records: true, SignedIn: true},
	}
}

// record stores a fact as a recorder would and gives its id.
func (c *colony) record(facility, author, kind, at string, body events.Body) string {
	c.t.Helper()
	when, err := time.Parse(time.RFC3339, at)
	if err != nil {
		c.t.Fatal(err)
	}
	return c.recordAt(facility, author, kind, when, when.Add(time.Second), body)
}

func (c *colony) recordAt(facility, author, kind string, at, recorded time.Time, body events.Body) string {
	c.t.Helper()
	data, err := events.MakeData(body)
	if err != nil {
		c.t.Fatal(err)
	}
	c.ids++
	draft := events.Draft{
		ID: fmt.Sprintf("0198c0de-0000-7000-8000-%012d", c.ids), Type: events.TypeOf(kind),
		Time: at.Format(time.RFC3339), Facility: facility, Data: data,
	}
	e, err := draft.Fact()
	if err != nil {
		c.t.Fatalf("%s: %v", kind, err)
	}
	head := c.heads[facility]
	e.Author, e.Device, e.Recorded, e.Number, e.Previous = author, "tablet", recorded.UTC(), head.Number+1, head.Hash
	for _, animal := range e.Animals() {
		c.counts[facility+animal]++
		e.Counts = append(e.Counts, events.Count{Animal: animal, N: c.counts[facility+animal]})
	}
	line := e.Encode()
	c.heads[facility] = projections.Head{Number: e.Number, Hash: events.LeafHash(line)}
	if err := c.store.Apply(events.Page{Facility: facility, First: e.Number, Lines: [][]byte{line}}); err != nil {
		c.t.Fatal(err)
	}
	return e.ID
}

func kg(value string) events.Quantity { return events.Quantity{Value: value, Unit: "kg"} }

func (c *colony) feed(animal, at, offered, eaten string) string {
	return c.record("saltgarth", "rhona", "feed.given", at, &events.FeedGiven{
		Animal: animal, Items: []events.FeedItem{{Food: "herring", Offered: kg(offered), Eaten: kg(eaten)}},
	})
}

// settle opens Saltgarth with two sea lions and a week of Marl's life, and a
// facility that has been silent since the day before.
func (c *colony) settle() {
	c.record("saltgarth", "rhona", "facility.opened", "2026-01-01T08:00:00Z", &events.FacilityOpened{Name: "Saltgarth", Zone: "Europe/Dublin"})
	c.record("saltgarth", "rhona", "enclosure.described", "2026-01-01T08:01:00Z", &events.EnclosureDescribed{Enclosure: "long", Name: "Long Pool"})
	c.record("saltgarth", "rhona", "food.described", "2026-01-01T08:02:00Z", &events.FoodDescribed{
		Food: "herring", Name: "Herring", Energy: events.Quantity{Value: "150", Unit: "kcal"}, Basis: "metabolizable_atwater", Source: "invented for this test",
	})
	c.record("saltgarth", "rhona", "food.described", "2026-01-01T08:02:00Z", &events.FoodDescribed{Food: "squid", Name: "Squid", Source: "no analysis"})
	c.record("saltgarth", "rhona", "lot.received", "2026-01-01T08:02:30Z", &events.LotReceived{Lot: "H-1", Food: "herring", Mass: kg("100")})
	c.record("saltgarth", "rhona", "lot.thawed", "2026-06-16T18:00:00Z", &events.LotThawed{Lot: "H-1", Mass: kg("10"), How: "refrigerated"})
	c.enter("marl", "Marl", 4, "2020-06-09", "2026-01-02T09:00:00Z")
	c.enter("osier", "Osier", 2, "2018/2019", "2026-01-02T09:05:00Z")
	c.record("saltgarth", "rhona", "animal.identified", "2026-01-02T09:10:00Z", &events.AnimalIdentified{Animal: "marl", Scheme: "tag", Code: "=SUM(A1)", Where: "left flipper"})
	c.record("saltgarth", "rhona", "ration.set", "2026-01-02T09:20:00Z", &events.RationSet{Animal: "marl", Items: []events.RationItem{{Food: "herring", Mass: kg("4.6")}}})
	c.record("saltgarth", "rhona", "behaviour.planned", "2026-01-02T09:30:00Z", &events.BehaviourPlanned{
		Behaviour: "chin", Animal: "marl", Name: "chin on scale", Purpose: "care", Steps: []events.Step{{Step: "comes"}, {Step: "chin down", Met: 8, Of: 10}},
	})
	c.record("tern-sluice", "odo", "facility.opened", "2026-06-16T08:00:00Z", &events.FacilityOpened{Name: "Tern Sluice", Zone: "Europe/Dublin"})
	c.record("tern-sluice", "odo", "animal.entered", "2026-06-16T08:01:00Z", &events.AnimalEntered{Animal: "gorse", Name: "Gorse", Taxon: "Odobenus imaginarius", Sex: "unknown", Born: "2014~", How: "rescue"})
}

func (c *colony) enter(id, name string, tape int, born, at string) {
	c.record("saltgarth", "rhona", "animal.entered", at, &events.AnimalEntered{
		Animal: id, Name: name, Taxon: "Zalophus californianus", Sex: "female", Born: born, How: "birth", Tape: tape,
	})
	c.record("saltgarth", "rhona", "animal.placed", at, &events.AnimalPlaced{Animal: id, Enclosure: "long"})
}

// week logs six of Marl's last seven days, today's first feed and weights.
func (c *colony) week() {
	for i, mass := range []string{"88.9", "88.4", "88.5", "88.1", "87.9"} {
		at := time.Date(2026, 5, 12+7*i, 8, 0, 0, 0, time.UTC).Format(time.RFC3339)
		c.record("saltgarth", "rhona", "weight.taken", at, &events.WeightTaken{Animal: "marl", Mass: kg(mass), Coat: []string{"dry", "wet"}[i%2]})
	}
	for _, day := range []string{"10", "11", "12", "14", "15", "16"} {
		c.feed("marl", "2026-06-"+day+"T09:00:00Z", "4.6", "4.1")
	}
	c.feed("marl", "2026-06-17T08:50:00Z", "2.4", "1.9")
	c.record("saltgarth", "rhona", "check.made", "2026-06-17T07:05:00Z", &events.CheckMade{Animal: "marl"})
}

func (c *colony) handler() http.Handler {
	c.t.Helper()
	h, err := web.New(web.Config{
		Store: c.store, Now: func() time.Time { return noon }, Version: "0.1.0", Log: slog.New(slog.DiscardHandler),
		Visitor: func(*http.Request) web.Visitor { return c.visitor }, Notices: func() []string { return c.notices },
	})
	if err != nil {
		c.t.Fatal(err)
	}
	return h
}

// get fetches a path and wants a status.
func (c *colony) get(path string, status int) string {
	c.t.Helper()
	w := httptest.NewRecorder()
	c.handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	if w.Code != status {
		c.t.Fatalf("GET %s: status %d, want %d\n%s", path, w.Code, status, w.Body)
	}
	return w.Body.String()
}

// page fetches a page and checks what holds for every page.
func (c *colony) page(path string, status int) string {
	c.t.Helper()
	body := c.get(path, status)
	sound(c.t, path, body)
	return body
}

func wants(t *testing.T, page string, parts ...string) {
	t.Helper()
	text := strings.Join(strings.Fields(strings.ReplaceAll(plain(page), "\u00a0", " ")), " ")
	for _, part := range parts {
		if !strings.Contains(text, part) {
			t.Errorf("the page does not say %q\n%s", part, text)
		}
	}
}

// plain is the text of a page without its markup.
func plain(page string) string {
	var out strings.Builder
	d := decoder(page)
	for {
		token, err := d.Token()
		if err != nil {
			return out.String()
		}
		if text, ok := token.(xml.CharData); ok {
			out.Write(text)
		} else {
			out.WriteByte(' ')
		}
	}
}

func decoder(page string) *xml.Decoder {
	d := xml.NewDecoder(strings.NewReader(page))
	d.Entity = xml.HTMLEntity
	return d
}

// sound reads a page as strict XML, which our markup is on purpose, and checks
// that nothing is inline, that ids are single and that what is referred to is
// there.
func sound(t *testing.T, path, page string) {
	t.Helper()
	ids, asked := map[string]bool{}, []string{}
	for d := decoder(page); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%s is not sound markup: %v", path, err)
		}
		el, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		inline(t, path, el)
		for _, a := range el.Attr {
			switch a.Name.Local {
			case "id":
				if ids[a.Value] {
					t.Errorf("%s has the id %q twice", path, a.Value)
				}
				ids[a.Value] = true
			case "aria-labelledby", "aria-describedby", "aria-controls", "for":
				asked = append(asked, strings.Fields(a.Value)...)
			}
		}
	}
	for _, id := range asked {
		if !ids[id] {
			t.Errorf("%s refers to the id %q, which is not there", path, id)
		}
	}
}

func inline(t *testing.T, path string, el xml.StartElement) {
	t.Helper()
	name, source := el.Name.Local, ""
	for _, a := range el.Attr {
		if a.Name.Local == "style" || strings.HasPrefix(a.Name.Local, "on") {
			t.Errorf("%s has an inline %s on <%s>", path, a.Name.Local, name)
		}
		if a.Name.Local == "src" {
			source = a.Value
		}
	}
	if name == "style" || (name == "script" && source == "") {
		t.Errorf("%s has an inline <%s>", path, name)
	}
}

func TestEveryPageOfAnEmptyStoreIsSound(t *testing.T) {
	c := newColony(t)
	wants(t, c.page("/today", 200), "No animals in care yet.", "No facility is open yet.")
	wants(t, c.page("/animals", 200), "No animals on record yet.")
	wants(t, c.page("/animals/marl", 404), "No animal has the id marl")
	wants(t, c.page("/today?facility=saltgarth", 404), "No facility has the code saltgarth")
	wants(t, c.page("/nowhere", 404), "There is no such page")
	c.page("/sign-in", 200)
	c.page("/deck", 200)
	if got := c.get("/deck/sheet.json", 200); !strings.Contains(got, `"animals":[]`) {
		t.Errorf("the sheet of an empty store is %s", got)
	}
}

func TestHomeLeadsToToday(t *testing.T) {
	w := httptest.NewRecorder()
	newColony(t).handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/", nil))
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/today" {
		t.Errorf("GET / answers %d to %q", w.Code, w.Header().Get("Location"))
	}
}

func TestEveryPageForbidsWhatItDoesNotDo(t *testing.T) {
	h := newColony(t).handler()
	for _, path := range []string{"/today", "/animals", "/deck", "/deck/sheet.json", "/sign-in", "/sw.js", "/nowhere"} {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
		policy := w.Header().Get("Content-Security-Policy")
		for _, part := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'", "base-uri 'none'"} {
			if !strings.Contains(policy, part) {
				t.Errorf("%s: the policy lacks %s", path, part)
			}
		}
		if strings.Contains(policy, "unsafe") {
			t.Errorf("%s: the policy is %s", path, policy)
		}
	}
}

func TestOnlySignInAndItsFilesAreOpen(t *testing.T) {
	var open []string
	for _, r := range web.Routes() {
		if r.Open {
			open = append(open, r.Pattern)
		}
	}
	want := []string{"GET /sign-in", "GET /static/", "GET /sw.js", "GET /manifest.webmanifest"}
	if !slices.Equal(open, want) {
		t.Errorf("open routes are %v, want %v", open, want)
	}
}

func TestNoticesStandOnEveryPage(t *testing.T) {
	c := newColony(t)
	c.notices = []string{"Read-only: the disk is full <now>."}
	for _, path := range []string{"/today", "/animals", "/sign-in", "/nowhere"} {
		status := map[string]int{"/nowhere": 404}[path]
		wants(t, c.page(path, max(status, 200)), "Read-only: the disk is full <now>.")
	}
	if got := c.get("/deck/sheet.json", 200); !strings.Contains(got, "Read-only") {
		t.Errorf("the Deck is not told: %s", got)
	}
}

func TestSignInKeepsPeopleOnThisServer(t *testing.T) {
	c := newColony(t)
	c.visitor = web.Visitor{}
	for to, want := range map[string]string{
		"/deck": "/deck", "/animals/marl?as_of=2026-06-01": "/animals/marl?as_of=2026-06-01",
		"//elsewhere.example": "/today", "https://elsewhere.example": "/today", `/\elsewhere.example`: "/today", "": "/today",
	} {
		page := c.page("/sign-in?to="+strings.NewReplacer("?", "%3F", "=", "%3D", `\`, "%5C", ":", "%3A").Replace(to), 200)
		if !strings.Contains(page, `name="to" value="`+want+`"`) {
			t.Errorf("to=%q does not lead to %q", to, want)
		}
	}
	wants(t, c.page("/sign-in?wrong=1", 200), "That token is not known here.")
}

func TestStaticFilesAreKeptUnderTheirHash(t *testing.T) {
	c := newColony(t)
	page := c.page("/today", 200)
	_, rest, _ := strings.Cut(page, `href="/static/`)
	folder, _, _ := strings.Cut(rest, "/look.css")
	w := httptest.NewRecorder()
	c.handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/static/"+folder+"/look.css", nil))
	if w.Code != 200 || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
		t.Errorf("look.css answers %d with %q", w.Code, w.Header().Get("Cache-Control"))
	}
	c.get("/static/0000000000000000/look.css", 404)
	c.get("/static/"+folder+"/nothing.css", 404)
	c.get("/static/"+folder+"/sw.js", 404)
}

func TestTheWorkerKeepsTheDeckAndNothingOfAPerson(t *testing.T) {
	c := newColony(t)
	worker := c.get("/sw.js", 200)
	_, rest, _ := strings.Cut(worker, "const files = ")
	list, _, _ := strings.Cut(rest, ";")
	var files []string
	if err := json.Unmarshal([]byte(list), &files); err != nil {
		t.Fatalf("the list of the worker: %v\n%s", err, worker)
	}
	if !slices.Contains(files, "/deck") || strings.Contains(worker, "HASH") {
		t.Errorf("the worker keeps %v", files)
	}
	for _, path := range files {
		c.get(path, 200)
		if strings.Contains(path, "sheet.json") || strings.HasPrefix(path, "/api") || path == "/today" {
			t.Errorf("the worker keeps %s", path)
		}
	}
}

func TestTheDeckIsTheSameForEverybody(t *testing.T) {
	c := newColony(t)
	c.settle()
	first := c.page("/deck", 200)
	c.visitor, c.notices = web.Visitor{Name: "Odo", SignedIn: true, Facilities: []string{"tern-sluice"}}, []string{"something"}
	if second := c.page("/deck", 200); first != second {
		t.Error("two visitors get two Decks")
	}
	if strings.Contains(first, "Rhona") || strings.Contains(first, "Marl") {
		t.Error("the Deck's page holds a person or an animal")
	}
	w := httptest.NewRecorder()
	r := httptest.NewRequest(http.MethodGet, "/deck", nil)
	c.handler().ServeHTTP(w, r)
	r.Header.Set("If-None-Match", w.Header().Get("ETag"))
	again := httptest.NewRecorder()
	c.handler().ServeHTTP(again, r)
	if again.Code != http.StatusNotModified || again.Body.Len() > 0 {
		t.Errorf("a Deck that is known is sent again: %d", again.Code)
	}
}

func TestTheManifestNamesIconsThatAreThere(t *testing.T) {
	c := newColony(t)
	var m struct {
		Start string `json:"start_url"`
		Icons []struct{ Src string }
	}
	if err := json.Unmarshal([]byte(c.get("/manifest.webmanifest", 200)), &m); err != nil {
		t.Fatal(err)
	}
	if m.Start != "/deck" || len(m.Icons) == 0 {
		t.Errorf("the manifest is %+v", m)
	}
	for _, icon := range m.Icons {
		if got := c.get(icon.Src, 200); len(got) == 0 || bytes.Contains([]byte(got), []byte("<html")) {
			t.Errorf("%s is no picture", icon.Src)
		}
	}
}
