package web

import (
	"net/http"
	"time"

	"haulout/events"
	"haulout/projections"
)

// choice is the row of links that narrows a page to one facility. It is empty
// where there is only one.
type choice []link

// facilities reads what the visitor may see: all of it, and what of it the
// query ?facility= asks for.
func (s *site) facilities(r *http.Request) (shown []projections.Facility, links choice, err error) {
	all, err := s.Store.Facilities(time.Time{})
	if err != nil {
		return nil, nil, err
	}
	visitor, asked := s.Visitor(r), r.URL.Query().Get("facility")
	links = choice{{"All facilities", r.URL.Path, asked == ""}}
	for _, f := range all {
		if !visitor.sees(f.Code) {
			continue
		}
		links = append(links, link{f.Name, r.URL.Path + "?facility=" + f.Code, asked == f.Code})
		if asked == "" || asked == f.Code {
			shown = append(shown, f)
		}
	}
	if asked != "" && len(shown) == 0 {
		return nil, nil, unknownFacility(asked)
	}
	if len(links) < 3 {
		links = nil
	}
	return shown, links, nil
}

// heard is when the last record of a facility came in; zero where none did.
func (s *site) heard(facility string) (time.Time, error) {
	head := s.Store.Head(facility)
	if head.Number == 0 {
		return time.Time{}, nil
	}
	lines, err := s.Store.Lines(facility, head.Number-1, 1)
	if err != nil || len(lines) == 0 {
		return time.Time{}, err
	}
	last, err := events.DecodeEnvelope(lines[0])
	return last.Recorded, err
}
