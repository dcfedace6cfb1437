package journal

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// marker remembers which facilities the data folder holds a stream of, outside
// JetStream's own files: a damaged stream reads as "not found" there.
type marker struct {
	path       string
	Facilities []string `json:"facilities"`
}

func readMarker(dir string) (*marker, error) {
	m := &marker{path: filepath.Join(dir, "streams.json")}
	raw, err := os.ReadFile(m.path)
	if errors.Is(err, fs.ErrNotExist) {
		return m, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read which streams the folder holds: %w", err)
	}
	if err := json.Unmarshal(raw, m); err != nil {
		return nil, fmt.Errorf("%w: %s can't be read: %w", ErrDamage, m.path, err)
	}
	return m, nil
}

// add writes the facility down and waits for the disk.
func (m *marker) add(facility string) error {
	m.Facilities = append(m.Facilities, facility)
	slices.Sort(m.Facilities)
	raw, err := json.Marshal(m)
	if err != nil {
		return err
	}
	return writeSynced(m.path, raw)
}

// writeSynced replaces a file as a whole: a reader sees the old one or the new.
func writeSynced(path string, raw []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(raw)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	dir, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	return errors.Join(dir.Sync(), dir.Close())
}
