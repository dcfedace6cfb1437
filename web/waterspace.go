package web

import (
	"net/http"
	"slices"

	"haulout/projections"
)

// spacePart is whether an enclosure has the space that the rule asks for.
type spacePart struct {
	State     waterState
	Sentence  string
	Who       string
	Rows      []spaceRow
	Volume    string
	Notes     []string
	Missing   []string
	Cited     string
	Others    []spaceOther // who could move in
	Caution   string
	Asked     bool // with newcomers
	Effective string
}

type spaceRow struct {
	What, Required, Present string
	State                   waterState
	Words                   string
}

// spaceOther is an animal that could move in.
type spaceOther struct {
	ID, Name, Where string
	Chosen          bool
}

func (s *site) spacePart(ask waterAsk, a *projections.WaterAnswer) (spacePart, error) {
	housed, err := s.spaceHoused(ask)
	if err != nil {
		return spacePart{}, err
	}
	for _, id := range ask.with {
		if !slices.ContainsFunc(housed, func(h projections.Housed) bool { return h.Animal.ID == id }) {
			return spacePart{}, problem{http.StatusBadRequest, "A newcomer can’t be found", "Give with the id of an animal in care at " + ask.facility.Name + ", or leave it out."}
		}
	}
	answer, err := s.Store.SpaceOf(ask.facility.Code, a.Enclosure, ask.now, ask.asOf.moment, ask.with...)
	if err != nil {
		return spacePart{}, spaceTrouble(err)
	}
	pools, err := s.enclosureNames(ask.facility.Code)
	if err != nil {
		return spacePart{}, err
	}
	return spacePartOf(answer, housed, pools, ask.with), nil
}

// spaceHoused are the animals in the care of the facility.
func (s *site) spaceHoused(ask waterAsk) ([]projections.Housed, error) {
	all, err := s.Store.Animals(ask.asOf.moment)
	return housedAt(all, ask.facility.Code, ask.now), err
}

func spacePartOf(a *projections.SpaceAnswer, housed []projections.Housed, pools map[string]string, with []string) spacePart {
	out := spacePart{
		State: spaceStates[a.Standing], Sentence: a.Sentence, Cited: a.Cited, Effective: a.Effective,
		Caution: a.Caution, Volume: spaceMetric(a.Volume, "m³"), Asked: len(with) > 0,
	}
	for _, note := range a.Notes {
		out.Notes = append(out.Notes, sentence(note))
	}
	out.Missing = a.Missing
	var who []string
	for _, one := range a.Animals {
		name := one.Name
		if one.Newcomer {
			name += " (newcomer)"
		}
		who = append(who, name)
	}
	out.Who = listed(who)
	for _, m := range a.Measures {
		row := spaceRow{sentence(m.What), spaceMetric(m.Required, m.Unit), "not on record", spaceStates[m.Standing], sentence(m.Words)}
		if m.Present != nil {
			row.Present = spaceMetric(*m.Present, m.Unit)
		}
		out.Rows = append(out.Rows, row)
	}
	for _, h := range housed {
		if h.Enclosure != a.Enclosure {
			out.Others = append(out.Others, spaceOther{h.Animal.ID, h.Animal.Name, orElse(pools[h.Enclosure], "no enclosure on record"), slices.Contains(with, h.Animal.ID)})
		}
	}
	return out
}

// spaceMetric writes a length, an area or a volume as exactly as the rule asks
// for it.
func spaceMetric(v float64, unit string) string {
	if unit == "m2" {
		unit = "m²"
	}
	return waterShort(v) + nb + unit
}
