package projections

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/dgraph-io/badger/v4"
	"github.com/dgraph-io/badger/v4/options"

	"haulout/events"
)

// zone is a facility's time zone; nil until its facility.opened has arrived.
type zone = *time.Location

// Head is the last record of a facility that the archive holds.
type Head struct {
	Number uint64      `json:"number"`
	Hash   events.Hash `json:"hash"`
}

func (h Head) encode() []byte {
	return append(binary.BigEndian.AppendUint64(make([]byte, 0, 8+len(h.Hash)), h.Number), h.Hash[:]...)
}

func decodeHead(b []byte) (h Head, err error) {
	if len(b) != 8+len(h.Hash) {
		return h, fmt.Errorf("a head of %d bytes", len(b))
	}
	h.Number = binary.BigEndian.Uint64(b)
	copy(h.Hash[:], b[8:])
	return h, nil
}

// Store is the archive and the rows of one node.
type Store struct {
	// Halted says why a facility takes no facts, "" where it does. The log knows;
	// it is set once, before anybody asks for a board.
	Halted func(facility string) string

	db   *badger.DB
	log  *slog.Logger
	list []*progress

	packer  packer
	apply   sync.Mutex // one batch at a time
	scope   scopeCache // under apply
	decoded *rowCache
	windows *windowCache
	filling bool // under apply

	mu      sync.RWMutex // what follows
	heads   map[string]Head
	zones   map[string]zone
	changed chan struct{} // closed and replaced after each batch
	fixed   map[string][]location
	orphans map[string]bool
}

// ErrFiles says that the archive's files can't be read. Nothing is lost with
// them: the log holds every record.
var ErrFiles = errors.New("the files of the archive can't be read")

// Open opens the archive in a folder and makes it ready for the projections.
// Rows of an older version stay readable until Rebuild has built the new ones.
func Open(dir string, list []Projection, log *slog.Logger) (*Store, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the archive folder: %w", err)
	}
	db, err := openBadger(dir)
	if err != nil {
		return nil, fmt.Errorf("%w: open the archive in %s: %w", ErrFiles, dir, err)
	}
	packer, err := newPacker()
	if err != nil {
		return nil, errors.Join(fmt.Errorf("set up the packing of chunks: %w", err), db.Close())
	}
	s := &Store{
		db: db, log: log, packer: packer, heads: map[string]Head{}, zones: map[string]zone{}, changed: make(chan struct{}),
		fixed: map[string][]location{}, orphans: map[string]bool{}, scope: newScopeCache(), decoded: newRowCache(), windows: newWindowCache(),
	}
	if err := s.load(list); err != nil {
		return nil, errors.Join(fmt.Errorf("%w: load the archive in %s: %w", ErrFiles, dir, err), db.Close())
	}
	return s, nil
}

// openBadger has every block that is read held against its checksum, so that
// no altered row is served. Badger's own compression is off: records come
// packed, and the buffers that tables are built in grow to several times the
// memory table and are kept, eight of them. For the same reason memory tables
// are small; a transaction holds 15 % of one, and what asks for more is done in
// pieces. More tables may lie in the first level instead, so that a fill compacts
// less often.
func openBadger(dir string) (db *badger.DB, err error) {
	defer damaged(&err)
	return badger.Open(badger.DefaultOptions(filepath.Clean(dir)).
		WithLogger(nil).WithSyncWrites(false).WithDetectConflicts(false).
		WithMemTableSize(16 << 20).WithNumMemtables(2).WithNumLevelZeroTables(12).WithNumLevelZeroTablesStall(36).
		WithBlockCacheSize(32 << 20).WithIndexCacheSize(16 << 20).
		WithValueLogFileSize(64 << 20).WithNumCompactors(2).WithChecksumVerificationMode(options.OnBlockRead).
		WithCompression(options.None).WithMetricsEnabled(false))
}

// damaged turns a panic of Badger over a damaged block into an error, when it
// is deferred: damage there must never take the process down.
func damaged(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("%w: %v", ErrFiles, r)
	}
}

// Verify holds the archive's files against their checksums, rows and all.
// Badger itself takes what it can't read for missing, so this is how damage is
// found for certain.
func (s *Store) Verify() (err error) {
	defer damaged(&err)
	if err := s.db.VerifyChecksum(); err != nil {
		return fmt.Errorf("%w: %w", ErrFiles, err)
	}
	return nil
}

// Close writes what is in memory and closes the archive.
func (s *Store) Close() error {
	s.apply.Lock()
	defer s.apply.Unlock()
	return s.db.Close()
}

func (s *Store) load(list []Projection) (err error) {
	defer damaged(&err)
	return s.db.Update(func(txn *badger.Txn) error {
		if err := scan(txn, []byte{keyHead}, func(k, v []byte) error {
			head, err := decodeHead(v)
			if err != nil {
				return err
			}
			s.heads[string(k[1:len(k)-1])] = head
			return nil
		}); err != nil {
			return err
		}
		if err := scan(txn, []byte{keyCorrection}, s.loadCorrection(txn)); err != nil {
			return err
		}
		if err := s.loadZones(txn); err != nil {
			return err
		}
		return s.loadProgress(txn, list)
	})
}

func (s *Store) loadCorrection(txn *badger.Txn) func(k, v []byte) error {
	return func(k, v []byte) error {
		id, _, _ := bytes.Cut(k[1:], []byte{0})
		at, err := decodeLocation(v)
		if err != nil {
			return err
		}
		target := string(id)
		s.fixed[target] = append(s.fixed[target], at)
		if _, err := txn.Get(key(keyID, target)); errors.Is(err, badger.ErrKeyNotFound) {
			s.orphans[target] = true
		}
		return nil
	}
}

// scan visits every key with a prefix. Key and value are good until the visit
// returns.
func scan(txn *badger.Txn, prefix []byte, visit func(k, v []byte) error) error {
	return scanFrom(txn, prefix, prefix, visit)
}

// errStop ends a scan early.
var errStop = errors.New("stop")

func scanFrom(txn *badger.Txn, prefix, from []byte, visit func(k, v []byte) error) error {
	it := txn.NewIterator(badger.IteratorOptions{PrefetchValues: false, Prefix: prefix})
	defer it.Close()
	for it.Seek(from); it.Valid(); it.Next() {
		item := it.Item()
		err := item.Value(func(v []byte) error { return visit(item.Key(), v) })
		if errors.Is(err, errStop) {
			return nil
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func get(txn *badger.Txn, k []byte) ([]byte, error) {
	item, err := txn.Get(k)
	if errors.Is(err, badger.ErrKeyNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return item.ValueCopy(nil)
}

// Head is the last record of a facility in the archive.
func (s *Store) Head(facility string) Head {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.heads[facility]
}

// Codes lists the facilities that the archive holds records of, sorted.
func (s *Store) Codes() []string {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return sortedKeys(s.heads)
}

// Zone is the time zone of a facility, UTC where it is not known yet.
func (s *Store) Zone(facility string) *time.Location {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if z := s.zones[facility]; z != nil {
		return z
	}
	return time.UTC
}

// Changed is closed when the next batch is in the archive.
func (s *Store) Changed() <-chan struct{} {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.changed
}
