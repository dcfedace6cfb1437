package rules

import (
	"fmt"
	"slices"
	"time"
)

// Due is a test that an enclosure's water is to have.
type Due struct {
	What    string `json:"what"`
	Rule    string `json:"rule"`
	By      string `json:"by"`             // the last day for it
	Last    string `json:"last,omitempty"` // the day of the last test; "" where there is none
	Overdue bool   `json:"overdue,omitempty"`
	Cited   string `json:"cited"`
	Words   string `json:"words"`
}

// WaterPlan is which tests are due, the soonest first, and in words which are
// not asked for and why, or can't be told.
type WaterPlan struct {
	Due   []Due    `json:"due"`
	Notes []string `json:"notes"`
}

// WaterDue says which tests an enclosure's water is to have next: coliforms at
// least weekly, pH and what is added at least daily, natural sea water free of
// the latter while nothing is added (9 CFR 3.106(b)). Last is when each was last
// tested, by the name of the reading; days are counted in the zone of now.
func WaterDue(w Water, last map[string]time.Time, now time.Time, h House) WaterPlan {
	out := WaterPlan{Due: []Due{}, Notes: []string{}}
	out.add("total_coliform", "coliform_days", last, now, h)
	switch {
	case w.Salt == "sea" && w.Treated != "yes":
		note := waterReference.Sea.Says + ", by " + waterReference.Sea.Cited()
		if w.Treated == "" {
			note += "; whether any are added here is not on record"
		}
		out.Notes = append(out.Notes, note)
		return out.sorted()
	case w.Treated == "":
		out.Notes = append(out.Notes, "whether chemicals are added is not on record; each that is added is tested daily, by "+water["chemical_days"].Cited())
	case w.Treated == "yes" && len(w.Added) == 0:
		out.Notes = append(out.Notes, "which chemicals are added is not on record; each is tested daily, by "+water["chemical_days"].Cited())
	}
	out.add("ph", "ph_days", last, now, h)
	if w.Treated == "yes" {
		for _, what := range w.Added {
			out.add(what, "chemical_days", last, now, h)
		}
	}
	return out.sorted()
}

func (p *WaterPlan) add(what, rule string, last map[string]time.Time, now time.Time, h House) {
	set := h.Setting(rule)
	today := now.Format(time.DateOnly)
	often := "at least once in " + set.Words
	d := Due{What: what, Rule: rule, By: today, Cited: set.Cited()}
	name := Reading{What: what}.name()
	if when, ok := last[what]; ok && !when.After(now) {
		when = when.In(now.Location())
		d.Last, d.By = when.Format(time.DateOnly), when.AddDate(0, 0, int(set.InForce)).Format(time.DateOnly)
		d.Words = fmt.Sprintf("%s by %s: last tested on %s, %s", name, d.By, d.Last, often)
	} else {
		d.Overdue = true
		d.Words = fmt.Sprintf("%s today: no test is on record, %s", name, often)
	}
	d.Overdue = d.Overdue || today > d.By
	p.Due = append(p.Due, d)
}

func (p WaterPlan) sorted() WaterPlan {
	slices.SortStableFunc(p.Due, func(a, b Due) int {
		if a.By < b.By {
			return -1
		}
		if a.By > b.By {
			return 1
		}
		return 0
	})
	return p
}

// Through are those due up to a day, such as the end of the week.
func (p WaterPlan) Through(day string) (out []Due) {
	for _, d := range p.Due {
		if d.By <= day {
			out = append(out, d)
		}
	}
	return out
}
