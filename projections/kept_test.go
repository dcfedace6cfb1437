package projections

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// bodySaid is everything that is answered of an animal's mass and coat, of the
// scales and of the coats beside it.
func bodySaid(t *rapid.T, s *Store, animal string, asOf time.Time) string {
	now := time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)
	mass, err := s.MassOf(animal, now, asOf)
	if err != nil {
		t.Fatalf("mass: %v", err)
	}
	molts, err := s.CoatOf(animal, now, asOf)
	if err != nil {
		t.Fatalf("coat: %v", err)
	}
	said := []any{mass, molts}
	for _, facility := range []string{"saltgarth", "wrackline-bay"} {
		scales, err := s.Scales(facility, "2026-04-15", asOf)
		if err != nil {
			t.Fatalf("scales: %v", err)
		}
		outlooks, err := s.CoatOutlooks(facility, now, asOf)
		if err != nil {
			t.Fatalf("outlooks: %v", err)
		}
		said = append(said, scales, outlooks)
	}
	raw, err := json.Marshal(said)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return string(raw)
}

// An archive that is asked after every record, and keeps what it made, says in
// the end what one says that was never asked before: records that came in late,
// corrections and withdrawals included.
func TestWhatIsKeptIsWhatIsMadeAnew(t *testing.T) {
	types, base, n := bodyTypes(t), smallDir(t), 0
	list := []Projection{animals, weights, coats}
	rapid.Check(t, func(t *rapid.T) {
		n++
		dir := filepath.Join(base, fmt.Sprint(n))
		defer os.RemoveAll(dir)
		r := colony(t, types, list)
		asked := openStore(t, filepath.Join(dir, "asked"), All())
		fresh := openStore(t, filepath.Join(dir, "fresh"), All())
		for known := range r.all {
			mustApply(t, asked, r.page(r.all[known].ev.Facility, int(r.all[known].ev.Number), int(r.all[known].ev.Number)))
			bodySaid(t, asked, "marl", time.Time{})
		}
		mustApply(t, fresh, r.pages()...)
		for _, animal := range named["animal"] {
			if diff := cmp.Diff(bodySaid(t, fresh, animal, time.Time{}), bodySaid(t, asked, animal, time.Time{})); diff != "" {
				t.Errorf("%s (- made anew, + kept):\n%s\nrecords:\n%s", animal, diff, retold(r.all))
			}
		}
		closeStore(t, asked)
		closeStore(t, fresh)
	})
}
