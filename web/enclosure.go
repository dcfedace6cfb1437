package web

import (
	"net/http"
	"net/url"
)

// enclosurePage is the company of one enclosure: who is in charge, how sure
// that is, what is changing, and who may live with whom.
type enclosurePage struct {
	frame
	Asked             groupAsk
	Facility, Name    string
	Home              string // path of the page as it opens
	Back              string // path of all enclosures of the facility
	Zone, Today       string
	Lead, Believed    string
	Caution           string
	Methods           []link
	Method, MethodHow string
	Watched           bool // there are two animals or more
	Loud              []heldPair
	Ladder            ladderPart
	Encounters        encounterPart
	Changed           changedPart
	Ratings           ratingPart
	Company           companyPart
	Held              heldPart
	Periods           periodPart
	Compare           comparePart
	Figures           figurePart
}

func (s *site) enclosure(w http.ResponseWriter, r *http.Request) error {
	g, err := s.group(r)
	if err != nil {
		return err
	}
	page := enclosurePage{frame: s.frame(r, "Colony", "Who gives way in "+g.order.Name), Asked: g.ask, Facility: g.facility.Name, Zone: g.facility.Zone}
	page.fill(g, page.Visitor)
	return s.show(w, http.StatusOK, "enclosure", page)
}

func (p *enclosurePage) fill(g *group, visitor Visitor) {
	o := g.order
	p.Name, p.Home, p.Back, p.Today = o.Name, g.ask.home(), "/colony?facility="+url.QueryEscape(g.ask.Facility), string(g.today)
	p.Caution, p.Watched = o.Caution, len(o.Animals) > 1
	p.Lead = g.lead(p.Facility)
	if g.asOf.day != "" {
		p.Believed = "This is what was believed at the end of " + longDay(g.asOf.day) + ". What came in later is left out."
	}
	p.Methods, p.Method, p.MethodHow = g.methods(), methodWords[o.Method], methodNotes[o.Method]
	p.Loud = g.loud()
	p.Ladder, p.Encounters, p.Changed = ladderPartOf(g), encounterPartOf(o), changedPartOf(g)
	p.Ratings, p.Company = ratingPartOf(g), companyPartOf(g)
	p.Held, p.Periods = heldPartOf(g, visitor), periodPartOf(g, visitor)
	p.Compare, p.Figures = comparePartOf(g), figurePartOf(o)
}
