package projections

import (
	"maps"
	"slices"

	"haulout/events"
)

// twoGenerations is a bounded map: what was not asked for while one generation
// filled is dropped with the next.
type twoGenerations[K comparable, V any] struct {
	size       int
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
	if c.young == nil || len(c.young) >= c.size {
		c.old, c.young = c.young, make(map[K]V, c.size/4)
	}
	c.young[k] = v
}

func (c *twoGenerations[K, V]) drop(k K) {
	delete(c.young, k)
	delete(c.old, k)
}

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

func newScopeCache() scopeCache {
	return scopeCache{
		events: &eventCache{twoGenerations[location, *events.Event]{size: 6000}},
		scopes: twoGenerations[scopeOf, []Record]{size: 1500},
		coming: map[refOf]Day{},
	}
}

// clear forgets everything that a batch brought, after it did not commit.
func (c *scopeCache) clear() {
	c.events.young, c.events.old = nil, nil
	c.scopes.young, c.scopes.old = nil, nil
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
func (c *scopeCache) rezoned() { c.scopes.young, c.scopes.old = nil, nil }

// insert keeps records in order of time and id.
func insert(list []Record, rec Record) []Record {
	i, found := slices.BinarySearchFunc(list, rec, compareRecords)
	if found {
		list[i] = rec
		return list
	}
	return slices.Insert(list, i, rec)
}
