package projections

import (
	"cmp"
	"slices"

	"haulout/events"
)

// scanRow is who was beside whom in an enclosure on a local day: sums, so that
// a window is the sum of its days.
type scanRow struct {
	Scans int            `json:"scans"`
	Seen  map[string]int `json:"seen"` // scans, by animal
	Pairs []scanPair     `json:"pairs,omitempty"`
}

// scanPair is in how many scans two animals were both seen, and in how many of
// these together. A sorts before B.
type scanPair struct {
	A        string `json:"a"`
	B        string `json:"b"`
	Both     int    `json:"both"`
	Together int    `json:"together,omitempty"`
}

var scans = Daily("scans", 1, "enclosure", []string{"company.scanned"}, foldScans)

func foldScans(_ Scope, recs []Record) *scanRow {
	if len(recs) == 0 {
		return nil
	}
	out, pairs := &scanRow{Seen: map[string]int{}}, map[[2]string]scanPair{}
	for _, rec := range recs {
		out.add(rec.Body.(*events.CompanyScanned), pairs)
	}
	for _, p := range pairs {
		out.Pairs = append(out.Pairs, p)
	}
	slices.SortFunc(out.Pairs, func(a, b scanPair) int { return cmp.Or(cmp.Compare(a.A, b.A), cmp.Compare(a.B, b.B)) })
	return out
}

func (s *scanRow) add(b *events.CompanyScanned, pairs map[[2]string]scanPair) {
	s.Scans++
	group := map[string]int{}
	for i, g := range b.Groups {
		for _, animal := range g.Animals {
			group[animal] = i
		}
	}
	seen := sortedKeys(group)
	for i, x := range seen {
		s.Seen[x]++
		for _, y := range seen[i+1:] {
			p := pairs[[2]string{x, y}]
			p.A, p.B, p.Both = x, y, p.Both+1
			p.Together += one(group[x] == group[y])
			pairs[[2]string{x, y}] = p
		}
	}
}
