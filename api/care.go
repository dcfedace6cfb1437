package api

import (
	"net/http"

	"github.com/labstack/echo/v4"
)

// checks answers how an animal's body looked, what is open, ordered and given.
func (s *server) checks(c echo.Context) error {
	a, zone, believed, err := s.subject(c)
	if err != nil {
		return err
	}
	from, to, err := s.span(c, zone)
	if err != nil {
		return err
	}
	out, err := s.Store.CareOf(a.ID, from, to, s.asked(believed), believed)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, out)
}
