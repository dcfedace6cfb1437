package api

import (
	"bytes"
	"cmp"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"

	"github.com/labstack/echo/v4"

	"haulout/events"
)

const (
	maxBody  = 4 << 20  // bytes of one request
	maxEntry = 64 << 10 // bytes of one fact: CloudEvents asks every reader to take as much
	maxFacts = 5000     // facts of one request
)

// draftForm is what an entry looks like.
const draftForm = `each is an object with the texts id, type, time and facility and the object data`

// record takes facts: all of them or none.
func (s *server) record(c echo.Context) error {
	drafts, err := readDrafts(c.Response(), c.Request())
	if err != nil {
		if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
			problem(c.Response(), c.Request(), tooLarge, fmt.Sprintf("a request has at most %d bytes", maxBody))
			return nil
		}
		return err
	}
	facts, err := factsOf(drafts)
	if err != nil {
		return err
	}
	if len(facts) == 0 {
		return c.JSON(http.StatusOK, map[string]any{"receipts": []string{}})
	}
	batch := events.Batch{Facility: facts[0].Facility, Author: member(c).Name, Device: device(c.Request()), Facts: facts}
	if err := s.mayRecord(c, batch); err != nil {
		return err
	}
	receipts, err := s.Recorder.Record(c.Request().Context(), batch)
	if errors.Is(err, events.ErrNotOpen) {
		return events.Refused{{Index: 0, ID: facts[0].ID, Problem: events.Problem{Field: "facility", Detail: err.Error()}}}
	}
	if err != nil {
		return err
	}
	return s.answer(c, receipts)
}

// answer waits until the rows hold what was recorded, so that whoever wrote
// sees his own writing; 202 says that they do not yet.
func (s *server) answer(c echo.Context, receipts []events.Receipt) error {
	last := receipts[len(receipts)-1]
	status := http.StatusOK
	if !s.Settled(c.Request().Context(), last.Facility, last.Number) {
		status = http.StatusAccepted
	}
	return c.Blob(status, echo.MIMEApplicationJSON, encodeReceipts(receipts))
}

// encodeReceipts writes the answer by hand: its texts are codes, ids and
// digits, and every recorded fact passes here.
func encodeReceipts(receipts []events.Receipt) []byte {
	out := append(make([]byte, 0, 20+220*len(receipts)), `{"receipts":[`...)
	for i, r := range receipts {
		if i > 0 {
			out = append(out, ',')
		}
		out = append(append(append(out, `{"id":"`...), r.ID...), `","facility":"`...)
		out = append(append(out, r.Facility...), `","number":`...)
		out = append(strconv.AppendUint(out, r.Number, 10), `,"hash":"`...)
		out = append(hex.AppendEncode(out, r.Hash[:]), `","repeated":`...)
		out = append(strconv.AppendBool(out, r.Repeated), '}')
	}
	return append(out, "]}"...)
}

// draft is one entry of a request, and what keeps it from being one.
type draft struct {
	events.Draft
	misfit events.Problems
}

func readDrafts(w http.ResponseWriter, r *http.Request) ([]draft, error) {
	raw, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxBody))
	if err != nil {
		return nil, fmt.Errorf("%w: read the request: %w", errWrong, err)
	}
	raw = bytes.TrimSpace(raw)
	if len(raw) == 0 || raw[0] != '[' {
		return nil, fmt.Errorf("%w: send a JSON array of facts: %s", errWrong, draftForm)
	}
	var drafts []draft
	if json.Unmarshal(raw, &drafts) != nil {
		// Some entry is no draft: take them one by one, to say which.
		if drafts, err = readEach(raw); err != nil {
			return nil, err
		}
	}
	if len(drafts) > maxFacts {
		return nil, fmt.Errorf("%w: %d facts at once; send at most %d", errWrong, len(drafts), maxFacts)
	}
	return drafts, nil
}

func readEach(raw []byte) ([]draft, error) {
	var entries []json.RawMessage
	if err := json.Unmarshal(raw, &entries); err != nil {
		return nil, fmt.Errorf("%w: the JSON can't be read: %w", errWrong, err)
	}
	drafts := make([]draft, len(entries))
	for i, entry := range entries {
		if err := json.Unmarshal(entry, &drafts[i].Draft); err != nil {
			drafts[i].misfit = misfit(err)
		}
	}
	return drafts, nil
}

// factsOf checks every entry and names every problem of every one.
func factsOf(drafts []draft) ([]events.Event, error) {
	var out events.Refused
	facts := make([]events.Event, 0, len(drafts))
	for i, d := range drafts {
		fact, problems := d.fact()
		if first := drafts[0].Facility; problems == nil && d.Facility != first {
			problems = events.Problems{{Field: "facility", Detail: fmt.Sprintf("is %s and the first entry's is %.64s; one request is for one facility", d.Facility, first)}}
		}
		for _, p := range problems {
			out = append(out, events.EntryProblem{Index: i, ID: d.ID[:min(len(d.ID), 64)], Problem: p})
		}
		facts = append(facts, fact)
	}
	if len(out) > 0 {
		return nil, out
	}
	return facts, nil
}

func (d draft) fact() (fact events.Event, problems events.Problems) {
	if d.misfit != nil {
		return fact, d.misfit
	}
	if len(d.Data) > maxEntry {
		return fact, events.Problems{{Field: "data", Detail: fmt.Sprintf("has %d bytes; one fact has at most %d", len(d.Data), maxEntry)}}
	}
	fact, err := d.Fact()
	if problems, ok := errors.AsType[events.Problems](err); ok || err == nil {
		return fact, problems
	}
	return fact, events.Problems{{Field: "data", Detail: err.Error()}}
}

// misfit names the part of an entry that is JSON of another sort than a draft's.
func misfit(err error) events.Problems {
	wrong, ok := errors.AsType[*json.UnmarshalTypeError](err)
	if !ok {
		return events.Problems{{Field: "entry", Detail: "can't be read: " + err.Error()}}
	}
	return events.Problems{{Field: cmp.Or(wrong.Field, "entry"), Detail: "is a JSON " + wrong.Value + "; " + draftForm}}
}

// mayRecord holds the batch against the member's role: at that facility, and
// for opening one, everywhere.
func (s *server) mayRecord(c echo.Context, batch events.Batch) error {
	if err := reach(c, batch.Facility); err != nil {
		return err
	}
	opens := events.KindName(batch.Facts[0].Type) == "facility.opened"
	if opens && !member(c).mayOpen() {
		return fmt.Errorf("%w: a manager or steward for every facility opens a facility", errForbidden)
	}
	return s.maySign(c, batch)
}

// maySign keeps orders and notes of the veterinarian to the veterinarian, and so
// their corrections.
func (s *server) maySign(c echo.Context, batch events.Batch) error {
	if member(c).Signs() {
		return nil
	}
	for _, fact := range batch.Facts {
		kind, err := s.recorded(fact, batch)
		if err != nil {
			return err
		}
		if slices.Contains(signed, kind) {
			return fmt.Errorf("%w: %s is recorded, corrected and withdrawn by a %s; ask one for it", errForbidden, kind, signers)
		}
	}
	return nil
}

// recorded is the kind that a fact says something new of: its own, or that of
// the entry that it corrects or withdraws.
func (s *server) recorded(fact events.Event, batch events.Batch) (kind string, err error) {
	var target string
	switch body := fact.Body.(type) {
	case *events.EntryCorrected:
		target = body.Entry
	case *events.EntryWithdrawn:
		target = body.Entry
	default:
		return events.KindName(fact.Type), nil
	}
	for _, other := range batch.Facts {
		if other.ID == target {
			return events.KindName(other.Type), nil
		}
	}
	entry, err := s.Store.Find(target)
	if entry == nil || err != nil {
		return "", err // what is not on record is refused by the recorder
	}
	return events.KindName(entry.Type), nil
}

// device is what the sender calls itself, for those who look for a lost tablet.
func device(r *http.Request) string {
	if d := r.Header.Get("Haulout-Device"); events.ValidCode(d) {
		return d
	}
	return "api"
}
