package journal

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// maxPayload bounds one page on the wire.
const maxPayload = 8 << 20

// embedded is a JetStream server inside this process, without a listening port.
type embedded struct {
	server *server.Server
	conn   *nats.Conn
	js     jetstream.JetStream
}

// startServer opens the log's files. Some damage makes the server spin at its
// start, so it gets a deadline and then a plain message.
func startServer(dir string, space Space, deadline time.Duration) (*embedded, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the log folder: %w", err)
	}
	srv, err := server.NewServer(&server.Options{
		ServerName: "haulout", DontListen: true, NoSigs: true, NoLog: true,
		JetStream: true, StoreDir: filepath.Clean(dir), SyncAlways: true, MaxPayload: maxPayload, MaxPending: 8 * maxPayload,
		JetStreamMaxMemory: 64 << 20, JetStreamMaxStore: int64(space.Total),
	})
	if err != nil {
		return nil, fmt.Errorf("set up the log server: %w", err)
	}
	up := make(chan bool, 1)
	go func() {
		srv.Start()
		up <- srv.ReadyForConnections(deadline)
	}()
	select {
	case ok := <-up:
		if !ok {
			srv.Shutdown()
			return nil, fmt.Errorf("%w: the log in %s did not open", ErrDamage, dir)
		}
	case <-time.After(deadline):
		return nil, fmt.Errorf("%w: the log in %s did not open within %s; its files may be damaged, keep them and restore a backup", ErrDamage, dir, deadline)
	}
	return connect(srv)
}

func connect(srv *server.Server) (*embedded, error) {
	conn, err := nats.Connect("", nats.InProcessServer(srv))
	if err != nil {
		srv.Shutdown()
		return nil, fmt.Errorf("connect to the log server: %w", err)
	}
	js, err := jetstream.New(conn)
	if err != nil {
		conn.Close()
		srv.Shutdown()
		return nil, fmt.Errorf("reach JetStream: %w", err)
	}
	return &embedded{srv, conn, js}, nil
}

func (e *embedded) close() {
	e.conn.Close()
	e.server.Shutdown()
	e.server.WaitForShutdown()
}

// ErrDamage says that the log's files are not what they were.
var ErrDamage = errors.New("the log is damaged")

// streamConfig is how every facility's stream must be. Deleting and purging are
// denied for ever.
func streamConfig(facility string) jetstream.StreamConfig {
	return jetstream.StreamConfig{
		Name: "colony-" + facility, Subjects: []string{subject(facility)}, Description: "records of " + facility,
		Storage: jetstream.FileStorage, Retention: jetstream.LimitsPolicy, Discard: jetstream.DiscardNew, Replicas: 1,
		MaxMsgs: -1, MaxBytes: -1, MaxMsgsPerSubject: -1, MaxMsgSize: maxPayload, MaxConsumers: -1,
		DenyDelete: true, DenyPurge: true, Duplicates: 2 * time.Minute, AllowDirect: true,
	}
}

func subject(facility string) string { return "colony." + facility }

// openStream finds a facility's stream, and makes it when the data folder has
// never held it. A stream that was there and is gone is damage, never a reason
// to start a new one.
func (e *embedded) openStream(ctx context.Context, facility string, marked bool) (jetstream.Stream, error) {
	want := streamConfig(facility)
	stream, err := e.js.Stream(ctx, want.Name)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		if marked {
			return nil, fmt.Errorf("%w: the stream of %s is missing from a folder that held it", ErrDamage, facility)
		}
		return e.js.CreateStream(ctx, want)
	}
	if err != nil {
		return nil, fmt.Errorf("open the stream of %s: %w", facility, err)
	}
	have := stream.CachedInfo().Config
	if have.Retention != want.Retention || have.Storage != want.Storage || have.MaxMsgs != want.MaxMsgs || have.MaxBytes != want.MaxBytes ||
		have.MaxAge != 0 || !have.DenyDelete || !have.DenyPurge || len(have.Subjects) != 1 || have.Subjects[0] != want.Subjects[0] {
		return nil, fmt.Errorf("%w: the stream of %s is set up otherwise than this program sets it up", ErrDamage, facility)
	}
	return stream, nil
}
