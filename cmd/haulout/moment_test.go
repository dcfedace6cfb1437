package main

import (
	"strings"
	"testing"
	"time"
)

// The rules of Europe/Dublin and America/Los_Angeles are those of the IANA time
// zone database: on 29 March 2026 Dublin's clocks go from 01:00 to 02:00, on
// 26 October 2025 from 02:00 back to 01:00; on 8 March 2026 those of Los Angeles
// go from 02:00 to 03:00.
func TestTimesAreThoseOfTheZone(t *testing.T) {
	for _, c := range []struct{ text, zone, want string }{
		{"2026-03-01T16:00:00Z", "Europe/Dublin", "2026-03-01T16:00:00Z"},
		{"2026-03-01T16:00:00-08:00", "Europe/Dublin", "2026-03-02T00:00:00Z"},
		{"2026-03-01T16:00:00.25Z", "Europe/Dublin", "2026-03-01T16:00:00.25Z"},
		{"2026-03-01 16:00", "Europe/Dublin", "2026-03-01T16:00:00Z"},
		{"2026-07-01 16:00", "Europe/Dublin", "2026-07-01T15:00:00Z"},
		{"2026-07-01T16:00", "Europe/Dublin", "2026-07-01T15:00:00Z"},
		{"2026-07-01T16:00:05", "Europe/Dublin", "2026-07-01T15:00:05Z"},
		{"2026-03-29 00:59", "Europe/Dublin", "2026-03-29T00:59:00Z"},
		{"2026-03-29 02:00", "Europe/Dublin", "2026-03-29T01:00:00Z"},
		{"2026-03-08 03:00", "America/Los_Angeles", "2026-03-08T10:00:00Z"},
		{"2026-03-08 01:59", "America/Los_Angeles", "2026-03-08T09:59:00Z"},
		{"2026-07-01 16:00", "Asia/Kathmandu", "2026-07-01T10:15:00Z"},
	} {
		m, err := parseMoment(c.text, zoneNamed(t, c.zone))
		if got := m.at.Format(time.RFC3339Nano); err != nil || got != c.want || m.noon || m.twice {
			t.Errorf("%s in %s is %s (%+v, %v), want %s", c.text, c.zone, got, m, err, c.want)
		}
	}
}

func zoneNamed(t *testing.T, name string) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

func TestADayAloneIsItsNoon(t *testing.T) {
	m, err := parseMoment("2026-07-01", zoneNamed(t, "Europe/Dublin"))
	if err != nil || !m.noon || m.at.Format(time.RFC3339) != "2026-07-01T11:00:00Z" {
		t.Errorf("got %+v, %v", m, err)
	}
}

func TestAnHourThatTheClocksLeftOutIsRefused(t *testing.T) {
	for zone, text := range map[string]string{"Europe/Dublin": "2026-03-29 01:30", "America/Los_Angeles": "2026-03-08 02:00"} {
		if m, err := parseMoment(text, zoneNamed(t, zone)); err == nil || !strings.Contains(err.Error(), "the clocks were put forward over it") {
			t.Errorf("%s in %s is %+v, %v", text, zone, m, err)
		}
	}
}

func TestAnHourThatWasTwiceIsItsFirst(t *testing.T) {
	for _, c := range []struct{ text, zone, want string }{
		{"2025-10-26 01:30", "Europe/Dublin", "2025-10-26T00:30:00Z"},
		{"2025-11-02 01:00", "America/Los_Angeles", "2025-11-02T08:00:00Z"},
	} {
		m, err := parseMoment(c.text, zoneNamed(t, c.zone))
		if err != nil || !m.twice || m.at.Format(time.RFC3339) != c.want {
			t.Errorf("%s in %s is %+v, %v; want %s", c.text, c.zone, m, err, c.want)
		}
	}
}

func TestOtherWordsForATimeAreRefused(t *testing.T) {
	for _, text := range []string{"1 July", "01/07/2026", "2026-02-30", "2026-07-01 25:00", "2026-07-01 9", "16:00", "2026-03-01T16:00:00,5Z"} {
		if m, err := parseMoment(text, time.UTC); err == nil {
			t.Errorf("%q is %v", text, m.at)
		}
	}
}
