package events

import "testing"

func BenchmarkDecodeFeed(b *testing.B) {
	line := golden(b)["haulout.feed.given.v1"]
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Decode(line); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFactFeed(b *testing.B) {
	draft := goldenDraft(b, "feed.given")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := draft.Fact(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCanonicalFeed(b *testing.B) {
	line := golden(b)["haulout.feed.given.v1"]
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Canonical(line); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEncodeFeed(b *testing.B) {
	e := decoded(b, golden(b)["haulout.feed.given.v1"])
	b.ReportAllocs()
	for b.Loop() {
		e.Encode()
	}
}

func BenchmarkRefsFeed(b *testing.B) {
	e := decoded(b, golden(b)["haulout.feed.given.v1"])
	b.ReportAllocs()
	for b.Loop() {
		e.Refs()
	}
}
