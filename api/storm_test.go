package api

import (
	"bytes"
	"encoding/json"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"haulout/events"
)

// storm makes bad requests, the same ones from the same seed.
type storm struct {
	*rand.Rand
	s      *site
	routes []string
	bodies [][]byte
}

// oddWords stand where an id, a day, a number or a token is wanted.
var oddWords = []string{
	"", " ", "marl", "Marl", "dulse", "saltgarth", "wrackline-bay", "nobody", "0", "-1", "1", "2", "1e9", "NaN", "null", "true", "9223372036854775807", "18446744073709551616",
	"2026-03-01", "2026-02-30", "0000-00-00", "0001-01-01", "9999-12-31", "9998-12-31T23:59:60Z", "2026-03-01T16:00:00Z", "2026-03-01T16:00:00+24:00", "saltgarth:1", "saltgarth:1 wrackline-bay:9",
	"9223372036854775807.saltgarth.1", "-9223372036854775808.x.0", "253402300799999.saltgarth.99", "1.2.3.4", "haulout.note.v1", "haulout.note.v0", "haulout..v1", "note",
	"../../etc/passwd", "..", ".", "%", "%00", "a/b", "a\x00b", "\xff\xfe", "\r\nX: y", "{{.}}", "<script>", "'; --", "\u202e", "🦭", "=1+1", "[]", "{}", "*", "$", "\\",
	strings.Repeat("a", 3000), strings.Repeat("%", 300), strings.Repeat("../", 200), strings.Repeat("\x00", 50),
}

func (o *storm) word() string { return oddWords[o.IntN(len(oddWords))] }

// oddNames are the names that queries have.
var oddNames = []string{"facility", "as_of", "on", "from", "to", "kind", "cursor", "limit", "after", "format", "x", ""}

func (o *storm) query() string {
	q := url.Values{}
	for range o.IntN(4) {
		q.Add(oddNames[o.IntN(len(oddNames))], o.word())
	}
	if o.IntN(10) == 0 {
		return strings.ReplaceAll(strings.Map(printable, o.word()), " ", "+") + "&&=;%zz"
	}
	return q.Encode()
}

// soundSegments leads half of the requests past the look-up of their path.
var soundSegments = map[string]string{"{id}": "marl", "{code}": "saltgarth", "{type}": "haulout.note.v1", "{slug}": "malformed"}

// request makes one bad request of a route, or of something near one.
func (o *storm) request() *http.Request {
	method, path, _ := strings.Cut(o.routes[o.IntN(len(o.routes))], " ")
	segments := strings.Split(path, "/")
	for i, segment := range segments {
		if sound := soundSegments[segment]; sound != "" && o.IntN(2) == 0 {
			segments[i] = sound
		} else if sound != "" || i > 1 && o.IntN(40) == 0 {
			segments[i] = url.PathEscape(o.word())
		}
	}
	if o.IntN(30) == 0 {
		method = []string{"GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PATCH", "BREW"}[o.IntN(8)]
	}
	var body []byte
	if method == http.MethodPost {
		body = o.body()
	}
	target := o.s.server.URL + strings.Join(segments, "/") + "?" + o.query()
	r, err := http.NewRequestWithContext(o.s.t.Context(), method, target, bytes.NewReader(body))
	if err != nil {
		return nil // not even a client can write this one
	}
	o.headers(r)
	return r
}

func (o *storm) headers(r *http.Request) {
	token := o.s.tokens[cast[o.IntN(len(cast))].Name]
	if o.IntN(3) > 0 {
		token = o.s.tokens["steward-everywhere"]
	}
	r.Header.Set("Authorization", "Bearer "+token)
	for _, name := range []string{"Authorization", "Last-Event-ID", "Haulout-Device", "Content-Type", "Content-Encoding", "Accept", "Cookie", "Origin", "X-Forwarded-Proto", "Range", "If-None-Match"} {
		if o.IntN(25) == 0 {
			r.Header.Set(name, strings.Map(printable, o.word()))
		}
	}
}

func printable(c rune) rune {
	if c < ' ' || c > '~' {
		return '?'
	}
	return c
}

// body spoils a sound request body.
func (o *storm) body() []byte {
	body := bytes.Clone(o.bodies[o.IntN(len(o.bodies))])
	for range 1 + o.IntN(3) {
		at := o.IntN(len(body) + 1)
		switch o.IntN(7) {
		case 0: // cut off
			body = body[:at]
		case 1: // a byte changed
			if at < len(body) {
				body[at] ^= 1 << o.IntN(8)
			}
		case 2: // something put in
			body = slices.Insert(body, at, []byte(o.word())...)
		case 3: // a piece doubled
			from := o.IntN(at + 1)
			body = slices.Insert(body, at, body[from:at]...)
		case 4: // a text exchanged
			body = o.exchange(body)
		case 5: // nesting
			body = slices.Insert(body, at, bytes.Repeat([]byte(`[{"a":`), o.IntN(200))...)
		case 6: // a new id, so that it may be taken
			body = bytes.ReplaceAll(body, []byte("01950000"), strconv.AppendUint(nil, 10000000+uint64(o.IntN(80000000)), 10))
		}
	}
	return body
}

// exchange puts another JSON value in the place of one text.
func (o *storm) exchange(body []byte) []byte {
	from := bytes.IndexByte(body[o.IntN(len(body)+1):], ':')
	if from < 0 {
		return body
	}
	values := []string{"null", "true", "-0", "1e400", "5", `""`, "[]", "{}", `"\ud800"`, `"\u0000"`, `"2026-03-01T16:00:00Z"`, `{"value":"1","unit":"kg"}`, strconv.Quote(o.word())}
	return slices.Concat(body[:from+1], []byte(values[o.IntN(len(values))]), body[from+1:])
}

// soundBodies are requests that are taken as they are.
func (s *site) soundBodies() (out [][]byte) {
	for _, drafts := range [][]events.Draft{
		{s.feed("storm feed", "1", "1")},
		{s.fact("storm weight", "weight.taken", "saltgarth", `{"animal":"marl","mass":{"value":"81.5","unit":"kg"}}`), s.fact("storm note", "note", "saltgarth", `{"text":"calm","animals":["marl"]}`)},
		{s.fact("storm fix", "entry.corrected", "saltgarth", `{"entry":"`+idOf("a-marl")+`","reason":"name","data":{"animal":"marl","name":"Marlo","taxon":"Zalophus californianus","sex":"female","how":"birth"}}`)},
		{s.fact("storm gone", "entry.withdrawn", "saltgarth", `{"entry":"`+idOf("storm fix")+`","reason":"slip"}`)},
		{s.fact("storm open", "facility.opened", "tern-sluice", `{"name":"Tern Sluice","zone":"Europe/Dublin"}`)},
	} {
		raw, err := json.Marshal(drafts)
		s.noError(err)
		out = append(out, raw)
	}
	return out
}

// stormSize is how many bad requests are made; HAULOUT_PROOF asks for more.
func stormSize(t *testing.T) int {
	text := os.Getenv("HAULOUT_PROOF")
	if text == "" {
		return 5000
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatalf("HAULOUT_PROOF is %q, want a number", text)
	}
	return max(n, 5000)
}

func TestBadRequestsNeverBreakTheNode(t *testing.T) {
	s := openSite(t)
	o := &storm{Rand: rand.New(rand.NewPCG(2026, 3)), s: s, routes: slices.Sorted(maps.Keys(policy)), bodies: s.soundBodies()}
	for range len(o.routes) / 2 { // recording has the most to spoil
		o.routes = append(o.routes, "POST /api/v1/records")
	}
	made, seen := 0, map[int]int{}
	for range stormSize(t) {
		r := o.request()
		if r == nil {
			continue
		}
		start := time.Now()
		got := s.send(r)
		made++
		seen[got.status]++
		if took := time.Since(start); took > 5*time.Second || len(got.body) > 8<<20 {
			t.Errorf("%.300s takes %s and %d bytes", got.asked, took, len(got.body))
		}
		switch {
		case got.status >= 500:
			t.Errorf("%.300s: %d %.500s", got.asked, got.status, got.body)
		case got.status >= 400 && r.Method != http.MethodHead:
			got.problem(got.status)
		}
	}
	t.Logf("%d requests, answered %v", made, seen)
	for _, status := range []int{200, 303, 400, 401, 403, 404, 409, 422} {
		if seen[status] == 0 {
			t.Errorf("of %d requests none was answered with %d", made, status)
		}
	}
	s.get("", "/readyz").want(http.StatusOK)
	s.mustRecord(keeper, s.feed("after the storm", "1", "1"))
	if s.checkChain("saltgarth") < 7 || s.checkChain("wrackline-bay") < 6 {
		t.Error("records are missing")
	}
}
