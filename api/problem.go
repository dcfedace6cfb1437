package api

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"

	"haulout/events"
)

// kind of problem: RFC 9457 type, title, status, and what to do.
type kind struct {
	Slug   string `json:"problem"`
	Title  string `json:"title"`
	Status int    `json:"status"`
	Remedy string `json:"remedy"`
}

var (
	malformed     = kind{"malformed", "The request can't be read", 400, "Mend the request; sending it again as it is will not help."}
	unauthorized  = kind{"unauthorized", "Sign in first", 401, "Send a token that staff add gave out, and keep what you wanted to record."}
	forbidden     = kind{"forbidden", "Your role does not reach this", 403, "Ask a steward for a role that holds here and allows it."}
	notFound      = kind{"not-found", "There is no such thing", 404, "Check the id or the name."}
	unknownRoute  = kind{"unknown-route", "Nothing is served here", 404, "See /api/openapi.json for what is."}
	reusedID      = kind{"reused-id", "The id was used for something else", 409, "Make a new id for a new fact. To change what was recorded, record a correction."}
	tooLarge      = kind{"too-large", "The request is too large", 413, "Send fewer facts at once."}
	photoTooLarge = kind{"photo-too-large", "The photo is too large", 413, "Send it smaller; what is kept has 1,600 pixels at the most."}
	noPhoto       = kind{"no-photo", "The photo can't be kept", 422, "Take it again, as a JPEG or PNG, or record the finding without it."}
	refusedEntry  = kind{"entries-refused", "Some entries can't be taken, and nothing was recorded", 422, "Mend the entries named in problems and send them all again."}
	internal      = kind{"internal", "Something went wrong in the server", 500, "Try again; if it stays, look at the server's log."}
	notNow        = kind{"not-now", "The server takes no facts at the moment", 503, "Keep the facts and send them again."}
	noSpace       = kind{"no-space", "The disk of the server is nearly full", 507, "Keep the facts, make room on the server's disk, and send them again."}
)

var kinds = []kind{malformed, unauthorized, forbidden, notFound, unknownRoute, reusedID, tooLarge, photoTooLarge, noPhoto, refusedEntry, internal, notNow, noSpace}

// details is the body of a problem answer.
type details struct {
	Type     string                `json:"type"`
	Title    string                `json:"title"`
	Status   int                   `json:"status"`
	Detail   string                `json:"detail"`
	Instance string                `json:"instance"`
	Remedy   string                `json:"remedy"`
	Problems []events.EntryProblem `json:"problems,omitempty"`
}

func problem(w http.ResponseWriter, r *http.Request, k kind, detail string, entries ...events.EntryProblem) {
	w.Header().Set("Content-Type", "application/problem+json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(k.Status)
	// The status is out; a caller who hung up can't be told more.
	_ = json.NewEncoder(w).Encode(details{"/api/v1/problems/" + k.Slug, k.Title, k.Status, detail, r.URL.Path, k.Remedy, entries})
}

// failed answers an error with the problem that it is.
func failed(w http.ResponseWriter, r *http.Request, err error) {
	if refused, ok := errors.AsType[events.Refused](err); ok {
		problem(w, r, refusedEntry, refused.Error(), firstOfEach(refused)...)
		return
	}
	if c, ok := errors.AsType[*events.Conflict](err); ok {
		problem(w, r, reusedID, c.Error(), events.EntryProblem{Index: c.Index, ID: c.ID, Problem: events.Problem{Field: "id", Detail: "was used for other content"}})
		return
	}
	problem(w, r, kindOf(err), err.Error())
}

// maxProblems bounds what is said of one entry, so that a small request can't
// ask for a huge answer.
const maxProblems = 20

func firstOfEach(all events.Refused) (out events.Refused) {
	said := map[int]int{}
	for _, p := range all {
		if said[p.Index]++; said[p.Index] <= maxProblems {
			out = append(out, p)
		}
	}
	return out
}

func kindOf(err error) kind {
	if _, ok := errors.AsType[events.Refused](err); ok {
		return refusedEntry
	}
	if _, ok := errors.AsType[*events.Conflict](err); ok {
		return reusedID
	}
	switch {
	case errors.Is(err, events.ErrSpace):
		return noSpace
	case errors.Is(err, events.ErrReadOnly), errors.Is(err, events.ErrFilling), errors.Is(err, events.ErrStopping),
		errors.Is(err, events.ErrNotWritten), errors.Is(err, context.Canceled):
		return notNow
	case errors.Is(err, errPhoto):
		return noPhoto
	case errors.Is(err, errWrong):
		return malformed
	case errors.Is(err, errNotFound):
		return notFound
	case errors.Is(err, errForbidden):
		return forbidden
	}
	return internal
}

var (
	errWrong     = errors.New("the request is wrong")
	errNotFound  = errors.New("not found")
	errForbidden = errors.New("out of reach")
)
