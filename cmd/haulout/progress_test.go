package main

import (
	"bytes"
	"testing"
	"time"
)

func TestProgressIsSilentForASecondAndThenALineASecond(t *testing.T) {
	var out bytes.Buffer
	p := newProgress(&out, "import feeds", 100)
	p.at(10)
	if out.Len() > 0 {
		t.Errorf("at once it says %q", out.String())
	}
	p.last = time.Now().Add(-time.Second)
	p.at(20)
	p.at(30)
	p.end()
	if got := out.String(); got != `{"doing":"import feeds","done":20,"total":100}`+"\n" {
		t.Errorf("after a second it says %q", got)
	}
}
