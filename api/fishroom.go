package api

import (
	"fmt"
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"haulout/projections"
)

// fishRoom answers a facility's fish room on a day, with the stock and the
// clocks of now, or of the moment that as_of asks for.
func (s *server) fishRoom(c echo.Context) error {
	code := c.Param("facility")
	if err := reach(c, code); err != nil {
		return err
	}
	if !slices.Contains(s.Store.Codes(), code) {
		return fmt.Errorf("%w: no facility has the code %q", errNotFound, code)
	}
	day, err := projections.ParseDay(c.Param("date"))
	if err != nil {
		return fmt.Errorf("%w: date: %w", errWrong, err)
	}
	believed, err := asOf(c, s.Store.Zone(code))
	if err != nil {
		return err
	}
	now := s.Now()
	if !believed.IsZero() && believed.Before(now) {
		now = believed
	}
	room, err := s.Store.FishRoom(code, day, now, believed)
	if err != nil {
		return err
	}
	if room == nil {
		return fmt.Errorf("%w: %s was not open then", errNotFound, code)
	}
	return c.JSON(http.StatusOK, room)
}
