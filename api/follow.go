package api

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"
)

// places is how far a reader has come at each facility, written
// saltgarth:812 wrackline-bay:77 as the id of each event, so that a reader who
// was cut off goes on where he was.
type places map[string]uint64

func (p places) String() string {
	parts := []string{}
	for _, code := range slices.Sorted(maps.Keys(p)) {
		parts = append(parts, code+":"+strconv.FormatUint(p[code], 10))
	}
	return strings.Join(parts, " ")
}

// startAt reads where a reader goes on: after his last event, after what he
// asks for (a number for all, or places), or from now.
func (s *server) startAt(c echo.Context, codes []string) (places, error) {
	at := places{}
	text := cmp.Or(c.Request().Header.Get("Last-Event-ID"), c.QueryParam("after"))
	if n, err := strconv.ParseUint(text, 10, 63); err == nil {
		for _, code := range codes {
			at[code] = n
		}
		return at, nil
	}
	for _, code := range codes {
		if text == "" {
			at[code] = s.Store.Head(code).Number
		} else {
			at[code] = 0
		}
	}
	for _, part := range strings.Fields(text) {
		code, number, _ := strings.Cut(part, ":")
		n, err := strconv.ParseUint(number, 10, 63)
		if err != nil {
			return nil, fmt.Errorf("%w: %q is not a place to go on from; give facility:number", errWrong, part)
		}
		if _, asked := at[code]; asked {
			at[code] = n
		}
	}
	return at, nil
}

// follow sends records as server-sent events as they are archived.
func (s *server) follow(c echo.Context) error {
	code, _, err := s.facilityOf(c)
	if err != nil {
		return err
	}
	codes := []string{code}
	if code == "" {
		codes = s.inReach(c)
	}
	at, err := s.startAt(c, codes)
	if err != nil {
		return err
	}
	w := c.Response()
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(http.StatusOK)
	if c.Request().Method == http.MethodHead {
		return nil
	}
	return s.send(c.Request().Context(), w, at, func() []string {
		if code == "" {
			return s.inReach(c)
		}
		return codes
	})
}

func (s *server) inReach(c echo.Context) (out []string) {
	for _, code := range s.Store.Codes() {
		if member(c).Reaches(code) {
			out = append(out, code)
		}
	}
	return out
}

// send writes what is there, then waits for more; a comment now and then shows
// a quiet line to be alive.
func (s *server) send(ctx context.Context, w *echo.Response, at places, codes func() []string) error {
	beat := time.NewTicker(15 * time.Second)
	defer beat.Stop()
	for {
		changed := s.Store.Changed()
		for _, code := range codes() {
			if err := s.sendNew(ctx, w, at, code); err != nil {
				return nil // the reader hung up, or will ask again
			}
		}
		w.Flush()
		select {
		case <-ctx.Done():
			return nil
		case <-changed:
		case <-beat.C:
			if _, err := fmt.Fprint(w, ": alive\n\n"); err != nil {
				return nil
			}
		}
	}
}

func (s *server) sendNew(ctx context.Context, w *echo.Response, at places, code string) error {
	for ctx.Err() == nil {
		lines, err := s.Store.Lines(code, at[code], 500)
		if err != nil {
			s.Log.Error("follow a log", "facility", code, "err", err)
			return err
		}
		if len(lines) == 0 {
			return nil
		}
		for _, line := range lines {
			at[code]++
			if _, err := fmt.Fprintf(w, "id: %s\nevent: record\ndata: %s\n\n", at, line); err != nil {
				return err
			}
		}
	}
	return ctx.Err()
}
