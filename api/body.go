package api

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"
)

// mass answers how the mass of an animal goes, up to now or the moment of as_of.
func (s *server) mass(c echo.Context) error { return aboutAnimal(s, c, s.Store.MassOf) }

// coat answers what an animal's coat scores come to.
func (s *server) coat(c echo.Context) error { return aboutAnimal(s, c, s.Store.CoatOf) }

// aboutAnimal answers what the store makes of the animal of a path.
func aboutAnimal[T any](s *server, c echo.Context, read func(animal string, now, asOf time.Time) (*T, error)) error {
	a, _, believed, err := s.subject(c)
	if err != nil {
		return err
	}
	out, err := read(a.ID, s.asked(believed), believed)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, out)
}
