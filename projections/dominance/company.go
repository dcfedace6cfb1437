package dominance

import "fmt"

// Scan is one look at who was beside whom. An animal alone is a group of one;
// one that is in no group was not seen. Scans are taken to be independent; those
// that follow each other sooner than the animals change company are not.
type Scan struct {
	Groups [][]string
}

// Company is in how many scans two animals were seen, and how.
type Company struct {
	A, B                              string
	Together, BothApart, OnlyA, OnlyB int // scans
}

// CompanyOf counts the scans of each pair of the animals ids, in their order.
// Errors: an animal listed twice; one in a scan that is not listed, or that is
// in two groups of it.
func CompanyOf(ids []string, scans []Scan) ([]Company, error) {
	at := map[string]int{}
	for i, id := range ids {
		if _, twice := at[id]; twice {
			return nil, fmt.Errorf("ids: %q is listed twice: list each animal once", id)
		}
		at[id] = i
	}
	var out []Company
	for i := range ids {
		for _, other := range ids[i+1:] {
			out = append(out, Company{A: ids[i], B: other})
		}
	}
	for n, scan := range scans {
		group, err := scan.groups(at)
		if err != nil {
			return nil, fmt.Errorf("scan %d: %w", n+1, err)
		}
		for i := range out {
			out[i].see(group[at[out[i].A]], group[at[out[i].B]])
		}
	}
	return out, nil
}

// groups is the number of each animal's group, from 1; 0 was not seen.
func (s Scan) groups(at map[string]int) ([]int, error) {
	out := make([]int, len(at))
	for n, group := range s.Groups {
		for _, id := range group {
			i, listed := at[id]
			if !listed {
				return nil, fmt.Errorf("groups: %q is not listed: add it to the animals", id)
			}
			if out[i] != 0 {
				return nil, fmt.Errorf("groups: %q is named twice: an animal is in one group at a time", id)
			}
			out[i] = n + 1
		}
	}
	return out, nil
}

func (c *Company) see(a, b int) {
	switch {
	case a == 0 && b == 0:
	case a == b:
		c.Together++
	case b == 0:
		c.OnlyA++
	case a == 0:
		c.OnlyB++
	default:
		c.BothApart++
	}
}

// SimpleRatio is the share of the scans with one of the two in which they were
// together, 0 to 1: x/(x + apart + only A + only B). It is the one to use where
// every animal is known each time (from memory). ok is false where neither was
// seen. Source: Ginsberg & Young 1992, Anim Behav 44:377 (from memory).
func (c Company) SimpleRatio() (index float64, ok bool) {
	return ratio(c.Together, float64(c.Together+c.BothApart+c.OnlyA+c.OnlyB))
}

// HalfWeight is the half-weight index, 0 to 1: x/(x + apart + (only A + only
// B)/2), for scans that are likelier to miss one of two that are apart. It grows
// with how sociable the two are with anybody: hold it against permutations, not
// against a number. ok is false where neither was seen. Source: Cairns &
// Schwager 1987, Anim Behav 35:1454 (from memory).
func (c Company) HalfWeight() (index float64, ok bool) {
	return ratio(c.Together, float64(c.Together+c.BothApart)+float64(c.OnlyA+c.OnlyB)/2)
}

// Shares are the shares of A's scans with B, and of B's with A, 0 to 1. They
// differ: one of the two may keep company while the other is mostly elsewhere.
// ok is false where one of the two was not seen.
func (c Company) Shares() (ofA, ofB float64, ok bool) {
	ofA, a := ratio(c.Together, float64(c.Together+c.BothApart+c.OnlyA))
	ofB, b := ratio(c.Together, float64(c.Together+c.BothApart+c.OnlyB))
	return ofA, ofB, a && b
}

func ratio(x int, of float64) (float64, bool) {
	if of == 0 {
		return 0, false
	}
	return float64(x) / of, true
}
