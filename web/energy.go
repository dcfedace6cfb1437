package web

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"haulout/projections"
	"haulout/projections/energetics"
	"haulout/projections/rules"
)

// energy is what an animal's food does to it: a sentence, two charts, the
// figures and what they rest on.
type energy struct {
	Answer, More string
	Missing      string // what is needed before there are numbers
	Fast         string
	Facts        []fact
	Ribbons      []ribbonChart
	Coming       string // the forecast in a sentence
	NoComing     string // why there is none
	Masses       []massChart
	Rows         []energyRow // newest first
	Losses       []lossRow
	Water        string
	Ahead        []aheadRow
	Flags        []flagRow
	Reasons      []reasonRow
}

type energyRow struct{ Day, Gap, Eaten, Kcal, Need, Mass, Weighed, Basis, Note string }

type lossRow struct{ What, Kcal, Share string }

type aheadRow struct{ Day, Kg, Range string }

type flagRow struct{ Day, What, Reason string }

type reasonRow struct {
	Name, Value, Range, Source string
	Verified                   bool
}

// energy works the section out. Where the day shown is not over, its feeds do
// not count yet.
func (s *site) energy(f file) (energy, error) {
	open := f.today
	if f.ended() {
		open = ""
	}
	e, err := s.Store.Energy(f.animal.ID, f.today.Add(1-deskDays), f.today, open, f.asOf.moment)
	if err != nil || e == nil {
		return energy{}, err
	}
	forecast, err := s.Store.Forecast(f.animal.ID, nil, f.today, open, f.now, f.asOf.moment)
	if err != nil {
		return energy{}, err
	}
	return energyOf(e, forecast, f), nil
}

func energyOf(e *projections.Energy, ahead *projections.Forecast, f file) energy {
	var out energy
	out.Answer, out.More = energyAnswer(e)
	out.Missing, out.Flags, out.Reasons = sentenceOf(e.NotEnough), flagRows(e, f), reasonRows(e.Reasons)
	if len(e.Expected) > 0 {
		rule := rules.Inappetence()
		out.Fast = fmt.Sprintf("At this time is published: %s. An animal that takes nothing at all for over %g hours still goes to the veterinarian (%s).", strings.Join(e.Expected, "; "), rule.Value, rule.Cited())
	}
	if e.NotEnough != "" {
		return out
	}
	out.Facts = energyFacts(e)
	out.Ribbons = []ribbonChart{ribbonOf("phone", phoneDays, e, f), ribbonOf("desk", deskDays, e, f)}
	out.Rows, out.Losses, out.Water = energyRows(e, f), lossRows(e), waterOf(e)
	out.NoComing = noFan(e, ahead, f)
	if out.NoComing == "" {
		out.Coming, out.Ahead = coming(ahead), aheadRows(ahead)
	}
	out.Masses = []massChart{massOf("phone", e, ahead, out.NoComing == "", f), massOf("desk", e, ahead, out.NoComing == "", f)}
	return out
}

// energyAnswer says whether it gains or loses, and never more than is known.
func energyAnswer(e *projections.Energy) (bold, more string) {
	switch {
	case e.NotEnough != "":
		return "Not enough data.", " " + sentenceOf(e.NotEnough) + "."
	case e.Week == nil:
		return plural(e.LoggedIn7, "day", "days") + " logged in the last 7.", " Too little to say how it stands."
	}
	b := *e.Week
	more = fmt.Sprintf(" It needs %s a day (%s, 9 in 10); what it ate in the last 7 days lay %s that, a day.", kcals(e.Need.Mean), spanOf(*e.Need), besideRange(b))
	switch {
	case b.Lo > 0:
		return fmt.Sprintf("In surplus, by about %s a day.", kcals(b.Mean)), more
	case b.Hi < 0:
		return fmt.Sprintf("In deficit, by about %s a day.", kcals(-b.Mean)), more
	}
	return "Whether it gains or loses cannot be told.", more
}

func sentenceOf(s string) string {
	if s == "" {
		return ""
	}
	return sentence(s)
}

// kcals rounds to tens: nothing here is known to a single kilocalorie.
func kcals(v float64) string { return tens(v) + nb + "kcal" }

func tens(v float64) string {
	n := int(math.Round(v/10)) * 10
	if n < 0 {
		return "\u2212" + count(-n)
	}
	return count(n)
}

func spanOf(i energetics.Interval) string { return tens(i.Lo) + " to " + tens(i.Hi) }

// plainRange writes a balance with its signs.
func plainRange(i energetics.Interval) string {
	return signed(i.Lo) + " to " + signed(i.Hi) + nb + "kcal"
}

// besideRange says in words where a balance lies.
func besideRange(i energetics.Interval) string {
	switch {
	case i.Lo > 0:
		return tens(i.Lo) + " to " + kcals(i.Hi) + " over"
	case i.Hi < 0:
		return tens(-i.Hi) + " to " + kcals(-i.Lo) + " under"
	}
	return "between " + kcals(-i.Lo) + " under and " + kcals(i.Hi) + " over"
}

func signed(v float64) string {
	if text := tens(v); v < 0 || text == "0" {
		return text
	}
	return "+" + tens(v)
}

func energyFacts(e *projections.Energy) []fact {
	out := []fact{
		{"Mass", fmt.Sprintf("%.1f%skg", e.Mass.Mean, nb), fmt.Sprintf("%.1f to %.1f, 9 in 10; from %s", e.Mass.Lo, e.Mass.Hi, plural(e.Weighed, "weight", "weights"))},
		{"Its own factor", fmt.Sprintf("%.2f", e.Factor.Mean), fmt.Sprintf("times the basal rate, %.2f to %.2f, 9 in 10", e.Factor.Lo, e.Factor.Hi)},
		{"Its class", fmt.Sprintf("%.2f", e.Prior.Mean), fmt.Sprintf("%.2f to %.2f as published; %s", e.Prior.Lo, e.Prior.Hi, priorWords(*e.FromPrior))},
	}
	if e.Balance != nil {
		out = append(out, fact{"Last whole day", signed(e.Balance.Mean) + nb + "kcal", plainRange(*e.Balance) + ", 9 in 10"})
	}
	return out
}

func priorWords(share float64) string {
	percent := math.Round(100 * share)
	switch {
	case percent < 1:
		return "its own record decides now"
	case percent > 90:
		return "its own record says nearly nothing yet"
	}
	return fmt.Sprintf("%.0f%s%% of its own factor still comes from here", percent, nb)
}

func energyRows(e *projections.Energy, f file) (out []energyRow) {
	for _, d := range slices.Backward(e.Days) {
		row := energyRow{Day: dayAs(d.Day, "Mon 2"+nb+"Jan")}
		if d.Need != nil {
			row.Need = spanOf(*d.Need)
			row.Mass = fmt.Sprintf("%.1f to %.1f", d.Mass.Lo, d.Mass.Hi)
		}
		for _, kg := range d.Weighs {
			row.Weighed = strings.TrimPrefix(row.Weighed+", "+fmt.Sprintf("%.1f", kg), ", ")
		}
		if !d.Logged {
			row.Gap = "not logged"
			if d.Day == f.today && !f.ended() {
				row.Gap = "not yet"
			}
			out = append(out, row)
			continue
		}
		row.Eaten, row.Kcal, row.Basis = kilos(d.Eaten.EatenG), tens(d.Eaten.Kcal), energyBasis(d.Eaten.Bases)
		switch {
		case len(d.Eaten.Unknown) > 0:
			row.Note = "without " + listed(d.Eaten.Unknown) + ", whose energy is not known"
		case !d.Used:
			row.Note = "not counted"
		}
		out = append(out, row)
	}
	return out
}

func energyBasis(bases []string) string {
	words := strings.NewReplacer("metabolizable_atwater", "metabolizable, Atwater")
	out := make([]string, len(bases))
	for i, b := range bases {
		out[i] = words.Replace(b)
	}
	return strings.Join(out, "; ")
}

// lossRows follows the energy of the last seven logged days from fish to body,
// a day.
func lossRows(e *projections.Energy) []lossRow {
	var sum energetics.Losses
	n := 0
	for _, d := range slices.Backward(e.Days) {
		if d.Eaten != nil && d.Used && n < 7 {
			sum, n = sum.Add(d.Eaten.Losses), n+1
		}
	}
	if n == 0 || sum.Gross == 0 {
		return nil
	}
	l := sum.Times(1 / float64(n))
	row := func(what string, kcal float64) lossRow {
		return lossRow{what, tens(kcal), fmt.Sprintf("%.0f%s%%", 100*kcal/l.Gross, nb)}
	}
	return []lossRow{
		row("Gross, as burnt in a calorimeter", l.Gross), row("less what leaves in faeces", -l.Faecal), row("Digestible", l.Digestible),
		row("less what leaves in urine", -l.Urinary), row("Metabolizable", l.Metabolizable), row("less the heat of digestion", -l.Heat), row("Net", l.Net),
	}
}

func waterOf(e *projections.Energy) string {
	for _, d := range slices.Backward(e.Days) {
		if d.Eaten != nil && d.Used && d.Eaten.Water.PreformedG > 0 {
			w := d.Eaten.Water
			return fmt.Sprintf("On %s its food brought at least %s of water: %s in the fish and %s made in burning it. What it drank besides is not known.",
				shortDay(d.Day), kg(w.PreformedG+w.MetabolicG), kg(w.PreformedG), kg(w.MetabolicG))
		}
	}
	return ""
}

func flagRows(e *projections.Energy, f file) (out []flagRow) {
	from := f.today.Add(1 - 2*deskWeightDays)
	for _, flag := range slices.Backward(e.Flags) {
		if flag.Day >= from {
			out = append(out, flagRow{dayAs(flag.Day, "Mon 2"+nb+"Jan"+nb+"2006"), flag.What, sentence(flag.Reason) + "."})
		}
	}
	return out
}

func reasonRows(list []energetics.Constant) (out []reasonRow) {
	for _, c := range list {
		row := reasonRow{Name: sentence(c.Name), Value: plainFigure(c.Value) + unitOf(c.Unit), Source: c.Source, Verified: c.Verified}
		if c.Low != c.High {
			row.Range = plainFigure(c.Low) + " to " + plainFigure(c.High)
		}
		out = append(out, row)
	}
	return out
}

func plainFigure(v float64) string { return strings.Replace(fmt.Sprintf("%.4g", v), "-", "\u2212", 1) }

func unitOf(ucum string) string {
	switch ucum {
	case "1", "":
		return ""
	case "a":
		return nb + "years"
	case "kcal/(d kg^0.75)":
		return nb + "kcal a day and kg⁰·⁷⁵"
	}
	return nb + ucum
}

// silentFor is after how many days without a weight no fan is drawn.
const silentFor = 60

// noFan says why mass to come is not foretold.
func noFan(e *projections.Energy, ahead *projections.Forecast, f file) string {
	switch {
	case ahead == nil:
		return ""
	case ahead.NotEnough != "":
		return "No forecast: " + ahead.NotEnough + "."
	case e.Weighed < leastWeights:
		return fmt.Sprintf("No forecast under %d weights.", leastWeights)
	case e.LastWeigh != nil && daysBetween(*e.LastWeigh, f.today) > silentFor:
		return fmt.Sprintf("No forecast: the last weight is over %d days old.", silentFor)
	}
	return ""
}

func coming(a *projections.Forecast) string {
	last := a.Days[len(a.Days)-1]
	on := "on what it ate lately"
	if a.Share != nil {
		on = "on the ration in force, eaten as in the last two weeks"
	}
	return fmt.Sprintf("By %s likely %.1f%skg (%.1f to %.1f, 9 in 10), %s.", dayAs(last.Day, "2"+nb+"January"), last.Kg, nb, last.Lo, last.Hi, on)
}

func aheadRows(a *projections.Forecast) (out []aheadRow) {
	for i, d := range a.Days {
		if n := i + 1; n == 7 || n == 14 || n == 30 || n == 60 {
			out = append(out, aheadRow{dayAs(d.Day, "Mon 2"+nb+"Jan"), fmt.Sprintf("%.1f", d.Kg), fmt.Sprintf("%.1f to %.1f", d.Lo, d.Hi)})
		}
	}
	return out
}

// midday is where a day's value is drawn.
func midday(d projections.Day, zone *time.Location) time.Time {
	start := d.Start(zone)
	return start.Add(d.End(zone).Sub(start) / 2)
}
