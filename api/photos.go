package api

import (
	"errors"
	"fmt"
	"io"
	"net/http"

	"github.com/labstack/echo/v4"

	"haulout/events"
)

// keepPhoto takes a picture that a finding will name by its digest.
func (s *server) keepPhoto(c echo.Context) error {
	facility := c.QueryParam("facility")
	if facility == "" {
		return fmt.Errorf("%w: facility is missing; name the facility whose records will name the photo", errWrong)
	}
	if err := reach(c, facility); err != nil {
		return err
	}
	raw, err := io.ReadAll(http.MaxBytesReader(c.Response(), c.Request().Body, maxPhoto))
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
		problem(c.Response(), c.Request(), photoTooLarge, fmt.Sprintf("a photo has at most %d MiB", maxPhoto>>20))
		return nil
	}
	if err != nil {
		return fmt.Errorf("%w: read the photo: %w", errWrong, err)
	}
	one, err := s.drawAnew(raw)
	if err != nil {
		return err
	}
	digest, err := s.Photos.KeepPhoto(c.Request().Context(), facility, one.bytes)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusCreated, map[string]any{"digest": digest.String(), "bytes": len(one.bytes), "width": one.width, "height": one.height})
}

// drawAnew works on one picture at a time: a large one takes a hundred megabytes.
func (s *server) drawAnew(raw []byte) (photo, error) {
	s.drawing.Lock()
	defer s.drawing.Unlock()
	return newPhoto(raw)
}

// photo answers a picture by its digest, from the facility that keeps it.
func (s *server) photo(c echo.Context) error {
	digest, err := events.ParseHash(c.Param("digest"))
	if err != nil {
		return fmt.Errorf("%w: digest: %w", errWrong, err)
	}
	elsewhere := false
	for _, facility := range s.Store.Codes() {
		raw, err := s.Photos.Photo(c.Request().Context(), facility, digest)
		switch {
		case errors.Is(err, events.ErrNoPhoto):
		case err != nil:
			return err
		case !member(c).Reaches(facility):
			elsewhere = true
		default:
			c.Response().Header().Set("Cache-Control", "private, max-age=31536000, immutable")
			c.Response().Header().Set("X-Content-Type-Options", "nosniff")
			return c.Blob(http.StatusOK, "image/jpeg", raw)
		}
	}
	if elsewhere {
		return fmt.Errorf("%w: the photo belongs to a facility where your role does not hold", errForbidden)
	}
	return fmt.Errorf("%w: no facility keeps a photo of the digest %s", errNotFound, digest)
}
