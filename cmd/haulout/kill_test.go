package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"haulout/events"
	"haulout/projections"
)

// rounds is how often the server is killed; HAULOUT_PROOF asks for more.
func rounds(t *testing.T, usual int) int {
	text := os.Getenv("HAULOUT_PROOF")
	if text == "" {
		return usual
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatalf("HAULOUT_PROOF is %q, want a number", text)
	}
	return min(n, 2000)
}

// buildBinary builds the program as users run it.
func buildBinary(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "haulout")
	if out, err := exec.CommandContext(t.Context(), "go", "build", "-o", path, ".").CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	return path
}

// process is the program as another process.
type process struct {
	cmd  *exec.Cmd
	base string
}

func startProcess(t *testing.T, binary, dir string, more ...string) *process {
	t.Helper()
	cmd := exec.Command(binary, append([]string{"serve", "--data", dir, "--listen", "127.0.0.1:0", "--facility", "saltgarth", "--zone", "Europe/Dublin"}, more...)...)
	errs := &bytes.Buffer{}
	cmd.Stderr = errs
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("the server did not start: %v\n%s", err, errs)
	}
	return &process{cmd, strings.TrimSpace(line)}
}

func (p *process) kill() {
	_ = p.cmd.Process.Kill()
	_ = p.cmd.Wait()
}

type posted struct {
	Receipts []struct {
		ID     string
		Number uint64
		Hash   string
	}
}

func postFacts(base, token string, drafts ...events.Draft) (posted, error) {
	raw, err := json.Marshal(drafts)
	if err != nil {
		return posted{}, err
	}
	req, err := http.NewRequest(http.MethodPost, base+"/api/v1/records", bytes.NewReader(raw))
	if err != nil {
		return posted{}, err
	}
	req.Header.Set("Authorization", "Bearer "+token)
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return posted{}, err
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		return posted{}, err
	}
	if resp.StatusCode >= 300 {
		return posted{}, fmt.Errorf("%s: %s", resp.Status, body)
	}
	var out posted
	return out, json.Unmarshal(body, &out)
}

func saltgarthDraft(kind, body string) events.Draft {
	d := benchDraft(kind, march, body)
	d.Facility = "saltgarth"
	return d
}

func saltgarthFeed(i int) events.Draft {
	return saltgarthDraft("feed.given", fmt.Sprintf(`{"animal":"marl","items":[{"food":"herring","offered":{"value":"0.%d","unit":"kg"},"eaten":{"value":"0.1","unit":"kg"}}]}`, 2+i%8))
}

// TestKilledUnderLoadNothingAnsweredIsLost kills the server again and again
// while twenty writers post. Every receipt that was ever given is there once,
// under its number and hash, the chain is whole, and the rows are those of a
// rebuild.
func TestKilledUnderLoadNothingAnsweredIsLost(t *testing.T) {
	binary, dir := buildBinary(t), t.TempDir()
	token := staffToken(t, dir, "rv", "steward")
	receipts := map[string]events.Hash{} // by id
	rng := rand.New(rand.NewPCG(1, 2))
	for round := range rounds(t, 30) {
		p := startProcess(t, binary, dir)
		if round == 0 {
			if _, err := postFacts(p.base, token,
				saltgarthDraft("animal.entered", `{"animal":"marl","name":"Marl","taxon":"Zalophus californianus","sex":"female","how":"birth"}`),
				saltgarthDraft("food.described", `{"food":"herring","name":"Herring","source":"invented"}`)); err != nil {
				t.Fatal(err)
			}
		}
		killAmidWriters(p, token, time.Duration(50+rng.IntN(300))*time.Millisecond, receipts)
	}
	if len(receipts) < 100 {
		t.Fatalf("only %d receipts were given; the test proves too little", len(receipts))
	}
	verifyReceipts(t, dir, receipts)
}

func killAmidWriters(p *process, token string, after time.Duration, receipts map[string]events.Hash) {
	var mu sync.Mutex
	var wg sync.WaitGroup
	for w := range 20 {
		wg.Go(func() {
			for i := 0; ; i++ {
				got, err := postFacts(p.base, token, saltgarthFeed(w+i), saltgarthFeed(w+i+1))
				if err != nil {
					return // the server is gone
				}
				mu.Lock()
				for _, r := range got.Receipts {
					hash, err := events.ParseHash(r.Hash)
					if err != nil {
						panic(err)
					}
					receipts[r.ID] = hash
				}
				mu.Unlock()
			}
		})
	}
	time.Sleep(after)
	p.kill()
	wg.Wait()
}

func verifyReceipts(t *testing.T, dir string, receipts map[string]events.Hash) {
	t.Helper()
	n := tryNode(t, dir)
	defer n.close()
	if why := n.journal.ReadOnly("saltgarth"); why != "" {
		t.Fatalf("saltgarth is read-only: %s", why)
	}
	seen, number, last := map[string]int{}, uint64(0), events.Hash{}
	for page, err := range n.journal.Pages(t.Context(), "saltgarth", 0) {
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range page.Lines {
			ev, err := events.Decode(line)
			if err != nil {
				t.Fatal(err)
			}
			if number++; ev.Number != number || ev.Previous != last {
				t.Fatalf("record %d does not follow record %d", ev.Number, number-1)
			}
			last = events.LeafHash(line)
			seen[ev.ID]++
			if want, given := receipts[ev.ID]; given && want != last {
				t.Errorf("record %d has another hash than its receipt", number)
			}
		}
	}
	for id := range receipts {
		if seen[id] != 1 {
			t.Errorf("the record of receipt %s is in the log %d times", id, seen[id])
		}
	}
	t.Logf("%d receipts, %d records", len(receipts), number)
	if want, got := rebuiltFingerprint(t, n), fingerprint(t, n.store); want != got {
		t.Errorf("rows differ from a rebuild: %s, want %s", got, want)
	}
}

func fingerprint(t *testing.T, s *projections.Store) events.Hash {
	t.Helper()
	sum, err := s.Fingerprint()
	if err != nil {
		t.Fatal(err)
	}
	return sum
}

// rebuiltFingerprint fills a new archive from the log and takes its rows.
func rebuiltFingerprint(t *testing.T, n *node) events.Hash {
	t.Helper()
	s, err := projections.Open(t.TempDir(), projections.All(), slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for _, facility := range n.journal.Facilities() {
		if err := s.Fill(t.Context(), n.journal.Pages(t.Context(), facility, 0), func(int) {}); err != nil {
			t.Fatal(err)
		}
	}
	return fingerprint(t, s)
}

// staffToken takes somebody in with the program's own command.
func staffToken(t *testing.T, dir, name, role string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(t.Context(), []string{"staff", "add", name, "--role", role, "--data", dir, "--token"}, &out, &errs); code != exitGood {
		t.Fatalf("staff add ended with %d: %s", code, &errs)
	}
	return strings.TrimSpace(out.String())
}
