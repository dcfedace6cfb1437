package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"haulout/api"
	"haulout/web"
)

// rowsWait bounds how long an answer waits for the rows to hold what was
// recorded.
const rowsWait = 2 * time.Second

// site is what one node serves: the interface for programs and the pages,
// behind one guard.
type site struct {
	node    *node
	staff   *api.Staff
	visitor *api.Member // acts for those who show nothing, in the demo
	log     *slog.Logger

	mu      sync.Mutex
	notices map[string]string
}

func newSite(n *node, staff *api.Staff, log *slog.Logger) *site {
	return &site{node: n, staff: staff, log: log, notices: map[string]string{}}
}

// notice sets a line that everybody sees, or takes it away with "".
func (s *site) notice(about, line string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if line == "" {
		delete(s.notices, about)
		return
	}
	s.notices[about] = line
}

// lines lists what everybody should read now.
func (s *site) lines() []string {
	out := []string{}
	s.mu.Lock()
	for _, about := range []string{"demo", "filling"} {
		if line := s.notices[about]; line != "" {
			out = append(out, line)
		}
	}
	s.mu.Unlock()
	for _, facility := range s.node.journal.Facilities() {
		if why := s.node.journal.ReadOnly(facility); why != "" {
			out = append(out, facility+" is read-only: "+why)
		}
	}
	for _, p := range s.node.store.Standings() {
		if !p.Ready {
			out = append(out, "rows of "+p.Name+" are being built; what is shown may be of an older version")
		}
	}
	return out
}

// notReady lists what keeps the node from being ready.
func (s *site) notReady() []string {
	var out []string
	for _, facility := range s.node.journal.Facilities() {
		if why := s.node.journal.ReadOnly(facility); why != "" {
			out = append(out, facility+" is read-only: "+why)
		}
	}
	return out
}

// handler puts the site together.
func (s *site) handler() (http.Handler, error) {
	pages, err := web.New(web.Config{
		Store: s.node.store, Visitor: visitorOf, Notices: s.lines, Now: time.Now, Version: version, Log: s.log,
	})
	if err != nil {
		return nil, err
	}
	programs := api.New(api.Config{
		Store: s.node.store, Recorder: s.node.journal, Photos: s.node.journal, Ready: s.notReady, ReadOnly: s.node.journal.ReadOnly, Notices: s.lines,
		Settled: func(ctx context.Context, facility string, number uint64) bool {
			return s.node.settled(ctx, facility, number, rowsWait)
		},
		Now: time.Now, Version: version, Log: s.log,
	})
	guard := api.Guard{Staff: s.staff, Visitor: s.visitor, Pages: map[string]bool{}}
	for _, route := range web.Routes() {
		guard.Pages[route.Pattern] = route.Open
	}
	mux := http.NewServeMux()
	mux.Handle("/api/", programs)
	mux.Handle("GET /livez", programs)
	mux.Handle("GET /readyz", programs)
	mux.Handle("GET /metrics", programs)
	mux.HandleFunc("POST /sign-in", guard.SignIn)
	mux.HandleFunc("POST /sign-out", guard.SignOut)
	mux.Handle("/", pages)
	return guard.Wrap(mux), nil
}

// visitorOf tells the pages who is looking.
func visitorOf(r *http.Request) web.Visitor {
	m, ok := api.MemberOf(r)
	return web.Visitor{Name: m.Name, Role: m.Role, Facilities: m.Facilities, Records: m.Records(), Signs: m.Signs(), SignedIn: ok}
}

// serve answers on an address until the context ends, then lets what is under
// way finish.
func (s *site) serve(ctx context.Context, listen string, ready func(address string)) error {
	handler, err := s.handler()
	if err != nil {
		return err
	}
	listener, err := new(net.ListenConfig).Listen(ctx, "tcp", listen)
	if err != nil {
		return fmt.Errorf("listen on %s: %w", listen, err)
	}
	server := &http.Server{
		Handler: handler, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute,
		BaseContext: func(net.Listener) context.Context { return ctx }, // streams end when the process does
		ErrorLog:    slog.NewLogLogger(s.log.Handler(), slog.LevelWarn),
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(listener) }()
	ready(listener.Addr().String())
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	err = server.Shutdown(grace)
	if served := <-ended; !errors.Is(served, http.ErrServerClosed) {
		err = errors.Join(err, served)
	}
	return err
}
