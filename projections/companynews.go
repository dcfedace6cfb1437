package projections

import (
	"slices"
	"time"

	"haulout/events"
)

// CompanyNews is what of an enclosure's company a lead keeper is to hear of.
type CompanyNews struct {
	Enclosure string
	Name      string
	Turned    []TurnedPair
	Contact   *ContactRates   // where it rises
	Injuries  []EncounterLine // of the last days, newest first
	Together  []JudgedPair    // live together and are to be kept apart
}

// injuryDays is for how many days an injury in an encounter is told, today
// included. Common practice, no source.
const injuryDays = 3

// CompanyNews lists the enclosures of a facility that there is news of, by name.
func (s *Store) CompanyNews(facility string, now, asOf time.Time) (out []CompanyNews, err error) {
	err = s.at(asOf, func(v view) error {
		all, err := every[Animal](v, &animals)
		if err != nil {
			return err
		}
		pools, err := every[Enclosure](v, &enclosures)
		if err != nil {
			return err
		}
		slices.SortFunc(pools, func(a, b Enclosure) int { return compareNames(a.Name, a.ID, b.Name, b.ID) })
		for _, e := range pools {
			if e.Facility != facility {
				continue
			}
			news, err := v.companyNews(e, all, now)
			if err != nil {
				return err
			}
			if len(news.Turned)+len(news.Injuries)+len(news.Together) > 0 || news.Contact != nil {
				out = append(out, news)
			}
		}
		return nil
	})
	return out, err
}

func (v view) companyNews(e Enclosure, all []Animal, now time.Time) (out CompanyNews, err error) {
	out.Enclosure, out.Name = e.ID, e.Name
	o := &ordering{ask: OrderAsk{Facility: e.Facility, Enclosure: e.ID}, now: now}
	if known, err := o.begin(v); !known || err != nil {
		return out, err
	}
	o.out.From = max(o.out.From, o.out.To.Add(-longestNews))
	if o.met, err = shared[metRow](v, &hierarchy, o.ref(), o.out.From, o.out.To); err != nil {
		return out, err
	}
	if o.sums, err = v.pairSums(o.ref(), o.out.From, o.out.To); err != nil {
		return out, err
	}
	if o.settle(all); len(o.ids) < 2 {
		return out, nil
	}
	if err := o.count(); err != nil {
		return out, err
	}
	if out.Turned, err = o.turned(v); err != nil {
		return out, err
	}
	contact, err := v.contactRates(o.ref(), o.out.To)
	if err != nil {
		return out, err
	}
	if contact.Rising {
		out.Contact = &contact
	}
	if out.Injuries, err = v.injuries(o.ref(), o.out.To.Add(1-injuryDays), o.out.To); err != nil {
		return out, err
	}
	out.Together, err = v.togetherThough(o.ids, o.end)
	return out, err
}

// longestNews is how many days before today what changed lately is held
// against, where no period began since.
const longestNews = 182

// togetherThough are the pairs of those who live together that are to be kept
// apart.
func (v view) togetherThough(ids []string, at time.Time) (out []JudgedPair, err error) {
	holding, err := v.judgements(ids, at)
	for _, p := range holding {
		if p.Verdict == "apart" {
			out = append(out, p)
		}
	}
	return out, err
}

// injuries lists the encounters of an enclosure in which an injury was noted,
// newest first.
func (v view) injuries(enclosure events.Ref, from, to Day) (out []EncounterLine, err error) {
	days, err := shared[metRow](v, &hierarchy, enclosure, from, to)
	if err != nil {
		return nil, err
	}
	for _, day := range slices.Backward(days) {
		if !slices.ContainsFunc(day.Row.Pairs, func(p metPair) bool { return p.Injuries > 0 }) {
			continue
		}
		recs, err := v.records(&hierarchy, Scope{enclosure, day.Day}, nil)
		if err != nil {
			return nil, err
		}
		for _, rec := range slices.Backward(recs) {
			if rec.Body.(*events.EncounterSeen).Injury {
				out = append(out, encounterLine(&rec))
			}
		}
	}
	return out, nil
}
