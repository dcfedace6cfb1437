package projections

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"
	"time"

	"haulout/events"
	"haulout/projections/dominance"
)

// opsVector is testdata/vectors/dominance/ops_late_and_corrected.json: encounters
// that come late, are corrected, moved in time and taken back, with the state
// after each, computed by another program.
type opsVector struct {
	IDs []string `json:"ids"`
	Ops []struct {
		Op, ID, T, Winner, Loser, Target string
	} `json:"ops"`
	Computed struct {
		States struct {
			Value     []opsState `json:"value"`
			Tolerance float64    `json:"tolerance"`
		} `json:"state_after_each_op"`
	} `json:"computed"`
}

type opsState struct {
	Matrix [][]float64        `json:"matrix"`
	Elo    map[string]float64 `json:"elo"`
	David  map[string]float64 `json:"davids_score_Dij"`
	Norm   map[string]float64 `json:"norm_ds_Dij"`
	HPrime float64            `json:"h_prime"`
	ISI    [3]int             `json:"isi"`
}

func TestLateAndCorrectedEncountersGiveTheSameOrderAfterEachStep(t *testing.T) {
	raw, err := os.ReadFile("../testdata/vectors/dominance/ops_late_and_corrected.json")
	if err != nil {
		t.Fatal(err)
	}
	var vector opsVector
	if err := json.Unmarshal(raw, &vector); err != nil {
		t.Fatal(err)
	}
	if len(vector.Ops) == 0 || len(vector.Ops) != len(vector.Computed.States.Value) {
		t.Fatalf("%d steps and %d states", len(vector.Ops), len(vector.Computed.States.Value))
	}
	r := encounterGround(t, vector.IDs)
	s := openStore(t, t.TempDir(), All())
	defer closeStore(t, s)
	mustApply(t, s, r.pages()...)
	known := map[string]events.Event{}
	for i, op := range vector.Ops {
		switch op.Op {
		case "add":
			known[op.ID] = r.encounter(op.ID, op.T, op.Winner, op.Loser)
		case "retract":
			r.withdraw(known[op.Target])
		case "amend":
			was := known[op.Target]
			if op.T != "" {
				r.correctTime(was, op.T+":00Z")
			} else {
				r.correct(was, encounterBody(op.Winner, op.Loser))
			}
		}
		n := len(r.books["saltgarth"].lines)
		mustApply(t, s, r.page("saltgarth", n, n))
		t.Run(fmt.Sprintf("computed/%d %s", i+1, op.Op), func(t *testing.T) {
			compareState(t, s, vector.IDs, vector.Computed.States.Value[i], vector.Computed.States.Tolerance)
		})
	}
	// What came in late and was corrected is what a new archive makes of all of it.
	anew := filledStore(t, r)
	if got, want := rowsOf(t, s), rowsOf(t, anew); len(want) == 0 || fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("rows kept up: %v\nrows made anew: %v", got, want)
	}
}

// encounterGround is Saltgarth with animals that live in one pool.
func encounterGround(t *testing.T, ids []string) *recorder {
	r := newRecorder(t)
	r.record("saltgarth", "facility.opened", "2024-01-01T08:00:00Z", `{"name":"Saltgarth","zone":"UTC"}`)
	r.record("saltgarth", "enclosure.described", "2024-01-01T08:10:00Z", `{"enclosure":"harbour","name":"Harbour pool"}`)
	for _, id := range ids {
		r.record("saltgarth", "animal.entered", "2024-01-01T09:00:00Z", fmt.Sprintf(`{"animal":%q,"name":%q,"taxon":"Phoca vitulina","sex":"female","how":"arrival"}`, id, id))
		r.record("saltgarth", "animal.placed", "2024-01-01T10:00:00Z", fmt.Sprintf(`{"animal":%q,"enclosure":"harbour"}`, id))
	}
	return r
}

func encounterBody(winner, loser string) string {
	return fmt.Sprintf(`{"winner":%q,"loser":%q,"enclosure":"harbour"}`, winner, loser)
}

// encounter records one whose id sorts as the vector's does: e0, e1, e2 …
func (r *recorder) encounter(id, at, winner, loser string) events.Event {
	r.t.Helper()
	var n uint32
	if _, err := fmt.Sscanf(id, "e%d", &n); err != nil {
		r.t.Fatalf("%v", err)
	}
	ev, err := r.try(events.Draft{ID: r.id(n), Type: events.TypeOf("encounter.seen"), Time: at + ":00Z", Facility: "saltgarth", Data: json.RawMessage(encounterBody(winner, loser))}, "rv")
	if err != nil {
		r.t.Fatalf("%s: %v", id, err)
	}
	return ev
}

func compareState(t *testing.T, s *Store, ids []string, want opsState, tolerance float64) {
	o := &ordering{ask: OrderAsk{Facility: "saltgarth", Enclosure: "harbour", From: "2024-04-01", To: "2024-06-01"}, now: time.Date(2024, 6, 2, 12, 0, 0, 0, time.UTC)}
	err := s.at(time.Time{}, func(v view) error {
		if known, err := o.begin(v); !known || err != nil {
			return fmt.Errorf("begin: %v %w", known, err)
		}
		return o.work(v)
	})
	if err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want float64) {
		if !(math.Abs(got-want) <= tolerance) {
			t.Errorf("%s: %v; wanted %v", what, got, want)
		}
	}
	david := o.matrix.DavidsScore(dominance.Dij)
	best, err := o.matrix.InconsistenciesAndStrengths()
	if err != nil {
		t.Fatal(err)
	}
	for i, id := range ids {
		for j := range ids {
			near(fmt.Sprintf("wins of %s over %s", id, ids[j]), o.matrix.Wins[i][j], want.Matrix[i][j])
		}
		near("rating of "+id, o.lastRating(id), want.Elo[id])
		near("score of "+id, david.Score[i], want.David[id])
		near("normalised score of "+id, david.Norm[i], want.Norm[id])
	}
	near("h'", o.matrix.Linearity().HPrime, want.HPrime)
	if got := [3]int{best.I, best.SI, int(best.Orders)}; got != want.ISI {
		t.Errorf("inconsistencies, strength and orders: %v; wanted %v", got, want.ISI)
	}
}
