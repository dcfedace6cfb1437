// Package web serves the pages that people look at: what was done today, who
// the animals are, one animal's file, and the Deck, where keepers log facts
// beside the pool with or without a line to the server.
//
// Pages are html/template with one typed struct each, charts are SVG drawn on
// the server, and nothing needs a build step. Every page forbids inline script
// and style. The Deck alone has code in the browser; the bytes of its page are
// the same for everybody, so that a phone may keep them.
//
// Who is looking, and whether they may, is the caller's business: the handler
// asks Config.Visitor and shows what that visitor's facilities hold.
package web

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"log/slog"
	"net/http"
	"slices"
	"time"

	"haulout/projections"
)

// Visitor is who is looking. The program's guard puts it together.
type Visitor struct {
	Name, Role string
	Facilities []string // nil is all of them
	Records    bool     // may record
	Signs      bool     // may record what a veterinarian answers for
	SignedIn   bool
}

func (v Visitor) sees(facility string) bool {
	return v.Facilities == nil || slices.Contains(v.Facilities, facility)
}

// Config is what the pages stand on.
type Config struct {
	Store   *projections.Store
	Visitor func(*http.Request) Visitor
	Notices func() []string // lines that stand on every page
	Now     func() time.Time
	Version string
	Log     *slog.Logger
}

// Route is one pattern that the handler serves.
type Route struct {
	Pattern string
	Open    bool // anybody may see it without signing in
}

type route struct {
	Route
	serve func(*site, http.ResponseWriter, *http.Request) error
}

func table() []route {
	return []route{
		{Route{"GET /{$}", false}, (*site).home},
		{Route{"GET /today", false}, (*site).today},
		{Route{"GET /animals", false}, (*site).animals},
		{Route{"GET /animals/{id}", false}, (*site).animal},
		{Route{"GET /animals/{id}/ration", false}, (*site).ration},
		{Route{"GET /animals/{id}/days.csv", false}, (*site).daysCSV},
		{Route{"GET /animals/{id}/weights.csv", false}, (*site).weightsCSV},
		{Route{"GET /colony", false}, (*site).colony},
		{Route{"GET /colony/{facility}/{enclosure}", false}, (*site).enclosure},
		{Route{"GET /fishroom", false}, (*site).fishroom},
		{Route{"GET /water", false}, (*site).water},
		{Route{"GET /water/{facility}/{enclosure}", false}, (*site).waterOf},
		{Route{"GET /deck", false}, (*site).deck},
		{Route{"GET /deck/sheet.json", false}, (*site).sheet},
		{Route{"GET /sign-in", true}, (*site).signIn},
		{Route{"GET /static/", true}, (*site).static},
		{Route{"GET /sw.js", true}, (*site).worker},
		{Route{"GET /manifest.webmanifest", true}, (*site).manifest},
	}
}

// Routes lists the patterns that the handler serves, for the policy table.
// Whatever else reaches it is answered with the page for 404.
func Routes() []Route {
	var out []Route
	for _, r := range table() {
		out = append(out, r.Route)
	}
	return out
}

// site is the handler: the pages and what they are made of.
type site struct {
	Config
	mux    *http.ServeMux
	pages  map[string]*template.Template
	assets assets
}

// New makes the handler of every page.
func New(c Config) (http.Handler, error) {
	pages, err := parsePages()
	if err != nil {
		return nil, fmt.Errorf("read the page templates: %w", err)
	}
	assets, err := readAssets()
	if err != nil {
		return nil, fmt.Errorf("read the static files: %w", err)
	}
	s := &site{Config: c, mux: http.NewServeMux(), pages: pages, assets: assets}
	for _, r := range table() {
		s.mux.HandleFunc(r.Pattern, s.answer(r.serve))
	}
	s.mux.HandleFunc("/", s.answer((*site).lost))
	return s, nil
}

// policy forbids everything that the pages don't do. There is no inline script
// or style anywhere, so there is no nonce.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

func (s *site) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	s.mux.ServeHTTP(w, r)
}

// answer turns what a page returns as an error into the page that says so.
func (s *site) answer(serve func(*site, http.ResponseWriter, *http.Request) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		err := serve(s, w, r)
		if err == nil {
			return
		}
		p, ok := errors.AsType[problem](err)
		if !ok {
			s.Log.Error("serve a page", "path", r.URL.Path, "error", err)
			p = broken
		}
		if err := s.showProblem(w, r, p); err != nil {
			s.Log.Error("serve the page of a problem", "path", r.URL.Path, "error", err)
		}
	}
}

func (s *site) home(w http.ResponseWriter, r *http.Request) error {
	http.Redirect(w, r, "/today", http.StatusSeeOther)
	return nil
}

func (s *site) lost(http.ResponseWriter, *http.Request) error { return nowhere }

// show writes a page. It is made as a whole first, so that a page that can't
// be made is never half sent.
func (s *site) show(w http.ResponseWriter, status int, name string, page any) error {
	var out bytes.Buffer
	if err := s.pages[name].ExecuteTemplate(&out, "frame", page); err != nil {
		return fmt.Errorf("make the page %s: %w", name, err)
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	if h.Get("Cache-Control") == "" {
		h.Set("Cache-Control", "private, no-cache")
	}
	w.WriteHeader(status)
	_, err := w.Write(out.Bytes())
	return err
}
