package dominance

import "math"

// DirectionalConsistency is (H-L)/(H+L), 0 to 1: by how much more often
// encounters went the more frequent way of their dyad than the other, over the
// totals of all dyads. Undecided encounters count as half a win for each. It is
// false where no encounter was seen. Source: van Hooff & Wensing 1987 (from
// memory; totals, not the mean of dyads, as in archived values).
func (m Matrix) DirectionalConsistency() (float64, bool) {
	apart, met := 0.0, 0.0
	for i := range m.IDs {
		for j := range i {
			apart += math.Abs(m.Wins[i][j] - m.Wins[j][i])
			met += m.Met(i, j)
		}
	}
	if met == 0 {
		return 0, false
	}
	return apart / met, true
}

// Triangles is the triangle transitivity of a group: how often, of three
// animals whose three dyads all have a dominant one, the three stand in a
// straight order. Nothing is filled in for dyads that are tied or unknown.
type Triangles struct {
	NotEnough          string // why the numbers say nothing; empty where they do
	Transitive, Cyclic int    // triangles

	// Pt is the transitive share. Ttri is 4(Pt - 3/4): 1 with every triangle
	// transitive, 0 as by chance, -3 with every one cyclic.
	Pt, Ttri float64
}

// Triangles counts the triangles. Source: Shizuka & McDonald 2012, Anim Behav
// 83:925-934 (citation from memory; formula from an open script).
func (m Matrix) Triangles() Triangles {
	var out Triangles
	for i := range m.IDs {
		for j := range i {
			for k := range j {
				out.count(m, i, j, k)
			}
		}
	}
	all := out.Transitive + out.Cyclic
	if all == 0 {
		out.NotEnough = "no three animals whose every two have a dominant one"
		return out
	}
	out.Pt = float64(out.Transitive) / float64(all)
	out.Ttri = 4 * (out.Pt - 0.75)
	return out
}

func (t *Triangles) count(m Matrix, i, j, k int) {
	if !m.settled(i, j) || !m.settled(j, k) || !m.settled(i, k) {
		return
	}
	if m.Dominates(i, j) == m.Dominates(j, k) && m.Dominates(j, k) == m.Dominates(k, i) {
		t.Cyclic++
		return
	}
	t.Transitive++
}

func (m Matrix) settled(i, j int) bool { return m.Wins[i][j] != m.Wins[j][i] }
