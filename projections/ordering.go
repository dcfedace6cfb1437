package projections

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections/dominance"
	"haulout/projections/energetics"
)

// ordering is an order on its way.
type ordering struct {
	ask     OrderAsk
	now     time.Time
	zone    *time.Location
	end     time.Time // the moment whose company is put in order
	periods []Period
	out     *Order

	lived  map[string]*Animal // by id, all that ever lived there
	ids    []string           // those in the order, by name
	names  map[string]string  // unique within the order
	met    []dated[*metRow]   // in the window
	rated  []dated[*ratedDay] // in the window
	steady *ratedRow          // the last of these, whole; nil where there is none
	held   []dated[*watchedRow]
	sums   map[[2]string]*metPair
	matrix dominance.Matrix
	shared [][]time.Duration
	judged dominance.Verdict
}

func (o *ordering) ref() events.Ref { return Local("enclosure", o.ask.Facility, o.ask.Enclosure) }

// work goes from rows to the answer.
func (o *ordering) work(v view) (err error) {
	if err = o.read(v); err != nil {
		return err
	}
	if err = o.group(v); err != nil {
		return err
	}
	if err = o.count(); err != nil {
		return err
	}
	if err = o.judge(); err != nil {
		return err
	}
	if err = o.figures(); err != nil {
		return err
	}
	o.evidence()
	o.lines()
	o.suggest()
	turned, err := o.turned(v)
	if err != nil {
		return err
	}
	o.out.Turned = append(o.out.Turned, turned...)
	if o.out.Contact, err = v.contactRates(o.ref(), o.ask.To); err != nil {
		return err
	}
	judgements, err := v.judgements(slices.Sorted(slices.Values(o.ids)), o.end)
	o.out.Judgements = append(o.out.Judgements, judgements...)
	return err
}

// read takes the rows of the window.
func (o *ordering) read(v view) (err error) {
	if o.met, err = shared[metRow](v, &hierarchy, o.ref(), o.ask.From, o.ask.To); err != nil {
		return err
	}
	if o.rated, err = shared[ratedDay](v, &ratings, o.ref(), o.ask.From, o.ask.To); err != nil {
		return err
	}
	if n := len(o.rated); n > 0 {
		if o.steady, err = row[ratedRow](v, &ratings, Scope{o.ref(), o.rated[n-1].Day}); err != nil {
			return err
		}
	}
	o.held, err = shared[watchedRow](v, &watches, o.ref(), o.ask.From, o.ask.To)
	return err
}

// group finds those who live together at the end of the window. Pups that still
// drink milk are left out until they are seen to meet others.
func (o *ordering) group(v view) error {
	all, err := every[Animal](v, &animals)
	if err != nil {
		return err
	}
	if o.sums, err = v.pairSums(o.ref(), o.ask.From, o.ask.To); err != nil {
		return err
	}
	o.settle(all)
	return nil
}

// settle sorts out who is in the order.
func (o *ordering) settle(all []Animal) {
	slices.SortFunc(all, func(a, b Animal) int { return compareNames(a.Name, a.ID, b.Name, b.ID) })
	o.lived, o.names = map[string]*Animal{}, map[string]string{}
	for i := range all {
		a := &all[i]
		if len(spansIn(a, o.ask.Facility, o.ask.Enclosure)) == 0 {
			continue
		}
		o.lived[a.ID] = a
		if place := a.Place(o.end); place == nil || place.Facility != o.ask.Facility || place.Enclosure != o.ask.Enclosure {
			continue
		}
		if taxon, _ := energetics.TaxonOf(a.Taxon); a.suckledOn(o.end, taxon.WeanedDays) && !o.everMet(a.ID) {
			o.out.LeftOut = append(o.out.LeftOut, LeftOut{a.ID, a.Name, "with its mother, and not seen to meet others"})
			continue
		}
		o.ids = append(o.ids, a.ID)
	}
	o.call()
}

func (o *ordering) everMet(animal string) bool {
	for pair, p := range o.sums {
		if (pair[0] == animal || pair[1] == animal) && p.Won+p.Lost+p.Draws > 0 {
			return true
		}
	}
	return false
}

// call gives each animal a name that no other in the order has.
func (o *ordering) call() {
	times := map[string]int{}
	for _, id := range o.ids {
		times[o.lived[id].Name]++
	}
	for _, id := range o.ids {
		name := o.lived[id].Name
		if times[name] > 1 {
			name += " (" + id + ")"
		}
		o.names[id] = name
	}
}

// pairSums adds up the pairs of an enclosure over days from … to. The sums are
// shared: they are to be read only.
func (v view) pairSums(enclosure events.Ref, from, to Day) (map[[2]string]*metPair, error) {
	of := stretch{p: &hierarchy, refs: []events.Ref{enclosure}}
	return madeOf(v, fmt.Sprintf("pairs of %s over %s to %s", enclosure.ID, from, to), of, func() (map[[2]string]*metPair, error) {
		days, err := shared[metRow](v, &hierarchy, enclosure, from, to)
		return sumPairs(days), err
	})
}

// sumPairs adds the days up.
func sumPairs(days []dated[*metRow]) map[[2]string]*metPair {
	out := map[[2]string]*metPair{}
	for _, day := range days {
		for _, p := range day.Row.Pairs {
			key := [2]string{p.A, p.B}
			if out[key] == nil {
				out[key] = &metPair{A: p.A, B: p.B, Apart: map[string]int{}}
			}
			out[key].plus(p)
		}
	}
	return out
}

func (p *metPair) plus(more metPair) {
	p.Won, p.Lost, p.Draws = p.Won+more.Won, p.Lost+more.Lost, p.Draws+more.Draws
	p.Contact, p.Injuries = p.Contact+more.Contact, p.Injuries+more.Injuries
	for why, n := range more.Apart {
		p.Apart[why] += n
	}
	if more.Last.After(p.Last) {
		p.Last = more.Last
	}
}

// spansIn are the times that an animal lived in an enclosure.
func spansIn(a *Animal, facility, enclosure string) (out []dominance.Stay) {
	for i, p := range a.Places {
		if p.Facility != facility || p.Enclosure != enclosure {
			continue
		}
		stay := dominance.Stay{Animal: a.ID, Place: facility + "/" + enclosure, From: p.From}
		if i+1 < len(a.Places) {
			stay.Until = a.Places[i+1].From
		}
		if care := a.Stay(p.From); care != nil && care.Until != nil && (stay.Until.IsZero() || care.Until.Before(stay.Until)) {
			stay.Until = *care.Until
		}
		out = append(out, stay)
	}
	return out
}

// count makes the matrix, and how long each pair lived together.
func (o *ordering) count() (err error) {
	var stays []dominance.Stay
	for _, id := range o.ids {
		stays = append(stays, spansIn(o.lived[id], o.ask.Facility, o.ask.Enclosure)...)
	}
	o.matrix = matrixOf(o.ids, o.names, o.sums)
	o.shared, err = dominance.Together(o.ids, stays, o.ask.From.Start(o.zone), o.end)
	return err
}

// matrixOf counts sums of pairs into a matrix that is called by name.
func matrixOf(ids []string, names map[string]string, sums map[[2]string]*metPair) dominance.Matrix {
	m := dominance.Matrix{Wins: make([][]float64, len(ids)), Undecided: make([][]int, len(ids))}
	for i, id := range ids {
		m.IDs = append(m.IDs, names[id])
		m.Wins[i], m.Undecided[i] = make([]float64, len(ids)), make([]int, len(ids))
		for j, other := range ids {
			if p := sums[pairOf(id, other)]; p != nil && i != j {
				won := p.Won
				if other < id {
					won = p.Lost
				}
				m.Wins[i][j], m.Undecided[i][j] = float64(won)+float64(p.Draws)/2, p.Draws
			}
		}
	}
	return m
}

func pairOf(a, b string) [2]string { return [2]string{min(a, b), max(a, b)} }

// evidence says what the order rests on.
func (o *ordering) evidence() {
	e := &o.out.Evidence
	apart := map[string]int{}
	for pair, p := range o.sums {
		counted := p.Won + p.Lost + p.Draws
		if !slices.Contains(o.ids, pair[0]) || !slices.Contains(o.ids, pair[1]) {
			e.Elsewhere += counted
			continue
		}
		e.Encounters, e.Undecided = e.Encounters+counted, e.Undecided+p.Draws
		for why, n := range p.Apart {
			apart[why] += n
		}
		if e.Last == nil || p.Last.After(*e.Last) {
			last := p.Last
			e.Last = &last
		}
	}
	for _, why := range slices.Sorted(maps.Keys(apart)) {
		e.Apart = append(e.Apart, Reckoned{why, apart[why]})
	}
	if len(o.ids) > 0 {
		e.PerAnimal = float64(e.Encounters) / float64(len(o.ids))
	}
	p := o.judged.Pairs
	e.Pairs, e.Unseen, e.Never = p.Lived, len(p.Unseen), len(p.Never)
	e.Sampling = append(e.Sampling, o.sampling(e.Encounters+e.Elsewhere)...)
}

// sampling sorts the encounters of the window by how they came to be noted.
func (o *ordering) sampling(all int) (out []SampledBy) {
	by, method := map[string]*SampledBy{}, map[string]string{}
	add := func(name string) *SampledBy {
		if by[name] == nil {
			by[name] = &SampledBy{Method: name}
		}
		return by[name]
	}
	for _, day := range o.held {
		for _, w := range day.Row.Watches {
			m := add(w.Method)
			m.Watches, m.Hours = m.Watches+1, m.Hours+w.Hours()
			method[w.ID] = w.Method
		}
	}
	for _, day := range o.met {
		for _, w := range day.Row.Watches {
			if name := method[w.Watch]; name != "" {
				add(name).Encounters += w.Counted
				all -= w.Counted
			}
		}
	}
	if all > 0 {
		add("ad_libitum").Encounters += all
	}
	for _, name := range slices.Sorted(maps.Keys(by)) {
		out = append(out, *by[name])
	}
	return out
}

// lines are the ratings on the days that an animal was seen to meet another.
func (o *ordering) lines() {
	points := map[string][]RatingPoint{}
	for _, day := range o.rated {
		if day.Row.Day != day.Day {
			continue // nothing counted on that day
		}
		o.out.SeenDays = append(o.out.SeenDays, day.Day)
		for _, m := range day.Row.Moved {
			low, high := dominance.Believed{Points: m.Points, Deviation: m.Off}.Range()
			points[m.Animal] = append(points[m.Animal], RatingPoint{day.Day, m.Points, low, high, m.Plain})
		}
	}
	for _, a := range o.out.Animals {
		o.out.Ratings = append(o.out.Ratings, RatingLine{a.Animal, append([]RatingPoint{}, points[a.Animal]...)})
	}
}

// suggest lists changes since the period began after which a new one may be in
// place: who joined others and who left them, and the turn of the season of
// grown males.
func (o *ordering) suggest() {
	if len(o.ids) < 2 {
		return
	}
	joined, left := map[Day][]string{}, map[Day][]string{}
	for _, id := range sortedKeys(o.lived) {
		a := o.lived[id]
		for _, span := range spansIn(a, o.ask.Facility, o.ask.Enclosure) {
			if from := DayOf(span.From, o.zone); o.someoneBefore(from) {
				joined[from] = append(joined[from], a.Name)
			}
			if !span.Until.IsZero() {
				until := DayOf(span.Until, o.zone)
				left[until] = append(left[until], a.Name)
			}
		}
	}
	for day, names := range joined {
		o.suggestOn(day, "introduction", strings.Join(names, ", ")+" joined")
	}
	for day, names := range left {
		o.suggestOn(day, "separation", strings.Join(names, ", ")+" left")
	}
	o.suggestSeason()
	slices.SortFunc(o.out.Suggested, func(a, b SuggestedPeriod) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Reason, b.Reason))
	})
}

// someoneBefore says that an animal had come to live there before a day, and had
// not left: who comes to an empty pool joins nobody.
func (o *ordering) someoneBefore(day Day) bool {
	for _, a := range o.lived {
		for _, span := range spansIn(a, o.ask.Facility, o.ask.Enclosure) {
			if DayOf(span.From, o.zone) < day && (span.Until.IsZero() || DayOf(span.Until, o.zone) >= day) {
				return true
			}
		}
	}
	return false
}

// suggestOn leaves out what a period answers already: one that began since that day.
func (o *ordering) suggestOn(day Day, reason, why string) {
	if day <= o.out.From || day > o.out.To {
		return
	}
	for _, p := range o.periods {
		if began := DayOf(p.From, o.zone); began >= day && began <= o.out.To {
			return
		}
	}
	o.out.Suggested = append(o.out.Suggested, SuggestedPeriod{day, reason, why})
}

// suggestSeason looks at the first of each month: where grown males begin or
// end the months in which they are known to fast and defend.
func (o *ordering) suggestSeason() {
	for at := o.out.From.Start(o.zone); !at.After(o.end); at = time.Date(at.Year(), at.Month()+1, 1, 0, 0, 0, 0, o.zone) {
		for _, id := range o.ids {
			a := o.lived[id]
			now, _ := energetics.FastExpected(a.classOn(at), at.Month())
			before, _ := energetics.FastExpected(a.classOn(at), at.AddDate(0, 0, -1).Month())
			if at.Day() == 1 && now != before {
				word := "begin"
				if before {
					word = "end"
				}
				o.suggestOn(DayOf(at, o.zone), "season", "the breeding months of grown males "+word)
				break
			}
		}
	}
}

// classOn is what is known of an animal's class from its own record.
func (a *Animal) classOn(at time.Time) energetics.Class {
	c := energetics.Class{Taxon: a.Taxon, Sex: a.Sex}
	if span, ok := events.ParseSpan(a.Born); ok {
		if born, known := span.Middle(); known {
			c.Years = max(0, at.Sub(born).Hours()/24/365.25)
		}
	}
	return c
}
