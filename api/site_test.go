package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"haulout/events"
	"haulout/events/journal"
	"haulout/projections"
)

// archive lends the store to the journal under the journal's names.
type archive struct{ *projections.Store }

func (a archive) Position(facility string) journal.Head {
	h := a.Head(facility)
	return journal.Head{Number: h.Number, Hash: h.Hash}
}

// site is a whole node behind its guard: a real log, a real archive, a real
// server. Two facilities are open, and everybody of the cast has a token.
type site struct {
	t       *testing.T
	dir     string
	store   *projections.Store
	journal *journal.Journal
	staff   *Staff
	server  *httptest.Server
	tokens  map[string]string
	clock   atomic.Int64 // the node's own time, Unix nanoseconds
	ends    []func()
	told    sync.Map // what was found not to be as it is described
}

// The cast: a role, and where it holds.
var cast = func() []Member {
	var out []Member
	for _, role := range Roles() {
		out = append(out,
			Member{Name: role + "-saltgarth", Role: role, Facilities: []string{"saltgarth"}},
			Member{Name: role + "-wrackline", Role: role, Facilities: []string{"wrackline-bay"}},
			Member{Name: role + "-both", Role: role, Facilities: []string{"saltgarth", "wrackline-bay"}},
			Member{Name: role + "-everywhere", Role: role},
		)
	}
	return out
}()

const (
	keeper  = "keeper-saltgarth"
	steward = "steward-everywhere"
)

// day of the stories, late in the evening at both facilities.
var evening = time.Date(2026, 3, 1, 21, 0, 0, 0, time.UTC)

// openSite opens a node in an empty folder, and both facilities.
func openSite(t *testing.T) *site {
	t.Helper()
	s := openFolder(t, t.TempDir(), 0)
	s.mustRecord(steward,
		s.fact("a-open", "facility.opened", "saltgarth", `{"name":"Saltgarth","zone":"Europe/Dublin"}`),
		s.fact("a-pool", "enclosure.described", "saltgarth", `{"enclosure":"deep-pool","name":"Deep pool","use":"display"}`),
		s.fact("a-herring", "food.described", "saltgarth", `{"food":"herring","name":"Herring","form":"fish","composition":{"protein":{"value":"17.96","unit":"g"},"fat":{"value":"9.04","unit":"g"}},"source":"USDA SR, NDB 15039"}`),
		s.fact("a-lot", "lot.received", "saltgarth", `{"lot":"h-2611","food":"herring","mass":{"value":"500","unit":"kg"}}`),
		s.fact("a-marl", "animal.entered", "saltgarth", `{"animal":"marl","name":"Marl","taxon":"Zalophus californianus","sex":"female","how":"birth","born":"2020-06-09"}`),
		s.fact("a-chin", "behaviour.planned", "saltgarth", `{"behaviour":"marl-chin-rest","animal":"marl","name":"Chin rest","purpose":"care","steps":[{"step":"chin on the target"}]}`),
	)
	s.mustRecord(steward,
		s.fact("b-open", "facility.opened", "wrackline-bay", `{"name":"Wrackline Bay","zone":"Europe/Dublin"}`),
		s.fact("b-pool", "enclosure.described", "wrackline-bay", `{"enclosure":"cove","name":"Cove"}`),
		s.fact("b-sprat", "food.described", "wrackline-bay", `{"food":"sprat","name":"Sprat","form":"fish","source":"label of the box"}`),
		s.fact("b-lot", "lot.received", "wrackline-bay", `{"lot":"s-0907","food":"sprat","mass":{"value":"80","unit":"kg"}}`),
		s.fact("b-dulse", "animal.entered", "wrackline-bay", `{"animal":"dulse","name":"Dulse","taxon":"Phoca vitulina","sex":"male","how":"rescue","born":"2022~"}`),
		s.fact("b-spin", "behaviour.planned", "wrackline-bay", `{"behaviour":"dulse-scale","animal":"dulse","name":"On the scale","purpose":"care","steps":[{"step":"flippers on the plate"}]}`),
	)
	return s
}

// openFolder opens a node on a folder, with so many bytes of disk kept free.
func openFolder(t *testing.T, dir string, reserve uint64) *site {
	t.Helper()
	s := &site{t: t, dir: dir, tokens: map[string]string{}}
	s.clock.Store(evening.UnixNano())
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	var err error
	if s.store, err = projections.Open(filepath.Join(dir, "archive"), projections.All(), log); err != nil {
		t.Fatal(err)
	}
	cfg := journal.Config{Dir: dir, Start: time.Minute, Reserve: reserve, Now: s.now, Log: log}
	if s.journal, err = journal.Open(t.Context(), cfg, archive{s.store}); err != nil {
		t.Fatal(err)
	}
	for _, facility := range s.journal.Facilities() {
		if err := s.journal.Start(t.Context(), facility); err != nil {
			t.Fatal(err)
		}
	}
	s.hire()
	s.server = httptest.NewServer(s.handler(log))
	s.ends = append(s.ends, s.applying(), s.server.Close, func() { s.noError(s.journal.Close(), s.store.Close()) })
	t.Cleanup(s.close)
	return s
}

func (s *site) noError(errs ...error) {
	s.t.Helper()
	if err := errors.Join(errs...); err != nil {
		s.t.Error(err)
	}
}

func (s *site) now() time.Time { return time.Unix(0, s.clock.Load()).UTC() }

// close ends the node; closing it again does nothing.
func (s *site) close() {
	for _, end := range s.ends {
		end()
	}
	s.ends = nil
}

func (s *site) hire() {
	s.t.Helper()
	var err error
	if s.staff, err = OpenStaff(s.dir, time.Now); err != nil {
		s.t.Fatal(err)
	}
	for _, m := range cast {
		if err := s.staff.Add(m); err != nil {
			s.t.Fatal(err)
		}
		if s.tokens[m.Name], err = s.staff.Issue(m.Name); err != nil {
			s.t.Fatal(err)
		}
	}
}

// applying takes pages into the archive until the returned function is called.
func (s *site) applying() (stop func()) {
	ctx, cancel := context.WithCancel(context.WithoutCancel(s.t.Context()))
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		for ctx.Err() == nil {
			changed := s.journal.Changed()
			for _, facility := range s.journal.Facilities() {
				pages, _ := s.journal.Since(facility, s.store.Head(facility).Number)
				if err := s.store.Apply(pages...); err != nil {
					s.t.Error(err)
				}
			}
			select {
			case <-changed:
			case <-ctx.Done():
			}
		}
	}()
	return func() { cancel(); <-ended }
}

// handler is the interface behind the guard, with two pages of no content
// beside it.
func (s *site) handler(log *slog.Logger) http.Handler {
	guard := Guard{Staff: s.staff, Pages: map[string]bool{"GET /today": false, "GET /sign-in": true}}
	mux := http.NewServeMux()
	mux.Handle("/", New(Config{
		Store: s.store, Recorder: s.journal, Photos: s.journal, ReadOnly: s.journal.ReadOnly, Settled: s.settled,
		Ready: s.notReady, Notices: func() []string { return []string{"an invented colony"} },
		Now: s.now, Version: "test", Log: log,
	}))
	mux.HandleFunc("POST /sign-in", guard.SignIn)
	mux.HandleFunc("POST /sign-out", guard.SignOut)
	page := func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, "a page") }
	mux.HandleFunc("GET /today", page)
	mux.HandleFunc("GET /sign-in", page)
	return guard.Wrap(mux)
}

func (s *site) notReady() (why []string) {
	for _, facility := range s.journal.Facilities() {
		if reason := s.journal.ReadOnly(facility); reason != "" {
			why = append(why, facility+" is read-only: "+reason)
		}
	}
	return why
}

func (s *site) settled(ctx context.Context, facility string, number uint64) bool {
	for {
		changed := s.store.Changed()
		if s.store.Head(facility).Number >= number {
			return true
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return false
		}
	}
}

// idOf makes a UUID of version 7 from the name that a story gives a fact.
func idOf(name string) string {
	sum := events.LeafHash([]byte(name)).String()
	return "01950000-" + sum[:4] + "-7" + sum[4:7] + "-8" + sum[7:10] + "-" + sum[10:22]
}

func (s *site) fact(name, kind, facility, body string) events.Draft {
	return factAt(evening.Add(-5*time.Hour), name, kind, facility, body)
}

func factAt(at time.Time, name, kind, facility, body string) events.Draft {
	return events.Draft{ID: idOf(name), Type: events.TypeOf(kind), Time: at.Format(time.RFC3339), Facility: facility, Data: json.RawMessage(body)}
}

// feed is a feed of Marl.
func (s *site) feed(name, offered, eaten string) events.Draft {
	return s.fact(name, "feed.given", "saltgarth", fmt.Sprintf(`{"animal":"marl","items":[{"food":"herring","offered":{"value":%q,"unit":"kg"},"eaten":{"value":%q,"unit":"kg"}}]}`, offered, eaten))
}

// answer is what came back.
type answer struct {
	t      *testing.T
	asked  string
	status int
	header http.Header
	body   []byte
}

// ask sends a request as a member of the cast, as nobody with "", or with a
// token of one's own choice. A stream is read no further than its head.
func (s *site) ask(as, method, path string, body []byte, headers ...string) answer {
	s.t.Helper()
	r, err := http.NewRequestWithContext(s.t.Context(), method, s.server.URL+path, bytes.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	if token, ok := s.tokens[as]; ok {
		r.Header.Set("Authorization", "Bearer "+token)
	} else if as != "" {
		r.Header.Set("Authorization", "Bearer "+as)
	}
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	return s.send(r)
}

var client = &http.Client{
	CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	Timeout:       20 * time.Second,
}

func (s *site) send(r *http.Request) answer {
	s.t.Helper()
	res, err := client.Do(r)
	if err != nil {
		s.t.Fatal(err)
	}
	defer res.Body.Close()
	out := answer{t: s.t, asked: r.Method + " " + r.URL.RequestURI(), status: res.StatusCode, header: res.Header}
	if res.Header.Get("Content-Type") != "text/event-stream" {
		if out.body, err = io.ReadAll(res.Body); err != nil {
			s.t.Fatal(err)
		}
	}
	if err := describe(s.t).fits(r, out); err != nil {
		if _, told := s.told.LoadOrStore(err.Error(), true); !told {
			s.t.Errorf("%.300s: %v", out.asked, err)
		}
	}
	return out
}

func (s *site) get(as, path string) answer {
	s.t.Helper()
	return s.ask(as, http.MethodGet, path, nil)
}

// read gets an answer of 200 and reads its JSON.
func (s *site) read(as, path string, into any) {
	s.t.Helper()
	s.get(as, path).want(http.StatusOK).json(into)
}

func (s *site) record(as string, drafts ...events.Draft) answer {
	s.t.Helper()
	raw, err := json.Marshal(drafts)
	if err != nil {
		s.t.Fatal(err)
	}
	return s.ask(as, http.MethodPost, "/api/v1/records", raw)
}

// mustRecord records and gives the receipts.
func (s *site) mustRecord(as string, drafts ...events.Draft) []receipt {
	s.t.Helper()
	var out struct{ Receipts []receipt }
	s.record(as, drafts...).want(http.StatusOK).json(&out)
	if len(out.Receipts) != len(drafts) {
		s.t.Fatalf("%d facts got %d receipts", len(drafts), len(out.Receipts))
	}
	return out.Receipts
}

func (a answer) want(status int) answer {
	a.t.Helper()
	if a.status != status {
		a.t.Fatalf("%s: %d, want %d: %.500s", a.asked, a.status, status, a.body)
	}
	return a
}

func (a answer) json(into any) {
	a.t.Helper()
	if err := json.Unmarshal(a.body, into); err != nil {
		a.t.Fatalf("%s: %v in %.500s", a.asked, err, a.body)
	}
}

// problem checks that the answer is a problem of a status as RFC 9457 words
// one, and gives it.
func (a answer) problem(status int) details {
	a.t.Helper()
	a.want(status)
	if got := a.header.Get("Content-Type"); got != "application/problem+json" {
		a.t.Fatalf("%s: a problem is of type %s: %.300s", a.asked, got, a.body)
	}
	var d details
	a.json(&d)
	path, _, _ := strings.Cut(a.asked[strings.IndexByte(a.asked, ' ')+1:], "?")
	if d.Type == "" || d.Title == "" || d.Detail == "" || d.Remedy == "" || d.Status != status || (d.Instance != path && !strings.Contains(path, "%")) {
		a.t.Errorf("%s: the problem is incomplete: %s", a.asked, a.body)
	}
	if i := slices.IndexFunc(kinds, func(k kind) bool { return d.Type == "/api/v1/problems/"+k.Slug }); i < 0 || kinds[i].Status != status {
		a.t.Errorf("%s: no kind of problem is %s with %d", a.asked, d.Type, status)
	}
	return d
}

// receipt is the answer for one fact, as a program reads it.
type receipt struct {
	ID       string `json:"id"`
	Facility string `json:"facility"`
	Number   uint64 `json:"number"`
	Hash     string `json:"hash"`
	Repeated bool   `json:"repeated"`
}
