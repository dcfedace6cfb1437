package api

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"haulout/projections"
)

// water answers how the water of an enclosure stands by the rules in force.
func (s *server) water(c echo.Context) error {
	code, believed, err := s.home(c)
	if err != nil {
		return err
	}
	from, err := dayOf(c, "from")
	if err != nil {
		return err
	}
	to, err := dayOf(c, "to")
	if err != nil {
		return err
	}
	today := projections.DayOf(s.asked(believed), s.Store.Zone(code))
	switch {
	case to > today:
		return fmt.Errorf("%w: to is %s, still to come; give a day up to %s", errWrong, to, today)
	case from > today, to != "" && from > to:
		return fmt.Errorf("%w: from is %s, after the last day of the history; give an earlier one", errWrong, from)
	}
	out, err := s.Store.WaterOver(code, c.Param("id"), from, to, s.asked(believed), believed)
	switch {
	case err != nil:
		return err
	case out == nil:
		return notThen(code, c.Param("id"))
	}
	return c.JSON(http.StatusOK, out)
}

// space answers whether an enclosure has the space that the rule asks for, with
// newcomers where some are named. Every newcomer has to be in reach.
func (s *server) space(c echo.Context) error {
	code, believed, err := s.home(c)
	if err != nil {
		return err
	}
	with, err := s.newcomers(c, believed)
	if err != nil {
		return err
	}
	out, err := s.Store.SpaceOf(code, c.Param("id"), s.asked(believed), believed, with...)
	switch {
	case errors.Is(err, projections.ErrSpace):
		return fmt.Errorf("%w: %w", errWrong, err)
	case err != nil:
		return err
	case out == nil:
		return notThen(code, c.Param("id"))
	}
	return c.JSON(http.StatusOK, out)
}

// newcomers reads the ids of with, parted by commas or given more than once.
func (s *server) newcomers(c echo.Context, believed time.Time) (ids []string, err error) {
	for _, part := range c.QueryParams()["with"] {
		for id := range strings.SplitSeq(part, ",") {
			if id = strings.TrimSpace(id); id != "" && !slices.Contains(ids, id) {
				ids = append(ids, id)
			}
		}
	}
	for _, id := range ids {
		a, err := s.Store.Animal(id, believed)
		if err != nil {
			return nil, err
		}
		if a != nil && !reachesAnimal(member(c), *a) {
			return nil, fmt.Errorf("%w: with names %s, who lives where your role does not hold", errForbidden, id)
		}
	}
	return ids, nil
}
