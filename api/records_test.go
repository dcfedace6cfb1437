package api

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"haulout/events"
)

// lines reads a facility's records as they are stored.
func (s *site) lines(facility string) [][]byte {
	s.t.Helper()
	got := s.get(steward, "/api/v1/facilities/"+facility+"/records?format=lines&limit=10000").want(http.StatusOK)
	return bytes.Split(bytes.TrimSuffix(got.body, []byte{'\n'}), []byte{'\n'})
}

// checkChain reads a whole log and checks numbers, hashes and that nothing is
// there twice.
func (s *site) checkChain(facility string) int {
	s.t.Helper()
	var previous events.Hash
	seen := map[string]bool{}
	lines := s.lines(facility)
	for i, line := range lines {
		ev, err := events.Decode(line)
		if err != nil || ev.Number != uint64(i+1) || ev.Previous != previous || seen[ev.ID] {
			s.t.Fatalf("line %d of %s is number %d after %s: %v", i+1, facility, ev.Number, ev.Previous, err)
		}
		previous, seen[ev.ID] = events.LeafHash(line), true
	}
	return len(lines)
}

func TestFactsAreAnsweredWithReceiptsOfTheRecords(t *testing.T) {
	s := openSite(t)
	receipts := s.mustRecord(keeper, s.feed("morning", "2.5", "2.5"), s.feed("noon", "1.0", "0.5"))
	lines := s.lines("saltgarth")
	for i, r := range receipts {
		if r.Number != uint64(7+i) || r.Facility != "saltgarth" || r.Repeated || r.Hash != events.LeafHash(lines[r.Number-1]).String() {
			t.Errorf("receipt %d is %+v", i, r)
		}
	}
	if got := s.get(keeper, "/api/v1/records/"+idOf("noon")).want(http.StatusOK); !bytes.Equal(got.body, lines[7]) {
		t.Errorf("the record reads %s, the log %s", got.body, lines[7])
	}
	s.checkChain("saltgarth")
	s.checkChain("wrackline-bay")
}

func TestTheAuthorIsWhoeverHoldsTheToken(t *testing.T) {
	s := openSite(t)
	raw := `[{"id":"` + idOf("own") + `","type":"haulout.note.v1","time":"2026-03-01T16:00:00Z","facility":"saltgarth","author":"somebody","data":{"text":"calm"}}]`
	s.ask(keeper, http.MethodPost, "/api/v1/records", []byte(raw), "Haulout-Device", "tablet-3").want(http.StatusOK)
	s.ask(keeper, http.MethodPost, "/api/v1/records", []byte(strings.Replace(raw, idOf("own"), idOf("odd"), 1)), "Haulout-Device", `x" /../`).want(http.StatusOK)
	for name, device := range map[string]string{"own": "tablet-3", "odd": "api"} {
		var ev struct{ Author, Source string }
		s.read(keeper, "/api/v1/records/"+idOf(name), &ev)
		if ev.Author != keeper || ev.Source != "/facility/saltgarth/device/"+device {
			t.Errorf("the record is by %s from %s", ev.Author, ev.Source)
		}
	}
}

func TestARepeatGetsTheFirstReceipt(t *testing.T) {
	s := openSite(t)
	morning := s.feed("morning", "2.5", "2.5")
	first := s.mustRecord(keeper, morning)[0]
	first.Repeated = true
	shouting := morning
	shouting.ID, shouting.Data = strings.ToUpper(morning.ID), json.RawMessage(" "+string(morning.Data)+" ")
	for _, again := range []receipt{
		s.mustRecord(keeper, morning)[0], s.mustRecord("lead-both", morning)[0], s.mustRecord(keeper, shouting)[0],
		s.mustRecord(keeper, s.feed("noon", "1", "1"), morning)[1],
	} {
		if diff := cmp.Diff(first, again); diff != "" {
			t.Error(diff)
		}
	}
	twice := s.mustRecord(keeper, s.feed("night", "1", "1"), s.feed("night", "1", "1"))
	if twice[0].Number != twice[1].Number || twice[0].Hash != twice[1].Hash || twice[0].Repeated || !twice[1].Repeated {
		t.Errorf("sent twice at once, a fact has %+v", twice)
	}
	if n := s.checkChain("saltgarth"); n != 9 {
		t.Errorf("the log has %d records", n)
	}
}

func TestAnIdOfAnotherFactIsRefused(t *testing.T) {
	s := openSite(t)
	s.mustRecord(keeper, s.feed("morning", "2.5", "2.5"))
	d := s.record(keeper, s.feed("noon", "1", "1"), s.feed("morning", "2.5", "0.5")).problem(http.StatusConflict)
	if len(d.Problems) != 1 || d.Problems[0].Index != 1 || d.Problems[0].ID != idOf("morning") || d.Problems[0].Field != "id" {
		t.Errorf("the problems are %+v", d.Problems)
	}
	s.get(keeper, "/api/v1/records/"+idOf("noon")).problem(http.StatusNotFound)
}

// refusals are entries that can never be taken, and the field to be named.
func (s *site) refusals() map[string]struct {
	events.Draft
	field string
} {
	type one = struct {
		events.Draft
		field string
	}
	out := map[string]one{}
	add := func(name, kind, body, field string) {
		out[name] = one{s.fact(name, kind, "saltgarth", body), field}
	}
	add("wrong unit", "weight.taken", `{"animal":"marl","mass":{"value":"80","unit":"cm"}}`, "data.mass.unit")
	add("negative mass", "weight.taken", `{"animal":"marl","mass":{"value":"-80","unit":"kg"}}`, "data.mass.value")
	add("a number for a text", "weight.taken", `{"animal":"marl","mass":{"value":80,"unit":"kg"}}`, "data.mass.value")
	add("not a number", "weight.taken", `{"animal":"marl","mass":{"value":"NaN","unit":"kg"}}`, "data.mass.value")
	add("unknown animal", "weight.taken", `{"animal":"nobody","mass":{"value":"80","unit":"kg"}}`, "data.animal")
	add("unknown food", "feed.given", `{"animal":"marl","items":[{"food":"gold","offered":{"value":"1","unit":"kg"},"eaten":{"value":"1","unit":"kg"}}]}`, "data.items[0].food")
	add("animal of elsewhere", "weight.taken", `{"animal":"dulse","mass":{"value":"80","unit":"kg"}}`, "data.animal")
	add("more eaten than offered", "feed.given", `{"animal":"marl","items":[{"food":"herring","offered":{"value":"1","unit":"kg"},"eaten":{"value":"2","unit":"kg"}}]}`, "data.items[0].eaten")
	add("unknown field", "note", `{"text":"calm","colour":"red"}`, "data.colour")
	add("missing field", "note", `{}`, "data.text")
	add("open again", "facility.opened", `{"name":"Saltgarth","zone":"UTC"}`, "type")
	add("no such entry", "entry.withdrawn", `{"entry":"`+idOf("never")+`","reason":"slip"}`, "data.entry")
	add("data is a list", "note", `[]`, "data")
	add("data is null", "note", `null`, "data")
	add("deeply nested", "note", `{"text":`+strings.Repeat("[", 400)+strings.Repeat("]", 400)+`}`, "data")
	add("over 64 KiB", "note", `{"text":"`+strings.Repeat("a", 64<<10)+`"}`, "data")
	add("a text of 1 MiB", "note", `{"text":"`+strings.Repeat("a", 1<<20)+`"}`, "data")
	add("a text over its length", "note", `{"text":"`+strings.Repeat("a", 20001)+`"}`, "data.text")
	change := func(name, field string, change func(*events.Draft)) {
		d := s.fact(name, "note", "saltgarth", `{"text":"calm"}`)
		change(&d)
		out[name] = one{d, field}
	}
	change("unknown kind", "type", func(d *events.Draft) { d.Type = "haulout.feed.stolen.v1" })
	change("newer kind", "type", func(d *events.Draft) { d.Type = "haulout.note.v99" })
	change("a kind of 100 KiB", "type", func(d *events.Draft) { d.Type = strings.Repeat("k", 100<<10) })
	change("future", "time", func(d *events.Draft) { d.Time = evening.Add(events.Skew + time.Second).Format(time.RFC3339) })
	change("no offset", "time", func(d *events.Draft) { d.Time = "2026-03-01T16:00:00" })
	change("no time", "time", func(d *events.Draft) { d.Time = "" })
	change("no id", "id", func(d *events.Draft) { d.ID = "" })
	change("an id that is none", "id", func(d *events.Draft) { d.ID = "1" })
	change("no data", "data", func(d *events.Draft) { d.Data = nil })
	change("no facility", "facility", func(d *events.Draft) { d.Facility = "" })
	change("another facility", "facility", func(d *events.Draft) { d.Facility = "wrackline-bay" })
	return out
}

func TestABadEntryIsNamedAndNothingOfItsRequestIsRecorded(t *testing.T) {
	s := openSite(t)
	head := s.store.Head("saltgarth")
	for name, bad := range s.refusals() {
		good := s.feed("beside "+name, "1", "1")
		d := s.record("lead-both", good, bad.Draft).problem(http.StatusUnprocessableEntity)
		if len(d.Problems) != 1 || d.Problems[0].Index != 1 || d.Problems[0].ID != bad.ID || d.Problems[0].Field != bad.field || d.Problems[0].Detail == "" {
			t.Errorf("%s: want field %s; the problems are %.2000s", name, bad.field, fmt.Sprint(d.Problems))
		}
		s.get(keeper, "/api/v1/records/"+good.ID).problem(http.StatusNotFound)
	}
	if s.store.Head("saltgarth") != head {
		t.Error("something was recorded all the same")
	}
}

func TestEveryBadEntryOfARequestIsNamed(t *testing.T) {
	s := openSite(t)
	var drafts []events.Draft
	want := map[int]string{}
	for name, bad := range s.refusals() {
		if bad.field == "facility" || strings.Contains(name, "iB") || judgedLater[name] {
			continue
		}
		drafts = append(drafts, s.feed("before "+name, "1", "1"), bad.Draft)
		want[len(drafts)-1] = bad.field
	}
	d := s.record(keeper, drafts...).problem(http.StatusUnprocessableEntity)
	got := map[int]string{}
	for _, p := range d.Problems {
		got[p.Index] = p.Field
	}
	if diff := cmp.Diff(want, got); diff != "" || len(want) < 15 {
		t.Errorf("%d entries (-want +got):\n%s", len(want), diff)
	}
	later := s.record(keeper, s.refusals()["unknown animal"].Draft, s.feed("between", "1", "1"), s.refusals()["future"].Draft).problem(http.StatusUnprocessableEntity)
	if len(later.Problems) != 2 || later.Problems[0].Index != 0 || later.Problems[1].Index != 2 {
		t.Errorf("the problems are %+v", later.Problems)
	}
}

// judgedLater is what only the facility's recorder can tell, after the form of
// every entry is found to be sound.
var judgedLater = map[string]bool{
	"unknown animal": true, "unknown food": true, "animal of elsewhere": true, "open again": true, "no such entry": true, "future": true,
}

func TestEntriesOfTheWrongSortAreNamed(t *testing.T) {
	s := openSite(t)
	for entry, field := range map[string]string{
		`5`: "entry", `"text"`: "entry", `[]`: "entry", `true`: "entry", `{"id":5}`: "id", `{"time":{}}`: "time", `{"facility":["saltgarth"]}`: "facility", `{"type":null,"id":false}`: "id",
	} {
		d := s.ask(keeper, http.MethodPost, "/api/v1/records", []byte(`[`+entry+`]`)).problem(http.StatusUnprocessableEntity)
		if len(d.Problems) == 0 || d.Problems[0].Field != field || d.Problems[0].Index != 0 {
			t.Errorf("%s: the problems are %+v", entry, d.Problems)
		}
	}
	s.ask(keeper, http.MethodPost, "/api/v1/records", []byte(`[null,{}]`)).problem(http.StatusUnprocessableEntity)
}

func TestARequestThatCannotBeReadIsRefused(t *testing.T) {
	s := openSite(t)
	good, err := json.Marshal([]events.Draft{s.feed("morning", "1", "1")})
	if err != nil {
		t.Fatal(err)
	}
	for _, body := range []string{
		"", " ", "{}", "null", `"text"`, "5", "[", "[}", string(good[:len(good)-1]), string(good) + "x", "\ufeff" + string(good), string(good) + string(good),
		strings.Repeat("[", 20000), strings.Repeat("[", 20000) + strings.Repeat("]", 20000), "[" + strings.Repeat("{},", maxFacts) + "{}]",
		string(good[:20]) + "\x00" + string(good[20:]), "\x1f\x8b\x08\x00", `[{"id":"` + idOf("x") + `",}]`,
	} {
		s.ask(keeper, http.MethodPost, "/api/v1/records", []byte(body)).problem(http.StatusBadRequest)
	}
	if n := s.checkChain("saltgarth"); n != 6 {
		t.Errorf("the log has %d records", n)
	}
}

func TestARequestMayHaveFourMebibytes(t *testing.T) {
	s := openSite(t)
	good, err := json.Marshal([]events.Draft{s.feed("morning", "1", "1")})
	if err != nil {
		t.Fatal(err)
	}
	full := append(good, bytes.Repeat([]byte{' '}, maxBody-len(good))...)
	s.ask(keeper, http.MethodPost, "/api/v1/records", append(full, ' ')).problem(http.StatusRequestEntityTooLarge)
	s.ask(keeper, http.MethodPost, "/api/v1/records", bytes.Repeat([]byte{'['}, 3*maxBody)).problem(http.StatusRequestEntityTooLarge)
	s.ask(keeper, http.MethodPost, "/api/v1/records", full).want(http.StatusOK)
}

func TestNothingIsRecordedOfARequestThatBreaksOff(t *testing.T) {
	s := openSite(t)
	conn, err := net.Dial("tcp", strings.TrimPrefix(s.server.URL, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	fmt.Fprintf(conn, "POST /api/v1/records HTTP/1.1\r\nHost: test\r\nAuthorization: Bearer %s\r\nContent-Length: 5000\r\n\r\n[]", s.tokens[keeper])
	s.noError(conn.(*net.TCPConn).CloseWrite())
	res, err := http.ReadResponse(bufio.NewReader(conn), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusBadRequest {
		t.Errorf("half a request is answered %d", res.StatusCode)
	}
}

func TestARefusalStaysInProportionToItsRequest(t *testing.T) {
	s := openSite(t)
	long := s.feed("long", "1", "1")
	long.Facility = strings.Repeat("f", 1<<20)
	drafts := []events.Draft{long}
	for i := range 2000 {
		drafts = append(drafts, s.feed(fmt.Sprint("after ", i), "1", "1"))
	}
	if got := s.record(keeper, drafts...).want(http.StatusUnprocessableEntity); len(got.body) > 2<<20 {
		t.Errorf("a long facility is repeated in an answer of %d bytes", len(got.body))
	}
	strange := s.feed("strange", "1", "1")
	strange.Data = json.RawMessage(`{"text":"calm"`)
	for i := range 5000 {
		strange.Data = fmt.Appendf(strange.Data, `,"x%d":1`, i)
	}
	strange.Data = append(strange.Data, '}')
	strange.ID = strings.Repeat("i", 1<<20)
	d := s.record(keeper, strange).problem(http.StatusUnprocessableEntity)
	if len(d.Problems) != maxProblems || len(d.Problems[0].ID) > 100 {
		t.Errorf("%d problems are named, of the entry %.100s", len(d.Problems), d.Problems[0].ID)
	}
}

func TestANearlyFullDiskTakesNoFactsAndLosesNone(t *testing.T) {
	s := openSite(t)
	s.mustRecord(keeper, s.feed("morning", "1", "1"))
	s.close()
	full := openFolder(t, s.dir, 1<<62)
	full.record(keeper, full.feed("noon", "1", "1")).problem(http.StatusInsufficientStorage)
	full.record(steward, full.fact("open", "facility.opened", "tern-sluice", `{"name":"Tern Sluice","zone":"UTC"}`)).problem(http.StatusInsufficientStorage)
	full.get(keeper, "/api/v1/records/"+idOf("morning")).want(http.StatusOK)
	full.close()
	roomy := openFolder(t, s.dir, 0)
	if r := roomy.mustRecord(keeper, roomy.feed("noon", "1", "1"))[0]; r.Number != 8 || r.Repeated {
		t.Errorf("with room again the receipt is %+v", r)
	}
}

func TestAReadOnlyFacilityAsksToTryAgain(t *testing.T) {
	s := openSite(t)
	s.journal.SetReadOnly("saltgarth", "its log is being mended")
	d := s.record(keeper, s.feed("morning", "1", "1")).problem(http.StatusServiceUnavailable)
	if !strings.Contains(d.Detail, "its log is being mended") {
		t.Errorf("the reason is %q", d.Detail)
	}
	s.get("", "/readyz").want(http.StatusServiceUnavailable)
	s.get("", "/livez").want(http.StatusOK)
	var status struct{ Facilities []facilityStatus }
	s.read(keeper, "/api/v1/status", &status)
	if got := status.Facilities[0].ReadOnly; got != "its log is being mended" {
		t.Errorf("status says %q", got)
	}
	s.mustRecord("keeper-wrackline", s.fact("calm", "note", "wrackline-bay", `{"text":"calm"}`))
}

func TestAFacilityThatIsNotOpenIsNamed(t *testing.T) {
	s := openSite(t)
	d := s.record(steward, s.fact("early", "note", "tern-sluice", `{"text":"calm"}`)).problem(http.StatusUnprocessableEntity)
	if len(d.Problems) != 1 || d.Problems[0].Field != "facility" {
		t.Errorf("the problems are %+v", d.Problems)
	}
	for _, code := range []string{"Tern-Sluice", "tern.sluice", strings.Repeat("t", 33)} {
		d := s.record(steward, s.fact("open "+code, "facility.opened", code, `{"name":"Tern Sluice","zone":"UTC"}`)).problem(http.StatusUnprocessableEntity)
		if len(d.Problems) != 1 || d.Problems[0].Field != "facility" {
			t.Errorf("%s: the problems are %+v", code, d.Problems)
		}
	}
	s.ask(steward, http.MethodPost, "/api/v1/records", []byte("[]")).want(http.StatusOK)
}
