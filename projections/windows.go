package projections

import (
	"sync"

	"haulout/events"
)

// windowCache keeps lists of rows of windows that are read again and again, such
// as the last weeks of every animal on a board. A list is good for as long as
// nothing was written of what it was read from, which the store tells with each
// batch. What is kept is shared: nobody may change it.
type windowCache struct {
	mu    sync.Mutex
	count uint64            // of batches whose rows can be read
	wrote map[string]uint64 // the count at which rows under a prefix last changed
	lists twoGenerations[window, keptWindow]
}

// window is what a list was read of: rows under a prefix, over days from … to,
// and what was made of them, "" for the rows themselves.
type window struct {
	prefix   string
	from, to Day
	made     string
}

// keptWindow is a list and the count of the reading that it comes from.
type keptWindow struct {
	begun uint64
	list  any
}

// keptWindows is how many lists one generation keeps: a dozen of each of some
// hundred animals.
const keptWindows = 4_000

func newWindowCache() *windowCache {
	return &windowCache{wrote: map[string]uint64{}, lists: twoGenerations[window, keptWindow]{size: keptWindows}}
}

// begin is the count that a reading starts with. It is asked for before the
// reading's transaction is opened, so that the transaction shows at least the
// rows of that many batches.
func (c *windowCache) begin() uint64 {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.count
}

// changed tells that rows under these prefixes were written and can be read.
func (c *windowCache) changed(prefixes map[string]bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.count++
	for prefix := range prefixes {
		c.wrote[prefix] = c.count
	}
}

// get is the list of a window, where nothing under the prefixes changed since it
// was read, and nothing that the present reading can't see yet.
func (c *windowCache) get(w window, prefixes []string, begun uint64) (any, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	kept, ok := c.lists.get(w)
	if !ok {
		return nil, false
	}
	for _, prefix := range prefixes {
		if c.wrote[prefix] > min(kept.begun, begun) {
			return nil, false
		}
	}
	return kept.list, true
}

func (c *windowCache) put(w window, begun uint64, list any) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.lists.put(w, keptWindow{begun, list})
}

// keptList is the list of a window, read only where it is not at hand.
func keptList[T any](v view, w window, read func() ([]T, error)) ([]T, error) {
	return keptFrom(v, w, []string{w.prefix}, read)
}

func keptFrom[T any](v view, w window, prefixes []string, read func() ([]T, error)) ([]T, error) {
	if v.batch != nil {
		return read()
	}
	if kept, ok := v.s.windows.get(w, prefixes, v.begun); ok {
		if list, same := kept.([]T); same {
			return list, nil
		}
	}
	list, err := read()
	if err == nil {
		list = list[:len(list):len(list)] // nobody appends to what is shared
		v.s.windows.put(w, v.begun, list)
	}
	return list, err
}

// stretch is the days of some references that an answer is made from.
type stretch struct {
	p        *Projection
	refs     []events.Ref
	from, to Day
}

// madeOf is what work makes of rows, such as what a year of weigh-ins says of a
// scale, done anew only where they changed. The name holds what work is and
// everything that it goes by beside the rows, their references among it. What is
// made is shared: it is to be read only.
func madeOf[T any](v view, name string, of stretch, work func() (T, error)) (T, error) {
	versions := v.s.versions(of.p)
	if !v.asOf.IsZero() || len(versions) != 1 {
		return work()
	}
	prefixes := make([]string, len(of.refs))
	for i, ref := range of.refs {
		prefixes[i] = string(rowPrefix(of.p.Name, versions[0], ref))
	}
	one, err := keptFrom(v, window{made: name}, prefixes, func() ([]T, error) {
		made, err := work()
		return []T{made}, err
	})
	return one[0], err
}
