package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"time"

	"haulout/events"
	"haulout/projections"
)

// deckPage is the same for everybody: who is looking and what the facility
// holds comes with the sheet, so that a phone may keep the page.
type deckPage struct {
	Static, Build string
	Coats         []coatStage
}

// coatStage is one of the six discs: how much of the coat is new.
type coatStage struct {
	Stage, Words string
	Disc         string // path of the filled part
}

// coatStages are drawn at the upper end of what each stage means.
var coatStages = []coatStage{
	{"0", "0 none", ""},
	{"1", "1 started", "M17 17V3A14 14 0 0 1 25.2 5.7z"},
	{"2", "2 to half", "M17 17V3A14 14 0 0 1 17 31z"},
	{"3", "3 past half", "M17 17V3A14 14 0 1 1 8.8 5.7z"},
	{"4", "4 nearly", "M17 17V3A14 14 0 1 1 13.5 3.4z"},
	{"5", "5 all new", "M17 3A14 14 0 1 1 17 31A14 14 0 1 1 17 3z"},
}

func (s *site) deck(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Cache-Control", "no-cache")
	w.Header().Set("ETag", `"`+s.assets.hash+`"`)
	if r.Header.Get("If-None-Match") == `"`+s.assets.hash+`"` {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	return s.show(w, http.StatusOK, "deck", deckPage{Static: s.assets.folder(), Build: s.assets.hash, Coats: coatStages})
}

// sheet is what a phone needs to log facts with no line to the server.
type sheet struct {
	Build      string           `json:"build"`
	Now        time.Time        `json:"now"`
	Visitor    sheetVisitor     `json:"visitor"`
	Notices    []string         `json:"notices"`
	Facility   sheetFacility    `json:"facility"`
	Facilities []sheetFacility  `json:"facilities"`
	UpTo       uint64           `json:"up_to"` // last entry that is in the figures
	Animals    []sheetAnimal    `json:"animals"`
	Enclosures []sheetEnclosure `json:"enclosures"`
	Waters     []sheetWater     `json:"waters"`
	Quantities []sheetQuantity  `json:"quantities"`
	Foods      []sheetFood      `json:"foods"`
	Behaviours []sheetBehaviour `json:"behaviours"`
}

type sheetVisitor struct {
	Name    string `json:"name"`
	Records bool   `json:"records"`
}

type sheetFacility struct {
	Code string `json:"code"`
	Name string `json:"name"`
	Zone string `json:"zone"`
}

type sheetAnimal struct {
	ID        string             `json:"id"`
	Name      string             `json:"name"`
	Tape      int                `json:"tape"`
	Enclosure string             `json:"enclosure"`
	Pool      string             `json:"pool"` // what people call the enclosure
	Ration    []sheetRation      `json:"ration"`
	Eaten     map[string]float64 `json:"eaten"` // grams today by food
	Fed       *time.Time         `json:"fed,omitempty"`
	Weight    *sheetWeight       `json:"weight,omitempty"`
	Coat      *sheetCoat         `json:"coat,omitempty"`
	Recent    []sheetEntry       `json:"recent"`
	sheetCare
}

// sheetEnclosure is one with animals in it, and what was seen of their company last.
type sheetEnclosure struct {
	ID     string       `json:"id"`
	Recent []sheetEntry `json:"recent"`
}

type sheetRation struct {
	Food  string  `json:"food"`
	Grams float64 `json:"grams"`
}

// sheetWeight is the last weight, and the least and greatest of 30 days up to
// it: what is well outside is asked about once.
type sheetWeight struct {
	Kg    float64   `json:"kg"`
	Time  time.Time `json:"time"`
	Coat  string    `json:"coat,omitempty"`
	Least float64   `json:"least"`
	Most  float64   `json:"most"`
	Count int       `json:"count"`
}

// sheetCoat is the last coat score: a molt that seems to run backwards is asked
// about once.
type sheetCoat struct {
	Stage string    `json:"stage"`
	Time  time.Time `json:"time"`
}

type sheetEntry struct {
	ID     string          `json:"id"`
	Type   string          `json:"type"`
	Time   time.Time       `json:"time"`
	By     string          `json:"by"`
	Text   string          `json:"text"`
	State  string          `json:"state"`
	Number uint64          `json:"number"`
	Data   json.RawMessage `json:"data"`
}

type sheetFood struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Lot  string `json:"lot,omitempty"` // thawed last
}

type sheetBehaviour struct {
	ID     string        `json:"id"`
	Animal string        `json:"animal"`
	Name   string        `json:"name"`
	Steps  []events.Step `json:"steps"`
	At     int           `json:"at"` // step of the last trial
}

func (s *site) sheet(w http.ResponseWriter, r *http.Request) error {
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "no-store")
	visitor := s.Visitor(r)
	if !visitor.SignedIn {
		return sendProblem(w, http.StatusUnauthorized, "Sign in to load the animals")
	}
	out, err := s.sheetOf(r, visitor)
	if p, ok := err.(problem); ok {
		return sendProblem(w, p.status, p.title)
	}
	if err != nil {
		s.Log.Error("make the sheet of the Deck", "error", err)
		return sendProblem(w, http.StatusInternalServerError, broken.title)
	}
	return json.NewEncoder(w).Encode(out)
}

// sendProblem answers in RFC 9457, for a program and not a person.
func sendProblem(w http.ResponseWriter, status int, title string) error {
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(status)
	return json.NewEncoder(w).Encode(map[string]any{"type": "about:blank", "title": title, "status": status})
}

func (s *site) sheetOf(r *http.Request, visitor Visitor) (*sheet, error) {
	out := &sheet{
		Build: s.assets.hash, Now: s.Now().UTC(), Visitor: sheetVisitor{visitor.Name, visitor.Records},
		Notices: append([]string{}, s.notices()...), Animals: []sheetAnimal{}, Enclosures: []sheetEnclosure{}, Waters: []sheetWater{}, Foods: []sheetFood{}, Behaviours: []sheetBehaviour{},
	}
	if err := s.sheetFacilities(out, visitor, r.URL.Query().Get("facility")); err != nil || out.Facility.Code == "" {
		return out, err
	}
	if err := s.sheetFoods(out); err != nil {
		return nil, err
	}
	if err := s.steadily(out, s.sheetAnimals); err != nil {
		return nil, err
	}
	if err := s.sheetEnclosures(out); err != nil {
		return nil, err
	}
	if err := s.sheetWaters(out); err != nil {
		return nil, err
	}
	return out, s.sheetBehaviours(out)
}

// steadily reads figures anew when a record came in between, a few times: the
// phone adds its own entries above UpTo, so none may be in the figures already.
func (s *site) steadily(out *sheet, read func(*sheet) error) error {
	for range 4 {
		out.UpTo, out.Animals = s.Store.Head(out.Facility.Code).Number, []sheetAnimal{}
		if err := read(out); err != nil {
			return err
		}
		if s.Store.Head(out.Facility.Code).Number == out.UpTo {
			return nil
		}
	}
	return nil
}

// sheetFacilities chooses the facility that is asked for, or the first.
func (s *site) sheetFacilities(out *sheet, visitor Visitor, asked string) error {
	all, err := s.Store.Facilities(time.Time{})
	if err != nil {
		return err
	}
	out.Facilities = []sheetFacility{}
	for _, f := range all {
		if !visitor.sees(f.Code) {
			continue
		}
		one := sheetFacility{f.Code, f.Name, f.Zone}
		out.Facilities = append(out.Facilities, one)
		if f.Code == asked || (asked == "" && out.Facility.Code == "") {
			out.Facility = one
		}
	}
	if asked != "" && out.Facility.Code == "" {
		return unknownFacility(asked)
	}
	return nil
}

func (s *site) sheetAnimals(out *sheet) error {
	facility := out.Facility.Code
	roster, err := s.Store.Roster(facility, out.Now, time.Time{})
	if err != nil {
		return err
	}
	pools, err := s.enclosureNames(facility)
	if err != nil {
		return err
	}
	names, err := s.names(asOf{})
	if err != nil {
		return err
	}
	for _, h := range roster {
		one, err := s.sheetAnimal(h, out.Now, names)
		if err != nil {
			return err
		}
		one.Pool = pools[h.Enclosure]
		out.Animals = append(out.Animals, one)
	}
	return nil
}

func (s *site) sheetAnimal(h projections.Housed, now time.Time, names names) (out sheetAnimal, err error) {
	out = sheetAnimal{ID: h.Animal.ID, Name: h.Animal.Name, Tape: h.Animal.Tape, Enclosure: h.Enclosure, Ration: []sheetRation{}, Eaten: map[string]float64{}}
	n, err := s.seen(out.ID, projections.DayOf(now, s.Store.Zone(h.Facility)), now)
	if err != nil {
		return out, err
	}
	if n.ration != nil {
		for _, item := range n.ration.Items {
			out.Ration = append(out.Ration, sheetRation{item.Food, item.Mass.Float("g")})
		}
	}
	if n.today != nil {
		out.Fed = n.today.LastFed
		for _, item := range n.today.Items {
			out.Eaten[item.Food] += item.EatenG
		}
	}
	coat, err := s.Store.LastCoat(out.ID, projections.DayOf(now, s.Store.Zone(h.Facility)))
	if err != nil {
		return out, err
	}
	if coat != nil && coat.Stage != "" {
		out.Coat = &sheetCoat{coat.Stage, coat.Time}
	}
	if out.Weight, err = s.sheetWeight(out.ID, n.weight); err != nil {
		return out, err
	}
	if out.sheetCare, err = s.sheetCare(h, now); err != nil {
		return out, err
	}
	out.Recent, err = s.recent(events.Ref{Sort: "animal", ID: out.ID}, deckKinds, now, names)
	return out, err
}

func (s *site) sheetEnclosures(out *sheet) error {
	names, err := s.names(asOf{})
	if err != nil {
		return err
	}
	for _, a := range out.Animals {
		known := slices.ContainsFunc(out.Enclosures, func(e sheetEnclosure) bool { return e.ID == a.Enclosure })
		if a.Enclosure == "" || known {
			continue
		}
		recent, err := s.recent(projections.Local("enclosure", out.Facility.Code, a.Enclosure), companyKinds, out.Now, names)
		if err != nil {
			return err
		}
		out.Enclosures = append(out.Enclosures, sheetEnclosure{a.Enclosure, recent})
	}
	return nil
}

func (s *site) sheetWeight(animal string, last *projections.Weighing) (*sheetWeight, error) {
	if last == nil {
		return nil, nil
	}
	day := projections.DayOf(last.Time, s.Store.Zone(last.Facility))
	list, err := s.Store.Weights(animal, day.Add(-30), day, time.Time{})
	if err != nil || len(list) == 0 {
		return nil, err
	}
	least, most := ends(list)
	return &sheetWeight{last.Kg, last.Time, last.Coat, least, most, len(list)}, nil
}

// The kinds that the Deck makes: its tabs about an animal, its pads about the
// company of an enclosure.
var (
	deckKinds    = append([]string{"feed.given", "weight.taken", "coat.scored", "encounter.seen", "trial.scored"}, careKinds...)
	companyKinds = []string{"encounter.seen", "watch.held", "company.scanned"}
)

const recentEntries = 5

// recent lists the last entries about an animal or an enclosure, so that any of
// them can be put right beside the pool.
func (s *site) recent(about events.Ref, kinds []string, now time.Time, names names) ([]sheetEntry, error) {
	list, _, err := s.Store.Records(projections.Query{
		Ref: about, Kinds: kinds, From: now.AddDate(0, 0, -7), To: now, Limit: recentEntries,
	})
	out := []sheetEntry{}
	for _, l := range list {
		e := l.Event()
		data := json.RawMessage(e.Data)
		if l.Now != nil {
			data = l.Now
		}
		out = append(out, sheetEntry{e.ID, e.Type, e.Time, e.Author, names.words(e), l.State, e.Number, data})
	}
	return out, err
}

func (s *site) sheetFoods(out *sheet) error {
	foods, err := s.Store.Foods(out.Facility.Code, time.Time{})
	if err != nil {
		return err
	}
	lots, err := s.Store.Lots(out.Facility.Code, time.Time{})
	if err != nil {
		return err
	}
	for _, f := range foods {
		out.Foods = append(out.Foods, sheetFood{f.ID, f.Name, thawedLast(lots, f.ID)})
	}
	return nil
}

// thawedLast is the lot that the buckets are filled from: the one that was
// thawed last. A lot that nobody thawed is never guessed.
func thawedLast(lots []projections.Lot, food string) (id string) {
	var last time.Time
	for _, l := range lots {
		if l.Food == food && l.LastThaw != nil && l.LastThaw.After(last) {
			id, last = l.ID, *l.LastThaw
		}
	}
	return id
}

func (s *site) sheetBehaviours(out *sheet) error {
	list, err := s.Store.Behaviours(out.Facility.Code, time.Time{})
	if err != nil {
		return err
	}
	for _, b := range list {
		here := slices.ContainsFunc(out.Animals, func(a sheetAnimal) bool { return a.ID == b.Animal })
		if b.Dropped != nil || !here {
			continue
		}
		step, err := s.lastStep(b, out.Now)
		if err != nil {
			return err
		}
		out.Behaviours = append(out.Behaviours, sheetBehaviour{b.ID, b.Animal, b.Name, b.Steps, step})
	}
	return nil
}

// lastStep is the step of the last trial of 60 days, the first where there was none.
func (s *site) lastStep(b projections.Behaviour, now time.Time) (int, error) {
	list, _, err := s.Store.Records(projections.Query{
		Ref: projections.Local("behaviour", b.Facility, b.ID), Kinds: []string{"trial.scored"}, From: now.AddDate(0, 0, -60), To: now, Limit: 1,
	})
	if err != nil || len(list) == 0 {
		return 1, err
	}
	if trial, ok := list[0].Event().Body.(*events.TrialScored); ok {
		return trial.Step, nil
	}
	return 1, nil
}
