package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections"
)

// nb is the space that keeps a number and its unit on one line.
const nb = "\u00a0"

// kilos writes grams as kilograms to 0.1, without the unit.
func kilos(g float64) string { return strconv.FormatFloat(tenths(g), 'f', 1, 64) }

// tenths are kilograms as they are written, so that what is compared is what
// people read.
func tenths(g float64) float64 { return math.Round(g/100) / 10 }

func kg(g float64) string { return kilos(g) + nb + "kg" }

func kgOf(g, of float64) string { return kilos(g) + nb + "of" + nb + kg(of) }

// count groups five digits and more by a narrow space.
func count[N int | uint64](n N) string {
	digits := fmt.Sprint(n)
	if len(digits) < 5 {
		return digits
	}
	var parts []string
	for len(digits) > 3 {
		parts = append([]string{digits[len(digits)-3:]}, parts...)
		digits = digits[:len(digits)-3]
	}
	return digits + "\u202f" + strings.Join(parts, "\u202f")
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1" + nb + one
	}
	return count(n) + nb + many
}

// listed joins words: a, b and c.
func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

func clock(t time.Time, zone *time.Location) string { return t.In(zone).Format("15:04") }

// longDay is a date as titles write it.
func longDay(d projections.Day) string { return dayAs(d, "Mon 2 January 2006") }

// shortDay is a date in a chart or a table.
func shortDay(d projections.Day) string { return dayAs(d, "2"+nb+"Jan") }

func dayAs(d projections.Day, layout string) string { return d.Start(time.UTC).Format(layout) }

// when writes a moment as seen from another: the time today, the weekday within
// the week, the date beyond.
func when(t, now time.Time, zone *time.Location) string {
	return onDay(t, now, zone, "15:04", "Mon"+nb+"15:04")
}

// whichDay is when without the time of day.
func whichDay(t, now time.Time, zone *time.Location) string {
	return onDay(t, now, zone, "today", "Mon")
}

func onDay(t, now time.Time, zone *time.Location, today, week string) string {
	t, now = t.In(zone), now.In(zone)
	switch days := daysBetween(projections.DayOf(t, zone), projections.DayOf(now, zone)); {
	case days == 0:
		return t.Format(today)
	case days > 0 && days < 7:
		return t.Format(week)
	case t.Year() == now.Year():
		return t.Format("2" + nb + "January")
	}
	return t.Format("2" + nb + "January" + nb + "2006")
}

func daysBetween(from, to projections.Day) int {
	return int(math.Round(to.Start(time.UTC).Sub(from.Start(time.UTC)).Hours() / 24))
}

// lasting writes a length of time in hours and minutes, or days from two on.
func lasting(d time.Duration) string {
	d = d.Round(time.Minute)
	if d >= 48*time.Hour {
		return plural(int(d.Hours()/24), "day", "days")
	}
	hours, minutes := int(d.Hours()), int(d.Minutes())%60
	if hours == 0 {
		return fmt.Sprintf("%d%smin", minutes, nb)
	}
	return fmt.Sprintf("%d%sh %d%smin", hours, nb, minutes, nb)
}

// unitWords are the units that people write otherwise than UCUM does.
var unitWords = map[string]string{
	"[lb_av]": "lb", "[oz_av]": "oz", "Cel": "°C", "[pH]": "pH", "[ppth]": "‰", "ug": "µg", "[iU]": "IU",
	"{tablet}": "tablet", "{MPN}/dL": "MPN/dL", "[CFU]/dL": "CFU/dL", "1": "",
}

func quantity(q events.Quantity) string {
	unit, ok := unitWords[q.Unit]
	if !ok {
		unit = q.Unit
	}
	if q.Unit == "{tablet}" && q.Value != "1" {
		unit = "tablets"
	}
	return strings.TrimSuffix(strings.Replace(q.Value, "-", "−", 1)+nb+unit, nb)
}

// taxonWords are the names that keepers in English use. From memory.
var taxonWords = map[string]string{
	"Arctocephalus australis":   "South American fur seal",
	"Arctocephalus forsteri":    "New Zealand fur seal",
	"Arctocephalus gazella":     "Antarctic fur seal",
	"Arctocephalus pusillus":    "brown fur seal",
	"Arctocephalus tropicalis":  "subantarctic fur seal",
	"Callorhinus ursinus":       "northern fur seal",
	"Cystophora cristata":       "hooded seal",
	"Erignathus barbatus":       "bearded seal",
	"Eumetopias jubatus":        "Steller sea lion",
	"Halichoerus grypus":        "grey seal",
	"Hydrurga leptonyx":         "leopard seal",
	"Leptonychotes weddellii":   "Weddell seal",
	"Mirounga angustirostris":   "northern elephant seal",
	"Mirounga leonina":          "southern elephant seal",
	"Monachus monachus":         "Mediterranean monk seal",
	"Neomonachus schauinslandi": "Hawaiian monk seal",
	"Neophoca cinerea":          "Australian sea lion",
	"Odobenus rosmarus":         "walrus",
	"Otaria byronia":            "South American sea lion",
	"Otaria flavescens":         "South American sea lion",
	"Pagophilus groenlandicus":  "harp seal",
	"Phoca largha":              "spotted seal",
	"Phoca vitulina":            "harbour seal",
	"Phocarctos hookeri":        "New Zealand sea lion",
	"Pusa caspica":              "Caspian seal",
	"Pusa hispida":              "ringed seal",
	"Zalophus californianus":    "California sea lion",
	"Zalophus wollebaeki":       "Galápagos sea lion",
}

// taxon is the common name of a kind, its scientific name where we know none.
func taxon(name string) string {
	if words, ok := taxonWords[name]; ok {
		return words
	}
	return name
}

// sentence writes the first letter large.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// coatWords are the stages of new coat, as the Deck names them.
var coatWords = map[string]string{"0": "0 none", "1": "1 started", "2": "2 to half", "3": "3 past half", "4": "4 nearly", "5": "5 all new"}

func coat(stage string, share events.Quantity) string {
	if words, ok := coatWords[stage]; ok {
		return strings.Replace(words, " ", nb, 1)
	}
	return quantity(share) + " new"
}

// signalWords are what animals do in an encounter, as the Deck names it.
var signalWords = map[string]string{"vocal": "call"}

// causeWords say who or what brought an encounter about that the two did not.
var causeWords = map[string]string{"keeper": ", brought about by a keeper", "gate": ", brought about by a gate", "coalition": ", a third animal in it"}

// encounterMore is what was noted of an encounter beyond who yielded and where.
func encounterMore(b *events.EncounterSeen) string {
	out := after(orElse(signalWords[b.Signal], b.Signal)) + causeWords[b.Cause]
	if b.Injury {
		out += ", injury (tell the veterinarian)"
	}
	return out
}

// watch says how long somebody watched, and what was counted without telling who.
func (n names) watch(b *events.WatchHeld, e events.Event) string {
	out := "Watch of " + n.in("enclosure", e.Facility, b.Enclosure)
	if until, err := events.ParseTime(b.Until); err == nil && until.After(e.Time) {
		out += ", " + lasting(until.Sub(e.Time))
	}
	for _, c := range b.Counts {
		out += ", " + count(c.Count) + nb + orElse(signalWords[c.Signal], c.Signal)
	}
	return out
}

// groupWords say how many were together, and how many by themselves.
func groupWords(groups []events.Group) string {
	var sizes []string
	alone := 0
	for _, g := range groups {
		if len(g.Animals) == 1 {
			alone++
			continue
		}
		sizes = append(sizes, count(len(g.Animals)))
	}
	out := ""
	switch len(sizes) {
	case 0:
	case 1:
		out = ", a group of " + sizes[0]
	default:
		out = ", groups of " + listed(sizes)
	}
	if alone > 0 {
		out += ", " + count(alone) + " alone"
	}
	return out
}
