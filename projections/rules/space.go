package rules

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
)

//go:embed space-2026-11.json
var spaceFile []byte

// AdultLength is the average length of adults of a kind, from the tip of the
// nose to the tip of the tail in a straight line, with the group that the kind
// is in. It is of the kind and sex, and not of the animal.
type AdultLength struct {
	Taxon  string  `json:"taxon"`
	Group  int     `json:"group"`            // 1 or 2
	Marked bool    `json:"marked,omitempty"` // two mature males or more of such kinds put group I into group II
	Male   float64 `json:"male"`             // m
	Female float64 `json:"female"`           // m
	Note   string  `json:"note,omitempty"`
}

var space = func() (out struct {
	Effective string          `json:"effective"`
	Source    string          `json:"source"`
	Verified  bool            `json:"verified"`
	Constants map[string]Rule `json:"constants"`
	Mixed     string          `json:"mixed"`
	Shallow   string          `json:"shallow"`
	Temporary Rule            `json:"temporary"`
	Lengths   struct {
		Source string        `json:"source"`
		List   []AdultLength `json:"list"`
	} `json:"lengths"`
}) {
	if err := json.Unmarshal(spaceFile, &out); err != nil {
		panic("rules: the reference file of space: " + err.Error())
	}
	return out
}()

func spaced(name string) float64 { return space.Constants[name].Value }

// Occupant is an animal that an enclosure holds, or is to hold.
type Occupant struct {
	Animal string
	Taxon  string
	Sex    string  // female or male; of an unknown one the longer counts
	Mature string  // whether it is sexually mature: yes, no, or "" where nobody said, which counts as yes
	Length float64 // m, average of adults of its kind and sex where the table has none; 0 otherwise
	Group  int     // 1 or 2, of a kind that the table does not have; 0 otherwise
}

// Extent is what an enclosure has; nil where it is not on record.
type Extent struct {
	WaterArea  *float64 // m2, of water that is deep enough
	WaterDepth *float64 // m
	DryArea    *float64 // m2, dry resting and social activity area
	Width      *float64 // m, least horizontal dimension of the pool
	Across     *float64 // m, horizontal dimension at a right angle to it
}

// Measure is one thing that an enclosure must have.
type Measure struct {
	What     string   `json:"what"`
	Unit     string   `json:"unit"`
	Required float64  `json:"required"`
	Present  *float64 `json:"present"` // null where it is not on record
	Standing Standing `json:"standing"`
	Words    string   `json:"words"` // the arithmetic
}

// Space is what the rule asks of an enclosure for the animals in it.
type Space struct {
	Standing  Standing  `json:"standing"` // fails if a measure does; undecided while one is not on record
	NotEnough string    `json:"not_enough,omitempty"`
	Measures  []Measure `json:"measures"`
	Volume    float64   `json:"volume_m3"` // area by depth as required: derived, and no limit of the rule
	Cited     string    `json:"cited"`
	Effective string    `json:"effective"`
	Verified  bool      `json:"verified"`
	Notes     []string  `json:"notes"`
}

// SpaceFor holds an enclosure against the minimum of 9 CFR 3.104(d) for
// pinnipeds: dry area and water surface by the squares of adult lengths, least
// width and depth by the longest (from memory, to be verified). To see whether a
// newcomer fits, add it. Errors: an extent below zero, a length or group that
// can't be.
func SpaceFor(animals []Occupant, has Extent) (Space, error) {
	out := Space{Standing: Undecided, Measures: []Measure{}, Notes: []string{}, Effective: space.Effective, Verified: space.Verified,
		Cited: Rule{Source: space.Source, Verified: space.Verified}.Cited()}
	if err := has.check(); err != nil {
		return Space{}, err
	}
	c, err := crowdOf(animals)
	if err != nil {
		return Space{}, err
	}
	if out.NotEnough = c.missing; out.NotEnough != "" {
		return out, nil
	}
	out.Notes = append(out.Notes, c.notes...)
	dry, words := c.area()
	depth := max(spaced("depth_least"), spaced("depth_share")*c.longest)
	out.Volume = dry * depth
	out.Measures = []Measure{
		measured("dry area", "m2", dry, has.DryArea, words),
		measured("water surface", "m2", dry, has.WaterArea, "at least the dry area that is required: "+words+"; "+space.Shallow),
		has.width(spaced("width")*c.longest, c.longest),
		measured("depth", "m", depth, has.WaterDepth, fmt.Sprintf("the greater of %s m and %s × %s m", number(spaced("depth_least")), number(spaced("depth_share")), number(c.longest))),
	}
	out.conclude()
	return out, nil
}

func (e Extent) check() error {
	for _, of := range []struct {
		name  string
		value *float64
	}{{"water_area", e.WaterArea}, {"water_depth", e.WaterDepth}, {"dry_area", e.DryArea}, {"width", e.Width}, {"across", e.Across}} {
		if of.value != nil && (!(*of.value >= 0) || math.IsInf(*of.value, 0)) {
			return fmt.Errorf("%s: %v can't be: give it from zero, or leave it out", of.name, *of.value)
		}
	}
	return nil
}

// slack is what rounding may take from a length or an area.
const slack = 1e-9

func measured(what, unit string, required float64, present *float64, words string) Measure {
	out := Measure{What: what, Unit: unit, Required: required, Present: present, Standing: Undecided}
	out.Words = fmt.Sprintf("%s: %s required, %s", what, sized(required, unit), words)
	if present == nil {
		out.Words += "; what is there is not on record"
		return out
	}
	out.Standing = Fails
	if *present >= required-slack {
		out.Standing = Passes
	}
	out.Words += fmt.Sprintf("; %s present", sized(*present, unit))
	return out
}

// width may be up to a fifth less one way, if what is missing is added the other
// way.
func (e Extent) width(required, longest float64) Measure {
	out := measured("width", "m", required, e.Width, fmt.Sprintf("%s × %s m", number(spaced("width")), number(longest)))
	least := required * (1 - spaced("width_less"))
	if out.Standing != Fails || *e.Width < least-slack {
		return out
	}
	across := 2*required - *e.Width
	out.Words += fmt.Sprintf("; so narrow it may be, with %s at a right angle", sized(across, "m"))
	switch {
	case e.Across == nil:
		out.Standing, out.Words = Undecided, out.Words+", which is not on record"
	case *e.Across >= across-slack:
		out.Standing, out.Words = Passes, out.Words+fmt.Sprintf("; %s present", sized(*e.Across, "m"))
	default:
		out.Words += fmt.Sprintf("; %s present", sized(*e.Across, "m"))
	}
	return out
}

func (s *Space) conclude() {
	s.Standing = Passes
	for _, m := range s.Measures {
		if graver(m.Standing) > graver(s.Standing) {
			s.Standing = m.Standing
		}
	}
	if s.Standing == Fails {
		s.Notes = append(s.Notes, space.Temporary.Says+", by "+space.Temporary.Cited())
	}
}

// sized writes a length or an area to the centimetre, or its hundredth part.
func sized(v float64, unit string) string {
	return amount(math.Round(v*1e4)/1e4, unit)
}
