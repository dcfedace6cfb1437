package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"haulout/events"
)

// TestMain lets the stories run the program as a command of its own process.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"haulout": main})
}

func TestStories(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:   "../../testdata/scripts",
		Setup: func(env *testscript.Env) error { env.Values["stage"] = &stage{}; return nil },
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"serve": serveInBackground, "exits": exits, "token": keepToken, "facts": factsOfFile, "flip": flip, "utf16": toUTF16, "many": manyRecords,
		},
	})
}

// stage is what the commands of one story share.
type stage struct{ server *background }

// background is a server that a test runs in its own process.
type background struct {
	base  string
	stop  context.CancelFunc
	ended chan int
}

// startServer runs the program's serve and reads the address that it prints.
func startServer(errs io.Writer, args ...string) (*background, error) {
	ctx, stop := context.WithCancel(context.Background())
	b := &background{stop: stop, ended: make(chan int, 1)}
	r, w := io.Pipe()
	go func() {
		code := run(ctx, append([]string{"serve", "--listen", "127.0.0.1:0", "--reserve", "1"}, args...), w, errs)
		w.CloseWithError(io.EOF)
		b.ended <- code
	}()
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		stop()
		return nil, errors.Join(errors.New("the server ended before it printed its address"), err)
	}
	go io.Copy(io.Discard, r)
	b.base = strings.TrimSpace(line)
	return b, nil
}

func (b *background) close() int {
	b.stop()
	code := <-b.ended
	b.ended <- code
	return code
}

// serve ARGS… starts a server and puts its address into SERVER; serve stop ends it.
func serveInBackground(ts *testscript.TestScript, neg bool, args []string) {
	if neg {
		ts.Fatalf("serve can't be negated")
	}
	at := ts.Value("stage").(*stage)
	if len(args) == 1 && args[0] == "stop" {
		if code := at.server.close(); code != exitGood {
			ts.Fatalf("the server ended with %d", code)
		}
		return
	}
	for i := range args {
		if i > 0 && args[i-1] == "--data" {
			args[i] = ts.MkAbs(args[i])
		}
	}
	b, err := startServer(io.Discard, args...)
	ts.Check(err)
	ts.Setenv("SERVER", b.base)
	ts.Defer(func() { b.close() })
	at.server = b
}

// exits CODE COMMAND… runs a command and insists on its exit code.
func exits(ts *testscript.TestScript, _ bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		exit, ok := errors.AsType[*exec.ExitError](err)
		if !ok {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("%s exits with %d, want %d\n%s%s", strings.Join(args[1:], " "), got, want, ts.ReadFile("stdout"), ts.ReadFile("stderr"))
	}
}

// token puts what was printed last into TOKEN.
func keepToken(ts *testscript.TestScript, _ bool, _ []string) {
	ts.Setenv("TOKEN", strings.TrimSpace(ts.ReadFile("stdout")))
}

// facts RECORDS OUT writes of each record what its device made.
func factsOfFile(ts *testscript.TestScript, _ bool, args []string) {
	var out bytes.Buffer
	for line := range strings.Lines(ts.ReadFile(args[0])) {
		var d events.Draft
		ts.Check(json.Unmarshal([]byte(line), &d))
		ts.Check(json.NewEncoder(&out).Encode(d))
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), out.Bytes(), 0o644))
}

// flip GLOB SHARE turns over eight bytes at a share of a file's length.
func flip(ts *testscript.TestScript, _ bool, args []string) {
	files, err := filepath.Glob(ts.MkAbs(args[0]))
	ts.Check(err)
	share, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	if len(files) != 1 {
		ts.Fatalf("%s matches %d files", args[0], len(files))
	}
	raw, err := os.ReadFile(files[0])
	ts.Check(err)
	at := int(share * float64(len(raw)-8))
	for i := range 8 {
		raw[at+i] ^= 0xff
	}
	ts.Check(os.WriteFile(files[0], raw, 0o600))
}

// utf16 IN OUT writes a file as UTF-16 with a byte order mark.
func toUTF16(ts *testscript.TestScript, _ bool, args []string) {
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), utf16LE(ts.ReadFile(args[0])), 0o644))
}

// many N OUT CLASH writes N notes with one more record after the 601st.
func manyRecords(ts *testscript.TestScript, _ bool, args []string) {
	n, err := strconv.Atoi(args[0])
	ts.Check(err)
	var out bytes.Buffer
	for i := range n {
		if i == 601 {
			out.WriteString(ts.ReadFile(args[2]))
		}
		fmt.Fprintf(&out, `{"id":"00000000-0000-7000-8000-%012x","type":"haulout.note.v1","time":"2026-01-02T00:00:00Z","facility":"saltgarth","data":{"text":"note %d"}}`+"\n", i+1, i)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), out.Bytes(), 0o644))
}
