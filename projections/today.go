package projections

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections/board"
	"haulout/projections/energetics"
	"haulout/projections/growth"
)

// Board is what needs a person at a facility, in order of harm and age.
type Board struct {
	Facility string       `json:"facility"`
	Name     string       `json:"name"`
	At       time.Time    `json:"at"`
	Heard    time.Time    `json:"heard"` // when the last record came in
	Silent   bool         `json:"silent"`
	Calls    []BoardCall  `json:"calls"`
	PutOff   []BoardCall  `json:"put_off"` // until later, or in no need of anybody
	Caution  string       `json:"caution"`
	Rules    []board.Rule `json:"rules"`
}

// BoardCall is one line of the board.
type BoardCall struct {
	ID       string      `json:"id"`
	Rule     string      `json:"rule"`
	Subject  string      `json:"subject"`
	Sort     string      `json:"sort"`            // animal, enclosure, water, fishroom or facility
	Place    string      `json:"place,omitempty"` // the enclosure
	Name     string      `json:"name"`
	Tape     int         `json:"tape,omitempty"`
	Since    time.Time   `json:"since"`
	Harm     int         `json:"harm"` // 1 now, 2 today, 3 when there is time
	What     string      `json:"what"`
	Evidence string      `json:"evidence"`
	Behind   []string    `json:"behind"`
	Next     string      `json:"next"`
	Cited    string      `json:"cited"`
	Answer   *CallAnswer `json:"answer"` // the last one that holds
}

// BoardCaution stands beside every board.
const BoardCaution = "What is listed is worked out from what was written down. It is no diagnosis: the veterinarian and the people responsible decide, and local law comes first."

// boardDays is how far back the board looks for the last of what is done often.
const boardDays = 35

// Today works out the board of a facility; nil where it is not open. Now is the
// moment that is asked from.
func (s *Store) Today(facility string, now, asOf time.Time) (out *Board, err error) {
	heard, err := s.heard(facility)
	if err != nil {
		return nil, err
	}
	b := &boarding{facility: facility, heard: heard}
	err = s.at(asOf, func(v view) error {
		if b.zone = v.zone(facility); b.zone == nil {
			return nil
		}
		b.v, b.now = v, now.In(b.zone)
		if err := b.begin(); err != nil {
			return err
		}
		return b.work()
	})
	if b.out == nil || err != nil {
		return nil, err
	}
	return b.out, nil
}

// heard is when the last record of a facility came in.
func (s *Store) heard(facility string) (time.Time, error) {
	head := s.Head(facility)
	if head.Number == 0 {
		return time.Time{}, nil
	}
	lines, err := s.Lines(facility, head.Number-1, 1)
	if err != nil || len(lines) == 0 {
		return time.Time{}, err
	}
	last, err := events.DecodeEnvelope(lines[0])
	return last.Recorded, err
}

func (s *Store) halted(facility string) string {
	if s.Halted == nil {
		return ""
	}
	return s.Halted(facility)
}

// boarding is a board on its way.
type boarding struct {
	v        view
	facility string
	zone     *time.Location
	now      time.Time
	today    Day
	heard    time.Time
	house    board.House
	all      []Animal
	taught   map[string]bool // animals with a behaviour that is being taught
	tapes    map[string]int
	body     boardBody
	out      *Board
	calls    []board.Call
}

func (b *boarding) begin() (err error) {
	opened, err := b.v.opened(b.facility, nil)
	if err != nil || opened == nil {
		return err
	}
	set, err := b.v.houseValues(b.facility, b.now)
	if err != nil {
		return err
	}
	b.house = set
	if b.all, err = every[Animal](b.v, &animals); err != nil {
		return err
	}
	b.today, b.tapes = DayOf(b.now, b.zone), map[string]int{}
	b.out = &Board{
		Facility: b.facility, Name: opened.Name, At: b.now.UTC(), Heard: b.heard, Caution: BoardCaution, Rules: board.Rules(),
		Calls: []BoardCall{}, PutOff: []BoardCall{},
	}
	call, silent := board.Silent(b.facility, opened.Name, b.heard, b.now, b.house)
	if b.out.Silent = silent; silent {
		b.calls = append(b.calls, call)
	}
	if why := b.v.s.halted(b.facility); why != "" {
		b.calls = append(b.calls, board.Halted(b.facility, opened.Name, why, b.heard, b.now))
	}
	return b.learning()
}

// learning finds the animals that are being taught something.
func (b *boarding) learning() error {
	list, err := every[Behaviour](b.v, &behaviours)
	b.taught = map[string]bool{}
	for _, one := range list {
		if one.Facility == b.facility && one.Dropped == nil {
			b.taught[one.Animal] = true
		}
	}
	return err
}

func (b *boarding) work() error {
	if err := b.readBody(); err != nil {
		return err
	}
	for i := range b.all {
		a := &b.all[i]
		stay := a.Stay(b.now)
		if stay == nil || stay.Facility != b.facility {
			continue
		}
		b.tapes[a.ID] = a.Tape
		seen, err := b.animal(a, stay)
		if err != nil {
			return err
		}
		b.calls = append(b.calls, seen.Calls(b.house)...)
	}
	for _, more := range []func() error{b.company, b.fishroom, b.held, b.waters} {
		if err := more(); err != nil {
			return err
		}
	}
	return b.answer()
}

// animal gathers what the rules ask of an animal.
func (b *boarding) animal(a *Animal, stay *Stay) (out board.Animal, err error) {
	ref := events.Ref{Sort: "animal", ID: a.ID}
	out = board.Animal{ID: a.ID, Name: a.Name, At: b.now, Entered: stay.From, Heard: !b.out.Silent, Coat: b.body.coats[a.ID]}
	days, err := shared[dayRow](b.v, &days, ref, b.today.Add(-boardDays), b.today)
	if err != nil {
		return out, err
	}
	b.daily(&out, days, a.ID)
	if err = b.weighed(&out, ref); err != nil {
		return out, err
	}
	if err = b.checked(&out, ref); err != nil {
		return out, err
	}
	if err = b.ordered(&out, ref); err != nil {
		return out, err
	}
	if err = b.ration(&out, ref, days); err != nil {
		return out, err
	}
	out.Expected = energetics.Expected(a.classOn(b.now), b.now.Month(), sinceBirth(b.all, a.ID, b.now, b.zone))
	if milk, _ := energetics.TaxonOf(a.Taxon); a.suckledOn(b.now, milk.WeanedDays) {
		out.Yesterday, out.Ate, out.Refused = nil, time.Time{}, time.Time{} // it lives on milk
	}
	return out, nil
}

// daily follows appetite, looks and trials through the days.
func (b *boarding) daily(out *board.Animal, days []dated[*dayRow], animal string) {
	late := b.today.Add(1 - int(b.house.Value("trials_days")))
	out.Trials.Since = late.Start(b.zone)
	var taught time.Time
	for _, d := range days {
		r := d.Row
		eating(out, r)
		if r.Check != nil {
			out.Checked = r.Check.Time
		}
		if r.Coat != nil {
			out.CoatScored = r.Coat.Time
		}
		if r.Trials > 0 {
			taught = d.Day.Start(b.zone)
		}
		if d.Day >= late {
			out.Trials.Lately, out.Trials.LatelyRefused = out.Trials.Lately+r.Trials, out.Trials.LatelyRefused+r.NotTried
		} else {
			out.Trials.Before, out.Trials.BeforeRefused = out.Trials.Before+r.Trials, out.Trials.BeforeRefused+r.NotTried
		}
	}
	if b.taught[animal] && !taught.IsZero() {
		out.Taught = []board.Taught{{Name: "training", Last: taught}}
	}
}

// eating follows when an animal last ate and what it refused since.
func eating(out *board.Animal, r *dayRow) {
	if r.LastFed == nil {
		return
	}
	if out.Ate.IsZero() {
		out.Ate = *r.FirstFed
	}
	if r.LastEaten != nil {
		out.Ate, out.Refused, out.Refusals = *r.LastEaten, time.Time{}, 0
	}
	if r.Refusals > 0 && r.LastFed.After(out.Ate) {
		out.Refused, out.Refusals = *r.LastFed, out.Refusals+r.Refusals
	}
}

func (b *boarding) weighed(out *board.Animal, ref events.Ref) error {
	list, err := shared[weighings](b.v, &weights, ref, b.today.Add(-boardDays), b.today)
	if err != nil {
		return err
	}
	var series []growth.Weighing
	for _, day := range list {
		for _, w := range day.Row.List {
			out.Weighed = w.Time
			series = append(series, beside(b.facility, day.Day, w))
		}
	}
	if len(series) == 0 {
		last, err := latest[weighings](b.v, &weights, ref, b.today)
		if last != nil {
			out.Weighed = last.Row.List[len(last.Row.List)-1].Time
		}
		return err
	}
	out.Changes, err = b.changes(series, out.Weighed)
	return err
}

func (b *boarding) checked(out *board.Animal, ref events.Ref) error {
	last, err := latest[checkedRow](b.v, &checks, ref, b.today)
	if last == nil || err != nil {
		return err
	}
	for _, f := range last.Row.Open {
		if f.Facility == b.facility {
			out.Findings = append(out.Findings, board.Finding{Since: f.Since, Region: f.Region, Word: f.Word, By: f.By, Urgent: f.Urgent})
		}
	}
	return nil
}

// ordered counts the doses of every order that holds.
func (b *boarding) ordered(out *board.Animal, ref events.Ref) error {
	all, err := row[ordersRow](b.v, &orders, Scope{Ref: ref})
	if all == nil || err != nil {
		return err
	}
	for _, o := range all.Orders {
		if o.Facility == b.facility {
			out.Ordered = append(out.Ordered, o.news()...)
		}
		if !o.holds(b.now) || o.Facility != b.facility {
			continue
		}
		due, err := b.doses(o, ref)
		if err != nil {
			return err
		}
		out.Orders = append(out.Orders, due)
	}
	slices.SortStableFunc(out.Ordered, func(a, b board.OrderNews) int { return a.At.Compare(b.At) })
	return nil
}

// unitText turns codes of units of doses into what people write.
var unitText = strings.NewReplacer("{", "", "}", "", "[iU]", "IU", "ug", "µg")

// news are that an order was given, and that it was ended before its time.
func (m MedicalOrder) news() []board.OrderNews {
	often := "once"
	if m.Daily > 0 {
		often = fmt.Sprintf("%d a day", m.Daily)
	}
	out := []board.OrderNews{{ID: m.Order, By: m.Veterinarian, Words: fmt.Sprintf("%s, %s %s, %s", m.Medication, m.Dose.Value, unitText.Replace(m.Dose.Unit), often), At: m.From}}
	if m.Ended != "" {
		out = append(out, board.OrderNews{ID: m.Order, By: m.Veterinarian, Words: m.Ended, At: *m.Until, Ended: true})
	}
	return out
}

// doses counts what was given of an order. The one dose of an order without a
// number a day is due until it is given.
func (b *boarding) doses(o MedicalOrder, ref events.Ref) (board.Order, error) {
	yesterday := b.today.Add(-1)
	due := board.Order{ID: o.Order, Medication: o.Medication, Due: max(o.Daily, 1), WholeYesterday: o.From.Before(yesterday.Start(b.zone))}
	from := yesterday
	if o.Daily == 0 {
		from, due.WholeYesterday = DayOf(o.From, b.zone), o.From.Before(b.today.Start(b.zone))
	}
	given, err := shared[medicatedRow](b.v, &medications, ref, from, b.today)
	for _, day := range given {
		n := 0
		for _, dose := range day.Row.Doses {
			n += one(dose.countsFor(o))
		}
		switch {
		case o.Daily == 0:
			due.Today, due.Yesterday = due.Today+n, due.Yesterday+n
		case day.Day == yesterday:
			due.Yesterday = n
		default:
			due.Today = n
		}
	}
	return due, err
}

// ration holds yesterday's feeds against the ration of that day.
func (b *boarding) ration(out *board.Animal, ref events.Ref, days []dated[*dayRow]) error {
	set, err := row[Rations](b.v, &rations, Scope{Ref: ref})
	if err != nil {
		return err
	}
	yesterday := b.today.Add(-1)
	noon := yesterday.Start(b.zone).Add(12 * time.Hour)
	held := set.At(noon)
	if held == nil || held.Facility != b.facility || out.Entered.After(yesterday.Start(b.zone)) {
		return nil
	}
	out.Yesterday = &board.Fed{Ration: held.Grams(), Day: yesterday.Start(b.zone)}
	for _, d := range days {
		if d.Day == yesterday {
			out.Yesterday.Feeds = d.Row.Feeds
			for _, item := range d.Row.Items {
				out.Yesterday.Eaten += grams(item.Eaten)
			}
		}
	}
	return nil
}
