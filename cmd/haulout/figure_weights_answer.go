package main

import (
	"haulout/projections/growth"
)

// figureRange is a number with how far it may be off, 9 in 10; what has no end
// is null.
type figureRange struct {
	Value *float64 `json:"value"`
	Lo    *float64 `json:"lo"`
	Hi    *float64 `json:"hi"`
}

func rangeOf(i growth.Interval) *figureRange {
	return &figureRange{finite(i.Value), finite(i.Lo), finite(i.Hi)}
}

// weightsFigure is the answer.
type weightsFigure struct {
	Animals  []weightsOf   `json:"animals"` // by name
	Scales   []weightScale `json:"scales"`
	NoScales string        `json:"no_scales,omitempty"` // why no scale was looked at
	Warnings []string      `json:"warnings"`
	Caution  string        `json:"caution"`

	in *weightsInput
}

// weightsOf is how the mass of one animal goes.
type weightsOf struct {
	Animal    string            `json:"animal"`
	Weighed   int               `json:"weigh_ins"`
	Estimated int               `json:"estimated"` // of them, which count for nothing
	First     string            `json:"first"`
	Last      string            `json:"last"` // day on which a scale showed its mass
	Kg        *float64          `json:"kg"`   // on that day; null where all were estimated
	Trend     weightTrend       `json:"trend"`
	Season    weightSeason      `json:"season"`
	Changes   []weightChange    `json:"changes"`
	Watch     weightWatch       `json:"watch"`
	Asked     []weighedQuestion `json:"asked"`
}

type weightTrend struct {
	PerDay    *figureRange `json:"kg_per_day"`
	From      string       `json:"from,omitempty"`
	To        string       `json:"to,omitempty"`
	Days      int          `json:"days_weighed"`
	Rises     *weightRank  `json:"mann_kendall"`
	Serial    *float64     `json:"serial"` // how alike days that follow one another are
	NotEnough string       `json:"not_enough,omitempty"`
}

type weightRank struct {
	S   int     `json:"s"`
	Z   float64 `json:"z"`
	P   float64 `json:"p"`
	Tau float64 `json:"tau_b"`
}

type weightSeason struct {
	PerYear   *figureRange `json:"kg_per_year"`
	Amplitude *figureRange `json:"amplitude_kg"`
	Seen      bool         `json:"seen"`
	Peak      *figureRange `json:"peak_day_of_year"` // days after 1 January
	SD        *float64     `json:"sd_kg"`
	NotEnough string       `json:"not_enough,omitempty"`
}

type weightChange struct {
	Window    int      `json:"days_before"`
	Median    *float64 `json:"median_kg"`
	Percent   *float64 `json:"percent"`
	Of        int      `json:"weigh_ins"`
	Limit     float64  `json:"limit_percent"`
	Look      bool     `json:"look"`
	NotEnough string   `json:"not_enough,omitempty"`
}

type weightWatch struct {
	Days      int            `json:"days_weighed"`
	Signals   []weightSignal `json:"signals"`
	NotEnough string         `json:"not_enough,omitempty"`
}

type weightSignal struct {
	Chart string `json:"chart"` // average or sum
	Up    bool   `json:"up"`
	Began string `json:"began"`
	Seen  string `json:"seen"`
	Until string `json:"until"`
	Over  bool   `json:"over"`
}

func newWeightsFigure(in *weightsInput) (*weightsFigure, error) {
	f := &weightsFigure{Animals: []weightsOf{}, Scales: []weightScale{}, Warnings: append([]string{}, in.warnings...), Caution: weightsCaution, in: in}
	for _, animal := range sortedKeys(in.weighed) {
		one, err := in.of(animal)
		if err != nil {
			return nil, err
		}
		f.Animals = append(f.Animals, one)
	}
	return f, f.scales()
}

// of is one animal. Its today is the last day that a scale showed its mass.
func (in *weightsInput) of(animal string) (out weightsOf, err error) {
	list := in.weighed[animal]
	all, last := readings(list), list[0].Day
	out = weightsOf{Animal: animal, Weighed: len(list), First: in.on(last), Asked: []weighedQuestion{}}
	for _, w := range all {
		if w.Method == "estimated" {
			out.Estimated++
		} else {
			last = w.Day
		}
	}
	out.Last = in.on(last)
	if err := in.trend(&out, all); err != nil {
		return out, err
	}
	if err := in.year(&out, all, last); err != nil {
		return out, err
	}
	changes, err := growth.ChangesOn(all, last)
	if err != nil {
		return out, err
	}
	out.change(changes)
	questions, err := asked(list, in.on)
	out.Asked = append(out.Asked, questions...)
	return out, err
}

func (in *weightsInput) trend(out *weightsOf, all []growth.Weighing) error {
	t, err := growth.TrendOf(all)
	if err != nil {
		return err
	}
	out.Trend = weightTrend{Days: t.Days, NotEnough: t.NotEnough}
	if t.NotEnough == "" {
		k := t.Rising
		out.Trend = weightTrend{PerDay: rangeOf(t.PerDay), From: in.on(t.From), To: in.on(t.To), Days: t.Days, Rises: &weightRank{k.S, k.Z, k.P, k.Tau}, Serial: &t.Serial}
	}
	return nil
}

// year is the course of the year, and the last months against it.
func (in *weightsInput) year(out *weightsOf, all []growth.Weighing, today int) error {
	s, err := growth.SeasonOf(all)
	if err != nil {
		return err
	}
	if out.Season.NotEnough = s.NotEnough; s.NotEnough == "" {
		out.Season = weightSeason{PerYear: rangeOf(s.PerYear), Amplitude: rangeOf(s.Amplitude), Seen: s.Amplitude.Lo > 0, SD: &s.SD}
	}
	if out.Season.Seen && !in.counted {
		out.Season.Peak = rangeOf(s.Peak)
	}
	w, err := growth.WatchOf(all, today)
	if err != nil {
		return err
	}
	out.Watch = weightWatch{Days: len(w.Days), Signals: []weightSignal{}, NotEnough: w.NotEnough}
	for _, s := range w.Signals {
		out.Watch.Signals = append(out.Watch.Signals, weightSignal{s.Chart, s.Up, in.on(s.Began), in.on(s.Seen), in.on(s.Until), s.Over})
	}
	return nil
}

func (o *weightsOf) change(changes []growth.Change) {
	for _, c := range changes {
		one := weightChange{Window: c.Window, Of: len(c.Of), Limit: c.Limit, Look: c.Look, NotEnough: c.NotEnough}
		if c.NotEnough == "" {
			one.Median, one.Percent = &c.Median, &c.Percent
		}
		if o.Changes = append(o.Changes, one); c.Kg > 0 {
			o.Kg = &c.Kg
		}
	}
}
