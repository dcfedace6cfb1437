package events

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
)

// Register is what a facility's recorder must know to judge the next fact:
// which animals, enclosures, foods, lots and behaviours there are, and which
// names are taken. It is a fold over the defining records of one facility.
type Register struct {
	under  *Register
	opened bool
	known  map[Ref]int        // defining records of each, less those withdrawn
	gone   map[string]bool    // withdrawn defining records, by id
	names  map[nameKey]string // id behind a name, "" where it was given up
	called map[Ref]nameKey    // the name in use for each
	zone   string             // of the facility's days
	moves  map[string][]move  // of each animal, in order of receipt
}

type nameKey struct{ sort, name string }

// mustBeKnown lists the sorts that a fact may only name once they are defined.
// Sessions and watches are written down when they end, after their trials and
// encounters, so they are not among them.
var mustBeKnown = map[string]string{
	"animal":    "enter it with animal.entered first",
	"enclosure": "describe it with enclosure.described first",
	"food":      "describe it with food.described first",
	"lot":       "record its lot.received first",
	"behaviour": "plan it with behaviour.planned first",
}

// NewRegister is the register of a facility without a record.
func NewRegister() *Register {
	return &Register{known: map[Ref]int{}, gone: map[string]bool{}, names: map[nameKey]string{}, called: map[Ref]nameKey{}, moves: map[string][]move{}}
}

// Child is a register that starts from r and can be dropped: the facts of one
// request see each other, and leave nothing behind when one of them is refused.
func (r *Register) Child() *Register {
	child := NewRegister()
	child.under, child.opened, child.zone = r, r.opened, r.zone
	return child
}

// Merge moves what a child learnt into the register it came from.
func (r *Register) Merge() {
	p := r.under
	p.opened, p.zone = r.opened, r.zone
	for ref, n := range r.known {
		p.known[ref] += n
	}
	maps.Copy(p.gone, r.gone)
	maps.Copy(p.names, r.names)
	maps.Copy(p.called, r.called)
	for animal, more := range r.moves {
		p.moves[animal] = append(p.moves[animal], more...)
	}
}

func (r *Register) count(ref Ref) (n int) {
	for ; r != nil; r = r.under {
		n += r.known[ref]
	}
	return n
}

func (r *Register) holder(key nameKey) string {
	for ; r != nil; r = r.under {
		if id, ok := r.names[key]; ok {
			return id
		}
	}
	return ""
}

func (r *Register) withdrawn(id string) bool {
	for ; r != nil; r = r.under {
		if r.gone[id] {
			return true
		}
	}
	return false
}

func (r *Register) calledNow(ref Ref) (nameKey, bool) {
	for ; r != nil; r = r.under {
		if key, ok := r.called[ref]; ok {
			return key, true
		}
	}
	return nameKey{}, false
}

// Defines says whether the register must see the event: it opens the facility,
// brings something into being that later facts may name, or says where an
// animal lives.
func (e Event) Defines() bool {
	k, _, err := kindOf(e.Type)
	if err != nil {
		return false
	}
	switch k.name {
	case "facility.opened", "animal.placed", "animal.left":
		return true
	}
	return slices.ContainsFunc(k.rules, func(r rule) bool { return r.fresh && mustBeKnown[r.ref] != "" })
}

// Check says why the next fact can't be taken, as Problems, or nil. The target
// is the entry that a correction or withdrawal names, nil where there is none.
func (r *Register) Check(e Event, target *Event) error {
	var out Problems
	if opening := KindName(e.Type) == "facility.opened"; opening == r.opened {
		if opening {
			out.add("type", "facility %s is open already", e.Facility)
		} else {
			out.add("facility", "%s is not open; record its facility.opened first", e.Facility)
		}
		return out
	}
	if e.Target() != "" {
		return r.checkTarget(e, target)
	}
	r.checkRefs(e, "data.", &out)
	return out.orNil()
}

func (p Problems) orNil() error {
	if len(p) == 0 {
		return nil
	}
	return p
}

func (r *Register) checkRefs(e Event, at string, out *Problems) {
	k, _, err := kindOf(e.Type)
	if err != nil {
		out.add("type", "%v", err)
		return
	}
	k.rules.walk(reflect.ValueOf(e.Body).Elem(), at, func(rule *rule, at, id string) {
		if remedy := mustBeKnown[rule.ref]; remedy != "" && !rule.fresh && r.count(Ref{rule.ref, id}) <= 0 {
			out.add(at, "names the %s %q, which %s does not know; %s", rule.ref, id, e.Facility, remedy)
		}
	})
	r.checkResidents(e, at, out)
	if ref, key, ok := k.naming(e.Body); ok {
		if holder := r.holder(key); holder != "" && holder != ref.ID {
			out.add(at+"name", "%q is the name of %s %s; names are unique within a facility", key.name, ref.Sort, holder)
		}
	}
}

// naming finds what a body brings into being and the name it gives it.
func (k *kind) naming(body Body) (ref Ref, key nameKey, ok bool) {
	v := reflect.ValueOf(body).Elem()
	for _, r := range k.rules {
		switch {
		case r.fresh:
			ref = Ref{r.ref, v.Field(r.index).String()}
		case r.named:
			key, ok = nameKey{ref.Sort, NameFold(v.Field(r.index).String())}, true
		}
	}
	return ref, key, ok
}

// NameFold is the form in which names are compared: Marl and marl are one.
func NameFold(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

func (r *Register) checkTarget(e Event, target *Event) error {
	var out Problems
	if target == nil {
		out.add("data.entry", "%s has no entry %s; only the facility that wrote an entry can correct it", e.Facility, e.Target())
		return out
	}
	by, corrects := e.Body.(*EntryCorrected)
	if !corrects && KindName(target.Type) == "facility.opened" {
		out.add("data.entry", "is the opening of %s, which holds its zone; correct it instead", e.Facility)
	}
	if !corrects {
		return out.orNil()
	}
	fixed, err := target.Corrected(by)
	if err != nil {
		for _, p := range asProblems(err) {
			out.add("data."+p.Field, "%s", p.Detail)
		}
		return out
	}
	if !sameAnimals(fixed, *target) {
		out.add("data.data", "is about other animals than the entry; withdraw the entry and record it anew for the right one")
	}
	if was, is := target.defined(), fixed.defined(); was != is {
		out.add("data.data", "is about %s and the entry about %s; withdraw the entry and record it anew", is, was)
	}
	r.checkRefs(fixed, "data.data.", &out)
	return out.orNil()
}

// sameAnimals says that two events are about the same animals. Their order may
// differ: who yielded to whom can be put right.
func sameAnimals(a, b Event) bool {
	return slices.Equal(slices.Sorted(slices.Values(a.Animals())), slices.Sorted(slices.Values(b.Animals())))
}

// defined is what the event brings into being, if that must be known.
func (e Event) defined() (ref Ref) {
	k, _, err := kindOf(e.Type)
	if err != nil {
		return ref
	}
	for i := range k.rules {
		if rule := &k.rules[i]; rule.fresh && mustBeKnown[rule.ref] != "" {
			ref = Ref{rule.ref, reflect.ValueOf(e.Body).Elem().Field(rule.index).String()}
		}
	}
	return ref
}

// Add takes in a record that was checked. Records that define nothing pass by.
func (r *Register) Add(e Event, target *Event) {
	switch body := e.Body.(type) {
	case *FacilityOpened:
		r.opened, r.zone = true, body.Zone
	case *EntryCorrected:
		if target == nil || !target.Defines() || r.withdrawn(target.ID) {
			return
		}
		if fixed, err := target.Corrected(body); err == nil {
			r.correct(fixed)
		}
	case *EntryWithdrawn:
		if target != nil && target.Defines() && !r.withdrawn(target.ID) {
			r.gone[target.ID] = true
			r.forget(target.defined())
		}
	default:
		if e.Defines() {
			r.known[e.defined()]++
			r.name(e)
			r.moved(e)
		}
	}
}

// correct takes in a defining record as it was corrected.
func (r *Register) correct(fixed Event) {
	if body, ok := fixed.Body.(*FacilityOpened); ok {
		r.zone = body.Zone
	}
	r.name(fixed)
	r.moved(fixed)
}

// name gives what the event defines its name, and gives up the one before it.
func (r *Register) name(e Event) {
	k, _, err := kindOf(e.Type)
	if err != nil {
		return
	}
	ref, key, ok := k.naming(e.Body)
	if !ok {
		return
	}
	r.unname(ref)
	r.names[key], r.called[ref] = ref.ID, key
}

func (r *Register) unname(ref Ref) {
	if old, had := r.calledNow(ref); had && r.holder(old) == ref.ID {
		r.names[old] = ""
	}
	r.called[ref] = nameKey{}
}

// forget takes one defining record back; the last one frees the name.
func (r *Register) forget(ref Ref) {
	r.known[ref]--
	if r.count(ref) <= 0 {
		r.unname(ref)
	}
}

// Size says how much the register holds, for people who read the status.
func (r *Register) Size() string {
	sorts := map[string]int{}
	for ref, n := range r.known {
		if n > 0 {
			sorts[ref.Sort]++
		}
	}
	return fmt.Sprintf("%d animals, %d enclosures, %d foods, %d lots", sorts["animal"], sorts["enclosure"], sorts["food"], sorts["lot"])
}
