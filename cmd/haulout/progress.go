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

// opening is progress as a node tells it, from several goroutines. What the
// node goes on building after it is open is not told.
type opening struct {
	out io.Writer
	mu  sync.Mutex
	p   *progress
	end bool
}

func (o *opening) report(doing string, done, total uint64) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.end {
		return
	}
	if o.p == nil || o.p.doing != doing {
		o.p = newProgress(o.out, doing, int(total))
	}
	o.p.at(int(done))
}

func (o *opening) done() {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.end = true; o.p != nil {
		o.p.end()
	}
}
