package projections

import (
	"context"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"haulout/events"
)

// herd is Saltgarth with a hundred animals and what their days need.
func herd(b *testing.B) *recorder {
	r := newRecorder(b)
	r.record("saltgarth", "facility.opened", "2025-12-01T08:00:00Z", `{"name":"Saltgarth","zone":"Europe/Dublin"}`)
	r.record("saltgarth", "enclosure.described", "2025-12-01T08:00:00Z", `{"enclosure":"harbour","name":"Harbour pool"}`)
	r.record("saltgarth", "food.described", "2025-12-01T08:00:00Z", herringBody)
	r.record("saltgarth", "lot.received", "2025-12-01T08:00:00Z", `{"lot":"HER-2602-A","food":"herring","mass":{"value":"48000","unit":"kg"}}`)
	for n := range 100 {
		r.record("saltgarth", "animal.entered", "2025-12-01T09:00:00Z", fmt.Sprintf(`{"animal":%q,"name":"Animal %d","taxon":"Zalophus californianus","sex":"female","how":"birth"}`, animalID(n), n))
		r.record("saltgarth", "behaviour.planned", "2025-12-01T10:00:00Z", fmt.Sprintf(`{"behaviour":"scan-%d","animal":%q,"name":"Ultrasound","purpose":"care","steps":[{"step":"lies still"}]}`, n, animalID(n)))
	}
	return r
}

func animalID(n int) string { return fmt.Sprintf("0195a1c0-2e00-7a10-8f01-%012d", n) }

// day records a plain day of an animal: 40 records, as keepers of a busy colony
// write them.
func day(r *recorder, n int, date time.Time) {
	animal, at := animalID(n), date.Add(6*time.Hour+time.Duration(n)*time.Second)
	next := func(kind, body string, args ...any) {
		at = at.Add(18 * time.Minute)
		r.record("saltgarth", kind, at.Format(time.RFC3339), fmt.Sprintf(body, args...))
	}
	next("check.made", `{"animal":%q}`, animal)
	next("weight.taken", `{"animal":%q,"mass":{"value":"81.5","unit":"kg"},"scale":"deck","method":"voluntary"}`, animal)
	for session := range 3 {
		id := fmt.Sprintf("s-%d-%s-%d", n, date.Format("060102"), session)
		for range 7 {
			next("trial.scored", `{"behaviour":"scan-%d","animal":%q,"step":1,"outcome":"met","session":%q}`, n, animal, id)
		}
		next("session.held", `{"session":%q,"animal":%q,"came":"at_once"}`, id, animal)
	}
	for range 6 {
		next("feed.given", `{"animal":%q,"items":[{"food":"herring","lot":"HER-2602-A","offered":{"value":"0.85","unit":"kg"},"eaten":{"value":"0.80","unit":"kg"}}],"how":"hand"}`, animal)
	}
	for other := range 3 {
		next("encounter.seen", `{"winner":%q,"loser":%q,"signal":"displaced","place":"deck","enclosure":"harbour"}`, animal, animalID((n+other+1)%100))
	}
	next("supplement.given", `{"animal":%q,"supplement":"thiamine","dose":{"value":"125","unit":"mg"}}`, animal)
	next("enrichment.offered", `{"animals":[%q],"item":"ice block","use":"long"}`, animal)
	next("coat.scored", `{"animal":%q,"stage":"2"}`, animal)
	next("touch.noted", `{"animal":%q,"region":"belly","answer":"accepts"}`, animal)
	next("note", `{"animals":[%q],"text":"lively at the gate, first in the water"}`, animal)
}

// BenchmarkApplyLive applies feeds as they are given, one a page, for a hundred
// animals over sixty days.
func BenchmarkApplyLive(b *testing.B) {
	r := herd(b)
	known := len(r.all)
	first := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range b.N {
		at := first.Add(time.Duration(i) * (60 * 24 * time.Hour / time.Duration(b.N)))
		r.record("saltgarth", "feed.given", at.Format(time.RFC3339Nano), feedBody(animalID(i%100), "herring", "0.85", "0.80"))
	}
	s := openStore(b, b.TempDir(), All())
	defer closeStore(b, s)
	mustApply(b, s, r.page("saltgarth", 1, known))
	for b.ResetTimer(); known < len(r.all); known++ {
		mustApply(b, s, r.page("saltgarth", known+1, known+1))
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "records/s")
}

// BenchmarkFill fills an empty archive with 200,000 records, as after a loss.
func BenchmarkFill(b *testing.B) {
	r := herd(b)
	for d := 0; len(r.all) < 200_000; d++ {
		for n := range 100 {
			day(r, n, time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, d))
		}
	}
	var pages []events.Page
	for from := 1; from <= len(r.all); from += 256 {
		pages = append(pages, r.page("saltgarth", from, min(from+255, len(r.all))))
	}
	size := r.size()
	r.all, r.byID = nil, nil // what made the records is not the archive's to carry
	for b.Loop() {
		s := openStore(b, b.TempDir(), All())
		if err := s.Fill(context.Background(), pagesOf(pages), func(int) {}); err != nil {
			b.Fatal(err)
		}
		b.StopTimer()
		if s.Head("saltgarth").Number != size {
			b.Fatalf("%d records of %d", s.Head("saltgarth").Number, size)
		}
		closeStore(b, s)
		b.StartTimer()
	}
	b.ReportMetric(float64(size)*float64(b.N)/b.Elapsed().Seconds(), "records/s")
}

// BenchmarkRebuild builds one projection anew from 200 days of an animal.
func BenchmarkRebuild(b *testing.B) {
	r := herd(b)
	for d := range 200 {
		day(r, 0, time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, d))
	}
	dir := b.TempDir()
	s := openStore(b, dir, All())
	mustApply(b, s, r.pages()...)
	list := All()
	for b.Loop() {
		closeStore(b, s)
		s = openStore(b, dir, raised(list))
		if err := s.Rebuild(context.Background(), func(string, uint64, uint64) {}); err != nil {
			b.Fatal(err)
		}
	}
	closeStore(b, s)
	b.ReportMetric(float64(len(r.all))*float64(b.N)/b.Elapsed().Seconds(), "records/s")
}

// BenchmarkDays reads a month of an animal with the energy of each day.
func BenchmarkDays(b *testing.B) {
	r := herd(b)
	for d := range 60 {
		day(r, 0, time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, d))
	}
	s := openStore(b, b.TempDir(), All())
	defer closeStore(b, s)
	mustApply(b, s, r.pages()...)
	for b.Loop() {
		days, err := s.Days(animalID(0), "2026-01-15", "2026-02-13", time.Time{})
		if err != nil || len(days) != 30 {
			b.Fatalf("%d days, %v", len(days), err)
		}
		if _, err := json.Marshal(days); err != nil {
			b.Fatal(err)
		}
	}
}
