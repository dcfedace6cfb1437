package api

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"

	"haulout/events"
)

// heard is one server-sent event.
type heard struct {
	id, event, data string
}

// follow reads up to so many events, and then hangs up.
func (s *site) follow(as, query, lastID string, most int) (out []heard) {
	s.t.Helper()
	ctx, hangUp := context.WithCancel(s.t.Context())
	defer hangUp()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, s.server.URL+"/api/v1/follow"+query, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+s.tokens[as])
	if lastID != "" {
		r.Header.Set("Last-Event-ID", lastID)
	}
	res, err := client.Do(r)
	if err != nil {
		s.t.Fatal(err)
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusOK || res.Header.Get("Content-Type") != "text/event-stream" {
		s.t.Fatalf("follow answers %d, %s", res.StatusCode, res.Header)
	}
	var one heard
	lines := bufio.NewScanner(res.Body)
	lines.Buffer(nil, 1<<20)
	for len(out) < most && lines.Scan() {
		name, value, _ := strings.Cut(lines.Text(), ": ")
		switch name {
		case "id":
			one.id = value
		case "event":
			one.event = value
		case "data":
			one.data = value
		case "":
			if one.data != "" {
				out, one = append(out, one), heard{}
			}
		}
	}
	if len(out) < most {
		s.t.Fatalf("after %d of %d events: %v", len(out), most, lines.Err())
	}
	return out
}

// listen follows beside the test; the channel is closed when it fails.
func (s *site) listen(as, query string, most int) <-chan []heard {
	told := make(chan []heard, 1)
	go func() {
		defer close(told)
		told <- s.follow(as, query, "", most)
	}()
	return told
}

func TestAReaderWhoIsCutOffMissesNothingAndHearsNothingTwice(t *testing.T) {
	s := openSite(t)
	const each = 60
	var writers sync.WaitGroup
	for i := range each {
		writers.Go(func() {
			s.record(keeper, s.feed(fmt.Sprint("feed ", i), "1", "1")).want(http.StatusOK)
			s.record("keeper-wrackline", s.fact(fmt.Sprint("note ", i), "note", "wrackline-bay", `{"text":"calm"}`)).want(http.StatusOK)
		})
	}
	numbers := map[string]uint64{}
	last, total := "", 2*(6+each)
	for got, cuts := 0, 0; got < total; cuts++ {
		query := ""
		if last == "" {
			query = "?after=0"
		}
		for _, one := range s.follow("lead-both", query, last, min(7+cuts%5, total-got)) {
			ev, err := events.Decode([]byte(one.data))
			if err != nil || one.event != "record" {
				t.Fatalf("event %q: %v", one.event, err)
			}
			if ev.Number != numbers[ev.Facility]+1 {
				t.Fatalf("after record %d of %s comes %d", numbers[ev.Facility], ev.Facility, ev.Number)
			}
			numbers[ev.Facility], last = ev.Number, one.id
			got++
		}
	}
	writers.Wait()
	if numbers["saltgarth"] != 6+each || numbers["wrackline-bay"] != 6+each || last != "saltgarth:66 wrackline-bay:66" {
		t.Errorf("heard up to %v, last event %s", numbers, last)
	}
}

func TestAFollowerHearsWhatIsStored(t *testing.T) {
	s := openSite(t)
	lines := s.lines("saltgarth")
	for query, from := range map[string]int{"?after=0": 0, "?after=4": 4, "?facility=saltgarth&after=saltgarth:5": 5} {
		for i, one := range s.follow(keeper, query, "", 6-from) {
			if one.data != string(lines[from+i]) || one.id != fmt.Sprint("saltgarth:", from+i+1) {
				t.Errorf("%s: event %d is %+v", query, i, one)
			}
		}
	}
}

func TestAFollowerWithoutAPlaceHearsWhatComesNext(t *testing.T) {
	s := openSite(t)
	told := s.listen(steward, "", 3)
	for i := 0; ; i++ {
		s.mustRecord(keeper, s.feed(fmt.Sprint("feed ", i), "1", "1"))
		select {
		case got := <-told:
			for _, one := range got {
				if ev, err := events.Decode([]byte(one.data)); err != nil || ev.Number <= 6 {
					t.Errorf("heard %+v, which was there before: %v", one, err)
				}
			}
			return
		default:
		}
	}
}

func TestAFollowerOfEveryFacilityHearsANewOneFromItsStart(t *testing.T) {
	s := openSite(t)
	told := s.listen(steward, "?after=6", 1)
	s.mustRecord(steward, s.fact("c-open", "facility.opened", "tern-sluice", `{"name":"Tern Sluice","zone":"UTC"}`))
	if got := <-told; len(got) != 1 || got[0].id != "saltgarth:6 tern-sluice:1 wrackline-bay:6" {
		t.Errorf("heard %+v", got)
	}
}

func TestAPlaceThatIsNoneIsRefused(t *testing.T) {
	s := openSite(t)
	for _, place := range []string{"x", "saltgarth", "saltgarth:x", "saltgarth:-1", "-1", "99999999999999999999", "saltgarth:1%20wrackline-bay", "18446744073709551615"} {
		s.get(steward, "/api/v1/follow?after="+place).problem(http.StatusBadRequest)
	}
	s.get(steward, "/api/v1/follow?facility=tern-sluice").problem(http.StatusNotFound)
}
