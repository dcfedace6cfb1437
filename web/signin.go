package web

import (
	"net/http"
	"strings"
)

type signInPage struct {
	frame
	To    string // where to go on to
	Wrong bool   // the token before this one was not known
}

// signIn shows the form. The program that holds the tokens answers it.
func (s *site) signIn(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	page := signInPage{frame: s.frame(r, "", "Sign in"), To: localPath(q.Get("to")), Wrong: q.Get("wrong") != ""}
	return s.show(w, http.StatusOK, "signin", page)
}

// localPath keeps a path of this server and nothing else, so that a link to the
// sign-in page can't lead people away from it.
func localPath(to string) string {
	if !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n\t") {
		return "/today"
	}
	return to
}
