package api

import (
	"maps"
	"net/http"
	"slices"
	"strings"
	"testing"
)

// Who may do what, in the words of those who run the colony. The policy is
// compared with it, cell by cell.
var (
	toAnybody = []string{
		"GET /livez", "GET /readyz", "POST /sign-in", "POST /sign-out",
		"GET /api/openapi.json", "GET /api/v1/schemas", "GET /api/v1/schemas/{type}", "GET /api/v1/problems/{slug}",
	}
	// toMembers is where one member sees as much of the place as another: his
	// own facilities, or the place that the path names.
	toMembers = []string{
		"GET /api/v1/me", "GET /api/v1/status", "GET /api/v1/facilities", "GET /api/v1/enclosures", "GET /api/v1/foods",
		"GET /api/v1/lots", "GET /api/v1/behaviours", "GET /api/v1/animals", "GET /api/v1/follow",
		"GET /api/v1/today",
	}
	// toReach is what belongs to one facility, Saltgarth here.
	toReach = []string{
		"GET /api/v1/facilities/{code}/records", "GET /api/v1/animals/{id}", "GET /api/v1/animals/{id}/days",
		"GET /api/v1/animals/{id}/weights", "GET /api/v1/animals/{id}/records", "GET /api/v1/records/{id}",
		"GET /api/v1/fishroom/{facility}/{date}", "GET /api/v1/animals/{id}/energy", "GET /api/v1/animals/{id}/forecast",
		"POST /api/v1/rations/propose", "GET /api/v1/enclosures/{id}/hierarchy", "GET /api/v1/enclosures/{id}/company",
		"GET /api/v1/enclosures/{id}/periods", "GET /api/v1/facilities/{code}/judgements", "GET /api/v1/photos/{digest}",
		"GET /api/v1/animals/{id}/mass", "GET /api/v1/animals/{id}/coat", "GET /api/v1/animals/{id}/checks",
		"GET /api/v1/enclosures/{id}/water", "GET /api/v1/enclosures/{id}/space",
	}
	toRecorders = []string{"POST /api/v1/records", "POST /api/v1/photos"}
	toWhole     = []string{"GET /metrics"}
	recorders   = []string{"keeper", "lead", "registrar", "veterinarian", "manager", "steward"}
)

// visit makes a request of a route, about Saltgarth.
func (s *site) visit(as, route string) answer {
	s.t.Helper()
	method, path, _ := strings.Cut(route, " ")
	id := "marl"
	if strings.HasSuffix(path, "/records/{id}") {
		id = idOf("a-marl")
	}
	if strings.HasPrefix(path, "/api/v1/enclosures/") {
		id = "deep-pool"
	}
	path = strings.NewReplacer("{code}", "saltgarth", "{facility}", "saltgarth", "{date}", "2026-03-01", "{type}", "haulout.note.v1", "{slug}", "malformed", "{id}", id).Replace(path)
	var body []byte
	switch path {
	case "/api/v1/photos/{digest}":
		digest, err := s.journal.KeepPhoto(s.t.Context(), "saltgarth", picture(s.t, 3, 2, 1))
		s.noError(err)
		path = "/api/v1/photos/" + digest.String()
	case "/api/v1/photos":
		path, body = path+"?facility=saltgarth", picture(s.t, 3, 2, 1)
	}
	if path == "/api/v1/records" {
		body = []byte(`[{"id":"` + idOf("seen by "+as) + `","type":"haulout.note.v1","time":"2026-03-01T16:00:00Z","facility":"saltgarth","data":{"text":"calm"}}]`)
	}
	if path == "/api/v1/rations/propose" {
		body = []byte(`{"animal":"marl"}`)
	}
	return s.ask(as, method, path, body)
}

// allowed says whether a member may, by the lists above.
func allowed(m Member, route string) bool {
	reaches := len(m.Facilities) == 0 || slices.Contains(m.Facilities, "saltgarth")
	switch {
	case slices.Contains(toAnybody, route), slices.Contains(toMembers, route):
		return true
	case slices.Contains(toReach, route):
		return reaches
	case slices.Contains(toRecorders, route):
		return reaches && slices.Contains(recorders, m.Role)
	case slices.Contains(toWhole, route):
		return len(m.Facilities) == 0
	}
	return false
}

func TestThePolicyNamesEveryRouteOnce(t *testing.T) {
	want := slices.Sorted(slices.Values(slices.Concat(toAnybody, toMembers, toReach, toRecorders, toWhole)))
	if got := slices.Sorted(maps.Keys(policy)); !slices.Equal(got, want) {
		t.Errorf("the policy has the routes\n%s\nand these tests\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestEveryRoleAtEveryFacilityReachesWhatItShould(t *testing.T) {
	s := openSite(t)
	cells := 0
	for route := range policy {
		for _, m := range cast {
			got, want := s.visit(m.Name, route), allowed(m, route)
			cells++
			if taken := got.status < 400; taken != want {
				t.Errorf("%s of %q asks %s: %d, want it allowed: %t", m.Role, m.Facilities, route, got.status, want)
			}
			if !want {
				got.problem(http.StatusForbidden)
			}
		}
	}
	if want := len(policy) * len(Roles()) * 4; cells != want || cells < 600 {
		t.Errorf("tried %d cells of %d", cells, want)
	}
}

func TestWithoutATokenOnlyTheOpenRoutesAnswer(t *testing.T) {
	s := openSite(t)
	s.noError(s.staff.Add(Member{Name: "leaver", Role: "keeper"}))
	gone, err := s.staff.Issue("leaver")
	if err != nil {
		t.Fatal(err)
	}
	s.noError(s.staff.Remove("leaver"))
	for _, token := range []string{"", "wrong", gone, s.tokens[keeper] + "x", strings.Repeat("a", 5000)} {
		for route := range policy {
			got := s.visit(token, route)
			if slices.Contains(toAnybody, route) {
				if got.status >= 400 {
					t.Errorf("%s is closed with the token %.20q: %d", route, token, got.status)
				}
				continue
			}
			got.problem(http.StatusUnauthorized)
			if got.header.Get("WWW-Authenticate") == "" {
				t.Errorf("%s does not say how to sign in", route)
			}
		}
	}
	for _, scheme := range []string{"Basic ", "Token ", "", "Bearer"} {
		s.ask("", http.MethodGet, "/api/v1/me", nil, "Authorization", scheme+s.tokens[keeper]).problem(http.StatusUnauthorized)
	}
	s.ask("", http.MethodGet, "/api/v1/me", nil, "Authorization", "bearer  "+s.tokens[keeper]).want(http.StatusOK)
}

func TestAnUnlistedRouteIsRefused(t *testing.T) {
	s := openSite(t)
	for _, asked := range []string{
		"GET /api/v1/nowhere", "GET /api/v1", "GET /api/v1/animals/", "GET /api/v1/animals/marl/secrets", "GET /api/v2/me", "GET /debug/pprof/",
		"DELETE /api/v1/records", "PUT /api/v1/records", "GET /api/v1/records", "POST /api/v1/animals", "PATCH /api/v1/animals/marl", "TRACE /api/v1/me",
		"POST /livez", "GET /today/../api/v1/nowhere", "GET //api/v1/me", "GET /api/v1/%6de/x", "GET /api/v1/animals/a%2fb%2fc/x", "OPTIONS /api/v1/records",
	} {
		method, path, _ := strings.Cut(asked, " ")
		s.ask("", method, path, nil).problem(http.StatusUnauthorized)
		s.ask(steward, method, path, nil).problem(http.StatusNotFound)
	}
}

func TestNoSpellingOfAPathPassesTheGuard(t *testing.T) {
	s := openSite(t)
	for _, path := range []string{
		"/api/v1/schemas/../animals", "/api/v1/schemas/%2e%2e/animals", "/api/v1/schemas/..%2fanimals", "/api/v1/problems/..%2f..%2fv1%2fanimals",
		"/livez/../api/v1/animals", "/livez%2f..%2fapi/v1/animals", "//api/v1/animals", "/api//v1/animals", "/api/v1/./animals", "/API/v1/animals",
		"/api/v1/animals%00", "/api/v1/animals;x=1", "/api/v1/animals%20", "/sign-in/../api/v1/animals", "/api/v1/%61nimals", "/api/v1/animals?token=" + s.tokens[keeper],
	} {
		got := s.ask("", http.MethodGet, path, nil)
		if got.status == http.StatusOK || strings.Contains(string(got.body), "Marl") {
			t.Errorf("%s answers nobody with %d: %.200s", path, got.status, got.body)
		}
	}
}

func TestAHeadRequestIsAnsweredLikeItsGet(t *testing.T) {
	s := openSite(t)
	for route := range policy {
		if method, _, _ := strings.Cut(route, " "); method != http.MethodGet {
			continue
		}
		got := s.visit(keeper, strings.Replace(route, "GET", "HEAD", 1))
		if want := s.visit(keeper, route); got.status != want.status || len(got.body) > 0 {
			t.Errorf("HEAD of %s: %d with %d bytes; GET: %d", route, got.status, len(got.body), want.status)
		}
	}
}

func TestAKeeperSeesAndRecordsAtHisOwnFacilityAlone(t *testing.T) {
	s := openSite(t)
	for _, path := range []string{
		"/api/v1/enclosures?facility=wrackline-bay", "/api/v1/foods?facility=wrackline-bay", "/api/v1/lots?facility=wrackline-bay",
		"/api/v1/behaviours?facility=wrackline-bay", "/api/v1/animals?facility=wrackline-bay", "/api/v1/follow?facility=wrackline-bay",
		"/api/v1/facilities/wrackline-bay/records", "/api/v1/animals/dulse", "/api/v1/animals/dulse/days", "/api/v1/animals/dulse/weights",
		"/api/v1/animals/dulse/records", "/api/v1/records/" + idOf("b-dulse"),
		"/api/v1/fishroom/wrackline-bay/2026-03-01", "/api/v1/facilities/wrackline-bay/judgements", "/api/v1/today?facility=wrackline-bay",
		"/api/v1/enclosures/cove/hierarchy", "/api/v1/enclosures/cove/company", "/api/v1/enclosures/cove/periods",
		"/api/v1/enclosures/cove/hierarchy?facility=wrackline-bay", "/api/v1/enclosures/cove/company?facility=wrackline-bay",
		"/api/v1/enclosures/cove/periods?facility=wrackline-bay",
		"/api/v1/enclosures/cove/water", "/api/v1/enclosures/cove/space", "/api/v1/enclosures/cove/space?facility=wrackline-bay",
	} {
		s.get(keeper, path).problem(http.StatusForbidden)
		s.get("keeper-wrackline", path).want(http.StatusOK)
	}
	s.get(keeper, "/api/v1/animals/Dulse").problem(http.StatusNotFound) // a name says nothing of animals elsewhere
	for _, path := range []string{
		"/api/v1/status", "/api/v1/facilities", "/api/v1/enclosures", "/api/v1/foods", "/api/v1/lots", "/api/v1/behaviours", "/api/v1/animals",
	} {
		mine, theirs := string(s.get(keeper, path).body), string(s.get("keeper-wrackline", path).body)
		if strings.Contains(mine, "wrackline") || strings.Contains(mine, "dulse") || !strings.Contains(mine, "saltgarth") {
			t.Errorf("%s shows a keeper of Saltgarth %s", path, mine)
		}
		if strings.Contains(theirs, "saltgarth") || strings.Contains(theirs, "marl") || !strings.Contains(theirs, "wrackline") {
			t.Errorf("%s shows a keeper of Wrackline Bay %s", path, theirs)
		}
	}
	head := s.store.Head("wrackline-bay")
	s.record(keeper, s.fact("elsewhere", "note", "wrackline-bay", `{"text":"calm"}`)).problem(http.StatusForbidden)
	s.record(keeper, s.fact("nowhere", "note", "tern-sluice", `{"text":"calm"}`)).problem(http.StatusForbidden)
	s.record("reader-saltgarth", s.fact("reader", "note", "saltgarth", `{"text":"calm"}`)).problem(http.StatusForbidden)
	if s.store.Head("wrackline-bay") != head {
		t.Error("a refused record was recorded")
	}
}

func TestOnlyManagersAndStewardsOfEveryFacilityOpenAnother(t *testing.T) {
	s := openSite(t)
	for _, m := range cast {
		open := s.fact("open by "+m.Name, "facility.opened", "f-"+m.Name, `{"name":"New","zone":"UTC"}`)
		got := s.record(m.Name, open)
		if may := len(m.Facilities) == 0 && (m.Role == "manager" || m.Role == "steward"); may {
			got.want(http.StatusOK)
		} else {
			got.problem(http.StatusForbidden)
		}
	}
}

func TestAVisitorActsAsTheDemoSays(t *testing.T) {
	s := openSite(t)
	guest := Guard{Staff: s.staff, Visitor: &Member{Name: "guest", Role: "reader"}}.Wrap(New(Config{Store: s.store}))
	ask := func(method, token string) int {
		r, w := newRequest(method, "/api/v1/me", token), newRecorder()
		guest.ServeHTTP(w, r)
		return w.Code
	}
	if got := ask(http.MethodGet, ""); got != http.StatusOK {
		t.Errorf("a visitor is answered %d", got)
	}
	if got := ask(http.MethodGet, "wrong"); got != http.StatusUnauthorized {
		t.Errorf("a wrong token is answered %d, as if it were none", got)
	}
}
