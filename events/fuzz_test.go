package events

import (
	"bytes"
	"errors"
	"testing"
)

// Whatever bytes come: Decode does not panic, and what it takes is written
// again as the same bytes.
func FuzzDecode(f *testing.F) {
	for _, line := range golden(f) {
		f.Add(line)
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		e, err := Decode(line)
		if err != nil {
			return
		}
		if again := e.Encode(); !bytes.Equal(again, line) {
			t.Fatalf("read  %s\nwrote %s", line, again)
		}
		k, _, _ := kindOf(e.Type)
		if k.check(e.Body) == nil {
			e.Refs()
			e.Target()
		}
	})
}

// What Canonical writes it writes again, and reads as the same body.
func FuzzCanonical(f *testing.F) {
	for _, line := range golden(f) {
		f.Add(line)
	}
	for _, src := range []string{`{"\ud83d\ude02":1,"\ufb33":2}`, `[1e21,1e-7,-0,0.1,5e-324]`, `"\u0000\u001f\"\\/"`, ` { "b" : [ ] , "a" : { } } `} {
		f.Add([]byte(src))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		once, err := Canonical(src)
		if err != nil {
			return
		}
		if twice, err := Canonical(once); err != nil || !bytes.Equal(once, twice) {
			t.Fatalf("%s becomes %s and then %s, %v", src, once, twice, err)
		}
	})
}

// Whatever a phone sends is a fact that can be stored and read, or is refused
// with problems that name fields.
func FuzzDraft(f *testing.F) {
	for _, line := range golden(f) {
		e := decoded(f, line)
		f.Add(e.ID, e.Type, "2026-03-02T09:00:00Z", e.Facility, e.Data)
	}
	f.Fuzz(func(t *testing.T, id, wire, at, facility string, data []byte) {
		e, err := Draft{id, wire, at, facility, data}.Fact()
		if err != nil {
			refused(t, err)
			return
		}
		line := e.Encode()
		if canonical, err := Canonical(line); err != nil || !bytes.Equal(canonical, line) {
			t.Fatalf("is not canonical, %v: %s", err, line)
		}
		again, err := Decode(line)
		if err != nil || !again.SameFact(e) {
			t.Fatalf("%s is read as another fact: %v", line, err)
		}
		reg := NewRegister()
		if err := reg.Check(e, nil); err != nil {
			refused(t, err)
			return
		}
		reg.Add(e, nil)
	})
}

func refused(t *testing.T, err error) {
	problems, ok := errors.AsType[Problems](err)
	if !ok || len(problems) == 0 {
		t.Fatalf("refused without problems: %v", err)
	}
	for _, p := range problems {
		if p.Field == "" || p.Detail == "" {
			t.Fatalf("a problem without field or detail: %q", problems)
		}
	}
}
