package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net/http"
	"net/url"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"haulout/api"
	"haulout/events"
)

// place is where a command works: a running server, or a data folder that no
// server holds.
type place struct{ server, token, data string }

func (p *place) flags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&p.server, "server", "", "address of a running server, such as http://127.0.0.1:8080 (or HAULOUT_SERVER)")
	cmd.Flags().StringVar(&p.token, "token", "", "token for that server (or HAULOUT_TOKEN)")
	cmd.Flags().StringVar(&p.data, "data", "", "data folder that no server holds, instead of a server")
}

// settle takes the environment where no option says otherwise, and insists on
// exactly one place.
func (p *place) settle() error {
	if p.data == "" && p.server == "" {
		p.server = setting("HAULOUT_SERVER", "")
	}
	switch {
	case p.data != "" && p.server != "":
		return useError{errors.New("--server and --data are both given; work on one of them")}
	case p.data != "" && p.token != "":
		return useError{errors.New("--token goes with --server; a data folder asks for none")}
	case p.data == "" && p.server == "":
		return useError{errors.New("say where to work: --server URL (with --token) for a running server, or --data DIR for a folder that no server holds")}
	case p.data != "":
		return nil
	}
	if u, err := url.Parse(p.server); err != nil || u.Host == "" || (u.Scheme != "http" && u.Scheme != "https") {
		return useError{fmt.Errorf("--server %q: write the address as http://127.0.0.1:8080", p.server)}
	}
	if p.token == "" {
		p.token = setting("HAULOUT_TOKEN", "")
	}
	return nil
}

// exists refuses a data folder that is not there, lest a slip of the hand
// makes a new one.
func (p *place) exists() error {
	if p.data == "" {
		return nil
	}
	if _, err := os.Stat(p.data); errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("there is no data folder %s", p.data)
	}
	return nil
}

// open reaches the place. A folder is served to this process alone, by the
// handler that the server uses.
func (p *place) open(ctx context.Context, log *slog.Logger, errs io.Writer) (*client, error) {
	if p.data == "" {
		return &client{where: p.server, base: strings.TrimRight(p.server, "/"), token: p.token, http: &http.Client{}}, nil
	}
	o := &opening{out: errs}
	defer o.done()
	n, err := openNode(ctx, nodeConfig{Dir: p.data, Log: log, Report: o.report})
	if err != nil {
		return nil, err
	}
	c, err := within(n, p.data, log)
	if err != nil {
		return nil, errors.Join(err, n.close())
	}
	return c, nil
}

// client asks a server, or the handler of a folder, which it can't tell apart.
type client struct {
	where string // as the user named it
	base  string
	token string
	http  *http.Client
	node  *node // of a folder; nil for a server
}

// warnings is the log of a command: what people should know, and no more.
func warnings(errs io.Writer) *slog.Logger {
	return slog.New(slog.NewTextHandler(errs, &slog.HandlerOptions{Level: slog.LevelWarn}))
}

// within is a client of a node in this process. Whoever can write the folder
// may do anything with it, so he acts as a steward of every facility.
func within(n *node, dir string, log *slog.Logger) (*client, error) {
	staff, err := api.OpenStaff(dir, time.Now)
	if err != nil {
		return nil, err
	}
	s := newSite(n, staff, log)
	s.visitor = &api.Member{Name: "haulout", Role: "steward"}
	handler, err := s.handler()
	if err != nil {
		return nil, err
	}
	return &client{where: dir, base: "http://folder", http: &http.Client{Transport: inside{handler}}, node: n}, nil
}

func (c *client) close() error {
	if c.node == nil {
		return nil
	}
	return c.node.close()
}

// inside carries requests to a handler in this process.
type inside struct{ handler http.Handler }

func (i inside) RoundTrip(r *http.Request) (*http.Response, error) {
	in := r.Clone(r.Context())
	if in.RequestURI = r.URL.RequestURI(); in.Body == nil {
		in.Body = http.NoBody
	}
	w := &kept{header: http.Header{}}
	i.handler.ServeHTTP(w, in)
	w.WriteHeader(http.StatusOK) // unless one was written
	return &http.Response{
		Status: http.StatusText(w.status), StatusCode: w.status, Proto: "HTTP/1.1", ProtoMajor: 1, ProtoMinor: 1,
		Header: w.header, Body: io.NopCloser(&w.body), ContentLength: int64(w.body.Len()), Request: r,
	}, nil
}

// kept is an answer that is kept until it is whole.
type kept struct {
	header http.Header
	status int
	body   bytes.Buffer
}

func (k *kept) Header() http.Header { return k.header }

func (k *kept) WriteHeader(status int) {
	if k.status == 0 {
		k.status = status
	}
}

func (k *kept) Write(p []byte) (int, error) {
	k.WriteHeader(http.StatusOK)
	return k.body.Write(p)
}

// ask makes one request and gives the whole answer. An answer that is no
// success is a *refusal.
func (c *client) ask(ctx context.Context, method, path string, body []byte) ([]byte, http.Header, error) {
	req, err := http.NewRequestWithContext(ctx, method, c.base+path, bytes.NewReader(body))
	if err != nil {
		return nil, nil, err
	}
	if c.token != "" {
		req.Header.Set("Authorization", "Bearer "+c.token)
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Haulout-Device", "import")
	resp, err := c.http.Do(req)
	if err != nil {
		return nil, nil, fmt.Errorf("reach %s: %w", c.where, err)
	}
	defer resp.Body.Close()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		return nil, nil, fmt.Errorf("read the answer of %s: %w", c.where, err)
	}
	if resp.StatusCode/100 != 2 {
		return nil, nil, refusalOf(resp.StatusCode, raw)
	}
	return raw, resp.Header, nil
}

// get reads one JSON answer.
func (c *client) get(ctx context.Context, path string, into any) error {
	raw, _, err := c.ask(ctx, http.MethodGet, path, nil)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(raw, into); err != nil {
		return fmt.Errorf("read the answer of %s to %s: %w", c.where, path, err)
	}
	return nil
}

// find reads one record by its id; nil where there is none.
func (c *client) find(ctx context.Context, id string) (*events.Event, error) {
	raw, _, err := c.ask(ctx, http.MethodGet, "/api/v1/records/"+url.PathEscape(id), nil)
	if r, ok := errors.AsType[*refusal](err); ok && r.Status == http.StatusNotFound {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	ev, err := events.DecodeEnvelope(raw)
	return &ev, err
}

// receipt is what the interface answers for one fact.
type receipt struct {
	ID       string `json:"id"`
	Repeated bool   `json:"repeated"`
}

// record sends facts of one facility, all to be recorded or none.
func (c *client) record(ctx context.Context, facts []events.Draft) ([]receipt, error) {
	body, err := json.Marshal(facts)
	if err != nil {
		return nil, err
	}
	raw, _, err := c.ask(ctx, http.MethodPost, "/api/v1/records", body)
	if err != nil {
		return nil, err
	}
	var answer struct {
		Receipts []receipt `json:"receipts"`
	}
	if err := json.Unmarshal(raw, &answer); err != nil || len(answer.Receipts) != len(facts) {
		return nil, fmt.Errorf("%s sent %d receipts for %d facts: %w", c.where, len(answer.Receipts), len(facts), err)
	}
	return answer.Receipts, nil
}

// refusal is a problem answer (RFC 9457).
type refusal struct {
	Status   int
	Title    string                `json:"title"`
	Detail   string                `json:"detail"`
	Remedy   string                `json:"remedy"`
	Problems []events.EntryProblem `json:"problems"`
}

func refusalOf(status int, body []byte) *refusal {
	r := &refusal{}
	_ = json.Unmarshal(body, r) // what is no problem answer is told by its status
	r.Status = status
	return r
}

func (r *refusal) Error() string {
	switch r.Status {
	case http.StatusUnauthorized:
		return "the server does not know you; give a token with --token or HAULOUT_TOKEN (haulout staff add NAME --role ROLE --token makes one)"
	case http.StatusForbidden:
		return "your role does not allow this: " + r.Detail + "; ask a steward"
	case http.StatusInsufficientStorage:
		return "the disk of the server is nearly full: " + r.Detail + "; make room there, then give the same command again"
	case http.StatusServiceUnavailable:
		return "the server takes no facts at the moment: " + r.Detail + "; give the same command again later"
	}
	if r.Detail == "" {
		return fmt.Sprintf("the server answered %d %s", r.Status, http.StatusText(r.Status))
	}
	return strings.TrimRight(r.Detail, ".") + " (" + strings.TrimRight(r.Remedy, ".") + ")"
}
