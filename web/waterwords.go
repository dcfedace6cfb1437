package web

import (
	"fmt"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections"
	"haulout/projections/rules"
)

// waterState is the shape and the word of a standing: call, soon, done, or none
// where nothing can be said.
type waterState struct{ Shape, Text string }

var waterStates = map[rules.Standing]waterState{
	rules.Fails: {"call", "Fails"}, rules.Exceeds: {"soon", "Exceeds"}, rules.Undecided: {"none", "Undecided"},
	rules.Passes: {"done", "Passes"}, rules.NoLimit: {"", "No limit in force"},
}

// waterStateOf is the state of an enclosure's water.
func waterStateOf(a *projections.WaterAnswer) waterState {
	if a.NotEnough != "" && len(a.Open) == 0 {
		return waterState{"none", "Not tested"}
	}
	return waterStates[a.Standing]
}

var spaceStates = map[rules.Standing]waterState{
	rules.Fails: {"soon", "Too small"}, rules.Undecided: {"none", "Not known"}, rules.Passes: {"done", "Enough"},
}

// waterUnits are units as the pages of water write them. Turbidity is a number
// of NTU.
var waterUnits = map[string]string{"{MPN}/dL": "MPN in 100" + nb + "mL", "[CFU]/dL": "CFU in 100" + nb + "mL", "[pH]": "", "[ppth]": "‰", "Cel": "°C", "1": "NTU"}

func waterUnit(unit string) string {
	if words, ok := waterUnits[unit]; ok {
		return words
	}
	return unit
}

// waterName is what people call something that is measured, at the start of a
// line.
func waterName(what string) string { return waterSentence(rules.WaterName(what)) }

// waterSentence writes the first letter large, but of pH.
func waterSentence(s string) string {
	if strings.HasPrefix(s, "pH") {
		return s
	}
	return sentence(s)
}

// waterResult is a result as the laboratory wrote it, without its unit.
func waterResult(q events.Quantity, bound string) string {
	text := strings.Replace(q.Value, "-", "−", 1)
	switch {
	case bound == "above" && q.Float(q.Unit) == 0:
		return "TNTC"
	case bound == "above":
		return ">" + text
	case bound == "below":
		return "<" + text
	}
	return text
}

func waterFull(q events.Quantity, bound string) string {
	return strings.TrimSpace(waterResult(q, bound) + nb + waterUnit(q.Unit))
}

var waterSalts = map[string]string{"sea": "natural sea water", "made": "salt water that is made up", "fresh": "fresh water", "": "where its salt comes from is not on record"}

// waterAdded say what is added to the water.
func waterAdded(added []string) string {
	switch {
	case len(added) == 0:
		return "whether anything is added is not on record"
	case added[0] == "none":
		return "nothing added"
	}
	var names []string
	for _, one := range added {
		names = append(names, rules.WaterName(one))
	}
	return listed(names) + " added"
}

// waterAnswer is the water of an enclosure in a sentence.
func waterAnswer(a *projections.WaterAnswer) (said, more string) {
	var failing, doubtful []string
	for _, v := range a.Last {
		switch {
		case v.What == "total_coliform":
		case v.Verdict.Standing == rules.Fails:
			failing = append(failing, rules.WaterName(v.What))
		case v.Verdict.Standing == rules.Undecided:
			doubtful = append(doubtful, rules.WaterName(v.What))
		}
	}
	for _, s := range a.Open {
		if s.Standing == rules.Fails {
			failing = append([]string{"coliforms by the mean of their samples"}, failing...)
			break
		}
	}
	switch {
	case len(failing) > 0:
		said = waterSentence(listed(failing)) + "."
	case len(a.Open) > 0:
		said = "A count of coliforms is over the limit, and its repeats are not in."
	case a.NotEnough != "":
		said = "Not enough is known: " + a.NotEnough + "."
	case len(doubtful) > 0:
		said = waterSentence(listed(doubtful)) + " can’t be judged by what is on record."
	case a.Standing == rules.NoLimit:
		said = "No limit is in force for what was measured."
	default:
		said = "All that was measured keeps to its limits."
	}
	if names := waterOverdue(a); len(names) > 0 {
		more = " Overdue: " + listed(names) + "."
	}
	return said, more
}

func waterOverdue(a *projections.WaterAnswer) (out []string) {
	for _, d := range a.Due {
		if d.Overdue {
			out = append(out, rules.WaterName(d.What))
		}
	}
	return out
}

// waterNext is what is due next, in a few words.
func waterNext(a *projections.WaterAnswer) string {
	if len(a.Due) == 0 {
		return ""
	}
	next := a.Due[0]
	if next.Last == "" {
		return waterName(next.What) + ", never tested"
	}
	return waterName(next.What) + " by " + dayAs(projections.Day(next.By), "Mon"+nb+"2"+nb+"Jan")
}

// waterRuleOf says by which rule a verdict is, and since when the program
// works by it.
func waterRuleOf(v rules.Verdict) string {
	if v.Effective == "" {
		return v.Cited
	}
	return fmt.Sprintf("%s; in force here since %s", v.Cited, v.Effective)
}

func waterWhen(t, now time.Time, zone *time.Location) string {
	return when(t, now, zone) + waterAge(t, now)
}

// waterAge is how long ago something was, from a week on.
func waterAge(t, now time.Time) string {
	if days := int(now.Sub(t).Hours() / 24); days >= 7 {
		return fmt.Sprintf(" (%s ago)", plural(days, "day", "days"))
	}
	return ""
}
