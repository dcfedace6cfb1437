package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"haulout/events"
	"haulout/projections"
)

type animalPage struct {
	frame
	ID, Name string
	Tape     int
	Lead     string
	Latin    string
	Parents  []link
	AsOf     string // the day asked for, "" for now
	Believed string // the line that says so
	Today    string // the greatest day that may be asked for
	Facts    []fact
	Energy   energy
	Feeding  feeding
	Weighing weighing
	Mass     massSection
	Coat     coatSection
	Care     carePart
	Entries  []entryLine
	Older    string // path of the next page of entries
	Newest   bool   // the entries are the newest ones
	Marks    []markRow
	Stays    []stayRow
	Query    string // as_of to carry on, with its question mark
}

type fact struct{ Name, Value, Note string }

// entryLine is one record and what became of it.
type entryLine struct {
	Time   string
	Text   string
	Struck bool   // the text no longer counts
	Now    string // what counts instead
	Reason string
	By     string
	Number string
}

type markRow struct{ Scheme, Code, Where, Seen string }

type stayRow struct {
	Facility, From, How, Until string
	Enclosures                 []string
}

// asOf is the moment up to which records count; zero is now.
type asOf struct {
	moment time.Time
	day    projections.Day
}

// readAsOf takes the end of the day that is asked for, at the facility.
func readAsOf(q url.Values, zone *time.Location, now time.Time) (asOf, error) {
	text := q.Get("as_of")
	if text == "" {
		return asOf{}, nil
	}
	day, err := projections.ParseDay(text)
	if err != nil {
		return asOf{}, problem{http.StatusBadRequest, "The day can't be read", "as_of " + err.Error() + "."}
	}
	if day > projections.DayOf(now, zone) {
		return asOf{}, problem{http.StatusBadRequest, "The day is still to come", "Give as_of a day up to today; nothing is known of later ones."}
	}
	return asOf{day.End(zone), day}, nil
}

// file is an animal and what the page needs to read about it.
type file struct {
	animal *projections.Animal
	home   string // the facility it is or was last at
	zone   *time.Location
	asOf   asOf
	now    time.Time // or the end of the day that is asked for
	today  projections.Day
}

// open finds the animal and checks that the visitor sees one of its facilities.
func (s *site) open(r *http.Request) (f file, err error) {
	id := r.PathValue("id")
	current, err := s.Store.Animal(id, time.Time{})
	if err != nil {
		return f, err
	}
	visitor := s.Visitor(r)
	if current == nil || !slices.ContainsFunc(current.Stays, func(st projections.Stay) bool { return visitor.sees(st.Facility) }) {
		return f, unknownAnimal(id)
	}
	f.home = current.Stays[len(current.Stays)-1].Facility
	f.zone = s.Store.Zone(f.home)
	if f.asOf, err = readAsOf(r.URL.Query(), f.zone, s.Now()); err != nil {
		return f, err
	}
	f.animal, f.now = current, s.Now()
	f.today = projections.DayOf(f.now, f.zone)
	if f.asOf.day != "" {
		f.today = f.asOf.day
		if f.asOf.moment.Before(f.now) {
			f.now = f.asOf.moment.Add(-time.Second)
		}
		f.animal, err = s.Store.Animal(id, f.asOf.moment)
	}
	if err == nil && f.animal == nil {
		return f, problem{http.StatusNotFound, current.Name + " was not on record yet", "The first entry came in after " + longDay(f.asOf.day) + ". Choose a later day."}
	}
	return f, err
}

// ended says that the last day shown is over.
func (f file) ended() bool { return f.asOf.day != "" && !f.asOf.moment.After(f.now.Add(time.Second)) }

func (s *site) animal(w http.ResponseWriter, r *http.Request) error {
	f, err := s.open(r)
	if err != nil {
		return err
	}
	names, err := s.names(f.asOf)
	if err != nil {
		return err
	}
	page := animalPage{frame: s.frame(r, "Animals", f.animal.Name), ID: f.animal.ID, Name: f.animal.Name, Tape: f.animal.Tape, Latin: f.animal.Taxon}
	page.AsOf, page.Today = string(f.asOf.day), string(projections.DayOf(s.Now(), f.zone))
	if f.asOf.day != "" {
		page.Query = "?as_of=" + page.AsOf
		page.Believed = "This is what was believed at the end of " + longDay(f.asOf.day) + ". What came in later is left out."
	}
	if page.Lead, err = s.lead(f, names); err != nil {
		return err
	}
	page.Parents = parents(f.animal, names)
	if err := s.figures(&page, f, names); err != nil {
		return err
	}
	if page.Energy, err = s.energy(f); err != nil {
		return err
	}
	if page.Mass, err = s.mass(f); err != nil {
		return err
	}
	if page.Coat, err = s.coat(f); err != nil {
		return err
	}
	if page.Care, err = s.care(f, page.Visitor, names); err != nil {
		return err
	}
	if err := s.entries(&page, f, names, r.URL.Query().Get("before")); err != nil {
		return err
	}
	page.Marks, page.Stays = marks(f), s.stays(f, names)
	return s.show(w, http.StatusOK, "animal", page)
}

// lead says who the animal is and where and with whom it lives.
func (s *site) lead(f file, names names) (string, error) {
	a := f.animal
	kind := taxon(a.Taxon)
	if a.Sex != "unknown" {
		kind = a.Sex + " " + kind
	}
	text := sentence(kind) + ", " + age(a.Born, f.now)
	if words := bornWords(a.Born); words != "" {
		text += ", " + words
	}
	stay, place := a.Stay(f.now), a.Place(f.now)
	if stay == nil {
		last := a.Stays[len(a.Stays)-1]
		return text + ". No longer in care: " + leftWords(last) + ".", nil
	}
	text += ". " + names.of("facility", stay.Facility)
	if place == nil {
		return text + ".", nil
	}
	with, err := s.company(f, place)
	if err != nil {
		return "", err
	}
	text += ", " + names.in("enclosure", place.Facility, place.Enclosure)
	if len(with) > 0 {
		return text + " with " + listed(with) + ".", nil
	}
	return text + ", alone.", nil
}

// company lists who shares the enclosure.
func (s *site) company(f file, place *projections.Place) ([]string, error) {
	roster, err := s.Store.Roster(place.Facility, f.now, f.asOf.moment)
	var out []string
	for _, h := range roster {
		if h.Enclosure == place.Enclosure && h.Animal.ID != f.animal.ID {
			out = append(out, h.Animal.Name)
		}
	}
	return out, err
}

func parents(a *projections.Animal, names names) []link {
	var out []link
	for _, p := range []struct{ word, id string }{{"Dam", a.Dam}, {"Sire", a.Sire}} {
		if p.id == "" {
			continue
		}
		l := link{Name: p.word + " " + names.of("animal", p.id)}
		if _, known := names[events.Ref{Sort: "animal", ID: p.id}]; known {
			l.Path = "/animals/" + p.id
		}
		out = append(out, l)
	}
	return out
}

// figures reads days and weights once, for the facts, charts and tables.
func (s *site) figures(page *animalPage, f file, names names) error {
	p, err := s.span(f)
	if err != nil {
		return err
	}
	weights, err := s.Store.Weights(f.animal.ID, "0001-01-01", f.today, f.asOf.moment)
	if err != nil {
		return err
	}
	ration, err := s.Store.Ration(f.animal.ID, f.now, f.asOf.moment)
	if err != nil {
		return err
	}
	page.Feeding, page.Weighing = feedingOf(p), weighingOf(weights, p, f.now)
	page.Facts = facts(p, weights, ration, f, names)
	return nil
}

func (s *site) span(f file) (span, error) {
	p := span{from: f.today.Add(1 - deskDays), to: f.today, zone: f.zone, logged: map[projections.Day]*projections.AnimalDay{}, ended: f.ended()}
	p.inCare = func(d projections.Day) bool {
		for _, stay := range f.animal.Stays {
			if !stay.From.After(d.End(f.zone)) && (stay.Until == nil || stay.Until.After(d.Start(f.zone))) {
				return true
			}
		}
		return false
	}
	list, err := s.Store.Days(f.animal.ID, p.from, p.to, f.asOf.moment)
	for i := range list {
		p.logged[list[i].Day] = &list[i]
	}
	return p, err
}

func facts(p span, weights []projections.Weighing, ration *projections.Ration, f file, names names) []fact {
	n := seen{ration: ration}
	for d := p.from; d <= p.to; d = d.Add(1) {
		if day := p.logged[d]; day != nil {
			n.see(day, p.to)
		}
	}
	out := []fact{n.fedFact(f), weightFact(weights, f), n.coatFact(f), n.lookedFact(p, f)}
	if ration != nil {
		out = append(out, fact{"Ration", kg(ration.Grams()) + " a day", names.ration(ration.Items, ration.Facility) + ", set " + onDate(ration.From, f.zone) + " by " + ration.By})
	}
	return out
}

func (n *seen) fedFact(f file) fact {
	if n.fed == nil {
		return fact{"Last fed", "not logged", fmt.Sprintf("in %d days", deskDays)}
	}
	day := "today "
	if f.asOf.day != "" {
		day = "that day "
	}
	return fact{"Last fed", when(*n.fed, f.now, f.zone), day + n.fedCell().Text}
}

func weightFact(weights []projections.Weighing, f file) fact {
	if len(weights) == 0 {
		return fact{"Weight", "none", "never weighed here"}
	}
	last := weights[len(weights)-1]
	return fact{"Weight", kg(last.Kg * 1000), onDate(last.Time, f.zone) + after(last.Coat)}
}

func (n *seen) coatFact(f file) fact {
	if n.coat == nil {
		return fact{"Coat", "not scored", fmt.Sprintf("in %d days", deskDays)}
	}
	return fact{"Coat", coat(n.coat.Stage, n.coat.NewCoat), when(n.coat.Time, f.now, f.zone) + ", " + n.coat.By}
}

func (n *seen) lookedFact(p span, f file) fact {
	for d := p.to; d >= p.from; d = d.Add(-1) {
		if day := p.logged[d]; day != nil && day.Check != nil {
			return fact{"Looked over", when(day.Check.Time, f.now, f.zone), day.Check.By + ", " + plural(day.Check.Findings, "finding", "findings")}
		}
	}
	return fact{"Looked over", "not logged", fmt.Sprintf("in %d days", deskDays)}
}

const entriesAPage = 30

func (s *site) entries(page *animalPage, f file, names names, before string) error {
	list, next, err := s.Store.Records(projections.Query{
		Ref: events.Ref{Sort: "animal", ID: f.animal.ID}, To: f.now, AsOf: f.asOf.moment, Cursor: before, Limit: entriesAPage,
	})
	if err != nil {
		return problem{http.StatusBadRequest, "The entries can't be listed", err.Error() + "."}
	}
	for _, l := range list {
		line, err := s.entryLine(l, f, names)
		if err != nil {
			return err
		}
		page.Entries = append(page.Entries, line)
	}
	page.Newest = before == ""
	if next != "" {
		q := url.Values{"before": {next}}
		if page.AsOf != "" {
			q.Set("as_of", page.AsOf)
		}
		page.Older = "/animals/" + f.animal.ID + "?" + q.Encode() + "#entries"
	}
	return nil
}

func (s *site) entryLine(l projections.Listed, f file, names names) (entryLine, error) {
	e := l.Event()
	zone := s.Store.Zone(e.Facility)
	line := entryLine{
		Time: when(e.Time, f.now, zone), Text: names.words(e), By: e.Author,
		Number: names.of("facility", e.Facility) + " " + count(e.Number), Struck: l.State != "counts",
	}
	if !line.Struck {
		return line, nil
	}
	var err error
	if line.Reason, err = s.reason(l.Fixes); err != nil || l.State == "withdrawn" {
		line.Now = "withdrawn"
		return line, err
	}
	fixed, err := events.Draft{ID: e.ID, Type: e.Type, Time: l.NowTime.Format(time.RFC3339Nano), Facility: e.Facility, Data: l.Now}.Fact()
	if err != nil {
		return line, fmt.Errorf("read the correction of %s: %w", e.ID, err)
	}
	line.Now = names.words(fixed)
	if !l.NowTime.Equal(e.Time) {
		line.Now = when(*l.NowTime, f.now, zone) + ", " + line.Now
	}
	return line, nil
}

// reason is what the last correction or withdrawal of an entry says.
func (s *site) reason(fixes []string) (string, error) {
	if len(fixes) == 0 {
		return "", nil
	}
	fix, err := s.Store.Find(fixes[len(fixes)-1])
	if err != nil || fix == nil {
		return "", err
	}
	switch body := fix.Body.(type) {
	case *events.EntryCorrected:
		return body.Reason + ", " + fix.Author, nil
	case *events.EntryWithdrawn:
		return body.Reason + ", " + fix.Author, nil
	}
	return "", nil
}

func marks(f file) []markRow {
	var out []markRow
	for _, m := range f.animal.Marks {
		out = append(out, markRow{schemeWords(m.Scheme), m.Code, m.Where, onDate(m.Seen, f.zone)})
	}
	return out
}

func (s *site) stays(f file, names names) []stayRow {
	var out []stayRow
	for _, stay := range slices.Backward(f.animal.Stays) {
		zone := s.Store.Zone(stay.Facility)
		row := stayRow{Facility: names.of("facility", stay.Facility), From: onDate(stay.From, zone), How: stay.How + after(stay.Origin), Until: "now"}
		if stay.Until != nil {
			row.Until = onDate(*stay.Until, zone) + ", " + leftWords(stay)
		}
		for _, place := range slices.Backward(f.animal.Places) {
			if place.Facility == stay.Facility && !place.From.Before(stay.From) && (stay.Until == nil || place.From.Before(*stay.Until)) {
				row.Enclosures = append(row.Enclosures, names.in("enclosure", place.Facility, place.Enclosure)+" from "+onDate(place.From, zone))
			}
		}
		out = append(out, row)
	}
	return out
}
