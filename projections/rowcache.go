package projections

import (
	"bytes"
	"sync"

	"github.com/dgraph-io/badger/v4"

	"haulout/events"
)

// rowCache keeps decoded rows of windows that are read again and again. A row is
// known by its key and the version that the database gave what it wrote, so
// nothing has to be told when a row changes. What is kept is shared: nobody may
// change it.
type rowCache struct {
	mu   sync.Mutex
	rows twoGenerations[string, keptRow]
}

type keptRow struct {
	version uint64
	row     any // *R, or nil where the row is empty
}

// keptRows is how many decoded rows one generation keeps: years of days of a
// dozen enclosures, some tens of megabytes.
const keptRows = 24_000

func newRowCache() *rowCache {
	return &rowCache{rows: twoGenerations[string, keptRow]{size: keptRows}}
}

func (c *rowCache) get(key []byte, version uint64) (any, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	kept, ok := c.rows.get(string(key))
	return kept.row, ok && kept.version == version
}

func (c *rowCache) put(key []byte, version uint64, row any) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.rows.put(string(key), keptRow{version, row})
}

// shared reads the rows of a reference over days from … to, in order of day, as
// rows does, and decodes only what it did not decode before. The rows are shared
// with other readers: they are to be read only.
func shared[R any](v view, p *Projection, ref events.Ref, from, to Day) (out []dated[*R], err error) {
	versions := v.s.versions(p)
	if !v.asOf.IsZero() || len(versions) != 1 {
		list, err := rows[R](v, p, ref, from, to)
		for i := range list {
			out = append(out, dated[*R]{list[i].Day, &list[i].Row})
		}
		return out, err
	}
	prefix := rowPrefix(p.Name, versions[0], ref)
	return keptList(v, window{string(prefix), from, to, ""}, func() ([]dated[*R], error) { return decodedRows[R](v, prefix, from, to) })
}

func decodedRows[R any](v view, prefix []byte, from, to Day) (out []dated[*R], err error) {
	it := v.txn.NewIterator(badger.IteratorOptions{PrefetchValues: false, Prefix: prefix})
	defer it.Close()
	for it.Seek(append(bytes.Clone(prefix), from...)); it.Valid(); it.Next() {
		day := Day(it.Item().Key()[len(prefix):])
		if day > to {
			break
		}
		row, err := decoded[R](v.s.decoded, it.Item())
		if err != nil {
			return nil, err
		}
		if row != nil {
			out = append(out, dated[*R]{day, row})
		}
	}
	return out, nil
}

// decoded is the row of an item, decoded once.
func decoded[R any](c *rowCache, item *badger.Item) (row *R, err error) {
	if kept, ok := c.get(item.Key(), item.Version()); ok {
		if row, same := kept.(*R); same {
			return row, nil
		}
	}
	err = item.Value(func(raw []byte) (err error) {
		row, err = decodeRow[R](raw)
		return err
	})
	if err == nil {
		c.put(item.Key(), item.Version(), row)
	}
	return row, err
}

// copied is a row that a reader may set fields of; what its lists hold stays
// shared, and is to be read only.
func copied[R any](row *R, err error) (*R, error) {
	if row == nil || err != nil {
		return nil, err
	}
	own := *row
	return &own, nil
}
