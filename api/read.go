package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"haulout/events"
	"haulout/projections"
)

// asOf reads the question "what was believed then": a day, meaning its end in
// the zone, or a moment. Zero is now.
func asOf(c echo.Context, zone *time.Location) (time.Time, error) {
	text := c.QueryParam("as_of")
	if text == "" {
		return time.Time{}, nil
	}
	if day, err := projections.ParseDay(text); err == nil {
		return day.End(zone).Add(-time.Nanosecond), nil
	}
	at, err := events.ParseTime(text)
	if err != nil {
		return at, fmt.Errorf("%w: as_of is %q; write a day as 2026-03-01 or a time with its offset", errWrong, text)
	}
	return at, nil
}

// span reads from and to; left out, they are the last 30 days.
func (s *server) span(c echo.Context, zone *time.Location) (from, to projections.Day, err error) {
	to = projections.DayOf(s.Now(), zone)
	if text := c.QueryParam("to"); text != "" {
		if to, err = projections.ParseDay(text); err != nil {
			return "", "", fmt.Errorf("%w: to: %w", errWrong, err)
		}
	}
	from = to.Add(-29)
	if text := c.QueryParam("from"); text != "" {
		if from, err = projections.ParseDay(text); err != nil {
			return "", "", fmt.Errorf("%w: from: %w", errWrong, err)
		}
	}
	if from > to {
		return "", "", fmt.Errorf("%w: from is %s, after to, %s", errWrong, from, to)
	}
	return from, to, nil
}

// facilityOf reads the facility that a list is asked for, "" for all in reach.
func (s *server) facilityOf(c echo.Context) (code string, zone *time.Location, err error) {
	code = c.QueryParam("facility")
	if code == "" {
		return "", time.UTC, nil
	}
	if err := reach(c, code); err != nil {
		return "", nil, err
	}
	if !slices.Contains(s.Store.Codes(), code) {
		return "", nil, fmt.Errorf("%w: no facility has the code %q", errNotFound, code)
	}
	return code, s.Store.Zone(code), nil
}

// listed answers a list under its name, what is out of reach left out.
func listed[T any](c echo.Context, name string, all []T, facility func(T) string) error {
	out := []T{}
	for _, one := range all {
		if member(c).Reaches(facility(one)) {
			out = append(out, one)
		}
	}
	return c.JSON(http.StatusOK, map[string]any{name: out})
}

// byFacility answers a list that a store function gives for a facility.
func byFacility[T any](s *server, c echo.Context, name string, read func(string, time.Time) ([]T, error), facility func(T) string) error {
	code, zone, err := s.facilityOf(c)
	if err != nil {
		return err
	}
	at, err := asOf(c, zone)
	if err != nil {
		return err
	}
	all, err := read(code, at)
	if err != nil {
		return err
	}
	return listed(c, name, all, facility)
}

func (s *server) facilities(c echo.Context) error {
	at, err := asOf(c, time.UTC)
	if err != nil {
		return err
	}
	all, err := s.Store.Facilities(at)
	if err != nil {
		return err
	}
	return listed(c, "facilities", all, func(f projections.Facility) string { return f.Code })
}

func (s *server) enclosures(c echo.Context) error {
	return byFacility(s, c, "enclosures", s.Store.Enclosures, func(e projections.Enclosure) string { return e.Facility })
}

func (s *server) foods(c echo.Context) error {
	return byFacility(s, c, "foods", s.Store.Foods, func(f projections.Food) string { return f.Facility })
}

func (s *server) lots(c echo.Context) error {
	return byFacility(s, c, "lots", s.Store.Lots, func(l projections.Lot) string { return l.Facility })
}

func (s *server) behaviours(c echo.Context) error {
	return byFacility(s, c, "behaviours", s.Store.Behaviours, func(b projections.Behaviour) string { return b.Facility })
}

// animalNow is an animal with where it is.
type animalNow struct {
	projections.Animal
	Facility  string `json:"facility,omitempty"`
	Enclosure string `json:"enclosure,omitempty"`
}

func placed(a projections.Animal, at time.Time) animalNow {
	out := animalNow{Animal: a}
	if stay := a.Stay(at); stay != nil {
		out.Facility = stay.Facility
	}
	if place := a.Place(at); place != nil {
		out.Enclosure = place.Enclosure
	}
	return out
}

// animals lists who is, or with `on` was, in care; without a day also those who
// left.
func (s *server) animals(c echo.Context) error {
	code, zone, err := s.facilityOf(c)
	if err != nil {
		return err
	}
	believed, err := asOf(c, zone)
	if err != nil {
		return err
	}
	when, onDay := s.Now(), c.QueryParam("on")
	if onDay != "" {
		day, err := projections.ParseDay(onDay)
		if err != nil {
			return fmt.Errorf("%w: on: %w", errWrong, err)
		}
		when = day.End(zone).Add(-time.Nanosecond)
	}
	all, err := s.Store.Animals(believed)
	if err != nil {
		return err
	}
	out := []animalNow{}
	for _, a := range all {
		now := placed(a, when)
		wanted := code == "" || now.Facility == code
		if wanted && (onDay == "" || now.Facility != "") && reachesAnimal(member(c), a) {
			out = append(out, now)
		}
	}
	return c.JSON(http.StatusOK, map[string]any{"animals": out})
}

// reachesAnimal says whether a role holds at any facility the animal lived in.
func reachesAnimal(m Member, a projections.Animal) bool {
	return slices.ContainsFunc(a.Stays, func(stay projections.Stay) bool { return m.Reaches(stay.Facility) })
}

// subject finds the animal of a path, by its id or by a name that only one
// animal in reach has, and the moment that the question is about.
func (s *server) subject(c echo.Context) (a *projections.Animal, zone *time.Location, believed time.Time, err error) {
	if a, err = s.findAnimal(c); err != nil {
		return nil, nil, believed, err
	}
	zone = s.Store.Zone(a.Stays[len(a.Stays)-1].Facility)
	if believed, err = asOf(c, zone); err != nil || believed.IsZero() {
		return a, zone, believed, err
	}
	if a, err = s.Store.Animal(a.ID, believed); err == nil && a == nil {
		err = fmt.Errorf("%w: %s was not on record then", errNotFound, c.Param("id"))
	}
	return a, zone, believed, err
}

func (s *server) findAnimal(c echo.Context) (*projections.Animal, error) {
	id := c.Param("id")
	a, err := s.Store.Animal(id, time.Time{})
	if err != nil {
		return nil, err
	}
	if a != nil {
		if !reachesAnimal(member(c), *a) {
			return nil, fmt.Errorf("%w: %s lives where your role does not hold", errForbidden, id)
		}
		return a, nil
	}
	all, err := s.Store.Animals(time.Time{})
	if err != nil {
		return nil, err
	}
	var found []projections.Animal
	for _, one := range all {
		if events.NameFold(one.Name) == events.NameFold(id) && reachesAnimal(member(c), one) {
			found = append(found, one)
		}
	}
	if len(found) != 1 {
		return nil, fmt.Errorf("%w: %d animals have the id or name %q", errNotFound, len(found), id)
	}
	return &found[0], nil
}

func (s *server) animal(c echo.Context) error {
	a, _, _, err := s.subject(c)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, placed(*a, s.Now()))
}

func (s *server) days(c echo.Context) error {
	a, zone, believed, err := s.subject(c)
	if err != nil {
		return err
	}
	from, to, err := s.span(c, zone)
	if err != nil {
		return err
	}
	list, err := s.Store.Days(a.ID, from, to, believed)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"animal": a.ID, "from": from, "to": to, "days": orNone(list)})
}

func (s *server) weights(c echo.Context) error {
	a, zone, believed, err := s.subject(c)
	if err != nil {
		return err
	}
	from, to, err := s.span(c, zone)
	if err != nil {
		return err
	}
	list, err := s.Store.Weights(a.ID, from, to, believed)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"animal": a.ID, "from": from, "to": to, "weights": orNone(list)})
}

func orNone[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func (s *server) animalRecords(c echo.Context) error {
	a, zone, believed, err := s.subject(c)
	if err != nil {
		return err
	}
	limit, err := limitOf(c, 100, 1000)
	if err != nil {
		return err
	}
	q := projections.Query{
		Ref: events.Ref{Sort: "animal", ID: a.ID}, Kinds: c.QueryParams()["kind"],
		To: s.Now().Add(events.Skew), AsOf: believed, Cursor: c.QueryParam("cursor"), Limit: limit,
	}
	if c.QueryParam("from") != "" || c.QueryParam("to") != "" {
		from, to, err := s.span(c, zone)
		if err != nil {
			return err
		}
		q.From, q.To = from.Start(zone), to.End(zone).Add(-time.Millisecond)
	}
	list, next, err := s.Store.Records(q)
	if err != nil {
		return fmt.Errorf("%w: %w", errWrong, err)
	}
	list = slices.DeleteFunc(list, func(l projections.Listed) bool { return !member(c).Reaches(l.Event().Facility) })
	return c.JSON(http.StatusOK, map[string]any{"animal": a.ID, "records": orNone(list), "next": next})
}

func limitOf(c echo.Context, usual, most int) (int, error) {
	text := c.QueryParam("limit")
	if text == "" {
		return usual, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > most {
		return 0, fmt.Errorf("%w: limit is %q; use a number from 1 to %d", errWrong, text, most)
	}
	return n, nil
}

func (s *server) recordByID(c echo.Context) error {
	ev, err := s.Store.Find(c.Param("id"))
	if err != nil {
		return err
	}
	if ev == nil {
		return fmt.Errorf("%w: no record has the id %s", errNotFound, c.Param("id"))
	}
	if err := reach(c, ev.Facility); err != nil {
		return err
	}
	return c.Blob(http.StatusOK, "application/cloudevents+json", ev.Encode())
}

// facilityRecords lists a facility's records in order of number, as stored.
func (s *server) facilityRecords(c echo.Context) error {
	code := c.Param("code")
	if err := reach(c, code); err != nil {
		return err
	}
	if !slices.Contains(s.Store.Codes(), code) {
		return fmt.Errorf("%w: no facility has the code %q", errNotFound, code)
	}
	after, err := strconv.ParseUint("0"+c.QueryParam("after"), 10, 63)
	if err != nil {
		return fmt.Errorf("%w: after is %q; give the number of a record", errWrong, c.QueryParam("after"))
	}
	limit, err := limitOf(c, 1000, 10000)
	if err != nil {
		return err
	}
	lines, err := s.Store.Lines(code, after, limit)
	if err != nil {
		return err
	}
	next := after + uint64(len(lines))
	c.Response().Header().Set("Haulout-Next", strconv.FormatUint(next, 10))
	if c.QueryParam("format") == "lines" {
		return c.Blob(http.StatusOK, "application/x-ndjson", append(bytes.Join(lines, []byte{'\n'}), '\n'))
	}
	records := make([]json.RawMessage, len(lines))
	for i, line := range lines {
		records[i] = line
	}
	return c.JSON(http.StatusOK, map[string]any{"facility": code, "records": records, "next": next})
}
