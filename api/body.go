package api

import (
	"net/http"

	"github.com/labstack/echo/v4"
)

// mass answers how the mass of an animal goes, up to now or the moment of as_of.
func (s *server) mass(c echo.Context) error {
	a, _, believed, err := s.subject(c)
	if err != nil {
		return err
	}
	out, err := s.Store.MassOf(a.ID, s.asked(believed), believed)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, out)
}

// coat answers what an animal's coat scores come to.
func (s *server) coat(c echo.Context) error {
	a, _, believed, err := s.subject(c)
	if err != nil {
		return err
	}
	out, err := s.Store.CoatOf(a.ID, s.asked(believed), believed)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, out)
}
