package projections

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"haulout/projections/dominance"
)

// orderSeed is the seed of everything that is thrown for an order: the same
// records give the same ranges.
const orderSeed = 1

// judge puts the matrix to the gates, and gives each animal its place.
func (o *ordering) judge() (err error) {
	if o.judged, err = dominance.Judge(o.told()); err != nil {
		return err
	}
	j := o.judged
	o.out.State, o.out.Sentence = j.State, j.Sentence
	for _, g := range j.Failed {
		o.out.Gates = append(o.out.Gates, OrderGate{g.Name, g.Keeps, g.Why})
	}
	o.out.Near, o.out.ToWatch = append(o.out.Near, o.namedPairs(j.Near)...), append(o.out.ToWatch, o.namedPairs(j.Watch)...)
	if err = o.stand(); err != nil {
		return err
	}
	o.byAnother()
	o.pairs()
	o.contradictions()
	return nil
}

// byAnother says first how another method than that of the verdict puts them.
func (o *ordering) byAnother() {
	if o.ask.Method == OrderMethods[0] || o.out.State == dominance.NoOrder || len(o.ids) < 3 {
		return
	}
	var names []string
	for _, a := range o.out.Animals {
		names = append(names, o.names[a.Animal])
	}
	o.out.Sentence = fmt.Sprintf("By %s: %s. By normalised David's score: %s", methodWords[o.ask.Method], strings.Join(names, ", "), o.judged.Sentence)
}

// methodWords name the methods in a sentence.
var methodWords = map[string]string{
	"david_pij": "David's score on plain proportions", "abilities": "abilities", "ratings": "ratings", "isi": "the fewest contradictions",
}

// told is the evidence of the window.
func (o *ordering) told() dominance.Evidence {
	when := fmt.Sprintf("from %s to %s", o.out.From, o.out.To)
	if o.out.To == DayOf(o.now, o.zone) {
		when = "since " + string(o.out.From)
	}
	return dominance.Evidence{Matrix: o.matrix, Together: o.shared, When: when}
}

// row is the place of an animal in the matrix, by its name there.
func (o *ordering) row(name string) int { return slices.Index(o.matrix.IDs, name) }

func (o *ordering) namedPairs(list []dominance.Match) (out []PairNamed) {
	for _, m := range list {
		out = append(out, PairNamed{o.ids[o.row(m.A)], o.ids[o.row(m.B)], m.A, m.B, m.Why})
	}
	return out
}

// stand lists the animals, from the top where there is an order. Those whose
// figures are equal share a place.
func (o *ordering) stand() error {
	ranges, scores, err := o.ranges()
	if err != nil {
		return err
	}
	order := make([]int, len(o.ids))
	for i := range order {
		order[i] = i
	}
	ranked := o.judged.State != dominance.NoOrder && len(o.ids) > 1
	if ranked {
		order = o.byMethod(scores)
	}
	for place, i := range order {
		s := o.standing(i)
		if len(ranges) > 0 && s.Won+s.Lost+s.Draws > 0 {
			s.Likeliest, s.First, s.Last = &ranges[i].Likeliest, &ranges[i].First, &ranges[i].Last
		}
		if scores != nil && len(o.ids) > 2 { // of two, a figure says no more than their record
			s.Score = &scores[i]
		}
		if ranked {
			at := place + 1
			if place > 0 && scores[i] == scores[order[place-1]] {
				at = *o.out.Animals[place-1].Place
			}
			s.Place = &at
		}
		o.out.Animals = append(o.out.Animals, s)
	}
	return nil
}

func (o *ordering) standing(i int) Ranked {
	a := o.lived[o.ids[i]]
	s := Ranked{Animal: a.ID, Name: a.Name, Tape: a.Tape, Sex: a.Sex}
	for j := range o.ids {
		s.Won += int(o.matrix.Decided(i, j))
		s.Lost += int(o.matrix.Decided(j, i))
		s.Draws += o.matrix.Undecided[i][j]
	}
	for _, span := range spansIn(a, o.ask.Facility, o.ask.Enclosure) {
		if !span.From.After(o.end) {
			s.Since = DayOf(span.From, o.zone)
		}
	}
	return s
}

// ranges are the places that each could hold, and the figures of the method; nil
// where nothing was seen.
func (o *ordering) ranges() ([]dominance.Place, []float64, error) {
	if o.judged.Counts.Interactions == 0 || len(o.ids) < 2 {
		return nil, nil, nil
	}
	able, err := o.matrix.BradleyTerry()
	if err != nil {
		return nil, nil, err
	}
	places, err := able.Places(int(dominance.Assumed("draws").Value), orderSeed)
	if err != nil {
		return nil, nil, err
	}
	scores, err := o.scores(able)
	return places, scores, err
}

// scores are the figures by which the method puts animals in order, greater
// ones higher.
func (o *ordering) scores(able dominance.Abilities) ([]float64, error) {
	out := make([]float64, len(o.ids))
	switch o.ask.Method {
	case "david_pij":
		return o.matrix.DavidsScore(dominance.Pij).Norm, nil
	case "abilities":
		return able.Log, nil
	case "ratings":
		for i, id := range o.ids {
			out[i] = o.lastRating(id)
		}
		return out, nil
	case "isi":
		best, err := o.matrix.InconsistenciesAndStrengths()
		if err != nil {
			return nil, fmt.Errorf("%w method isi: %v", ErrOrder, err)
		}
		for place, i := range best.Order {
			out[i] = float64(len(best.Order) - place)
		}
		return out, nil
	}
	return o.matrix.DavidsScore(dominance.Dij).Norm, nil
}

// lastRating is the plain rating of an animal at the end of the window.
func (o *ordering) lastRating(animal string) float64 {
	for _, day := range slices.Backward(o.rated) {
		for _, m := range day.Row.Moved {
			if m.Animal == animal {
				return m.Plain
			}
		}
	}
	return dominance.UsualScale().Start
}

// byMethod puts the rows in order; equal ones by name.
func (o *ordering) byMethod(scores []float64) []int {
	order := make([]int, len(o.ids))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(scores[b], scores[a]), cmp.Compare(o.matrix.IDs[a], o.matrix.IDs[b]))
	})
	return order
}

// pairs lists how each two met, in the order of the animals.
func (o *ordering) pairs() {
	for i, a := range o.out.Animals {
		for _, b := range o.out.Animals[i+1:] {
			x, y := slices.Index(o.ids, a.Animal), slices.Index(o.ids, b.Animal)
			o.out.Pairs = append(o.out.Pairs, o.pair(x, y))
		}
	}
}

func (o *ordering) pair(x, y int) PairMet {
	p := o.matrix.Pair(x, y)
	out := PairMet{
		A: o.ids[x], B: o.ids[y], Won: p.Won, Lost: p.Lost, Draws: p.Undecided, Seen: "met",
		Days: o.shared[x][y].Hours() / 24, Direction: p.Direction, Low: p.Low, High: p.High,
	}
	if sum := o.sums[pairOf(out.A, out.B)]; sum != nil {
		for _, n := range sum.Apart {
			out.Apart += n
		}
		last := sum.Last
		out.Contact, out.Injuries, out.Last = sum.Contact, sum.Injuries, &last
	}
	switch {
	case p.Won+p.Lost+p.Undecided > 0:
	case o.shared[x][y] == 0:
		out.Seen = "never_together"
	default:
		out.Seen = "unseen"
	}
	return out
}

// contradictions are the pairs whose lower one wins more often.
func (o *ordering) contradictions() {
	if o.out.State == dominance.NoOrder {
		return
	}
	for _, p := range o.out.Pairs {
		if p.Lost > p.Won {
			o.out.Against = append(o.out.Against, Contradiction{p.A, p.B, p.Lost, p.Won})
		}
	}
}

// figures are those of the whole group. None is given where it would say
// nothing; the notes say why.
func (o *ordering) figures() (err error) {
	f, m := &o.out.Figures, o.matrix
	throws := 10_000
	if f.Straightness, err = dominance.Straightness(o.told(), throws, orderSeed); err != nil {
		return err
	}
	if share, ok := m.DirectionalConsistency(); ok {
		f.Consistency = &share
	}
	f.linear(m.Linearity(), m.Kendall(), m.Triangles(), len(o.ids))
	if d := m.DavidsScore(dominance.Dij); f.says(d.NotEnough) {
		f.Steepness = &d.Steepness
	}
	if o.steady != nil {
		if weighted, _, ok := o.steady.State.Stability.Index(); ok {
			f.Stability = &weighted
		}
	}
	if len(o.ids) > 20 {
		f.says("no exact orders of the fewest contradictions for more than 20 animals")
	} else if best, err := m.InconsistenciesAndStrengths(); err != nil {
		return err
	} else if f.says(best.NotEnough) {
		f.Inconsistent, f.Strength, f.EquallyGood = &best.I, &best.SI, &best.Orders
	}
	if o.ask.Tests {
		return o.tests(throws)
	}
	return nil
}

// says keeps why a figure is not given, once.
func (f *OrderFigures) says(notEnough string) bool {
	if notEnough != "" && !slices.Contains(f.Notes, notEnough) {
		f.Notes = append(f.Notes, notEnough)
	}
	return notEnough == ""
}

// linear gives the figures of linearity, none for a group so small that a
// straight order comes about by chance.
func (f *OrderFigures) linear(l dominance.Linearity, k dominance.Kendall, t dominance.Triangles, animals int) {
	if f.says(t.NotEnough) {
		f.Triangles = &t.Ttri
	}
	if least := int(dominance.Assumed("linear_from").Value); animals < least {
		f.says(fmt.Sprintf("no figure of linearity for fewer than %d animals", least))
		return
	}
	if f.says(l.NotEnough) {
		f.Landau, f.LandauPrime = &l.H, &l.HPrime
	}
	if f.says(k.NotEnough) {
		f.Kendall = &k.K
	}
}

// tests throws the dice.
func (o *ordering) tests(throws int) error {
	f := &o.out.Figures
	if f.LandauPrime != nil {
		test, err := o.matrix.LinearityTest(throws, orderSeed)
		if err != nil {
			return err
		}
		f.LinearityP = &test.Right
	}
	if f.Steepness != nil {
		test, err := o.matrix.SteepnessTest(dominance.Dij, throws, orderSeed)
		if err != nil {
			return err
		}
		f.SteepnessP = &test.P
	}
	return nil
}
