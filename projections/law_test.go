package projections

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"iter"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"haulout/events"
)

// The law: the same set of records gives the same rows, in whatever order they
// arrived, however often, over however many restarts, filled fast, or built
// anew. It is tried for every projection in All, and for witnesses: projections
// that give away everything that a fold was shown.

func proven() []Projection { return append(All(), witnesses()...) }

// seen is a record as a fold was shown it.
type seen struct {
	ID       string
	Time     time.Time
	Data     json.RawMessage
	Zone     string
	Original json.RawMessage `json:",omitempty"`
}

func show(recs []Record) *[]seen {
	out := make([]seen, 0, len(recs))
	for _, rec := range recs {
		one := seen{ID: rec.ID, Time: rec.Time, Data: rec.Data, Zone: rec.Zone.String()}
		if rec.Original != nil {
			one.Original = rec.Original.Data
		}
		out = append(out, one)
	}
	return &out
}

// chained is the state of a running witness: a hash over all days so far.
type chained struct{ Days, Sum string }

func witnesses() []Projection {
	var kinds []string
	for _, wire := range events.Kinds() {
		kinds = append(kinds, events.KindName(wire))
	}
	showAll := func(_ Scope, recs []Record) *[]seen {
		if len(recs) == 0 {
			return nil
		}
		return show(recs)
	}
	return []Projection{
		Daily("witness-day", 1, "animal", kinds, showAll),
		Daily("witness-enclosure-day", 1, "enclosure", kinds, showAll),
		Whole("witness-food", 1, "food", kinds, showAll),
		Whole("witness-staff", 1, "staff", []string{"weight.taken", "check.made", "feed.given"}, showAll),
		Running("witness-run", 1, "animal", []string{"feed.given", "weight.taken", "note", "encounter.seen"}, runOn),
	}
}

// runOn leaves days with two records without a row of their own.
func runOn(before *chained, sc Scope, recs []Record) *chained {
	if len(recs) == 2 {
		return nil
	}
	if before == nil {
		before = &chained{}
	}
	raw, _ := json.Marshal(show(recs))
	sum := sha256.Sum256(append(raw, before.Sum...))
	return &chained{before.Days + " " + string(sc.Day), hex.EncodeToString(sum[:])}
}

// naive works the rows out from the set alone, as the law is written: apply the
// corrections, sort into scopes, fold. It shares the folds with the store and
// nothing of how the store gets there.
type naive struct {
	fixes map[string][]events.Event
	zones map[string]*time.Location
}

func naiveRows(t rapid.TB, set []events.Event, list []Projection) map[string]string {
	n := naive{map[string][]events.Event{}, map[string]*time.Location{}}
	for _, ev := range set {
		if ev.Target() != "" {
			n.fixes[ev.Target()] = append(n.fixes[ev.Target()], ev)
		}
	}
	for _, ev := range set {
		if now := n.counts(ev); now != nil {
			if body, opens := now.Body.(*events.FacilityOpened); opens {
				n.zones[ev.Facility], _ = time.LoadLocation(body.Zone)
			}
		}
	}
	out := map[string]string{}
	for _, p := range list {
		n.rows(t, p, set, out)
	}
	return out
}

// counts is an entry as it counts, nil where it was withdrawn.
func (n naive) counts(ev events.Event) *events.Event {
	fixes := n.fixes[ev.ID]
	slices.SortFunc(fixes, func(a, b events.Event) int { return int(b.Number) - int(a.Number) })
	for _, fix := range fixes {
		now := n.counts(fix)
		if now == nil || fix.Facility != ev.Facility {
			continue
		}
		by, corrects := now.Body.(*events.EntryCorrected)
		if !corrects {
			return nil
		}
		if fixed, err := ev.Corrected(by); err == nil {
			return &fixed
		}
	}
	return &ev
}

func (n naive) rows(t rapid.TB, p Projection, set []events.Event, out map[string]string) {
	scopes := map[Scope][]Record{}
	for _, ev := range set {
		now := n.counts(ev)
		if now == nil || !slices.Contains(p.kinds, events.KindName(now.Type)) {
			continue
		}
		rec := Record{Event: *now, Zone: n.zones[ev.Facility]}
		if string(now.Data) != string(ev.Data) || !now.Time.Equal(ev.Time) {
			rec.Original = &ev
		}
		for _, ref := range refsOf(*now) {
			if ref.Sort != p.sort {
				continue
			}
			sc := Scope{Ref: ref}
			if p.shape != whole {
				sc.Day = Day(now.Time.In(rec.Zone).Format("2006-01-02"))
			}
			scopes[sc] = append(scopes[sc], rec)
		}
	}
	states := map[events.Ref][]byte{}
	for _, sc := range slices.SortedFunc(maps.Keys(scopes), func(a, b Scope) int { return compareTexts(string(a.Day), string(b.Day)) }) {
		recs := scopes[sc]
		slices.SortFunc(recs, func(a, b Record) int {
			if c := a.Time.Compare(b.Time); c != 0 {
				return c
			}
			return compareTexts(a.ID, b.ID)
		})
		row, err := p.fold(states[sc.Ref], sc, recs)
		if err != nil {
			t.Fatalf("fold %s: %v", p.Name, err)
		}
		if row == nil {
			continue
		}
		if p.shape == running {
			states[sc.Ref] = row
		}
		out[fmt.Sprintf("%s %s %s %s", p.Name, sc.Ref.Sort, sc.Ref.ID, sc.Day)] = string(row)
	}
}

func compareTexts(a, b string) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// delivery brings a set of records into an archive in one way.
type delivery func(c *lawCase) *Store

// lawCase is one set of records and a folder for its archives.
type lawCase struct {
	t     *rapid.T
	r     *recorder
	dir   string
	truth map[string]string
}

func TestTheSameRecordsGiveTheSameRows(t *testing.T) {
	types := bodyTypes(t)
	for name, deliver := range map[string]delivery{
		"in order, then built anew while more arrives": (*lawCase).rebuilt,
		"in any order, again and over restarts":        (*lawCase).shuffled,
		"filled fast, then page by page":               (*lawCase).filled,
	} {
		t.Run(name, func(t *testing.T) {
			base, n := smallDir(t), 0
			rapid.Check(t, func(t *rapid.T) {
				n++
				dir := filepath.Join(base, fmt.Sprint(n))
				defer os.RemoveAll(dir)
				r := colony(t, types, proven())
				c := &lawCase{t, r, dir, naiveRows(t, records(r.all), proven())}
				s := deliver(c)
				c.same(s)
				closeStore(t, s)
			})
		})
	}
}

func records(list []arrival) (out []events.Event) {
	for _, a := range list {
		out = append(out, a.ev)
	}
	return out
}

// same compares the rows of a store with the truth.
func (c *lawCase) same(s *Store) {
	c.t.Helper()
	if diff := cmp.Diff(c.truth, rowsOf(c.t, s)); diff != "" {
		c.t.Fatalf("rows differ (- wanted, + found):\n%s\nrecords:\n%s", diff, retold(c.r.all))
	}
}

// retold lists records for people.
func retold(list []arrival) string {
	var out strings.Builder
	for _, a := range list {
		fmt.Fprintf(&out, "%s %d %s %s %s %s\n", a.ev.Facility, a.ev.Number, a.ev.ID, a.ev.Time.Format(time.RFC3339Nano), events.KindName(a.ev.Type), a.ev.Data)
	}
	return out.String()
}

// cuts splits every facility's log into pages and mixes them, each facility's
// own in order.
func (c *lawCase) cuts() (out []events.Page) {
	next := map[string]int{}
	for facility := range c.r.books {
		next[facility] = 1
	}
	for len(next) > 0 {
		facility := rapid.SampledFrom(sortedKeys(next)).Draw(c.t, "log")
		from, last := next[facility], len(c.r.books[facility].lines)
		to := min(last, from+rapid.IntRange(0, 20).Draw(c.t, "page"))
		out = append(out, c.r.page(facility, from, to))
		if next[facility] = to + 1; to == last {
			delete(next, facility)
		}
	}
	return out
}

func (c *lawCase) reopen(s *Store, list []Projection) *Store {
	closeStore(c.t, s)
	return openStore(c.t, c.dir, list)
}

// shuffled delivers records in any order, some again, and restarts in between.
func (c *lawCase) shuffled() *Store {
	places := make([]int, len(c.r.all))
	for i := range places {
		places[i] = i
	}
	order := rapid.Permutation(places).Draw(c.t, "order")
	for _, again := range rapid.SliceOfN(rapid.SampledFrom(places), 0, 10).Draw(c.t, "again") {
		order = slices.Insert(order, rapid.IntRange(0, len(order)).Draw(c.t, "where"), again)
	}
	var list []arrival
	for _, i := range order {
		list = append(list, c.r.all[i])
	}
	restarts := rapid.IntRange(0, 1).Draw(c.t, "restarts")
	s := openStore(c.t, c.dir, proven())
	for len(list) > 0 {
		n := rapid.IntRange(1, len(list)).Draw(c.t, "batch")
		if err := s.ingest(list[:n], nil, rapid.SampledFrom([]int{0, 2, runDays}).Draw(c.t, "days run again")); err != nil {
			c.t.Fatalf("%v", err)
		}
		if list = list[n:]; restarts > 0 && rapid.Bool().Draw(c.t, "restart") {
			s, restarts = c.reopen(s, proven()), restarts-1
		}
	}
	return s
}

// filled fills an empty archive with the beginning and applies the rest.
func (c *lawCase) filled() *Store {
	cuts := c.cuts()
	first := rapid.IntRange(0, len(cuts)).Draw(c.t, "filled")
	s := openStore(c.t, c.dir, proven())
	if err := s.Fill(context.Background(), pagesOf(cuts[:first]), func(int) {}); err != nil {
		c.t.Fatalf("fill: %v", err)
	}
	if rapid.IntRange(0, 3).Draw(c.t, "restart") == 0 {
		s = c.reopen(s, proven())
	}
	for _, page := range cuts[first:] {
		mustApply(c.t, s, page)
	}
	mustApply(c.t, s, cuts...) // all of it again
	return s
}

func pagesOf(list []events.Page) iter.Seq2[events.Page, error] {
	return func(yield func(events.Page, error) bool) {
		for _, page := range list {
			if !yield(page, nil) {
				return
			}
		}
	}
}

// rebuilt applies the log in order, raises every version on the way, and builds
// the rows anew while the rest arrives.
func (c *lawCase) rebuilt() *Store {
	cuts := c.cuts()
	first := rapid.IntRange(0, len(cuts)).Draw(c.t, "applied before")
	s := openStore(c.t, c.dir, proven())
	for _, page := range cuts[:first] {
		mustApply(c.t, s, page)
	}
	if first == len(cuts) {
		c.same(s)
	}
	s = c.reopen(s, raised(proven()))
	for _, page := range cuts[first:] {
		if p := rapid.SampledFrom(s.list).Draw(c.t, "built a little"); !p.ready {
			if _, _, err := s.buildBatch(p); err != nil {
				c.t.Fatalf("build: %v", err)
			}
		}
		mustApply(c.t, s, page)
	}
	if rapid.IntRange(0, 3).Draw(c.t, "restart") == 0 {
		s = c.reopen(s, raised(proven()))
	}
	if err := s.Rebuild(context.Background(), func(string, uint64, uint64) {}); err != nil {
		c.t.Fatalf("rebuild: %v", err)
	}
	return s
}

func raised(list []Projection) []Projection {
	for i := range list {
		list[i].Version++
	}
	return list
}
