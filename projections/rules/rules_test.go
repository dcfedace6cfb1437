package rules

import (
	"math"
	"strings"
	"testing"
	"time"
)

func at(text string) time.Time {
	t, err := time.Parse("2006-01-02 15:04", "2026-06-"+text)
	if err != nil {
		panic(err)
	}
	return t
}

func seenAt(text string) *time.Time { t := at(text); return &t }

// The first three are worked examples, by the text of 9 CFR 3.105(d) as it is
// remembered: 24 h from the freezer, or 12 h from being thawed through under
// refrigeration. The rest follows from the stricter rule governing.
func TestThawClock(t *testing.T) {
	cold := Thaw{Removed: at("01 18:00"), Complete: seenAt("02 10:00"), How: "refrigerated"}
	waiting := Thaw{Removed: at("01 18:00"), How: "refrigerated"}
	room := Thaw{Removed: at("01 06:00"), How: "room"}
	for name, c := range map[string]struct {
		thaw     Thaw
		house    House
		deadline string
		rule, by string
		words    string
	}{
		"at room temperature, 24 h":                     {room, nil, "02 06:00", "thaw_hours", "law", "to be verified"},
		"in the fridge, 12 h from thawed through":       {cold, nil, "02 22:00", "thawed_hours", "law", "thawed through"},
		"a stricter house counts 24 h from the freezer": {cold, House{"thaw_hours": 24}, "02 18:00", "thaw_hours", "house", "house's own"},
		"in the fridge, nobody looked yet":              {waiting, nil, "02 18:00", "thaw_hours", "law", "not yet seen thawed through"},
		"a looser house does not loosen the law":        {room, House{"thaw_hours": 48}, "02 06:00", "thaw_hours", "law", "24"},
		"a looser house does not loosen the 12 h":       {cold, House{"thawed_hours": 20}, "02 22:00", "thawed_hours", "law", "12"},
		"a stricter house after thawing through":        {cold, House{"thawed_hours": 6}, "02 16:00", "thawed_hours", "house", "6"},
		"where both agree the law is named":             {room, House{"thaw_hours": 24}, "02 06:00", "thaw_hours", "law", "24"},
		"thawed through at room temperature":            {Thaw{at("01 06:00"), seenAt("01 09:00"), "room"}, nil, "02 06:00", "thaw_hours", "law", "24"},
		"seen through before it was taken out":          {Thaw{at("01 18:00"), seenAt("01 09:00"), "refrigerated"}, nil, "02 18:00", "thaw_hours", "law", "not yet"},
	} {
		got := ThawClock(c.thaw, c.house)
		if !got.Deadline.Equal(at(c.deadline)) || got.Rule != c.rule || got.By != c.by || !strings.Contains(got.Words, c.words) {
			t.Errorf("%s: %+v, want %s by the %s's %s", name, got, c.deadline, c.by, c.rule)
		}
	}
}

// However a house sets its hours, it never gets more time than the law gives.
func TestNoHouseLoosensTheLaw(t *testing.T) {
	for _, how := range []string{"refrigerated", "room", "water"} {
		for _, complete := range []*time.Time{nil, seenAt("01 20:00"), seenAt("02 10:00")} {
			thaw := Thaw{at("01 18:00"), complete, how}
			law := ThawClock(thaw, nil)
			for _, hours := range []float64{0, 1, 12, 18, 24, 36, 1000} {
				for _, h := range []House{{"thaw_hours": hours}, {"thawed_hours": hours}, {"thaw_hours": hours, "thawed_hours": 30}} {
					if got := ThawClock(thaw, h); got.Deadline.After(law.Deadline) {
						t.Errorf("%s with %v: until %s, the law says %s", how, h, got.Deadline, law.Deadline)
					}
				}
			}
		}
	}
	if s := (House{"freezer": -10}).Setting("freezer"); s.InForce != -18 || s.By != "law" || !strings.Contains(s.Words, "looser") {
		t.Errorf("a freezer of -10: %+v", s)
	}
	if s := (House{"freezer": -25}).Setting("freezer"); s.InForce != -25 || s.By != "house" || !strings.Contains(s.Words, "stricter") {
		t.Errorf("a freezer of -25: %+v", s)
	}
}

func TestAHouseSetsWhatIsNoLaw(t *testing.T) {
	for own, want := range map[float64]string{30: "30\u00a0mg/kg, the house's own value", 50: "outside the 25 to 33\u00a0mg/kg"} {
		if s := (House{"thiamine": own}).Setting("thiamine"); s.InForce != own || s.By != "house" || !strings.Contains(s.Words, want) {
			t.Errorf("%g mg/kg: %+v", own, s)
		}
	}
	if s := House(nil).Setting("fatty_from"); s.By != "default" || !strings.Contains(s.Words, "to be verified") {
		t.Errorf("nobody set it: %+v", s)
	}
}

// 6 months for fatty fish, 12 for lean: Field 2022, and the Clinical Guide to
// Fish Medicine at second hand.
func TestStorageLimits(t *testing.T) {
	fat := func(g float64) *float64 { return &g }
	for name, c := range map[string]struct {
		fat       *float64
		caught    string
		house     House
		until     string
		class     string
		uncertain bool
		words     string
	}{
		"fatty fish, day known":               {fat(9.04), "2026-01-15", nil, "2026-07-15", "fatty", false, "counted from the catch"},
		"lean fish, day known":                {fat(2.42), "2026-01-15", nil, "2027-01-15", "lean", false, ""},
		"at the threshold it is fatty":        {fat(5), "2026-01-15", nil, "2026-07-15", "fatty", false, ""},
		"only the month is known":             {fat(9.04), "2026-01", nil, "2026-07-01", "fatty", true, "earliest day"},
		"about a day":                         {fat(9.04), "2026-01-15~", nil, "2026-07-15", "fatty", true, "earliest day"},
		"only the year is known":              {fat(2), "2025", nil, "2026-01-01", "lean", true, ""},
		"a season":                            {fat(2), "2025-23", nil, "2026-01-01", "lean", true, ""},
		"between two months":                  {fat(2), "2025-03/2025-06", nil, "2026-03-01", "lean", true, ""},
		"open towards the past":               {fat(2), "../2025-06", nil, "", "lean", true, "no earliest day"},
		"the catch is not stated":             {fat(9.04), "", nil, "2026-08-01", "fatty", true, "the fish is older"},
		"caught after it came":                {fat(9.04), "2026-05-01", nil, "2026-08-01", "fatty", true, "after the delivery"},
		"its fat is not known":                {nil, "2026-01-15", nil, "2026-07-15", "unknown", false, "the shorter limit"},
		"the house keeps fatty fish 4 months": {fat(9.04), "2026-01-15", House{"fatty_months": 4}, "2026-05-15", "fatty", false, "house's own"},
		"fat for the house begins at 10 %":    {fat(9.04), "2026-01-15", House{"fatty_from": 10}, "2027-01-15", "lean", false, ""},
		"the end of a short month":            {fat(9.04), "2025-08-31", nil, "2026-02-28", "fatty", false, ""},
		"half a month":                        {fat(9.04), "2026-01-01", House{"fatty_months": 4.5}, "2026-05-16", "fatty", false, ""},
	} {
		got := Keep(c.fat, c.caught, "2026-02-01", c.house)
		if got.Until != c.until || got.Class != c.class || got.Uncertain != c.uncertain || !strings.Contains(got.Words, c.words) {
			t.Errorf("%s: %+v", name, got)
		}
	}
	s := Keep(fat(9.04), "2026-01-15", "2026-02-01", nil)
	for day, want := range map[string]string{"2026-07-15": "within", "2026-07-16": "past"} {
		if got := s.Verdict(day); got != want {
			t.Errorf("on %s it is %s, want %s", day, got, want)
		}
	}
	if got := (Storage{}).Verdict("2026-07-15"); got != "unknown" {
		t.Errorf("without a day it is %s", got)
	}
}

// 4.9315 kg a day is the 1800 kg a year of a female Zalophus (Kastelein et al.
// 2000); 25 to 33 mg/kg is Geraci 1972: 123 to 163 mg, and 493 IU of vitamin E.
func TestVitaminsForADaysFish(t *testing.T) {
	list := VitaminsFor(4.9315, nil)
	thiamine, e := list[0], list[1]
	if math.Round(thiamine.Least) != 123 || math.Round(thiamine.Most) != 163 || thiamine.Value != thiamine.Least || thiamine.Unit != "mg" {
		t.Errorf("thiamine: %+v", thiamine)
	}
	if math.Round(e.Value) != 493 || e.Unit != "[iU]" || !strings.Contains(e.Basis, "to be verified") {
		t.Errorf("vitamin E: %+v", e)
	}
	own := VitaminsFor(2, House{"thiamine": 30})[0]
	if own.Value != 60 || own.Least != 50 || own.Most != 66 || !strings.Contains(own.Basis, "Geraci 1972") {
		t.Errorf("by the house's 30 mg/kg: %+v", own)
	}
}

func TestEveryRuleNamesItsSource(t *testing.T) {
	for _, name := range Names() {
		r := fishroom[name]
		if _, err := time.Parse(time.DateOnly, r.Effective); err != nil || r.Says == "" || r.Source == "" || r.Unit == "" || r.Value < r.Least || r.Value > r.Most {
			t.Errorf("%s is %+v", name, r)
		}
		if r.Verified && (strings.Contains(r.Source, "memory") || strings.Contains(r.Source, "second hand") || strings.Contains(r.Source, "no source")) {
			t.Errorf("%s is called verified, from %s", name, r.Source)
		}
		if (r.Kind == "law") != (r.Stricter == "less") && r.Kind != "advice" {
			t.Errorf("%s is %s and stricter where %q", name, r.Kind, r.Stricter)
		}
	}
}
