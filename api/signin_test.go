package api

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func newRecorder() *httptest.ResponseRecorder { return httptest.NewRecorder() }

func newRequest(method, path, token string) *http.Request {
	r := httptest.NewRequest(method, path, nil)
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	return r
}

// form posts a form as a browser does.
func (s *site) form(path string, values url.Values, headers ...string) answer {
	s.t.Helper()
	return s.ask("", http.MethodPost, path, []byte(values.Encode()), append([]string{"Content-Type", "application/x-www-form-urlencoded"}, headers...)...)
}

// signIn gives the cookie of a session.
func (s *site) signIn(as string) *http.Cookie {
	s.t.Helper()
	got := s.form("/sign-in", url.Values{"token": {s.tokens[as]}, "to": {"/today"}}).want(http.StatusSeeOther)
	cookies := (&http.Response{Header: got.header}).Cookies()
	if len(cookies) != 1 || got.header.Get("Location") != "/today" {
		s.t.Fatalf("signing in gives %q", got.header)
	}
	return cookies[0]
}

func TestSigningInGivesACookieAndSigningOutEndsIt(t *testing.T) {
	s := openSite(t)
	cookie := s.signIn(keeper)
	if !cookie.HttpOnly || cookie.SameSite != http.SameSiteLaxMode || cookie.Path != "/" || cookie.MaxAge <= 0 || len(cookie.Value) < 43 {
		t.Errorf("the cookie is %s", cookie)
	}
	with := cookie.Name + "=" + cookie.Value
	if got := s.ask("", http.MethodGet, "/api/v1/me", nil, "Cookie", with).want(http.StatusOK); !strings.Contains(string(got.body), keeper) {
		t.Errorf("the session is of %s", got.body)
	}
	s.ask("", http.MethodGet, "/today", nil, "Cookie", with).want(http.StatusOK)
	s.ask("", http.MethodPost, "/sign-out", nil, "Cookie", with).want(http.StatusSeeOther)
	s.ask("", http.MethodGet, "/api/v1/me", nil, "Cookie", with).problem(http.StatusUnauthorized)
	s.get(keeper, "/api/v1/me").want(http.StatusOK) // the token itself lives on
}

func TestTheCookieIsForTLSAloneWhereThereIsTLS(t *testing.T) {
	s := openSite(t)
	for proto, want := range map[string]bool{"https": true, "http": false, "": false} {
		got := s.form("/sign-in", url.Values{"token": {s.tokens[keeper]}}, "X-Forwarded-Proto", proto)
		if cookie := (&http.Response{Header: got.header}).Cookies()[0]; cookie.Secure != want {
			t.Errorf("behind %q the cookie is %s", proto, cookie)
		}
	}
}

func TestAWrongTokenDoesNotSignIn(t *testing.T) {
	s := openSite(t)
	for _, token := range []string{"", "wrong", strings.Repeat("x", 10000)} {
		got := s.form("/sign-in", url.Values{"token": {token}}).want(http.StatusSeeOther)
		if !strings.HasPrefix(got.header.Get("Location"), "/sign-in?wrong=1") || got.header.Get("Set-Cookie") != "" {
			t.Errorf("the token %.20q gives %q", token, got.header)
		}
	}
	got := s.ask("", http.MethodPost, "/sign-in?token="+s.tokens[keeper], nil).want(http.StatusSeeOther)
	if got.header.Get("Set-Cookie") != "" {
		t.Error("a token in an address signs in; addresses are written to logs")
	}
}

func TestSigningInLeadsNowhereElse(t *testing.T) {
	s := openSite(t)
	for _, to := range []string{"", "//evil.example", "https://evil.example/", "/\\evil.example", "/\t/evil.example", "/a\r\nSet-Cookie: x=1", "today"} {
		got := s.form("/sign-in", url.Values{"token": {s.tokens[keeper]}, "to": {to}}).want(http.StatusSeeOther)
		if where := got.header.Get("Location"); where != "/" {
			t.Errorf("%q leads to %q", to, where)
		}
	}
}

func TestAPersonWithoutASessionIsSentToTheForm(t *testing.T) {
	s := openSite(t)
	got := s.ask("", http.MethodGet, "/today?facility=saltgarth", nil, "Accept", "text/html,*/*").want(http.StatusSeeOther)
	if where := got.header.Get("Location"); where != "/sign-in?to=%2Ftoday%3Ffacility%3Dsaltgarth" {
		t.Errorf("sent to %s", where)
	}
	s.ask("", http.MethodGet, "/sign-in", nil, "Accept", "text/html").want(http.StatusOK)
	s.ask("", http.MethodPost, "/api/v1/records", []byte("[]"), "Accept", "text/html").problem(http.StatusUnauthorized)
}

func TestARequestFromAnotherSiteIsRefused(t *testing.T) {
	s := openSite(t)
	cookie := s.signIn(keeper)
	with, note := cookie.Name+"="+cookie.Value, []byte(`[]`)
	for _, from := range [][]string{
		{"Sec-Fetch-Site", "cross-site"}, {"Sec-Fetch-Site", "same-site"}, {"Origin", "https://evil.example"}, {"Origin", "null"},
	} {
		headers := append([]string{"Cookie", with}, from...)
		s.ask("", http.MethodPost, "/api/v1/records", note, headers...).problem(http.StatusForbidden)
		s.ask("", http.MethodPost, "/sign-out", nil, headers...).problem(http.StatusForbidden)
		s.ask("", http.MethodGet, "/api/v1/me", nil, headers...).want(http.StatusOK)
	}
	s.ask("", http.MethodPost, "/api/v1/records", note, "Cookie", with, "Sec-Fetch-Site", "same-origin").want(http.StatusOK)
	s.ask("", http.MethodPost, "/api/v1/records", note, "Cookie", with, "Origin", s.server.URL).want(http.StatusOK)
}

func TestTokensAndSessionsAreKeptAsHashesAndEnd(t *testing.T) {
	dir, now := t.TempDir(), evening
	staff, err := OpenStaff(dir, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	if err := staff.Add(Member{Name: "rv", Role: "keeper"}); err != nil {
		t.Fatal(err)
	}
	token, err := staff.Issue("rv")
	if err != nil {
		t.Fatal(err)
	}
	session, err := staff.StartSession(token)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(filepath.Join(dir, "staff.json"))
	if err != nil || strings.Contains(string(raw), token) || strings.Contains(string(raw), session) {
		t.Errorf("the file holds a token: %v", err)
	}
	info, err := os.Stat(filepath.Join(dir, "staff.json"))
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("others may read the file: %v, %v", info.Mode(), err)
	}
	now = now.Add(sessionLength + time.Second)
	if _, ok := staff.Holder(session); ok {
		t.Error("a session outlived its end")
	}
	again, err := OpenStaff(dir, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	if m, ok := again.Holder(token); !ok || m.Name != "rv" {
		t.Error("a token did not survive a restart")
	}
}

func TestStaffAreRefusedByName(t *testing.T) {
	staff, err := OpenStaff(t.TempDir(), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	for want, m := range map[string]Member{
		`the name "r v"`:    {Name: "r v", Role: "keeper"},
		`the name ""`:       {Role: "keeper"},
		`the role "god"`:    {Name: "rv", Role: "god"},
		`the facility "A!"`: {Name: "rv", Role: "keeper", Facilities: []string{"A!"}},
	} {
		if err := staff.Add(m); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%+v got %v", m, err)
		}
	}
	if _, err := staff.Issue("nobody"); err == nil {
		t.Error("nobody got a token")
	}
	if err := staff.Remove("nobody"); err == nil {
		t.Error("nobody was removed")
	}
}
