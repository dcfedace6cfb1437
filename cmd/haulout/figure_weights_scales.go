package main

import (
	"fmt"
	"strings"

	"haulout/projections/growth"
)

// weightScale is what its readings say of a scale.
type weightScale struct {
	Scale     string       `json:"scale"`
	Animals   int          `json:"animals"`
	Weighed   int          `json:"weigh_ins"`
	Steps     []weightStep `json:"steps"` // the surest first
	NotEnough string       `json:"not_enough,omitempty"`
}

// weightStep is a day from which on a scale reads otherwise for all animals.
type weightStep struct {
	Since     string       `json:"since"`
	Between   [2]string    `json:"between"`
	Kg        *figureRange `json:"kg"`      // if it is the same for all
	Percent   *figureRange `json:"percent"` // if it goes with the mass
	Same      string       `json:"same"`    // kg or percent, whichever the animals agree on; empty where they don't tell
	Animals   []string     `json:"animals"`
	Elsewhere string       `json:"elsewhere,omitempty"`
}

// scales looks at the scales that several animals share.
func (f *weightsFigure) scales() error {
	var all []growth.Reading
	named := false
	for _, animal := range sortedKeys(f.in.weighed) {
		for _, w := range f.in.weighed[animal] {
			all, named = append(all, w.Reading), named || w.Scale != ""
		}
	}
	switch few := len(f.in.weighed) < 2; {
	case few && named:
		f.NoScales = "one animal does not tell its own changes from those of a scale"
	case !few && !named:
		f.NoScales = "no weigh-in names its scale"
	}
	if f.NoScales != "" || !named {
		return nil
	}
	scales, err := growth.Scales(all)
	for _, s := range scales {
		one := weightScale{Scale: s.Scale, Animals: s.Animals, Weighed: s.Weighings, Steps: []weightStep{}, NotEnough: s.NotEnough}
		for _, step := range s.Steps {
			one.Steps = append(one.Steps, f.in.step(step))
		}
		f.Scales = append(f.Scales, one)
	}
	return err
}

func (in *weightsInput) step(s growth.Step) weightStep {
	out := weightStep{
		Since: in.on(s.Since), Between: [2]string{in.on(s.Between[0]), in.on(s.Between[1])}, Kg: rangeOf(s.Kg), Percent: rangeOf(s.Percent),
		Same: s.Same, Elsewhere: s.Elsewhere,
	}
	for _, jump := range s.Of {
		out.Animals = append(out.Animals, jump.Animal)
	}
	return out
}

func (s weightScale) lines() []string {
	head := fmt.Sprintf("Scale %s, %s of %s", s.Scale, counted(s.Weighed, "weigh-in", "weigh-ins"), counted(s.Animals, "animal", "animals"))
	switch {
	case s.NotEnough != "":
		return []string{head + ": cannot be told, " + s.NotEnough + "."}
	case len(s.Steps) == 0:
		return []string{head + ": no step is seen."}
	}
	lines := []string{head + ":"}
	for _, step := range s.Steps {
		lines = append(lines, "  "+step.words())
	}
	return append(lines, "  Put a known mass on it: what is done to all animals on one day looks the same.")
}

func (s weightStep) words() string {
	by := rangeText(s.Kg, "%.2f", "kg")
	switch s.Same {
	case "percent":
		by = rangeText(s.Percent, "%.1f", "%")
	case "":
		by += ", or " + rangeText(s.Percent, "%.1f", "%")
	}
	text := fmt.Sprintf("from %s on (or any day from %s to %s) it reads otherwise for all by %s: %s.", s.Since, s.Between[0], s.Between[1], by, strings.Join(s.Animals, ", "))
	if s.Elsewhere != "" {
		text += " " + capital(s.Elsewhere) + "."
	}
	return text
}

// rangeText writes a range with its sign.
func rangeText(r *figureRange, form, unit string) string {
	form = strings.Replace(form, "%", "%+", 1)
	return fmt.Sprintf(form+" "+strings.ReplaceAll(unit, "%", "%%")+", "+form+" to "+form, *r.Value, *r.Lo, *r.Hi)
}
