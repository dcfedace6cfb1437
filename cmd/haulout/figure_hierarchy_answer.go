package main

import (
	"haulout/projections/dominance"
)

// throwsOfHierarchy is how often chance is asked where it is, and seedOfHierarchy
// makes the same file give the same answer.
const (
	throwsOfHierarchy = 10_000
	seedOfHierarchy   = 1
)

// hairOfScore is what sums of fractions leave between equal scores.
const hairOfScore = 1e-9

// hierarchyFigure is the answer: what is said first, and every figure by its
// key. One that does not exist is nil, and its note says why.
type hierarchyFigure struct {
	in       *hierarchyInput
	evidence dominance.Evidence
	verdict  dominance.Verdict
	straight string
	places   map[string]hierarchyPlace
	best     *dominance.Ordered // nil where there is none
	values   map[string]any
	notes    map[string]string
}

// hierarchyVerdict is the verdict as programs read it.
type hierarchyVerdict struct {
	State    dominance.State `json:"state"`
	Sentence string          `json:"sentence"`
	Failed   []hierarchyGate `json:"failed_gates"`
	Order    []string        `json:"order"` // from the top; empty where there is none
	Watch    []hierarchyPair `json:"watch"`
}

type hierarchyGate struct {
	Name  string          `json:"name"`
	Keeps dominance.State `json:"keeps"`
	Why   string          `json:"why"`
}

type hierarchyPair struct {
	A   string `json:"a"`
	B   string `json:"b"`
	Why string `json:"why"`
}

// hierarchyPlace is where an animal stands, the same for equal scores, and of the
// places that it may hold the likeliest by abilities, the first and the last.
type hierarchyPlace struct {
	Place     int `json:"place"`
	Likeliest int `json:"likeliest"`
	First     int `json:"first"`
	Last      int `json:"last"`
}

func newHierarchyFigure(in *hierarchyInput) (*hierarchyFigure, error) {
	f := &hierarchyFigure{in: in, evidence: dominance.Evidence{Matrix: in.matrix}, notes: map[string]string{}}
	if len(in.met) > 0 && in.met[0].day != "" {
		f.evidence.When = "since " + in.met[0].day
	}
	f.values = map[string]any{"ids": in.matrix.IDs, "caution": hierarchyCaution, "notes": f.notes}
	for _, work := range []func() error{f.judge, f.stand, f.linear, f.scores, f.orders, f.abilities, f.rate} {
		if err := work(); err != nil {
			return nil, err
		}
	}
	f.values["warnings"] = append([]string{}, in.warnings...)
	return f, nil
}

// none says why there is no such figure.
func (f *hierarchyFigure) none(why string, keys ...string) {
	for _, key := range keys {
		f.values[key], f.notes[key] = nil, why
	}
}

// mind says what a figure that exists is worth; nothing where why is empty.
func (f *hierarchyFigure) mind(why string, keys ...string) {
	for _, key := range keys {
		if why != "" {
			f.notes[key] = why
		}
	}
}

func (f *hierarchyFigure) animals() int { return len(f.in.matrix.IDs) }

func (f *hierarchyFigure) judge() (err error) {
	if f.verdict, err = dominance.Judge(f.evidence); err != nil {
		return err
	}
	if f.straight, err = dominance.Straightness(f.evidence, throwsOfHierarchy, seedOfHierarchy); err != nil {
		return err
	}
	v, c := f.verdict, f.verdict.Counts
	said := hierarchyVerdict{v.State, v.Sentence, []hierarchyGate{}, append([]string{}, v.Order...), []hierarchyPair{}}
	for _, gate := range v.Failed {
		said.Failed = append(said.Failed, hierarchyGate(gate))
	}
	for _, match := range v.Watch {
		said.Watch = append(said.Watch, hierarchyPair(match))
	}
	f.values["verdict"], f.values["straightness"] = said, f.straight
	f.values["counts"] = map[string]int{
		"n": c.Animals, "dyads": c.Dyads, "interactions": c.Interactions, "unknown": c.Unknown, "tied": c.Tied, "one_way": c.OneWay, "two_way": c.TwoWay,
	}
	if f.none("fewer than two animals", "proportion_unknown"); c.Dyads > 0 {
		f.give("proportion_unknown", float64(c.Unknown)/float64(c.Dyads))
	}
	return nil
}

// give sets a figure that exists after all.
func (f *hierarchyFigure) give(key string, value any) {
	f.values[key] = value
	delete(f.notes, key)
}

// stand looks how far the places of the order may be off.
func (f *hierarchyFigure) stand() error {
	if f.none("there is no order", "places"); len(f.verdict.Order) == 0 {
		return nil
	}
	able, err := f.in.matrix.BradleyTerry()
	if err != nil {
		return err
	}
	ranges, err := able.Places(int(dominance.Assumed("draws").Value), seedOfHierarchy)
	if err != nil {
		return err
	}
	f.places = map[string]hierarchyPlace{}
	score := f.in.matrix.DavidsScore(dominance.Dij).Norm
	for i, r := range ranges {
		place := 1
		for _, other := range score {
			if other > score[i]+hairOfScore {
				place++
			}
		}
		f.places[r.Animal] = hierarchyPlace{place, r.Likeliest, min(r.First, place), max(r.Last, place)}
	}
	f.give("places", f.places)
	return nil
}
