package main

import (
	"cmp"
	"encoding/json"
	"io"
	"os"
	"sync"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// progress tells how far long work is: a bar on a terminal, and elsewhere one
// line of JSON a second once the work has taken a second.
type progress struct {
	out   io.Writer
	doing string
	total int // 0 where it is not known
	last  time.Time
	bar   *progressbar.ProgressBar // nil where there is no terminal
}

func newProgress(out io.Writer, doing string, total int) *progress {
	p := &progress{out: out, doing: doing, total: total, last: time.Now()}
	if f, ok := out.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		p.bar = progressbar.NewOptions(cmp.Or(total, -1), progressbar.OptionSetWriter(out), progressbar.OptionSetDescription(doing),
			progressbar.OptionShowCount(), progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionClearOnFinish())
	}
	return p
}

// at says how much is done.
func (p *progress) at(done int) {
	if p.bar != nil {
		_ = p.bar.Set(done) // a bar that can't be drawn stops no work
		return
	}
	if time.Since(p.last) < time.Second {
		return
	}
	p.last = time.Now()
	line := map[string]any{"doing": p.doing, "done": done}
	if p.total > 0 {
		line["total"] = p.total
	}
	_ = json.NewEncoder(p.out).Encode(line)
}

func (p *progress) end() {
	if p.bar != nil {
		_ = p.bar.Finish()
	}
}

// opening is progress as a node tells it, from several goroutines.
func opening(out io.Writer) func(string, uint64, uint64) {
	var mu sync.Mutex
	var p *progress
	return func(doing string, done, total uint64) {
		mu.Lock()
		defer mu.Unlock()
		if p == nil || p.doing != doing {
			p = newProgress(out, doing, int(total))
		}
		p.at(int(done))
	}
}
