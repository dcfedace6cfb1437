package api

import (
	"fmt"
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"haulout/projections"
)

// today answers what needs a person, at one facility or at all in reach.
func (s *server) today(c echo.Context) error {
	codes := s.Store.Codes()
	if code := c.QueryParam("facility"); code != "" {
		if err := reach(c, code); err != nil {
			return err
		}
		if !slices.Contains(codes, code) {
			return fmt.Errorf("%w: no facility has the code %q", errNotFound, code)
		}
		codes = []string{code}
	}
	out := []*projections.Board{}
	for _, code := range codes {
		if !member(c).Reaches(code) {
			continue
		}
		believed, err := asOf(c, s.Store.Zone(code))
		if err != nil {
			return err
		}
		b, err := s.Store.Today(code, s.asked(believed), believed)
		if err != nil {
			return err
		}
		if b != nil {
			out = append(out, b)
		}
	}
	return c.JSON(http.StatusOK, map[string]any{"facilities": out})
}
