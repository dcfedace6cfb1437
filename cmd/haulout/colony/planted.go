package colony

import "time"

// Span says where and when something was planted. Fields that do not matter
// are empty.
type Span struct {
	Facility, Animal, Scale, Device, Food, Lot, Enclosure string
	From, To                                              time.Time
}

// Planted lists what the history holds on purpose: problems that a program
// should find, and things that look like problems and are none.
type Planted struct {
	MissedWeighIns Span // the animal was not weighed
	OffScale       Span // the scale read OffBy times the mass
	OffBy          float64
	LateTablet     Span      // what the device recorded then came late
	LateRecorded   time.Time // when it came
	HeldBack       Span      // the device said at From that it holds entries, and nothing since
	Refusal        Span      // the animal was offered food and took none
	SilentTablets  Span      // nothing came from the facility
	UnloggedFeeds  Span      // the animal was fed and nobody wrote it down
	WrongDigit     Span      // the day's weigh-in has its tens three too low, as 61.2 for 91.2, and nobody saw it

	ThawRunning Span // fish for tomorrow, out of the freezer since From
	ThawThrough Span // out since From, seen to be thawed through at To
	ThawOver    Span // out since From: longer than the house allows, shorter than the law
	ShortFood   Span // what is in the freezer lasts until about To
	NearLimit   Span // a lot caught at From that may be stored until To, soon
	PastLimit   Span // a lot caught at From that might be stored until To, and still lies there

	HighCount       Span // coliforms over the limit at From; two samples that repeat it bring the mean below by To
	ForgottenSample Span // nobody sent a sample of this pool since From

	SummerFasts []Span // grown males eat less and lose mass: no problem
	MoltFasts   []Span // seals eat less in their molt: no problem
	BirthFast   Span   // a mother does not eat around the birth: no problem
	Birth       Span   // the pup; From is the day of birth
}

const miscalibration = 1.04

// Plan says what is planted in a history that ends at until.
func Plan(until time.Time) Planted {
	until = until.UTC().Truncate(time.Second)
	p := plantLate(until)
	p.plantFasts(until)
	p.plantStore(until)
	p.plantWater(until)
	return p
}

// before is a time some days before another.
func before(until time.Time, days float64) time.Time {
	return until.Add(-time.Duration(days * 24 * float64(time.Hour)))
}

// plantLate lists what is wrong with records of animals and with tablets.
func plantLate(until time.Time) Planted {
	ago := func(days float64) time.Time { return before(until, days) }
	late := Span{Facility: "tern-sluice", Device: "ts-tablet-2", From: ago(76).Truncate(24 * time.Hour)}
	late.To = late.From.AddDate(0, 0, 4)
	unlogged := Span{Facility: "wrackline-bay", Animal: "demo-whimbrel", From: ago(17).Truncate(24 * time.Hour)}
	unlogged.To = unlogged.From.AddDate(0, 0, 3)
	return Planted{
		MissedWeighIns: Span{Facility: "wrackline-bay", Animal: "demo-yarrow", From: ago(35), To: until},
		OffScale:       Span{Facility: "saltgarth", Scale: "sg-deck", From: ago(25), To: until},
		OffBy:          miscalibration,
		LateTablet:     late,
		LateRecorded:   late.To.AddDate(0, 0, 21).Add(9 * time.Hour),
		HeldBack:       Span{Facility: "wrackline-bay", Device: "wb-tablet-9", From: ago(27. / 24), To: until},
		Refusal:        Span{Facility: "saltgarth", Animal: "demo-sorrel", From: ago(30. / 24), To: until},
		SilentTablets:  Span{Facility: "tern-sluice", From: ago(15. / 24), To: until},
		UnloggedFeeds:  unlogged,
		WrongDigit:     Span{Facility: "saltgarth", Animal: "demo-eyebright", From: ago(61).Truncate(24 * time.Hour), To: ago(60).Truncate(24 * time.Hour)},
	}
}

// plantFasts lists what looks like a problem and is none.
func (p *Planted) plantFasts(until time.Time) {
	born := birthday(until)
	p.SummerFasts = summers(until, "saltgarth", time.May, time.August, "demo-quillon", "demo-marl", "demo-basalt")
	p.MoltFasts = summers(until, "wrackline-bay", time.July, time.September, "demo-sedge", "demo-campion", "demo-slate", "demo-burnet", "demo-yarrow", "demo-plover", "demo-saxifrage")
	p.BirthFast = Span{Facility: "saltgarth", Animal: "demo-lovage", From: born.AddDate(0, 0, -3), To: born.AddDate(0, 0, 2)}
	p.Birth = Span{Facility: "saltgarth", Animal: "demo-tansy", From: born, To: born}
}

// plantStore lists what is to be seen in freezers and kitchens at the end.
func (p *Planted) plantStore(until time.Time) {
	hours := func(n float64) time.Time { return before(until, n/24) }
	today := until.Truncate(24 * time.Hour)
	near, past := today.AddDate(0, 0, 9), today.AddDate(0, 0, -12)
	p.ThawRunning = Span{Facility: "saltgarth", From: hours(3)}
	p.ThawThrough = Span{Facility: "wrackline-bay", From: hours(13), To: hours(4)}
	p.ThawOver = Span{Facility: "saltgarth", Food: "mackerel-atlantic", Lot: "sg-macatl-0b7", From: hours(houseThawHours + 2)}
	p.ShortFood = Span{Facility: "saltgarth", Food: "herring-atlantic", From: before(until, longestRun), To: until.AddDate(0, 0, daysLeft)}
	p.NearLimit = Span{Facility: "saltgarth", Food: "mackerel-atlantic", Lot: "sg-macatl-0b7", From: near.AddDate(0, -fattyMonths, 0), To: near}
	p.PastLimit = Span{Facility: "wrackline-bay", Food: "smelt-rainbow", Lot: "wb-smerai-0c2", From: past.AddDate(0, -houseLeanMonths, 0), To: past}
}

// plantWater lists what is to be seen of pools at the end.
func (p *Planted) plantWater(until time.Time) {
	noon := func(days int) time.Time { return until.Truncate(24*time.Hour).AddDate(0, 0, -days).Add(12 * time.Hour) }
	p.HighCount = Span{Facility: "saltgarth", Enclosure: "sg-cove", From: noon(8), To: noon(3)}
	p.ForgottenSample = Span{Facility: "wrackline-bay", Enclosure: "wb-skerry", From: noon(9), To: until.AddDate(0, 0, 2)}
}

// birthday is the first 12 June that lies at least two months into the history.
func birthday(until time.Time) time.Time {
	first, _ := span(until)
	day := time.Date(first.Year(), time.June, 12, 0, 0, 0, 0, time.UTC)
	if day.Before(first.AddDate(0, 0, 60)) {
		day = day.AddDate(1, 0, 0)
	}
	return day
}

// summers are the months from one to another of each year that the history
// covers in full or in part.
func summers(until time.Time, facility string, from, to time.Month, animals ...string) (out []Span) {
	first, _ := span(until)
	for y := first.Year(); y <= until.Year(); y++ {
		start, end := time.Date(y, from, 1, 0, 0, 0, 0, time.UTC), time.Date(y, to+1, 1, 0, 0, 0, 0, time.UTC)
		if end.Before(first) || start.After(until) {
			continue
		}
		for _, id := range animals {
			out = append(out, Span{Facility: facility, Animal: id, From: start, To: end})
		}
	}
	return out
}

// covers says whether t lies within the span.
func (s Span) covers(t time.Time) bool { return !t.Before(s.From) && t.Before(s.To) }
