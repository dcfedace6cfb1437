package events

import (
	"cmp"
	"slices"
	"time"
)

// move is a record that says where an animal lives from a moment on: in an
// enclosure, somewhere not said, or not here any more.
type move struct {
	entry string
	at    time.Time
	where string
}

const (
	somewhere = "?" // in care, in an enclosure that nobody wrote down
	gone      = ""  // not in this facility's care
)

// moveOf is the animal and the move that an event makes; false where it makes none.
func moveOf(e Event) (animal string, m move, ok bool) {
	m = move{entry: e.ID, at: e.Time}
	switch body := e.Body.(type) {
	case *AnimalEntered:
		animal, m.where = body.Animal, somewhere
	case *AnimalPlaced:
		animal, m.where = body.Animal, body.Enclosure
	case *AnimalLeft:
		animal, m.where = body.Animal, gone
	default:
		return "", m, false
	}
	return animal, m, true
}

// moved takes in where an animal lives from now on. A correction puts another
// move in the place of the entry's first one.
func (r *Register) moved(e Event) {
	if animal, m, ok := moveOf(e); ok {
		r.moves[animal] = append(r.moves[animal], m)
	}
}

// movesOf lists the moves of an animal that count, in order of time.
func (r *Register) movesOf(animal string) (out []move) {
	seen := map[string]bool{}
	for at := r; at != nil; at = at.under {
		for _, m := range slices.Backward(at.moves[animal]) {
			if !seen[m.entry] && !r.withdrawn(m.entry) {
				out = append(out, m)
			}
			seen[m.entry] = true
		}
	}
	slices.SortFunc(out, func(a, b move) int { return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.entry, b.entry)) })
	return out
}

// livedOn lists where an animal lived on the local day of a moment.
func (r *Register) livedOn(animal string, at time.Time) []string {
	start, end := r.day(at)
	here := somewhere // before its first move nobody wrote down where it lived
	var out []string
	for _, m := range r.movesOf(animal) {
		if !m.at.Before(end) {
			break
		}
		if m.at.After(start) {
			out = append(out, here)
		}
		here = m.where
	}
	return append(out, here)
}

// day is the local day of the facility that holds a moment.
func (r *Register) day(at time.Time) (start, end time.Time) {
	zone, err := time.LoadLocation(r.zone)
	if err != nil {
		zone = time.UTC
	}
	y, m, d := at.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, zone), time.Date(y, m, d+1, 0, 0, 0, 0, zone)
}

// resident is an animal that a body says was in an enclosure, and the field that says so.
type resident struct{ field, animal string }

// housed is a body that is about animals in one enclosure.
type housed interface {
	residents() (enclosure string, list []resident)
}

// checkResidents refuses a fact about an animal in an enclosure where, by what
// was recorded, it did not live on that day. What nobody wrote down refuses nothing.
func (r *Register) checkResidents(e Event, at string, out *Problems) {
	body, ok := e.Body.(housed)
	if !ok {
		return
	}
	enclosure, list := body.residents()
	if enclosure == "" || r.count(Ref{"enclosure", enclosure}) <= 0 { // an unknown one is said already
		return
	}
	for _, who := range list {
		lived := r.livedOn(who.animal, e.Time)
		if slices.Contains(lived, enclosure) || slices.Contains(lived, somewhere) {
			continue
		}
		out.add(at+who.field, "names %s, which did not live in %s on that day but %s; record its animal.placed first, or name the enclosure where it was", who.animal, enclosure, whereabouts(lived))
	}
}

// whereabouts says in words where an animal lived.
func whereabouts(lived []string) string {
	if last := lived[len(lived)-1]; last != gone {
		return "in " + last
	}
	return "had left"
}
