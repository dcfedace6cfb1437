package coat

import (
	"fmt"
	"time"
)

// Timing is what is published of the molt of a kind of animal at one place.
type Timing struct {
	Taxon      string  `json:"taxon"`
	Place      string  `json:"place"`
	Hemisphere string  `json:"hemisphere"`      // north or south
	Sex        string  `json:"sex,omitempty"`   // "" where it speaks of both
	Age        string  `json:"age,omitempty"`   // pup, young, adult; "" where it speaks of all
	Care       bool    `json:"care,omitempty"`  // in human care
	Onset      string  `json:"onset,omitempty"` // mean, as month and day; "" where none is given
	End        string  `json:"end,omitempty"`   // mean, as month and day; "" where none is given
	Days       float64 `json:"days,omitempty"`  // duration of one molt; 0 where none is given
	Says       string  `json:"says"`
	Source     string  `json:"source"`
	Verified   bool    `json:"verified"`
}

// Practice is what people of the trade say, without a source.
type Practice struct {
	Sex        string     `json:"sex"`
	Hemisphere string     `json:"hemisphere"`
	Month      time.Month `json:"month"` // from which
	Says       string     `json:"says"`
	Source     string     `json:"source"`
	Verified   bool       `json:"verified"`
}

// Class is whom an animal's molts are compared with.
type Class struct {
	Taxon    string `json:"taxon"`
	Sex      string `json:"sex"`
	Age      string `json:"age"` // pup, young, adult; "" where it is not known
	Facility string `json:"facility"`
}

func (c Class) words() string {
	sexed := c.Sex == "female" || c.Sex == "male"
	switch {
	case c.Age == "" && sexed:
		return c.Sex + " of unknown age"
	case c.Age == "":
		return "animal of unknown sex and age"
	case sexed:
		return c.Age + " " + c.Sex
	}
	return c.Age + " of unknown sex"
}

// Published lists what is published of a kind, place by place; nothing where
// nothing was found.
func Published(taxon string) []Timing {
	out := []Timing{}
	for _, t := range reference.Published {
		if t.Taxon == taxon {
			out = append(out, t)
		}
	}
	return out
}

// Practices is what is commonly said of a sex on a hemisphere, marked as having
// no source. Nothing is reckoned from it.
func Practices(sex, hemisphere string) []Practice {
	out := []Practice{}
	for _, p := range reference.Practice {
		if p.Sex == sex && p.Hemisphere == hemisphere {
			out = append(out, p)
		}
	}
	return out
}

func (t Timing) speaksOf(c Class) bool {
	return (t.Sex == "" || t.Sex == c.Sex) && (t.Age == "" || t.Age == c.Age)
}

// publishedOnset is the published mean onset of a class, as a share of the year.
// A figure of the other hemisphere is none: no source says that seasons alone
// move it by half a year.
func publishedOnset(c Class, hemisphere string) (turn float64, ok bool) {
	for _, t := range Published(c.Taxon) {
		if t.Onset != "" && t.Hemisphere == hemisphere && t.speaksOf(c) {
			day, err := ParseDay("2001-" + t.Onset)
			if err != nil {
				panic("coat: the reference file: onset of " + t.Place + ": " + err.Error())
			}
			return day.Turn(), true
		}
	}
	return 0, false
}

// publishedDays is the published duration of one molt, in days: in human care
// where there is such a figure.
func publishedDays(c Class) (days float64, source string) {
	for _, care := range []bool{true, false} {
		for _, t := range Published(c.Taxon) {
			if t.Days > 0 && t.Care == care && t.speaksOf(c) {
				return t.Days, fmt.Sprintf("%s, %s", t.Place, t.Source)
			}
		}
	}
	return 0, ""
}
