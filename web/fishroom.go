package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections"
	"haulout/projections/rules"
)

// fishRoomPage is made for paper first: thaw list and lots on its first page,
// buckets on the next.
type fishRoomPage struct {
	frame
	Choice   choice
	Days     []link
	Code     string
	Facility string
	Zone     string
	Day      string
	Answer   string
	Warned   []string // what somebody must see to, in words
	Over     bool     // the day is over
	AsOf     string   // up to when, and up to which entry
	Short    string   // the same, for the head of a sheet
	Thaw     []thawRow
	Foods    []foodRow
	Clocks   []clockRow
	Charts   []clockChart
	Lots     []lotRow
	Vitamins []vitaminRow
	Sheets   []bucketSheet
	Freezer  string
	Fridge   string
	Rules    []rules.Setting
	Forms    fishForms
}

// fishForms is what can be written back, and what there is to choose from.
type fishForms struct {
	Lots, Thaws, Foods []option
}

// option is one entry of a list to choose from.
type option struct{ Value, Text string }

// Kind is the wire name of a fact that a form makes.
func (fishForms) Kind(name string) string { return events.TypeOf(name) }

// farDay is how many days ahead a fish room can be asked for.
const farDay = 31

func (s *site) fishroom(w http.ResponseWriter, r *http.Request) error {
	shown, links, err := s.facilities(r)
	if err != nil {
		return err
	}
	page := fishRoomPage{frame: s.frame(r, "Fish room", "Fish room")}
	if len(shown) == 0 {
		return s.show(w, http.StatusOK, "fishroom", page)
	}
	f, now := shown[0], s.Now()
	zone := s.Store.Zone(f.Code)
	day, err := fishDay(r.URL.Query(), zone, now)
	if err != nil {
		return err
	}
	room, err := s.Store.FishRoom(f.Code, day, now, time.Time{})
	if err != nil {
		return err
	}
	if room == nil {
		return unknownFacility(f.Code)
	}
	page.Choice = ofFacility(links, f.Code, day)
	page.fill(f, room, now, zone)
	entry := count(s.Store.Head(f.Code).Number)
	page.AsOf = fmt.Sprintf("As of %s, up to entry %s", now.In(zone).Format("Mon 2 January 2006, 15:04"), entry)
	page.Short = fmt.Sprintf("%s, entry %s", now.In(zone).Format("2 Jan 15:04"), entry)
	return s.show(w, http.StatusOK, "fishroom", page)
}

// fishDay reads the day that is asked for; today where none is.
func fishDay(q url.Values, zone *time.Location, now time.Time) (projections.Day, error) {
	today := projections.DayOf(now, zone)
	text := q.Get("day")
	if text == "" {
		return today, nil
	}
	day, err := projections.ParseDay(text)
	if err != nil {
		return "", problem{http.StatusBadRequest, "The day can't be read", "day " + err.Error() + "."}
	}
	if day > today.Add(farDay) {
		return "", problem{http.StatusBadRequest, "The day is too far ahead", fmt.Sprintf("Give day a date up to %s; rations change, so a later list would be wrong.", today.Add(farDay))}
	}
	return day, nil
}

// ofFacility keeps the day while another facility is chosen. The fish room is
// always of one of them.
func ofFacility(links choice, code string, day projections.Day) (out choice) {
	for _, l := range links {
		if strings.Contains(l.Path, "?facility=") {
			out = append(out, link{l.Name, l.Path + "&day=" + string(day), strings.HasSuffix(l.Path, "="+code)})
		}
	}
	return out
}

func (p *fishRoomPage) fill(f projections.Facility, room *projections.FishRoom, now time.Time, zone *time.Location) {
	today := projections.DayOf(now, zone)
	p.Code, p.Facility, p.Zone, p.Day = f.Code, f.Name, f.Zone, dayAs(room.Day, "Monday 2 January 2006")
	p.Title = "Fish room, " + p.Day
	p.Days, p.Over = daysAround(f.Code, room.Day, today), room.Day < today
	t := fishTeller{room, now, zone}
	p.Answer, p.Warned = t.answer(), t.warned()
	p.Thaw, p.Foods, p.Clocks, p.Lots = t.thaw(), t.foods(), t.clocks(), t.lots()
	p.Vitamins, p.Sheets = t.vitamins(), t.sheets(p.Facility)
	p.Charts, p.Rules = t.clockCharts(), room.Rules
	p.Freezer, p.Fridge = t.degrees("freezer"), t.degrees("fridge")
	p.Forms = t.forms()
}

// daysAround are the links to the days before and after, and to today.
func daysAround(code string, day, today projections.Day) (out []link) {
	path := func(d projections.Day) string { return "/fishroom?facility=" + code + "&day=" + string(d) }
	out = []link{
		{dayAs(day.Add(-1), "Mon 2 Jan"), path(day.Add(-1)), false},
		{"Today", path(today), day == today}, {"Tomorrow", path(today.Add(1)), day == today.Add(1)},
	}
	if next := day.Add(1); next <= today.Add(farDay) {
		out = append(out, link{dayAs(next, "Mon 2 Jan"), path(next), false})
	}
	return out
}
