package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"haulout/api"
	"haulout/events"
)

// benchRounds is how often each recording run is made. Disks are fast and slow
// by turns, so what is compared takes turns too, and the middle one counts.
const benchRounds = 3

// benchRecording measures one fact a request over HTTP, on disk before the
// answer, rows included, against bare JetStream publishers that send the same
// record to a stream with the same sync setting.
func benchRecording(ctx context.Context, o benchOptions, dir string, say func(string)) ([]measure, error) {
	bare, ours := map[int][]float64{}, map[int][]float64{}
	var late []float64
	for round := range benchRounds {
		for _, clients := range []int{1, 16, crowd} {
			say(fmt.Sprintf("round %d of %d: bare JetStream with %d publishers, then recording over HTTP with %d clients", round+1, benchRounds, clients, clients))
			at := filepath.Join(dir, fmt.Sprintf("recording-%d-%d", round, clients))
			rate, err := barePublish(ctx, filepath.Join(at, "bare"), clients, o.seconds)
			if err != nil {
				return nil, err
			}
			run, err := recordOverHTTP(ctx, filepath.Join(at, "http"), clients, o.seconds)
			if err != nil {
				return nil, err
			}
			bare[clients], ours[clients] = append(bare[clients], rate), append(ours[clients], run.rate)
			if clients == crowd {
				late = append(late, run.lateP99.Seconds()*1000)
			}
		}
	}
	line := func(clients int) measure {
		what := fmt.Sprintf("facts recorded, %d clients", clients)
		m := measure{What: what, Value: middle(ours[clients]), Unit: "/s"}.against(fmt.Sprintf("%d bare publishers", clients), middle(bare[clients]))
		m.Ratio = middleRatio(ours[clients], bare[clients])
		return m
	}
	return []measure{
		line(1).atLeast(0.7), line(16), line(crowd).atLeast(5),
		measure{What: "answer to readable, p99, 64 clients", Value: middle(late), Unit: "ms"}.atMost(50),
	}, nil
}

func middle(list []float64) float64 {
	sorted := slices.Sorted(slices.Values(list))
	return sorted[len(sorted)/2]
}

// middleRatio compares round by round, since both runs of a round had the same
// disk.
func middleRatio(ours, bare []float64) float64 {
	ratios := make([]float64, len(ours))
	for i := range ours {
		ratios[i] = ours[i] / bare[i]
	}
	return middle(ratios)
}

// barePublish is what a plain program gets: a synchronous publish of one
// message, again and again.
func barePublish(ctx context.Context, dir string, publishers int, seconds float64) (float64, error) {
	srv, err := server.NewServer(&server.Options{ServerName: "bare", DontListen: true, NoSigs: true, NoLog: true, JetStream: true, StoreDir: dir, SyncAlways: true, JetStreamMaxStore: 8 << 30, JetStreamMaxMemory: 64 << 20})
	if err != nil {
		return 0, err
	}
	srv.Start()
	defer srv.WaitForShutdown()
	defer srv.Shutdown()
	if !srv.ReadyForConnections(time.Minute) {
		return 0, errors.New("bare JetStream did not start")
	}
	conn, err := nats.Connect("", nats.InProcessServer(srv))
	if err != nil {
		return 0, err
	}
	defer conn.Close()
	js, err := jetstream.New(conn)
	if err != nil {
		return 0, err
	}
	if _, err := js.CreateStream(ctx, jetstream.StreamConfig{Name: "bare", Subjects: []string{"bare"}, Storage: jetstream.FileStorage}); err != nil {
		return 0, err
	}
	fact, err := benchFeed(7).Fact()
	if err != nil {
		return 0, err
	}
	fact.Author, fact.Device, fact.Number, fact.Recorded = "rv", "bench", 7, fact.Time
	line := fact.Encode()
	return rateOf(ctx, publishers, seconds, func(int, int) error {
		_, err := js.Publish(ctx, "bare", line)
		return err
	})
}

// rateOf runs workers for a while and counts what they finish in a second.
func rateOf(ctx context.Context, workers int, seconds float64, work func(worker, i int) error) (float64, error) {
	ctx, cancel := context.WithTimeout(ctx, time.Duration(seconds*float64(time.Second)))
	defer cancel()
	var done atomic.Int64
	errs := make([]error, workers)
	start := time.Now()
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for i := 0; ctx.Err() == nil; i++ {
				if err := work(w, i); err != nil {
					if ctx.Err() == nil {
						errs[w] = err
					}
					return
				}
				done.Add(1)
			}
		})
	}
	wg.Wait()
	return float64(done.Load()) / time.Since(start).Seconds(), errors.Join(errs...)
}

type httpRun struct {
	rate    float64
	lateP99 time.Duration
}

// recordOverHTTP starts the whole program on a new folder and posts facts to it
// over loopback.
func recordOverHTTP(ctx context.Context, dir string, clients int, seconds float64) (run httpRun, err error) {
	log := slog.New(slog.DiscardHandler)
	n, err := openNode(ctx, nodeConfig{Dir: dir, Log: log, Report: func(string, uint64, uint64) {}})
	if err != nil {
		return run, err
	}
	defer func() { err = errors.Join(err, n.close()) }()
	staff, err := api.OpenStaff(dir, time.Now)
	if err != nil {
		return run, err
	}
	if err := staff.Add(api.Member{Name: "rv", Role: "steward"}); err != nil {
		return run, err
	}
	token, err := staff.Issue("rv")
	if err != nil {
		return run, err
	}
	ctx, stop := context.WithCancel(ctx)
	address, ended := make(chan string, 1), make(chan error, 1)
	go func() {
		ended <- newSite(n, staff, log).serve(ctx, "127.0.0.1:0", func(a string) { address <- a })
	}()
	b, err := newBenchClient(ctx, <-address, token, clients+1)
	if err == nil {
		err = b.lines[0].post(b, benchOpening()...)
	}
	if err == nil {
		run, err = b.measure(ctx, clients, seconds)
	}
	stop()
	return run, errors.Join(err, <-ended)
}

// benchClient posts facts and reads them back. It writes its requests by hand
// and ahead of time: what is measured is the server, not a client.
type benchClient struct {
	address, token string
	lines          []*benchLine
	next           atomic.Int64
}

// benchLine is one connection.
type benchLine struct {
	conn net.Conn
	in   *bufio.Reader
}

func newBenchClient(ctx context.Context, address, token string, clients int) (*benchClient, error) {
	b := &benchClient{address: address, token: token}
	for range clients {
		conn, err := new(net.Dialer).DialContext(ctx, "tcp", address)
		if err != nil {
			return nil, err
		}
		b.lines = append(b.lines, &benchLine{conn, bufio.NewReader(conn)})
	}
	return b, nil
}

// request writes out a whole HTTP request.
func (b *benchClient) request(method, path string, body []byte) []byte {
	head := fmt.Sprintf("%s %s HTTP/1.1\r\nHost: %s\r\nAuthorization: Bearer %s\r\nContent-Length: %d\r\n\r\n", method, path, b.address, b.token, len(body))
	return append([]byte(head), body...)
}

func (l *benchLine) do(request []byte) ([]byte, error) {
	if _, err := l.conn.Write(request); err != nil {
		return nil, err
	}
	resp, err := http.ReadResponse(l.in, nil)
	if err != nil {
		return nil, err
	}
	defer resp.Body.Close()
	raw, err := io.ReadAll(resp.Body)
	if err == nil && resp.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s: %s", resp.Status, raw)
	}
	return raw, err
}

func (b *benchClient) posting(drafts ...events.Draft) ([]byte, error) {
	raw, err := json.Marshal(drafts)
	if err != nil {
		return nil, err
	}
	return b.request(http.MethodPost, "/api/v1/records", raw), nil
}

func (l *benchLine) post(b *benchClient, drafts ...events.Draft) error {
	request, err := b.posting(drafts...)
	if err != nil {
		return err
	}
	_, err = l.do(request)
	return err
}

// crowd is the number of clients that is called many.
const crowd = 64

// benchReady is how many requests are written out ahead for each second.
const benchReady = 20_000

// measure posts for a while. In a crowd, one reader beside it posts a weight now
// and then and asks for it at once, to see how long after its answer it can be
// read.
func (b *benchClient) measure(ctx context.Context, clients int, seconds float64) (httpRun, error) {
	requests := make([][]byte, int(seconds*benchReady))
	for i := range requests {
		var err error
		if requests[i], err = b.posting(benchFeed(i)); err != nil {
			return httpRun{}, err
		}
	}
	var late []time.Duration
	var lateErr error
	reading, stop := context.WithCancel(ctx)
	var wg sync.WaitGroup
	if clients == crowd {
		wg.Go(func() { late, lateErr = b.watchOwnWrites(reading, b.lines[clients]) })
	}
	rate, err := rateOf(ctx, clients, seconds, func(worker, _ int) error {
		i := int(b.next.Add(1)) - 1
		if i >= len(requests) {
			return fmt.Errorf("more than %d requests a second; raise benchReady", benchReady)
		}
		_, err := b.lines[worker].do(requests[i])
		return err
	})
	stop()
	wg.Wait()
	slices.Sort(late)
	run := httpRun{rate: rate}
	if len(late) > 0 {
		run.lateP99 = late[len(late)*99/100]
	}
	return run, errors.Join(err, lateErr)
}

func (b *benchClient) watchOwnWrites(ctx context.Context, line *benchLine) (late []time.Duration, err error) {
	for i := 0; ; i++ {
		select {
		case <-ctx.Done():
			return late, nil
		case <-time.After(20 * time.Millisecond):
		}
		draft := benchDraft("weight.taken", benchStart, fmt.Sprintf(`{"animal":%q,"mass":{"value":"%d.25","unit":"kg"}}`, benchAnimal(i), 50+i%50))
		if err := line.post(b, draft); err != nil {
			return late, err
		}
		ask := b.request(http.MethodGet, "/api/v1/animals/"+benchAnimal(i)+"/weights?from=2020-01-01&to=2020-01-01", nil)
		start := time.Now()
		for {
			raw, err := line.do(ask)
			if err != nil {
				return late, err
			}
			if bytes.Contains(raw, []byte(draft.ID)) {
				break
			}
		}
		late = append(late, time.Since(start))
	}
}
