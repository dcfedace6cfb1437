package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"haulout/projections"
)

// energy answers an animal's balance, with its days from … to. Today counts
// with its weigh-ins; its feeds do once it is over.
func (s *server) energy(c echo.Context) error {
	a, zone, believed, err := s.subject(c)
	if err != nil {
		return err
	}
	from, to, err := s.span(c, zone)
	if err != nil {
		return err
	}
	today := projections.DayOf(s.Now(), zone)
	out, err := s.Store.Energy(a.ID, from, min(to, today), today, believed)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, out)
}

// forecast answers an animal's mass to come, under the ration in force or one
// given as ration=herring=2.0,capelin=1.5 in kilograms a day.
func (s *server) forecast(c echo.Context) error {
	a, zone, believed, err := s.subject(c)
	if err != nil {
		return err
	}
	parts, err := rationOf(c.QueryParam("ration"), a.Stays[len(a.Stays)-1].Facility)
	if err != nil {
		return err
	}
	today := projections.DayOf(s.Now(), zone)
	out, err := s.Store.Forecast(a.ID, parts, today, today, s.Now(), believed)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, out)
}

// rationOf reads foods and kilograms; nil where none are given.
func rationOf(text, facility string) (out []projections.RationPart, err error) {
	if text == "" {
		return nil, nil
	}
	for one := range strings.SplitSeq(text, ",") {
		food, kilos, _ := strings.Cut(one, "=")
		kg, err := strconv.ParseFloat(kilos, 64)
		if food == "" || err != nil || !(kg >= 0 && kg <= 150) {
			return nil, fmt.Errorf("%w: ration is %q at %q; write food=kilograms, such as herring=2.0,capelin=1.5", errWrong, text, one)
		}
		out = append(out, projections.RationPart{Facility: facility, Food: food, Name: food, Grams: kg * 1000})
	}
	return out, nil
}

// propose answers a ration in whole portions. It records nothing.
func (s *server) propose(c echo.Context) error {
	var ask projections.Ask
	body := json.NewDecoder(http.MaxBytesReader(c.Response(), c.Request().Body, 64<<10))
	body.DisallowUnknownFields()
	if err := body.Decode(&ask); err != nil {
		return fmt.Errorf("%w: the body can't be read: %v", errWrong, err)
	}
	a, err := s.Store.Animal(ask.Animal, time.Time{})
	if err != nil {
		return err
	}
	if a == nil {
		return fmt.Errorf("%w: animal is %q; give the id of an animal on record", errNotFound, ask.Animal)
	}
	if !reachesAnimal(member(c), *a) {
		return fmt.Errorf("%w: %s lives where your role does not hold", errForbidden, a.Name)
	}
	if _, err := projections.ParseDay(string(ask.Day)); ask.Day != "" && err != nil {
		return fmt.Errorf("%w: day: %v", errWrong, err)
	}
	out, err := s.Store.Propose(ask, s.Now(), time.Time{})
	if errors.Is(err, projections.ErrAsk) {
		return fmt.Errorf("%w: %w", errWrong, err)
	}
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, out)
}
