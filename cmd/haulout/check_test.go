package main

import (
	"bytes"
	"io"
	"log/slog"
	"net/http"
	"strings"
	"testing"
	"time"
)

// tampered passes requests on and alters the records on their way back.
type tampered struct {
	under http.RoundTripper
	alter func(lines []byte) []byte
}

func (x tampered) RoundTrip(r *http.Request) (*http.Response, error) {
	resp, err := x.under.RoundTrip(r)
	if err != nil || !strings.HasSuffix(r.URL.Path, "/records") || resp.Header.Get("Haulout-Next") == r.URL.Query().Get("after") {
		return resp, err
	}
	raw, err := io.ReadAll(resp.Body)
	resp.Body = io.NopCloser(bytes.NewReader(x.alter(raw)))
	return resp, err
}

func TestAServerWhoseRecordsAreNotItsChainIsFound(t *testing.T) {
	n := tryNode(t, t.TempDir())
	defer n.close()
	openSaltgarth(t, n)
	mustRecord(t, n, feed(t, "1.0", "1.0"), feed(t, "1.5", "1.5"))
	n.settled(t.Context(), "saltgarth", 5, 5*time.Second)
	for name, c := range map[string]struct {
		alter func([]byte) []byte
		want  string
	}{
		"as it is":          {func(b []byte) []byte { return b }, ""},
		"a value altered":   {func(b []byte) []byte { return bytes.Replace(b, []byte(`"value":"1.0"`), []byte(`"value":"9.0"`), 1) }, "after record 4: the next one does not carry its hash"},
		"the last altered":  {func(b []byte) []byte { return bytes.Replace(b, []byte(`"value":"1.5"`), []byte(`"value":"9.5"`), 1) }, "its records end at record 5 with the hash"},
		"two exchanged":     {exchanged, "after record 3: record 5 comes next"},
		"one of elsewhere":  {func(b []byte) []byte { return bytes.ReplaceAll(b, []byte("saltgarth"), []byte("ternwater")) }, "after record 0: a record of ternwater comes next"},
		"a letter too many": {func(b []byte) []byte { return bytes.Replace(b, []byte(`"source":`), []byte(`"source": `), 1) }, "after record 0: not a record"},
	} {
		client, err := within(n, t.TempDir(), slog.New(slog.DiscardHandler))
		if err != nil {
			t.Fatal(err)
		}
		client.http.Transport = tampered{client.http.Transport, c.alter}
		found, err := client.check(t.Context(), io.Discard)
		if err != nil || len(found) != 1 || !strings.HasPrefix(found[0].Problem, c.want) || (c.want == "") != (found[0].Problem == "") {
			t.Errorf("%s: found %+v, %v; want %q", name, found, err, c.want)
		}
	}
}

// exchanged puts the last record before the one before it.
func exchanged(lines []byte) []byte {
	all := bytes.SplitAfter(bytes.TrimSuffix(lines, []byte{'\n'}), []byte{'\n'})
	last := len(all) - 1
	all[last], all[last-1] = bytes.TrimSuffix(all[last-1], []byte{'\n'}), append(bytes.Clone(all[last]), '\n')
	return append(bytes.Join(all, nil), '\n')
}

func TestAnswersOfOtherServersAreToldByTheirStatus(t *testing.T) {
	if got := refusalOf(http.StatusBadGateway, []byte("<html>")).Error(); got != "the server answered 502 Bad Gateway" {
		t.Errorf("got %q", got)
	}
}
