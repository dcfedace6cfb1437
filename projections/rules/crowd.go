package rules

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// crowd is the animals of an enclosure as the rule of space counts them.
type crowd struct {
	one, two []float64 // lengths of group I and group II in m, the longest first
	longest  float64
	notes    []string
	missing  string // what has to be known first; "" where nothing is
}

func crowdOf(animals []Occupant) (c crowd, err error) {
	if len(animals) == 0 {
		return crowd{missing: "no animal lives there; name those that do, or are to"}, nil
	}
	var males tally
	for _, a := range animals {
		kind, err := a.kind()
		if err != nil {
			return crowd{}, err
		}
		if kind == nil {
			return crowd{missing: fmt.Sprintf("the table has no adult length of %q; give length and group, as the table of the law has them", a.Taxon)}, nil
		}
		c.add(a, kind)
		males.add(a, kind)
	}
	c.regroup(males)
	if len(c.one) > 0 && len(c.two) > 0 {
		c.notes = append(c.notes, space.Mixed)
	}
	longestFirst := func(a, b float64) int { return cmp.Compare(b, a) }
	slices.SortFunc(c.one, longestFirst)
	slices.SortFunc(c.two, longestFirst)
	c.longest = slices.Max(slices.Concat(c.one, c.two))
	return c, nil
}

// tally counts the mature males of marked kinds: those that are on record as
// such, and those that may be.
type tally struct{ sure, maybe int }

func (t *tally) add(a Occupant, kind *AdultLength) {
	if !kind.Marked || a.Sex == "female" || a.Mature == "no" {
		return
	}
	t.maybe++
	if a.Sex == "male" && a.Mature == "yes" && kind.Note != notInTable {
		t.sure++
	}
}

// regroup puts group I into group II where there are, or may be, enough mature
// males of marked kinds: the stricter way, as long as nobody said otherwise.
func (c *crowd) regroup(males tally) {
	limit := int(spaced("group_two_males"))
	if males.maybe < limit || len(c.one) == 0 {
		return
	}
	c.two, c.one = append(c.two, c.one...), nil
	note := fmt.Sprintf("with %d mature males of marked kinds all of group I is reckoned as group II", males.maybe)
	if males.sure < limit {
		note += "; whether they are mature males of marked kinds is not on record, and the stricter way is taken"
	}
	c.notes = append(c.notes, note)
}

// notInTable marks a length that was given. Whether its kind is a marked one is
// not known, so it is taken to be.
const notInTable = "given, not in the table"

// kind is the table's line of the animal, with its own length and group where
// they are given; nil where neither says how long adults are.
func (a Occupant) kind() (*AdultLength, error) {
	if a.Length < 0 || a.Length-a.Length != 0 {
		return nil, fmt.Errorf("animal %q: length: %v m can't be: give the average length of adults", a.Animal, a.Length)
	}
	if a.Group < 0 || a.Group > 2 {
		return nil, fmt.Errorf("animal %q: group: %d is none: give 1 or 2", a.Animal, a.Group)
	}
	i := slices.IndexFunc(space.Lengths.List, func(l AdultLength) bool { return l.Taxon == a.Taxon })
	if i >= 0 {
		return &space.Lengths.List[i], nil
	}
	if a.Length == 0 || a.Group == 0 {
		return nil, nil
	}
	return &AdultLength{Taxon: a.Taxon, Group: a.Group, Marked: true, Male: a.Length, Female: a.Length, Note: notInTable}, nil
}

func (c *crowd) add(a Occupant, kind *AdultLength) {
	length := max(kind.Male, kind.Female)
	switch a.Sex {
	case "male":
		length = kind.Male
	case "female":
		length = kind.Female
	default:
		c.notes = append(c.notes, fmt.Sprintf("the sex of %q is not known; the longer of the two counts", a.Animal))
	}
	if kind.Group == 2 {
		c.two = append(c.two, length)
	} else {
		c.one = append(c.one, length)
	}
}

// area is the dry area that is required, in m2, with the arithmetic.
func (c crowd) area() (area float64, words string) {
	var parts []string
	add := func(times, length float64) {
		area += times * length * length
		part := number(length) + "²"
		if times != 1 {
			part = number(times) + " × " + part
		}
		parts = append(parts, part)
	}
	for _, length := range c.one {
		if len(c.one) == 1 {
			add(spaced("single"), length)
			break
		}
		add(1, length)
	}
	two := c.two
	for len(two) > 0 && len(two) < int(spaced("group_two_least")) {
		two = append(slices.Clone(two), two[0])
	}
	for i, length := range two {
		add(max(1, tenths(spaced("group_two_first")-float64(i)*spaced("group_two_step"))), length)
	}
	return area, strings.Join(parts, " + ")
}

// tenths rounds a multiple to tenths, so that 1.4 is written as 1.4.
func tenths(v float64) float64 { return math.Round(10*v) / 10 }
