package projections

import (
	"maps"
	"slices"

	"haulout/events"
)

// twoGenerations is a bounded map: what was not asked for while one generation
// filled is dropped with the next. What a value weighs is what it keeps in
// memory, in records; without a weight every value weighs one.
type twoGenerations[K comparable, V any] struct {
	size       int
	weigh      func(V) int
	held       int // weight of the young
	young, old map[K]V
}

func (c *twoGenerations[K, V]) get(k K) (V, bool) {
	v, ok := c.young[k]
	if ok {
		return v, true
	}
	if v, ok = c.old[k]; ok {
		c.put(k, v)
	}
	return v, ok
}

func (c *twoGenerations[K, V]) put(k K, v V) {
	if c.young == nil || c.held >= c.size {
		c.old, c.young, c.held = c.young, map[K]V{}, 0
	}
	if before, ok := c.young[k]; ok {
		c.held -= c.weight(before)
	}
	c.young[k] = v
	c.held += c.weight(v)
}

func (c *twoGenerations[K, V]) weight(v V) int {
	if c.weigh == nil {
		return 1
	}
	return c.weigh(v)
}

func (c *twoGenerations[K, V]) drop(k K) {
	if before, ok := c.young[k]; ok {
		c.held -= c.weight(before)
	}
	delete(c.young, k)
	delete(c.old, k)
}

func (c *twoGenerations[K, V]) clear() { c.young, c.old, c.held = nil, nil, 0 }

// eventCache keeps decoded records, so that a fact is decoded once and shared
// by all projections of its batch.
type eventCache struct {
	twoGenerations[location, *events.Event]
}

// scopeCache keeps the scopes that are being written to decoded and in order,
// so that a live fact does not re-read its day. It is used under Store.apply.
type scopeCache struct {
	events *eventCache
	scopes twoGenerations[scopeOf, []Record]
	// newest is the latest day seen of each reference, kept while the archive
	// was empty when it was opened: a later day can't hold records yet.
	newest map[refOf]Day
	coming map[refOf]Day // the same of the batch that is on its way
}

type scopeOf struct {
	p  *progress
	sc Scope
}

type refOf struct {
	p   *progress
	ref events.Ref
}

// hotRecords is how many records of scopes one generation keeps, decoded: two
// days of a colony of a hundred animals.
const hotRecords = 12_000

func newScopeCache() scopeCache {
	return scopeCache{
		events: &eventCache{twoGenerations[location, *events.Event]{size: 6000}},
		scopes: twoGenerations[scopeOf, []Record]{size: hotRecords, weigh: func(recs []Record) int { return 1 + len(recs) }},
		coming: map[refOf]Day{},
	}
}

// clear forgets everything that a batch brought, after it did not commit.
func (c *scopeCache) clear() {
	c.events.clear()
	c.scopes.clear()
	clear(c.coming)
}

// keep remembers the days of a batch that did commit.
func (c *scopeCache) keep() {
	if c.newest != nil {
		maps.Copy(c.newest, c.coming)
	}
	clear(c.coming)
}

// rezoned forgets what was kept by days that may be others now.
func (c *scopeCache) rezoned() { c.scopes.clear() }

// insert keeps records in order of time and id.
func insert(list []Record, rec Record) []Record {
	i, found := slices.BinarySearchFunc(list, rec, compareRecords)
	if found {
		list[i] = rec
		return list
	}
	return slices.Insert(list, i, rec)
}
