package projections

import (
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// said is what an archive answers to those who ask.
type said struct {
	Days    []AnimalDay
	Weights []Weighing
	Animals []Animal
	Head    Head
	Listed  []string
	Lines   []string
}

// askAll asks an archive for everything, and to look over its files.
func askAll(dir string) (out said, err error) {
	s, err := Open(dir, All(), slog.New(slog.DiscardHandler))
	if err != nil {
		return out, err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	var errs [6]error
	out.Days, errs[0] = s.Days("marl", "2026-01-01", "2026-12-31", time.Time{})
	out.Weights, errs[1] = s.Weights("marl", "2026-01-01", "2026-12-31", laterOn)
	out.Animals, errs[2] = s.Animals(time.Time{})
	out.Head = s.Head("saltgarth")
	var list []Listed
	list, _, errs[3] = s.Records(Query{Ref: aboutMarl, To: laterOn, Limit: 5000})
	for _, l := range list {
		out.Listed = append(out.Listed, string(l.Record))
	}
	var lines [][]byte
	lines, errs[4] = s.Lines("saltgarth", 0, 5000)
	for _, line := range lines {
		out.Lines = append(out.Lines, string(line))
	}
	errs[5] = s.Verify()
	return out, errors.Join(errs[:]...)
}

// Badger takes a block that it can't read for missing. So a damaged file may
// hide rows until the archive looks over its files; it never alters an answer
// unnoticed, and it never takes the process down.
func TestADamagedFileIsFound(t *testing.T) {
	r, whole := saltgarth(t), t.TempDir()
	first := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	for i := range 1200 {
		weigh(r, "marl", first.Add(time.Duration(i)*3*time.Hour/2).Format(time.RFC3339))
	}
	s := openStore(t, whole, All())
	mustApply(t, s, r.pages()...)
	closeStore(t, s)
	want, err := askAll(whole)
	if err != nil || len(want.Lines) != len(r.all) || len(want.Days) != 75 {
		t.Fatalf("whole files give %d lines, %d days, %v", len(want.Lines), len(want.Days), err)
	}
	weigh(r, "marl", "2026-03-02T10:00:00Z") // falls into a day that the damage may have hit
	files, err := os.ReadDir(whole)
	if err != nil {
		t.Fatal(err)
	}
	base, found := smallDir(t), map[string]int{}
	for _, file := range files {
		spots := 3
		if filepath.Ext(file.Name()) == ".sst" {
			spots = 16
		}
		for spot := range spots {
			dir := filepath.Join(base, fmt.Sprintf("%s-%d", file.Name(), spot))
			if err := os.CopyFS(dir, os.DirFS(whole)); err != nil {
				t.Fatal(err)
			}
			at := flip(t, filepath.Join(dir, file.Name()), spot, spots)
			got, err := askAll(dir)
			if err != nil {
				found[filepath.Ext(file.Name())]++
			} else if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("%s, byte %d, changed the answer unnoticed:\n%.400s", file.Name(), at, diff)
			}
			recordOn(dir, r)
			os.RemoveAll(dir)
		}
	}
	if found[".sst"] < 16 { // half of the spots of two tables; some lie where nothing is written
		t.Errorf("damage was found so often: %v", found)
	}
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
