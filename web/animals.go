package web

import (
	"fmt"
	"net/http"
	"time"

	"haulout/projections"
)

type animalsPage struct {
	frame
	Lead   string
	Choice choice
	Groups []animalsGroup
	Left   []leftRow
}

type animalsGroup struct {
	Code, Name string
	Rows       []animalRow
}

type animalRow struct {
	ID, Name          string
	Tape              int
	Taxon, Latin, Sex string
	Age, Enclosure    string
	Weight, Weighed   string
	Fed               fedCell
}

// leftRow is an animal that is in nobody's care any more.
type leftRow struct {
	ID, Name   string
	Tape       int
	Taxon, Sex string
	Facility   string
	Left       string
	When       string
}

func (s *site) animals(w http.ResponseWriter, r *http.Request) error {
	shown, links, err := s.facilities(r)
	if err != nil {
		return err
	}
	page := animalsPage{frame: s.frame(r, "Animals", "Animals"), Choice: links}
	now, total := s.Now(), 0
	for _, f := range shown {
		group, err := s.animalsGroup(f, now)
		if err != nil {
			return err
		}
		page.Groups = append(page.Groups, group)
		total += len(group.Rows)
	}
	if page.Left, err = s.left(shown, now); err != nil {
		return err
	}
	page.Lead = inCare(total, len(page.Left))
	return s.show(w, http.StatusOK, "animals", page)
}

func inCare(n, left int) string {
	if n+left == 0 {
		return "No animals on record yet. The first animal.entered brings one in."
	}
	if left == 0 {
		return plural(n, "animal", "animals") + " in care."
	}
	return fmt.Sprintf("%s in care, %s.", plural(n, "animal", "animals"), plural(left, "has left", "have left"))
}

func (s *site) animalsGroup(f projections.Facility, now time.Time) (animalsGroup, error) {
	g := animalsGroup{Code: f.Code, Name: f.Name}
	roster, err := s.Store.Roster(f.Code, now, time.Time{})
	if err != nil {
		return g, err
	}
	pools, err := s.enclosureNames(f.Code)
	if err != nil {
		return g, err
	}
	heard, err := s.heard(f.Code)
	if err != nil {
		return g, err
	}
	zone := s.Store.Zone(f.Code)
	for _, h := range roster {
		n, err := s.seen(h.Animal.ID, projections.DayOf(now, zone), now)
		if err != nil {
			return g, err
		}
		row := animalRowOf(h, n, pools[h.Enclosure], now, zone)
		if n.feeds() == 0 && now.Sub(heard) > silence {
			row.Fed = fedCell{Text: "not heard", Gap: true}
		}
		g.Rows = append(g.Rows, row)
	}
	return g, nil
}

func animalRowOf(h projections.Housed, n seen, pool string, now time.Time, zone *time.Location) animalRow {
	row := animalRow{
		ID: h.Animal.ID, Name: h.Animal.Name, Tape: h.Animal.Tape, Taxon: sentence(taxon(h.Animal.Taxon)), Latin: h.Animal.Taxon,
		Sex: h.Animal.Sex, Age: age(h.Animal.Born, now), Enclosure: pool, Fed: n.fedCell(),
	}
	if n.weight != nil {
		row.Weight, row.Weighed = kg(n.weight.Kg*1000), whichDay(n.weight.Time, now, zone)
	}
	return row
}

// left lists the animals whose last stay, at one of the facilities, is over.
func (s *site) left(shown []projections.Facility, now time.Time) ([]leftRow, error) {
	all, err := s.Store.Animals(time.Time{})
	if err != nil {
		return nil, err
	}
	var out []leftRow
	for _, a := range all {
		stay := a.Stays[len(a.Stays)-1]
		if stay.Until == nil || a.Stay(now) != nil {
			continue
		}
		for _, f := range shown {
			if f.Code == stay.Facility {
				out = append(out, leftRow{
					ID: a.ID, Name: a.Name, Tape: a.Tape, Taxon: sentence(taxon(a.Taxon)), Sex: a.Sex, Facility: f.Name,
					Left: leftWords(stay), When: onDate(*stay.Until, s.Store.Zone(f.Code)),
				})
			}
		}
	}
	return out, nil
}

// leftWords say how a stay ended.
func leftWords(stay projections.Stay) string {
	words := map[string]string{"death": "died", "release": "released", "move": "moved"}[stay.Left]
	if stay.To != "" {
		words += ", " + stay.To
	}
	return words
}

func onDate(t time.Time, zone *time.Location) string {
	return t.In(zone).Format("2" + nb + "January" + nb + "2006")
}
