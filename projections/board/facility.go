package board

import (
	"fmt"
	"time"
)

// Silent says that a facility has logged nothing for longer than the limit.
func Silent(id, name string, heard, now time.Time, h House) (Call, bool) {
	hours, cited := h.limit("silent_hours")
	if heard.IsZero() || now.Sub(heard) <= lasting(hours) {
		return Call{}, false
	}
	return Call{
		Rule: "silent", Subject: id, Name: name, Harm: Today, Since: heard, What: "Nothing has come in for " + words(now.Sub(heard)),
		Evidence: "the last record came " + When(heard, now), Next: "Find the tablets, and ask whether all is well",
		Cited: cited + ". Not heard is not the same as not done.",
	}, true
}

// Halted says that a facility takes no facts, since its log and the archive
// disagree or one of them is damaged.
func Halted(id, name, why string, heard, now time.Time) Call {
	return Call{
		Rule: "halted", Subject: id, Name: name, Harm: Now, Since: heard, What: "Nothing can be recorded",
		Evidence: why + "; the last record came " + When(heard, now), Next: "Go on with pen and paper, and let whoever runs the server see haulout check",
		Cited: "Where log and archive disagree, nothing is written until a person has looked. Phones keep what they hold.",
	}
}

// Held is what a device said of the entries that it holds and could not hand over.
type Held struct {
	Device, By          string
	Waiting             int
	Oldest, Since, Said time.Time
}

// HeldBack says that a device holds entries for longer than the limit.
func HeldBack(d Held, now time.Time, h House) (Call, bool) {
	hours, cited := h.limit("waiting_hours")
	if d.Waiting == 0 || now.Sub(d.Since) <= lasting(hours) {
		return Call{}, false
	}
	return Call{
		Rule: "held-back", Subject: d.Device, Name: "Device " + d.Device, Harm: Today, Since: d.Since,
		What:     fmt.Sprintf("%s on a device and not on record", plural(d.Waiting, "entry is", "entries are")),
		Evidence: fmt.Sprintf("the oldest of %s; it said so last %s, in the hands of %s", When(d.Oldest, now), When(d.Said, now), d.By),
		Next:     "Find the device, open the Deck on it and see what it needs", Cited: cited + ". What is missing here may stand there.",
	}, true
}

// Thawed says that thawed fish is past its deadline.
func Thawed(thaw, food string, leftKg float64, deadline time.Time, says string, now time.Time) Call {
	return Call{
		Rule: "thaw", Subject: thaw, Name: food, Harm: Now, Since: deadline, What: fmt.Sprintf("%.1f kg thawed and past its time", leftKg),
		Evidence: "good until " + When(deadline, now), Next: "Discard it, and write it down", Cited: sentence(says) + ".",
	}
}

// Stored says that a lot lies in the freezer past its limit.
func Stored(lot, food string, frozenKg float64, expires time.Time, says string, now time.Time) Call {
	return Call{
		Rule: "storage", Subject: lot, Name: food + ", lot " + lot, Harm: Today, Since: expires, What: "Past its storage limit",
		Evidence: fmt.Sprintf("%.0f kg left; its last day was %s", frozenKg, expires.Format("2 January 2006")), Next: "Take it out of use", Cited: sentence(says) + ".",
	}
}

// Short says that a food runs out soon.
func Short(id, food string, days int, runsOut, now time.Time) Call {
	return Call{
		Rule: "shortage", Subject: id, Name: food, Harm: Look, Since: now, What: fmt.Sprintf("Runs out in %s", plural(days, "day", "days")),
		Evidence: "at these rations the freezer holds until " + runsOut.Format("2 January"), Next: "Order more, or change the rations", Cited: "What lies within its limit, at the rations in force.",
	}
}
