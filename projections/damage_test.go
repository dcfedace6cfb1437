package projections

import (
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// said is what an archive answers to those who ask, a line an answer.
type said map[string]bool

func (s said) add(answers ...any) {
	for _, answer := range answers {
		raw, err := json.Marshal(answer)
		s[fmt.Sprintf("%T %s %v", answer, raw, err)] = true
	}
}

// askAll asks an archive for everything.
func askAll(s *Store) (said, error) {
	out := said{}
	days, err1 := s.Days("marl", "2026-01-01", "2026-12-31", time.Time{})
	for _, d := range days {
		out.add(d)
	}
	weights, err2 := s.Weights("marl", "2026-01-01", "2026-12-31", laterOn)
	for _, w := range weights {
		out.add(w)
	}
	animals, err3 := s.Animals(time.Time{})
	for _, a := range animals {
		out.add(a)
	}
	list, _, err4 := s.Records(Query{Ref: aboutMarl, To: laterOn, Limit: 5000})
	for _, l := range list {
		out.add(l)
	}
	lines, err5 := s.Lines("saltgarth", 0, 5000)
	for _, line := range lines {
		out.add(string(line))
	}
	out.add(s.Head("saltgarth"))
	return out, errors.Join(err1, err2, err3, err4, err5)
}

// Badger takes a block that it can't read for missing. So a damaged file may
// hide answers until the archive looks over its files. It never alters one, and
// it never takes the process down.
func TestADamagedFileIsFound(t *testing.T) {
	r, whole := saltgarth(t), t.TempDir()
	first := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	for i := range 1200 {
		weigh(r, "marl", first.Add(time.Duration(i)*3*time.Hour/2).Format(time.RFC3339))
	}
	s := openStore(t, whole, All())
	mustApply(t, s, r.pages()...)
	closeStore(t, s)
	s = openStore(t, whole, All())
	want, err := askAll(s)
	if err := errors.Join(err, s.Verify()); err != nil || len(want) < 3*1200 {
		t.Fatalf("whole files give %d answers, %v", len(want), err)
	}
	closeStore(t, s)
	weigh(r, "marl", "2026-03-02T10:00:00Z") // falls into a day that the damage may have hit
	files, err := os.ReadDir(whole)
	if err != nil {
		t.Fatal(err)
	}
	base, found := smallDir(t), 0
	for _, file := range files {
		spots := 2
		if info, err := file.Info(); err == nil && info.Size() > 10_000 && filepath.Ext(file.Name()) == ".sst" {
			spots = 32
		}
		for spot := range spots {
			dir := filepath.Join(base, fmt.Sprintf("%s-%d", file.Name(), spot))
			if err := os.CopyFS(dir, os.DirFS(whole)); err != nil {
				t.Fatal(err)
			}
			flip(t, filepath.Join(dir, file.Name()), spot, spots)
			if foundDamage(t, dir, want) {
				found++
			}
			recordOn(dir, r)
			os.RemoveAll(dir)
		}
	}
	if found < 30 {
		t.Errorf("damage was found %d times", found)
	}
}

// foundDamage asks a damaged archive, and says whether it noticed.
func foundDamage(t *testing.T, dir string, want said) bool {
	s, err := Open(dir, All(), slog.New(slog.DiscardHandler))
	if err != nil {
		return true
	}
	defer s.Close()
	got, err := askAll(s)
	for answer := range got {
		if !want[answer] {
			t.Errorf("%s was altered: %.300s", filepath.Base(dir), answer)
		}
	}
	noticed := errors.Join(err, s.Verify()) != nil
	if !noticed && len(got) != len(want) {
		t.Errorf("%s hides %d answers, unnoticed", filepath.Base(dir), len(want)-len(got))
	}
	return noticed
}

// recordOn goes on recording on damaged files. Refusing is right; to panic is
// not, and would end the test.
func recordOn(dir string, r *recorder) {
	s, err := Open(dir, All(), slog.New(slog.DiscardHandler))
	if err != nil {
		return
	}
	_ = s.Apply(r.pages()...)
	_ = s.Close()
}

// flip damages one byte of a file, at one of some spots spread over it.
func flip(t *testing.T, file string, spot, spots int) int {
	t.Helper()
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if len(raw) == 0 {
		return 0
	}
	at := len(raw) * (2*spot + 1) / (2 * spots)
	raw[at] ^= 0x41
	if err := os.WriteFile(file, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	return at
}
