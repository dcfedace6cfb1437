package web

import (
	"net/http"
)

// problem is a page that says what happened and what to do.
type problem struct {
	status int
	title  string
	remedy string
}

func (p problem) Error() string { return p.title + "; " + p.remedy }

var (
	nowhere = problem{http.StatusNotFound, "There is no such page", "Check the address, or start again from Today."}
	broken  = problem{http.StatusInternalServerError, "The page could not be made", "What was recorded is safe. Load the page again; if it stays like this, the server's log says why."}
)

func unknownAnimal(id string) error {
	return problem{http.StatusNotFound, "No animal has the id " + id, "It may have been entered at a facility that you don't see. Pick one from Animals."}
}

func unknownFacility(code string) error {
	return problem{http.StatusNotFound, "No facility has the code " + code, "It may be one that you don't see. Pick one from Today."}
}

type problemPage struct {
	frame
	Status int
	Remedy string
}

func (s *site) showProblem(w http.ResponseWriter, r *http.Request, p problem) error {
	page := problemPage{frame: s.frame(r, "", p.title), Status: p.status, Remedy: p.remedy}
	return s.show(w, p.status, "problem", page)
}
