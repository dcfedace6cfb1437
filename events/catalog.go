package events

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// ErrUnknown is a kind that this program does not know, or a version above its
// own: a newer program wrote it.
var ErrUnknown = errors.New("unknown kind of fact")

// catalog is the whole vocabulary on one page. A wire name is final.
var catalog = []kind{
	of[FacilityOpened]("facility.opened"),
	of[RuleSet]("rule.set"),
	of[EnclosureDescribed]("enclosure.described"),
	of[AnimalEntered]("animal.entered"),
	of[AnimalIdentified]("animal.identified"),
	of[AnimalPlaced]("animal.placed"),
	of[AnimalLeft]("animal.left"),
	of[FoodDescribed]("food.described"),
	of[LotReceived]("lot.received"),
	of[LotAssayed]("lot.assayed"),
	of[LotThawed]("lot.thawed"),
	of[ThawCompleted]("thaw.completed"),
	of[LotDiscarded]("lot.discarded"),
	of[DietGuided]("diet.guided"),
	of[RationSet]("ration.set"),
	of[FeedGiven]("feed.given"),
	of[SupplementDescribed]("supplement.described"),
	of[SupplementGiven]("supplement.given"),
	of[WeightTaken]("weight.taken"),
	of[ConditionScored]("condition.scored"),
	of[LengthMeasured]("length.measured"),
	of[GirthMeasured]("girth.measured"),
	of[CoatScored]("coat.scored"),
	of[EncounterSeen]("encounter.seen"),
	of[WatchHeld]("watch.held"),
	of[CompanyScanned]("company.scanned"),
	of[CompanyJudged]("company.judged"),
	of[PeriodBegun]("period.begun"),
	of[BehaviourPlanned]("behaviour.planned"),
	of[SessionHeld]("session.held"),
	of[TrialScored]("trial.scored"),
	of[BehaviourApproved]("behaviour.approved"),
	of[BehaviourDropped]("behaviour.dropped"),
	of[EnrichmentOffered]("enrichment.offered"),
	of[ChoiceMade]("choice.made"),
	of[TouchNoted]("touch.noted"),
	of[CheckMade]("check.made"),
	of[FindingClosed]("finding.closed"),
	of[OrderGiven]("order.given"),
	of[OrderEnded]("order.ended"),
	of[VeterinaryNoted]("veterinary.noted"),
	of[MedicationGiven]("medication.given"),
	of[WaterTested]("water.tested"),
	of[Note]("note"),
	of[CallAnswered]("call.answered"),
	of[DeviceReported]("device.reported"),
	of[EntryCorrected]("entry.corrected"),
	of[EntryWithdrawn]("entry.withdrawn"),
}

var byName = func() map[string]*kind {
	out := make(map[string]*kind, len(catalog))
	for i := range catalog {
		out[catalog[i].name] = &catalog[i]
	}
	return out
}()

// version names one version of a kind.
type version struct {
	kind   *kind
	number int
}

var byWire = func() map[string]version {
	out := map[string]version{}
	for i := range catalog {
		for n := range catalog[i].version() {
			out[catalog[i].wire(n+1)] = version{&catalog[i], n + 1}
		}
	}
	return out
}()

// raiser lifts a body one version up, on its JSON, so that later code never
// sees the older one.
type raiser func(body map[string]any) error

type kind struct {
	name  string
	raise []raiser // version = 1 + number of raisers
	rules rules
	shape reflect.Type
}

func of[B any](name string, raise ...raiser) kind {
	t := reflect.TypeFor[B]()
	return kind{name: name, raise: raise, rules: rulesOf(t), shape: t}
}

func (k *kind) version() int { return 1 + len(k.raise) }

// Type is the wire name of the kind in its newest version.
func (k *kind) wire(version int) string {
	return "haulout." + k.name + ".v" + strconv.Itoa(version)
}

// TypeOf gives the newest wire name of a kind: feed.given → haulout.feed.given.v1.
// A name that is not in the catalog is a programming error.
func TypeOf(name string) string {
	k, ok := byName[name]
	if !ok {
		panic("events: no kind is named " + name)
	}
	return k.wire(k.version())
}

// Types lists every wire name this program can read, every version of it.
func Types() (out []string) {
	for i := range catalog {
		for v := range catalog[i].version() {
			out = append(out, catalog[i].wire(v+1))
		}
	}
	return out
}

// KindName takes the prefix and the version off a wire name.
func KindName(wire string) string {
	rest := strings.TrimPrefix(wire, "haulout.")
	if dot := strings.LastIndex(rest, ".v"); dot > 0 {
		return rest[:dot]
	}
	return rest
}

func kindOf(wire string) (*kind, int, error) {
	if v, ok := byWire[wire]; ok {
		return v.kind, v.number, nil
	}
	k := byName[KindName(wire)]
	if k == nil || !strings.HasPrefix(wire, "haulout.") {
		return nil, 0, fmt.Errorf("%w: %q is not in this program's catalog", ErrUnknown, short(wire))
	}
	number, err := strconv.Atoi(wire[strings.LastIndex(wire, ".v")+2:])
	if err != nil || wire != k.wire(number) || number < 1 {
		return nil, 0, fmt.Errorf("%w: %q has no version; this program writes %q", ErrUnknown, short(wire), k.wire(k.version()))
	}
	return nil, 0, fmt.Errorf("%w: %q is newer than this program, which knows %q", ErrUnknown, short(wire), k.wire(k.version()))
}

// decode reads a body of any version up to the newest.
func (k *kind) decode(data []byte, version int) (Body, error) {
	if version < k.version() {
		var err error
		if data, err = k.raised(data, version); err != nil {
			return nil, err
		}
	}
	body := reflect.New(k.shape)
	if err := readBody(data, k.rules, body.Elem()); err != nil {
		return nil, err
	}
	return body.Interface(), nil
}

func (k *kind) raised(data []byte, version int) ([]byte, error) {
	body := map[string]any{}
	if err := json.Unmarshal(data, &body); err != nil {
		return nil, Problems{{"data", "can't be read: " + err.Error()}}
	}
	for _, raise := range k.raise[version-1:] {
		if err := raise(body); err != nil {
			return nil, fmt.Errorf("raise %s from version %d: %w", k.name, version, err)
		}
	}
	return MakeData(body)
}

func (k *kind) check(body Body) error {
	var out Problems
	k.rules.check(reflect.ValueOf(body).Elem(), &out)
	out.within("data", 0)
	if cross, ok := body.(crossChecker); ok && len(out) == 0 {
		cross.check(&out)
	}
	if len(out) > 0 {
		return out
	}
	return nil
}

func (k *kind) refs(body Body) []Ref {
	var out []Ref
	k.rules.walk(reflect.ValueOf(body).Elem(), "", func(r *rule, _, v string) {
		ref := Ref{r.ref, v}
		if !slices.Contains(out, ref) {
			out = append(out, ref)
		}
	})
	return out
}

// walk visits every reference in a body, with the path of its field.
func (rs rules) walk(v reflect.Value, at string, visit func(r *rule, at, value string)) {
	for i := range rs {
		if r := &rs[i]; r.ref != "" || r.inner != nil {
			r.walk(v.Field(r.index), at+r.name, visit)
		}
	}
}

func (r *rule) walk(v reflect.Value, at string, visit func(r *rule, at, value string)) {
	switch v.Kind() {
	case reflect.String:
		if v.Len() > 0 {
			visit(r, at, v.String())
		}
	case reflect.Struct:
		r.inner.walk(v, at+".", visit)
	case reflect.Slice:
		for i := range v.Len() {
			r.walk(v.Index(i), indexed(at, i), visit)
		}
	}
}

// MakeData writes a body as canonical JSON.
func MakeData(body Body) ([]byte, error) {
	raw, err := json.Marshal(body)
	if err != nil {
		return nil, err
	}
	return Canonical(raw)
}
