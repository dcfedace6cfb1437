package api

import (
	"context"
	"net/http"
	"net/url"
	"strings"
)

type memberKey struct{}

// MemberOf is who made a request, as the guard found out.
func MemberOf(r *http.Request) (Member, bool) {
	m, ok := r.Context().Value(memberKey{}).(Member)
	return m, ok
}

// Guard stands before everything that is served.
type Guard struct {
	Staff *Staff
	// Visitor acts for callers who show nothing. It is set by the demo colony
	// alone; elsewhere such callers are refused.
	Visitor *Member
	// Pages are the routes of the pages, and whether anybody may see them.
	Pages map[string]bool
}

// Wrap puts the guard before a handler.
func (g Guard) Wrap(next http.Handler) http.Handler {
	table := table(g.Pages)
	origins := http.NewCrossOriginProtection()
	origins.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		problem(w, r, forbidden, "a page of another site sent this; nothing was done")
	}))
	return origins.Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		matched, _ := table.Handler(r)
		what, _ := matched.(need)
		m, known := g.identify(r)
		if known {
			r = r.WithContext(context.WithValue(r.Context(), memberKey{}, m))
		}
		switch {
		case what == open:
			next.ServeHTTP(w, r)
		case !known:
			g.askToSignIn(w, r)
		case what == refused:
			problem(w, r, unknownRoute, "nothing is served at "+r.Method+" "+r.URL.Path)
		case !m.May(what):
			problem(w, r, forbidden, "the role "+m.Role+" does not allow this")
		default:
			next.ServeHTTP(w, r)
		}
	}))
}

// cookieName is what the session's cookie is called. Over HTTPS the prefix
// keeps other hosts of the same domain from setting it.
func cookieName(secure bool) string {
	if secure {
		return "__Host-haulout"
	}
	return "haulout"
}

func isSecure(r *http.Request) bool {
	return r.TLS != nil || r.Header.Get("X-Forwarded-Proto") == "https"
}

func (g Guard) identify(r *http.Request) (Member, bool) {
	if header := r.Header.Get("Authorization"); header != "" {
		scheme, text, _ := strings.Cut(header, " ")
		if !strings.EqualFold(scheme, "Bearer") {
			return Member{}, false
		}
		return g.Staff.Holder(strings.TrimSpace(text))
	}
	if cookie, err := r.Cookie(cookieName(isSecure(r))); err == nil {
		if m, ok := g.Staff.Holder(cookie.Value); ok {
			return m, true
		}
	}
	if g.Visitor != nil {
		return *g.Visitor, true
	}
	return Member{}, false
}

// askToSignIn sends a person to the sign-in page and tells a program what is missing.
func (g Guard) askToSignIn(w http.ResponseWriter, r *http.Request) {
	if r.Method == http.MethodGet && strings.Contains(r.Header.Get("Accept"), "text/html") {
		http.Redirect(w, r, "/sign-in?to="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
		return
	}
	w.Header().Set("WWW-Authenticate", `Bearer realm="haulout"`)
	problem(w, r, unauthorized, "send a token as Authorization: Bearer …; haulout staff add makes one")
}

// SignIn trades a token from the sign-in form for a cookie.
func (g Guard) SignIn(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 4096)
	to := localPath(r.PostFormValue("to"))
	session, err := g.Staff.StartSession(strings.TrimSpace(r.PostFormValue("token")))
	if err != nil {
		http.Redirect(w, r, "/sign-in?wrong=1&to="+url.QueryEscape(to), http.StatusSeeOther)
		return
	}
	http.SetCookie(w, g.cookie(r, session, int(sessionLength.Seconds())))
	http.Redirect(w, r, to, http.StatusSeeOther)
}

// SignOut ends the browser's session.
func (g Guard) SignOut(w http.ResponseWriter, r *http.Request) {
	if cookie, err := r.Cookie(cookieName(isSecure(r))); err == nil {
		if err := g.Staff.EndSession(cookie.Value); err != nil {
			problem(w, r, internal, err.Error())
			return
		}
	}
	http.SetCookie(w, g.cookie(r, "", -1))
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
}

func (g Guard) cookie(r *http.Request, value string, age int) *http.Cookie {
	secure := isSecure(r)
	return &http.Cookie{Name: cookieName(secure), Value: value, Path: "/", MaxAge: age, HttpOnly: true, Secure: secure, SameSite: http.SameSiteLaxMode}
}

// localPath keeps a redirect within this server.
func localPath(to string) string {
	if !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n\t") {
		return "/"
	}
	return to
}
