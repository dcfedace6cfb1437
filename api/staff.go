package api

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"haulout/events"
)

// Member is somebody who may use the program. Staff are not facts: they come
// and go without a trace in the log but their names on what they recorded.
type Member struct {
	Name       string   `json:"name"`
	Role       string   `json:"role"`
	Facilities []string `json:"facilities,omitempty"` // none: every facility
}

// Reaches says whether the member's role holds at a facility.
func (m Member) Reaches(facility string) bool {
	return len(m.Facilities) == 0 || slices.Contains(m.Facilities, facility)
}

// token lets a program or a browser act as a member. Only its hash is kept.
type token struct {
	Hash    string    `json:"hash"`
	Name    string    `json:"name"`
	Until   time.Time `json:"until,omitzero"`
	Session bool      `json:"session,omitempty"` // made by signing in with a token
}

// Staff is who may use this node, kept in one file of the data folder.
type Staff struct {
	path    string
	now     func() time.Time
	mu      sync.RWMutex
	Members []Member `json:"members"`
	Tokens  []token  `json:"tokens"`
}

// sessionLength is how long a browser stays signed in.
const sessionLength = 30 * 24 * time.Hour

// OpenStaff reads the staff of a data folder; a folder without any has nobody.
func OpenStaff(dir string, now func() time.Time) (*Staff, error) {
	s := &Staff{path: filepath.Join(dir, "staff.json"), now: now}
	raw, err := os.ReadFile(s.path)
	if errors.Is(err, fs.ErrNotExist) {
		return s, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the staff: %w", err)
	}
	if err := json.Unmarshal(raw, s); err != nil {
		return nil, fmt.Errorf("read the staff in %s: %w", s.path, err)
	}
	return s, nil
}

// Add takes a member in, or changes the role of one who is there.
func (s *Staff) Add(m Member) error {
	if !events.ValidCode(m.Name) {
		return fmt.Errorf("the name %q: use letters, digits, dot, dash or underscore, at most 64", m.Name)
	}
	if _, ok := roles[m.Role]; !ok {
		return fmt.Errorf("the role %q: use one of %s", m.Role, strings.Join(Roles(), ", "))
	}
	for _, facility := range m.Facilities {
		if !events.ValidFacility(facility) {
			return fmt.Errorf("the facility %q: use small letters, digits and dashes, at most 32", facility)
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if i := s.index(m.Name); i >= 0 {
		s.Members[i] = m
	} else {
		s.Members = append(s.Members, m)
	}
	return s.save()
}

// Remove takes a member and all their tokens out.
func (s *Staff) Remove(name string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	i := s.index(name)
	if i < 0 {
		return fmt.Errorf("nobody is called %q", name)
	}
	s.Members = slices.Delete(s.Members, i, i+1)
	s.Tokens = slices.DeleteFunc(s.Tokens, func(t token) bool { return t.Name == name })
	return s.save()
}

func (s *Staff) index(name string) int {
	return slices.IndexFunc(s.Members, func(m Member) bool { return m.Name == name })
}

// List names everybody.
func (s *Staff) List() []Member {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return slices.Clone(s.Members)
}

// Issue makes a new token for a member. It is shown once and kept as a hash.
func (s *Staff) Issue(name string) (string, error) { return s.issue(token{Name: name}) }

func (s *Staff) issue(t token) (string, error) {
	secret := make([]byte, 32)
	if _, err := rand.Read(secret); err != nil {
		return "", err
	}
	text := base64.RawURLEncoding.EncodeToString(secret)
	t.Hash = hashOf(text)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.index(t.Name) < 0 {
		return "", fmt.Errorf("nobody is called %q", t.Name)
	}
	now := s.now()
	s.Tokens = slices.DeleteFunc(s.Tokens, func(t token) bool { return !t.Until.IsZero() && t.Until.Before(now) })
	s.Tokens = append(s.Tokens, t)
	return text, s.save()
}

func hashOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])
}

// Holder finds the member who holds a token. Tokens have 256 random bits, so
// comparing hashes gives nothing away by its timing.
func (s *Staff) Holder(text string) (Member, bool) {
	m, _, ok := s.holder(text)
	return m, ok
}

func (s *Staff) holder(text string) (m Member, t token, ok bool) {
	hash := hashOf(text)
	s.mu.RLock()
	defer s.mu.RUnlock()
	for _, t := range s.Tokens {
		if t.Hash != hash || (!t.Until.IsZero() && t.Until.Before(s.now())) {
			continue
		}
		if i := s.index(t.Name); i >= 0 {
			return s.Members[i], t, true
		}
	}
	return m, t, false
}

// StartSession trades a token for a session of a browser. A session can't be
// traded for another: it would never end.
func (s *Staff) StartSession(text string) (string, error) {
	m, t, ok := s.holder(text)
	if !ok || t.Session {
		return "", errors.New("nobody holds this token")
	}
	return s.issue(token{Name: m.Name, Until: s.now().Add(sessionLength), Session: true})
}

// EndSession makes a session's token worthless.
func (s *Staff) EndSession(text string) error {
	hash := hashOf(text)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.Tokens = slices.DeleteFunc(s.Tokens, func(t token) bool { return t.Session && t.Hash == hash })
	return s.save()
}

// save replaces the file as a whole and waits for the disk.
func (s *Staff) save() error {
	raw, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(s.path), ".staff-*")
	if err != nil {
		return fmt.Errorf("write the staff: %w", err)
	}
	defer os.Remove(f.Name())
	_, err = f.Write(raw)
	if err := errors.Join(err, f.Chmod(0o600), f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("write the staff: %w", err)
	}
	return os.Rename(f.Name(), s.path)
}
