package api

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"haulout/events"
	"haulout/projections"
)

// hierarchy answers who yields to whom in an enclosure. Every animal in the
// answer lived there, so a role at the facility is enough to see it.
func (s *server) hierarchy(c echo.Context) error {
	ask, believed, err := s.window(c)
	if err != nil {
		return err
	}
	ask.Method = c.QueryParam("method")
	if ask.Tests, err = yes(c, "tests"); err != nil {
		return err
	}
	out, err := s.Store.Order(ask, s.Now(), believed)
	if out != nil {
		out.Judgements = withhold(member(c), out.Judgements)
	}
	return workedOut(c, ask, out, err)
}

// company answers who was beside whom in an enclosure.
func (s *server) company(c echo.Context) error {
	ask, believed, err := s.window(c)
	if err != nil {
		return err
	}
	out, err := s.Store.CompanyOf(ask, s.Now(), believed)
	return workedOut(c, ask, out, err)
}

// workedOut answers what the store made of a question about an enclosure.
func workedOut[T any](c echo.Context, ask projections.OrderAsk, out *T, err error) error {
	switch {
	case errors.Is(err, projections.ErrOrder):
		return fmt.Errorf("%w: %w", errWrong, err)
	case err != nil:
		return err
	case out == nil:
		return notThen(ask.Facility, ask.Enclosure)
	}
	return c.JSON(http.StatusOK, out)
}

func notThen(facility, enclosure string) error {
	return fmt.Errorf("%w: no enclosure of %s had the id %q on record then", errNotFound, facility, enclosure)
}

// periods answers when the company of an enclosure was begun anew.
func (s *server) periods(c echo.Context) error {
	facility, believed, err := s.home(c)
	if err != nil {
		return err
	}
	id := c.Param("id")
	known, err := s.Store.Enclosures(facility, believed)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(known, func(e projections.Enclosure) bool { return e.ID == id }) {
		return notThen(facility, id)
	}
	list, err := s.Store.Periods(facility, id, believed)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"facility": facility, "enclosure": id, "periods": orNone(list)})
}

// judgements answers what holds about pairs of the animals in a facility's care
// at a moment.
func (s *server) judgements(c echo.Context) error {
	code := c.Param("code")
	if err := reach(c, code); err != nil {
		return err
	}
	if !slices.Contains(s.Store.Codes(), code) {
		return fmt.Errorf("%w: no facility has the code %q", errNotFound, code)
	}
	believed, err := asOf(c, s.Store.Zone(code))
	if err != nil {
		return err
	}
	at, err := s.at(c, s.Store.Zone(code), believed)
	if err != nil {
		return err
	}
	inCare, err := s.Store.Roster(code, at, believed)
	if err != nil {
		return err
	}
	var ids []string
	for _, h := range inCare {
		ids = append(ids, h.Animal.ID)
	}
	list, err := s.Store.Judgements(ids, at, believed)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"facility": code, "at": at, "judgements": withhold(member(c), list)})
}

// withhold leaves out why, by whom and where something was decided at a
// facility out of reach. What was decided stays: it may keep apart two animals
// that live in reach by now.
func withhold(m Member, list []projections.JudgedPair) []projections.JudgedPair {
	out := make([]projections.JudgedPair, len(list))
	for i, one := range list {
		if !m.Reaches(one.Facility) {
			one.Reason, one.By, one.Facility, one.Entry = "", "", "", ""
		}
		out[i] = one
	}
	return out
}

// window reads which enclosure is asked about, and the days from … to. Days
// left out are for the store to choose; asked as of a moment, they end with it.
func (s *server) window(c echo.Context) (ask projections.OrderAsk, believed time.Time, err error) {
	if ask.Facility, believed, err = s.home(c); err != nil {
		return ask, believed, err
	}
	ask.Enclosure = c.Param("id")
	if ask.From, err = dayOf(c, "from"); err != nil {
		return ask, believed, err
	}
	if ask.To, err = dayOf(c, "to"); err != nil {
		return ask, believed, err
	}
	if ask.To == "" {
		ask.To = projections.DayOf(s.asked(believed), s.Store.Zone(ask.Facility))
	}
	return ask, believed, nil
}

// asked is the moment that is asked from: now, or the one of as_of.
func (s *server) asked(believed time.Time) time.Time {
	if now := s.Now(); believed.IsZero() || believed.After(now) {
		return now
	}
	return believed
}

// home finds the facility whose enclosure a path names, and the moment that the
// question is about.
func (s *server) home(c echo.Context) (code string, believed time.Time, err error) {
	if code, _, err = s.facilityOf(c); err != nil {
		return "", believed, err
	}
	if code == "" {
		if code, err = s.homeOf(member(c), c.Param("id")); err != nil {
			return "", believed, err
		}
	}
	believed, err = asOf(c, s.Store.Zone(code))
	return code, believed, err
}

// homeOf is the one facility in reach that has an enclosure of an id: ids of
// enclosures are each facility's own.
func (s *server) homeOf(m Member, id string) (string, error) {
	all, err := s.Store.Enclosures("", time.Time{})
	if err != nil {
		return "", err
	}
	var reached []string
	elsewhere := false
	for _, e := range all {
		switch {
		case e.ID != id:
		case m.Reaches(e.Facility):
			reached = append(reached, e.Facility)
		default:
			elsewhere = true
		}
	}
	slices.Sort(reached)
	switch {
	case len(reached) == 1:
		return reached[0], nil
	case len(reached) > 1:
		return "", fmt.Errorf("%w: facility is missing and %s have an enclosure %q; name one of them", errWrong, strings.Join(reached, ", "), id)
	case elsewhere:
		return "", fmt.Errorf("%w: the enclosure %q is where your role does not hold", errForbidden, id)
	}
	return "", fmt.Errorf("%w: no enclosure has the id %q", errNotFound, id)
}

// at reads the moment that is asked about: a day, meaning its end or now if
// that is earlier, or a moment; left out, it is the one that is asked from.
func (s *server) at(c echo.Context, zone *time.Location, believed time.Time) (time.Time, error) {
	text, now := c.QueryParam("at"), s.Now()
	if text == "" {
		return s.asked(believed), nil
	}
	start, err := events.ParseTime(text)
	end := start
	if day, wrong := projections.ParseDay(text); wrong == nil {
		start, end, err = day.Start(zone), day.End(zone).Add(-time.Nanosecond), nil
	}
	if err != nil {
		return start, fmt.Errorf("%w: at is %q; write a day as 2026-03-01 or a time with its offset", errWrong, text)
	}
	if start.After(now) {
		return start, fmt.Errorf("%w: at is %s, still to come; give a day or a time up to now", errWrong, text)
	}
	if end.After(now) {
		return now, nil
	}
	return end, nil
}

// dayOf reads a day, "" where it is left out.
func dayOf(c echo.Context, name string) (projections.Day, error) {
	text := c.QueryParam(name)
	if text == "" {
		return "", nil
	}
	day, err := projections.ParseDay(text)
	if err != nil {
		return "", fmt.Errorf("%w: %s: %w", errWrong, name, err)
	}
	return day, nil
}

// yes reads a yes or no; left out, it is no.
func yes(c echo.Context, name string) (bool, error) {
	switch text := c.QueryParam(name); text {
	case "true":
		return true, nil
	case "", "false":
		return false, nil
	default:
		return false, fmt.Errorf("%w: %s is %q; write true or false", errWrong, name, text)
	}
}
