package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"haulout/events"
	"haulout/events/journal"
)

func tryNode(t *testing.T, dir string) *node {
	t.Helper()
	n, err := openNode(t.Context(), nodeConfig{Dir: dir, Log: slog.New(slog.NewTextHandler(t.Output(), nil)), Report: func(string, uint64, uint64) {}})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// fact drafts a fact of Saltgarth with a new id.
func fact(t *testing.T, kind string, at time.Time, body string) events.Event {
	t.Helper()
	ev, err := events.Draft{ID: uuid.Must(uuid.NewV7()).String(), Type: events.TypeOf(kind), Time: at.Format(time.RFC3339), Facility: "saltgarth", Data: json.RawMessage(body)}.Fact()
	if err != nil {
		t.Fatalf("%s %s: %v", kind, body, err)
	}
	return ev
}

func record(n *node, facts ...events.Event) ([]events.Receipt, error) {
	return n.journal.Record(context.Background(), events.Batch{Facility: "saltgarth", Author: "rv", Device: "test", Facts: facts})
}

func mustRecord(t *testing.T, n *node, facts ...events.Event) []events.Receipt {
	t.Helper()
	receipts, err := record(n, facts...)
	if err != nil {
		t.Fatal(err)
	}
	return receipts
}

var march = time.Date(2026, 3, 1, 16, 0, 0, 0, time.UTC)

func openSaltgarth(t *testing.T, n *node) {
	t.Helper()
	mustRecord(t, n,
		fact(t, "facility.opened", march, `{"name":"Saltgarth","zone":"Europe/Dublin"}`),
		fact(t, "animal.entered", march, `{"animal":"marl","name":"Marl","taxon":"Zalophus californianus","sex":"female","how":"birth","born":"2020-06-09"}`),
		fact(t, "food.described", march, `{"food":"herring","name":"Herring","form":"fish","composition":{"protein":{"value":"17.96","unit":"g"},"fat":{"value":"9.04","unit":"g"}},"source":"USDA SR, NDB 15039"}`),
	)
}

func feed(t *testing.T, offered, eaten string) events.Event {
	return fact(t, "feed.given", march.Add(time.Hour), fmt.Sprintf(`{"animal":"marl","items":[{"food":"herring","offered":{"value":%q,"unit":"kg"},"eaten":{"value":%q,"unit":"kg"}}]}`, offered, eaten))
}

func TestFactsBecomeRowsAndSurviveARestart(t *testing.T) {
	dir := t.TempDir()
	n := tryNode(t, dir)
	openSaltgarth(t, n)
	var wg sync.WaitGroup
	for range 16 {
		f := feed(t, "0.5", "0.4")
		wg.Go(func() {
			if _, err := record(n, f); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if !n.settled(t.Context(), "saltgarth", 19, 5*time.Second) {
		t.Fatal("rows are not there after 5 s")
	}
	check := func(n *node) {
		days, err := n.store.Days("marl", "2026-03-01", "2026-03-01", time.Time{})
		if err != nil || len(days) != 1 {
			t.Fatalf("days %v, %v", days, err)
		}
		if d := days[0]; d.OfferedG != 8000 || d.EatenG != 6400 || d.RefusedG != 1600 || d.Feeds != 16 {
			t.Errorf("day is %+v", d)
		}
		// 100 g hold 4.27·17.96 + 9.02·9.04 = 158.23 kcal (USDA prints 158).
		if kcal := *days[0].Kcal; kcal < 64*158.2 || kcal > 64*158.3 {
			t.Errorf("64 × 100 g of herring give %.1f kcal", kcal)
		}
	}
	check(n)
	head := n.store.Head("saltgarth")
	if err := n.close(); err != nil {
		t.Fatal(err)
	}
	n = tryNode(t, dir)
	defer n.close()
	if n.store.Head("saltgarth") != head {
		t.Error("the head changed over a restart")
	}
	check(n)
	if _, err := openNode(t.Context(), nodeConfig{Dir: dir, Log: slog.New(slog.DiscardHandler)}); !errors.Is(err, journal.ErrHeld) {
		t.Errorf("a second process on the folder got %v", err)
	}
}

func TestARepeatIsAnsweredWithTheFirstReceipt(t *testing.T) {
	n := tryNode(t, t.TempDir())
	defer n.close()
	openSaltgarth(t, n)
	f := feed(t, "0.5", "0.5")
	first := mustRecord(t, n, f)[0]
	again := mustRecord(t, n, f, f)
	for _, r := range again {
		if !r.Repeated || r.Number != first.Number || r.Hash != first.Hash {
			t.Errorf("repeat got %+v, first was %+v", r, first)
		}
	}
	other := feed(t, "0.5", "0.2")
	other.ID = f.ID
	_, err := record(n, other)
	if c, ok := errors.AsType[*events.Conflict](err); !ok || c.Number != first.Number {
		t.Errorf("a reused id got %v", err)
	}
}

func TestARefusedFactLeavesNothingOfItsRequest(t *testing.T) {
	n := tryNode(t, t.TempDir())
	defer n.close()
	openSaltgarth(t, n)
	unknown := fact(t, "weight.taken", march, `{"animal":"nobody","mass":{"value":"80","unit":"kg"}}`)
	early := fact(t, "note", time.Now().Add(time.Hour), `{"text":"from tomorrow"}`)
	_, err := record(n, feed(t, "1", "1"), unknown, early)
	refused, ok := errors.AsType[events.Refused](err)
	if !ok || len(refused) != 2 || refused[0].Index != 1 || refused[0].Field != "data.animal" || refused[1].Field != "time" {
		t.Fatalf("got %v", err)
	}
	if r := mustRecord(t, n, feed(t, "1", "1"))[0]; r.Number != 4 {
		t.Errorf("the next record is number %d, want 4", r.Number)
	}
}

func TestACorrectionMovesItsDay(t *testing.T) {
	n := tryNode(t, t.TempDir())
	defer n.close()
	openSaltgarth(t, n)
	f := feed(t, "5.0", "5.0")
	mustRecord(t, n, f)
	fix := fact(t, "entry.corrected", march.Add(2*time.Hour), fmt.Sprintf(`{"entry":%q,"time":"2026-03-03T10:00:00Z","reason":"decimal point missed","data":{"animal":"marl","items":[{"food":"herring","offered":{"value":"0.5","unit":"kg"},"eaten":{"value":"0.5","unit":"kg"}}]}}`, f.ID))
	mustRecord(t, n, fix)
	n.settled(t.Context(), "saltgarth", 5, 5*time.Second)
	days, err := n.store.Days("marl", "2026-02-01", "2026-04-01", time.Time{})
	if err != nil || len(days) != 1 || days[0].Day != "2026-03-03" || days[0].EatenG != 500 {
		t.Errorf("days are %+v, %v", days, err)
	}
	undo := fact(t, "entry.withdrawn", march.Add(3*time.Hour), fmt.Sprintf(`{"entry":%q,"reason":"it was right"}`, fix.ID))
	mustRecord(t, n, undo)
	n.settled(t.Context(), "saltgarth", 6, 5*time.Second)
	days, err = n.store.Days("marl", "2026-02-01", "2026-04-01", time.Time{})
	if err != nil || len(days) != 1 || days[0].Day != "2026-03-01" || days[0].EatenG != 5000 {
		t.Errorf("after the correction was withdrawn, days are %+v, %v", days, err)
	}
}
