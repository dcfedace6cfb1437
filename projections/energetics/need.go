package energetics

import (
	"math"
	"slices"
	"time"
)

// Taxon is what the reference file knows of a kind of animal.
type Taxon struct {
	Taxon      string  `json:"taxon"`
	Group      string  `json:"group"`
	Female     SexData `json:"female"`
	Male       SexData `json:"male"`
	BirthKg    float64 `json:"birth_kg"`
	WeanedDays int     `json:"weaned_days"`
	Source     string  `json:"source"`
}

// SexData is what differs between the sexes.
type SexData struct {
	GrownYears float64 `json:"grown_years"`
	HeaviestKg float64 `json:"heaviest_kg"`
}

// unlisted stands for kinds that the file does not list: the heaviest of all
// and the lightest newborn bound what is believed.
var unlisted = Taxon{
	Group: "pinniped", Female: SexData{5, 4500}, Male: SexData{6, 4500}, BirthKg: 4, WeanedDays: 300,
	Source: "the kind is not in the reference file",
}

// TaxonOf finds a kind by its scientific name; known is false where the file
// does not list it.
func TaxonOf(name string) (t Taxon, known bool) {
	i := slices.IndexFunc(needs.Taxa, func(t Taxon) bool { return t.Taxon == name })
	if i < 0 {
		out := unlisted
		out.Taxon = name
		return out, false
	}
	return needs.Taxa[i], true
}

// Sex gives the figures of a sex; of an unknown one the wider of the two.
func (t Taxon) Sex(sex string) SexData {
	switch sex {
	case "female":
		return t.Female
	case "male":
		return t.Male
	}
	return SexData{max(t.Female.GrownYears, t.Male.GrownYears), max(t.Female.HeaviestKg, t.Male.HeaviestKg)}
}

// Kleiber is the basal rate of a body mass in kg, in kcal a day.
func Kleiber(kg float64) float64 {
	root := math.Sqrt(kg) // kg^0.75 by roots: a tenth of the time of a power, and the balance takes millions
	return basal * root * math.Sqrt(root)
}

var basal = needs.Constants["kleiber"].Value

// Class is what need depends on beside mass.
type Class struct {
	Taxon    string
	Sex      string  // female, male or unknown
	Years    float64 // age; NaN where it is not known
	Nursing  bool    // it gives milk
	Molting  bool
	Suckling bool // it was born in care and is of an age to drink milk, which nobody logs
}

// Need is a multiple of the basal rate, with what it rests on.
type Need struct {
	Factor  float64    // the middle
	Spread  float64    // standard deviation of its logarithm
	Reasons []Constant // what went into it, with sources
}

// ninety is half the width of nine in ten, in standard deviations.
const ninety = 1.6448536269514722

// spreadOf reads a range as nine in ten on a logarithmic scale.
func spreadOf(c Constant) float64 { return math.Log(c.High/c.Low) / (2 * ninety) }

// NeedOf is what is published of a class of animals: the prior that an
// animal's own record then moves.
func NeedOf(c Class) Need {
	n := Need{Factor: 1}
	c.parts(func(part Constant, share float64) {
		n.Factor *= math.Pow(part.Value, share)
		n.Spread = math.Hypot(n.Spread, share*spreadOf(part))
		n.Reasons = append(n.Reasons, part)
	})
	return n
}

// factor is NeedOf(c).Factor alone, for series of days.
func (c Class) factor() float64 {
	out := 1.0
	c.parts(func(part Constant, share float64) { out *= math.Pow(part.Value, share) })
	return out
}

// parts visits what multiplies the basal rate, each in full or by a share.
func (c Class) parts(visit func(part Constant, share float64)) {
	taxon, _ := TaxonOf(c.Taxon)
	visit(needs.Groups[taxon.Group], 1)
	if share := stillGrowing(c.Years, taxon.Sex(c.Sex).GrownYears); share > 0 {
		visit(needs.Constants["growing"], share)
	}
	if c.Nursing {
		visit(needs.Constants["nursing"], 1)
	}
	if molt := needs.Molt[taxon.Group]; c.Molting && molt.High > molt.Low {
		visit(molt, 1)
	}
}

// stillGrowing falls evenly from 1 for yearlings to 0 for the grown.
func stillGrowing(years, grown float64) float64 {
	if math.IsNaN(years) || years >= grown {
		return 0
	}
	if years <= 1 {
		return 1
	}
	return (grown - years) / (grown - 1)
}

// FastExpected says whether a low intake is what is published for an animal in
// a month: grown males of the sea lions and fur seals in the breeding months of
// the northern summer. It never excuses an animal that takes nothing at all.
func FastExpected(c Class, month time.Month) (expected bool, source string) {
	taxon, _ := TaxonOf(c.Taxon)
	if c.Sex != "male" || taxon.Group == "true seal" || c.Years < needs.Constants["fast_from_years"].Value || math.IsNaN(c.Years) {
		return false, ""
	}
	if !slices.Contains(needs.FastMonths.Months, int(month)) {
		return false, ""
	}
	return true, needs.FastMonths.Source
}

// Expected lists what is published of an animal's intake or mass at this time,
// each with its source: the fast of grown males, the days around a birth, the
// molt. SinceBirth is the days since it last bore a pup, negative where it did
// not. Nothing of it excuses an animal that takes no food at all.
func Expected(c Class, month time.Month, sinceBirth int) (out []string) {
	if yes, source := FastExpected(c, month); yes {
		out = append(out, source)
	}
	if b := needs.AroundBirth; sinceBirth >= 0 && sinceBirth <= b.Days {
		out = append(out, b.Says+" ("+b.Source+")")
	}
	taxon, _ := TaxonOf(c.Taxon)
	if m := needs.InMolt; c.Molting && taxon.Group == m.Group {
		out = append(out, m.Says+" ("+m.Source+")")
	}
	return out
}
