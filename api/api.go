package api

import (
	"context"
	"fmt"
	"log/slog"
	"maps"
	"net/http"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"haulout/events"
	"haulout/projections"
)

// Recorder is the part of the log that the interface needs.
type Recorder interface {
	Record(context.Context, events.Batch) ([]events.Receipt, error)
}

// Photos is where pictures are kept, by the SHA-256 of their bytes.
type Photos interface {
	KeepPhoto(ctx context.Context, facility string, photo []byte) (events.Hash, error)
	Photo(ctx context.Context, facility string, digest events.Hash) ([]byte, error)
}

// Config is what the interface is put together from.
type Config struct {
	Store    *projections.Store
	Recorder Recorder
	Photos   Photos
	// Settled waits, within limits, until the rows hold a record.
	Settled func(ctx context.Context, facility string, number uint64) bool
	// Ready says what keeps the node from being ready; nothing when it is.
	Ready func() []string
	// ReadOnly says why a facility takes no facts, "" where it does.
	ReadOnly func(facility string) string
	// Notices are lines that everybody should read, such as how far a fill is.
	Notices func() []string
	Now     func() time.Time
	Version string
	Log     *slog.Logger
}

type server struct {
	Config
	metrics *metrics
	drawing sync.Mutex
}

// New makes the handler of the interface. It relies on the guard before it.
func New(cfg Config) http.Handler {
	s := &server{Config: cfg, metrics: newMetrics(cfg)}
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.HTTPErrorHandler = s.failed
	e.Use(s.observe)
	s.routes(e)
	return e
}

func (s *server) routes(e *echo.Echo) {
	get := func(path string, h echo.HandlerFunc) { e.Match([]string{http.MethodGet, http.MethodHead}, path, h) }
	get("/livez", s.live)
	get("/readyz", s.ready)
	get("/metrics", echo.WrapHandler(promhttp.HandlerFor(s.metrics.registry, promhttp.HandlerOpts{})))
	get("/api/openapi.json", s.openAPI)
	get("/api/v1/me", s.me)
	get("/api/v1/status", s.status)
	get("/api/v1/schemas", s.schemas)
	get("/api/v1/schemas/:type", s.schema)
	get("/api/v1/problems/:slug", s.problemKind)
	e.POST("/api/v1/records", s.record)
	get("/api/v1/records/:id", s.recordByID)
	get("/api/v1/facilities", s.facilities)
	get("/api/v1/facilities/:code/records", s.facilityRecords)
	get("/api/v1/facilities/:code/judgements", s.judgements)
	get("/api/v1/enclosures", s.enclosures)
	get("/api/v1/enclosures/:id/hierarchy", s.hierarchy)
	get("/api/v1/enclosures/:id/company", s.company)
	get("/api/v1/enclosures/:id/periods", s.periods)
	get("/api/v1/enclosures/:id/water", s.water)
	get("/api/v1/enclosures/:id/space", s.space)
	get("/api/v1/foods", s.foods)
	get("/api/v1/lots", s.lots)
	get("/api/v1/behaviours", s.behaviours)
	get("/api/v1/fishroom/:facility/:date", s.fishRoom)
	get("/api/v1/today", s.today)
	get("/api/v1/animals", s.animals)
	get("/api/v1/animals/:id", s.animal)
	get("/api/v1/animals/:id/days", s.days)
	get("/api/v1/animals/:id/weights", s.weights)
	get("/api/v1/animals/:id/energy", s.energy)
	get("/api/v1/animals/:id/forecast", s.forecast)
	get("/api/v1/animals/:id/mass", s.mass)
	get("/api/v1/animals/:id/coat", s.coat)
	get("/api/v1/animals/:id/checks", s.checks)
	get("/api/v1/animals/:id/records", s.animalRecords)
	e.POST("/api/v1/rations/propose", s.propose)
	e.POST("/api/v1/photos", s.keepPhoto)
	get("/api/v1/photos/:digest", s.photo)
	get("/api/v1/follow", s.follow)
}

// failed answers what a handler returned as an error.
func (s *server) failed(err error, c echo.Context) {
	if c.Response().Committed {
		return
	}
	if http, ok := err.(*echo.HTTPError); ok && http.Code == 404 {
		problem(c.Response(), c.Request(), unknownRoute, "nothing is served at "+c.Request().URL.Path)
		return
	}
	if kindOf(err) == internal {
		s.Log.Error("answer a request", "path", c.Request().URL.Path, "err", err)
	}
	failed(c.Response(), c.Request(), err)
}

// observe counts requests by route and outcome.
func (s *server) observe(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		start := time.Now()
		err := next(c)
		if err != nil {
			c.Error(err)
		}
		s.metrics.seen(c.Request().Method+" "+c.Path(), c.Response().Status, time.Since(start))
		return nil
	}
}

func (s *server) live(c echo.Context) error {
	return c.JSON(http.StatusOK, map[string]string{"status": "alive", "version": s.Version})
}

func (s *server) ready(c echo.Context) error {
	why := s.Ready()
	if len(why) > 0 {
		return c.JSON(http.StatusServiceUnavailable, map[string]any{"status": "not ready", "why": why})
	}
	return c.JSON(http.StatusOK, map[string]string{"status": "ready"})
}

func (s *server) me(c echo.Context) error {
	return c.JSON(http.StatusOK, member(c))
}

// member is who asks; the guard has let nobody else through.
func member(c echo.Context) Member {
	m, _ := MemberOf(c.Request())
	return m
}

func reach(c echo.Context, facility string) error {
	if m := member(c); !m.Reaches(facility) {
		return fmt.Errorf("%w: your role %s does not hold at %s", errForbidden, m.Role, facility)
	}
	return nil
}

// facilityStatus is one facility's head as the contract words it.
type facilityStatus struct {
	Facility string       `json:"facility"`
	Name     string       `json:"name,omitempty"`
	Zone     string       `json:"zone"`
	Head     facilityHead `json:"head"`
	Animals  int          `json:"animals"`
	ReadOnly string       `json:"read_only,omitempty"`
}

type facilityHead struct {
	Number uint64 `json:"number"`
	Hash   string `json:"hash"`
}

func (s *server) status(c echo.Context) error {
	list, err := s.Store.Facilities(time.Time{})
	if err != nil {
		return err
	}
	out := []facilityStatus{}
	for _, f := range list {
		if !member(c).Reaches(f.Code) {
			continue
		}
		roster, err := s.Store.Roster(f.Code, s.Now(), time.Time{})
		if err != nil {
			return err
		}
		head := s.Store.Head(f.Code)
		out = append(out, facilityStatus{f.Code, f.Name, f.Zone, facilityHead{head.Number, head.Hash.String()}, len(roster), s.ReadOnly(f.Code)})
	}
	return c.JSON(http.StatusOK, map[string]any{
		"version": s.Version, "facilities": out, "projections": s.standings(member(c)), "ready": len(s.Ready()) == 0, "notices": s.Notices(),
	})
}

// standings says how far every projection is at the facilities in reach.
func (s *server) standings(m Member) []projections.Standing {
	out := s.Store.Standings()
	for _, p := range out {
		maps.DeleteFunc(p.Positions, func(code string, _ uint64) bool { return !m.Reaches(code) })
	}
	return out
}

func (s *server) schemas(c echo.Context) error {
	return c.JSON(http.StatusOK, map[string]any{"types": events.Kinds()})
}

func (s *server) schema(c echo.Context) error {
	raw, err := events.Schema(c.Param("type"))
	if err != nil {
		return fmt.Errorf("%w: %w", errNotFound, err)
	}
	return c.Blob(http.StatusOK, "application/schema+json", raw)
}

func (s *server) problemKind(c echo.Context) error {
	for _, k := range kinds {
		if k.Slug == c.Param("slug") {
			return c.JSON(http.StatusOK, k)
		}
	}
	return fmt.Errorf("%w: no problem is called %s", errNotFound, c.Param("slug"))
}

// metrics is what a monitor reads.
type metrics struct {
	registry *prometheus.Registry
	requests *prometheus.CounterVec
	took     *prometheus.HistogramVec
}

func newMetrics(cfg Config) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "haulout_requests_total", Help: "Requests answered."}, []string{"route", "status"}),
		took: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "haulout_request_seconds", Help: "Time to answer.", Buckets: prometheus.ExponentialBuckets(0.0005, 2, 14)}, []string{"route"}),
	}
	m.registry.MustRegister(m.requests, m.took, headCollector{cfg.Store, cfg.ReadOnly})
	return m
}

func (m *metrics) seen(route string, status int, took time.Duration) {
	m.requests.WithLabelValues(route, fmt.Sprint(status)).Inc()
	if !strings.HasSuffix(route, "/follow") { // a stream lasts as long as its reader
		m.took.WithLabelValues(route).Observe(took.Seconds())
	}
}

// headCollector reports how many records each facility has, and whether it
// takes more.
type headCollector struct {
	store    *projections.Store
	readOnly func(facility string) string
}

var (
	headDesc     = prometheus.NewDesc("haulout_records", "Records in the archive.", []string{"facility"}, nil)
	readOnlyDesc = prometheus.NewDesc("haulout_read_only", "1 where a facility takes no facts.", []string{"facility"}, nil)
)

func (h headCollector) Describe(ch chan<- *prometheus.Desc) {
	ch <- headDesc
	ch <- readOnlyDesc
}

func (h headCollector) Collect(ch chan<- prometheus.Metric) {
	for _, code := range h.store.Codes() {
		stopped := 0.0
		if h.readOnly(code) != "" {
			stopped = 1
		}
		ch <- prometheus.MustNewConstMetric(headDesc, prometheus.GaugeValue, float64(h.store.Head(code).Number), code)
		ch <- prometheus.MustNewConstMetric(readOnlyDesc, prometheus.GaugeValue, stopped, code)
	}
}
