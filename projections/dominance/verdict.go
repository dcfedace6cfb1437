package dominance

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Verdict is what can be said of the order of a group, and what would have to be
// seen to say more.
type Verdict struct {
	State    State
	Sentence string
	Failed   []Gate   // what keeps it from being supported, the gravest first
	Order    []string // from the top, by normalised David's score (Dij); empty where there is no order
	Near     []Match  // neighbours in it that can't be told apart, or whose abilities cross
	Watch    []Match  // what to watch next: pairs that were never seen to meet, then neighbours
	Pairs    Pairs
	Counts   Counts
}

// Judge puts the evidence to the gates of the reference file. An order has a
// place for every animal; none is given where an animal has no decided
// encounter, where too many pairs that live together were never seen to meet,
// where no chain of encounters links the animals, or where all stand level. It is
// provisional with fewer encounters than wanted, with many pairs unseen, or with
// neighbours that the abilities of BradleyTerry don't tell apart. Two animals get
// a sentence. Errors: evidence that does not fit the animals; those of
// BradleyTerry.
func Judge(e Evidence) (Verdict, error) {
	if err := e.check(); err != nil {
		return Verdict{}, err
	}
	m := e.Matrix
	out := Verdict{State: NoOrder, Pairs: e.pairs(), Counts: m.Counts()}
	out.Watch = slices.Clone(out.Pairs.Unseen)
	if len(m.IDs) < 2 {
		out.Sentence = alone(m.IDs)
		return out, nil
	}
	out.Failed = e.shut(out.Pairs)
	if stateOf(out.Failed) != NoOrder && m.level() {
		out.Failed = append([]Gate{{"level", NoOrder, "all animals stand level"}}, out.Failed...)
	}
	if stateOf(out.Failed) != NoOrder {
		if err := out.stand(m); err != nil {
			return Verdict{}, err
		}
	}
	out.State = stateOf(out.Failed)
	out.Sentence = out.sentence(e)
	return out, nil
}

// stand gives each animal its place, and says which neighbours can't be told
// apart.
func (v *Verdict) stand(m Matrix) error {
	able, err := m.BradleyTerry()
	if err != nil {
		return err
	}
	order := m.byScore()
	for _, i := range order {
		v.Order = append(v.Order, m.IDs[i])
	}
	near, crossed := m.near(order, able)
	if v.Near = append(near, crossed...); len(v.Near) == 0 {
		return nil
	}
	v.Failed = append(v.Failed, Gate{neighbours, Provisional, closeness(near, crossed)})
	v.Watch = append(v.Watch, notListed(v.Near, v.Watch)...)
	return nil
}

// closeness says in words why neighbours keep an order from being supported.
func closeness(near, crossed []Match) string {
	var out []string
	if len(near) > 0 {
		out = append(out, listed(near)+" can't be told apart yet")
	}
	if len(crossed) > 0 {
		out = append(out, "score and abilities put "+listed(crossed)+" in different order")
	}
	return strings.Join(out, ", and ")
}

// stateOf is the state that the gravest gate keeps an order to.
func stateOf(failed []Gate) State {
	if len(failed) == 0 {
		return Supported
	}
	return failed[0].Keeps
}

// byScore are the rows by normalised David's score on Dij; equal ones by name.
func (m Matrix) byScore() []int {
	score, order := m.DavidsScore(Dij).Norm, make([]int, len(m.IDs))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(score[b], score[a]), strings.Compare(m.IDs[a], m.IDs[b]))
	})
	return order
}

// level says that no animal scores above another.
func (m Matrix) level() bool {
	const hair = 1e-9 // what sums of fractions leave between equal scores
	score := m.DavidsScore(Dij).Norm
	return slices.Max(score)-slices.Min(score) < hair
}

// near are the neighbours of an order of which the upper is not sure enough to
// be the abler, and crossed those of which the lower is.
func (m Matrix) near(order []int, able Abilities) (near, crossed []Match) {
	sure := assumed("sure")
	for place, i := range order[1:] {
		above := order[place]
		chance := able.Above(above, i)
		match := Match{m.IDs[above], m.IDs[i], fmt.Sprintf("%.0f in 100 that the first stands above", 100*chance)}
		switch {
		case chance <= 1-sure:
			crossed = append(crossed, match)
		case chance < sure:
			near = append(near, match)
		}
	}
	return near, crossed
}

// notListed are the matches whose two are not among others.
func notListed(matches, others []Match) (out []Match) {
	for _, m := range matches {
		if !slices.ContainsFunc(others, func(o Match) bool { return m.A == o.A && m.B == o.B || m.A == o.B && m.B == o.A }) {
			out = append(out, m)
		}
	}
	return out
}
