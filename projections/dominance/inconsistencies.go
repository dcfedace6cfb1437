package dominance

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
)

// Ordered is the orders with the fewest inconsistencies, and among those with
// the weakest. A dyad is inconsistent with an order that places the dominant
// one lower; its strength is how many places lower.
type Ordered struct {
	NotEnough string // why the order says nothing; empty where it does
	I, SI     int    // inconsistencies, and the sum of their strengths in places
	Orders    uint64 // how many orders are as good

	// Order is one of them, as places in the matrix from the top: where several
	// animals could come next, first the one that dominates more than dominate
	// it, then the one that the matrix has first.
	Order        []int
	Places       [][2]int // by animal: its highest and lowest place in any of them, 1 the top
	Inconsistent [][2]int // the inconsistent dyads of Order: dominant, and the other above it
}

// mostOrdered is how many animals exact orders are found for: two million steps
// and 13 MB for 20, twice as much for each more.
const mostOrdered = 20

// InconsistenciesAndStrengths finds the orders of the I&SI method exactly, over
// all of them at once: which animals are placed decides what the next one
// costs, whatever their order. Errors: more than 20 animals. Source: de Vries
// 1998, Anim Behav 55:827-843, and Schmid & de Vries 2013, Anim Behav
// 86:1097-1105, whose searches find one order, and not always a best one.
func (m Matrix) InconsistenciesAndStrengths() (Ordered, error) {
	n := len(m.IDs)
	if n > mostOrdered {
		return Ordered{}, fmt.Errorf("ids: %d animals are too many for exact orders: give at most %d", n, mostOrdered)
	}
	s := m.sets()
	s.place()
	all := len(s.cost) - 1
	out := Ordered{I: int(s.cost[all] / weight), SI: int(s.cost[all] % weight), Orders: s.orders[all]}
	if out.Places = s.back(); m.Counts().Interactions == 0 {
		out.NotEnough = "no encounter was seen"
	}
	out.Order = s.order()
	out.Inconsistent = m.against(out.Order)
	return out, nil
}

// BestOrders lists at most so many of the orders that are as good as any, as
// places in the matrix from the top; by their last animals, in the order of the
// matrix. Errors: more than 20 animals.
func (m Matrix) BestOrders(most int) ([][]int, error) {
	n := len(m.IDs)
	if n > mostOrdered {
		return nil, fmt.Errorf("ids: %d animals are too many for exact orders: give at most %d", n, mostOrdered)
	}
	s := m.sets()
	s.place()
	var out [][]int
	s.list(uint32(len(s.cost)-1), nil, func(order []int) bool {
		out = append(out, order)
		return len(out) < most
	})
	return out, nil
}

// list goes through the best orders of a set at the top, with those below it
// given from the bottom up, until one is enough.
func (s sets) list(set uint32, below []int, visit func([]int) bool) bool {
	if set == 0 {
		order := slices.Clone(below)
		slices.Reverse(order)
		return visit(order)
	}
	for rest := set; rest != 0; rest &= rest - 1 {
		k := bits.TrailingZeros32(rest)
		before := set &^ (1 << k)
		if s.last(before, k)+s.across(set) != s.cost[set] {
			continue
		}
		if !s.list(before, append(slices.Clip(below), k), visit) {
			return false
		}
	}
	return true
}

// sets is what is known of every set of animals placed at the top, by a number
// whose bits are the animals.
type sets struct {
	below, above []uint32 // by animal: those that it dominates, and that dominate it
	cost         []uint32 // inconsistencies × weight + strengths
	orders       []uint64 // of the set that cost no more
	good         []bool   // a best order of all begins with the set
}

// weight puts one inconsistency above all strengths of 20 animals: these are at
// most 190 × 19.
const weight = 1 << 16

func (m Matrix) sets() sets {
	n := len(m.IDs)
	s := sets{make([]uint32, n), make([]uint32, n), make([]uint32, 1<<n), make([]uint64, 1<<n), make([]bool, 1<<n)}
	for i := range n {
		for j := range n {
			if m.Dominates(i, j) {
				s.below[i] |= 1 << j
				s.above[j] |= 1 << i
			}
		}
	}
	return s
}

// last is what it costs to place animal k after those of a set, without the
// strengths that the whole costs in whatever order.
func (s sets) last(set uint32, k int) uint32 {
	return s.cost[set] + weight*uint32(bits.OnesCount32(s.below[k]&set))
}

// across is the inconsistencies between a set and the animals below it. Each
// place between the two of a dyad is one set that they lie across, so these sum
// to the strengths.
func (s sets) across(set uint32) (sum uint32) {
	for rest := set; rest != 0; rest &= rest - 1 {
		sum += uint32(bits.OnesCount32(s.above[bits.TrailingZeros32(rest)] &^ set))
	}
	return sum
}

// place finds the cost of every set and how many orders have it.
func (s sets) place() {
	s.orders[0] = 1
	for set := uint32(1); int(set) < len(s.cost); set++ {
		least, orders := uint32(math.MaxUint32), uint64(0)
		for rest := set; rest != 0; rest &= rest - 1 {
			k := bits.TrailingZeros32(rest)
			before := set &^ (1 << k)
			switch cost := s.last(before, k); {
			case cost < least:
				least, orders = cost, s.orders[before]
			case cost == least:
				orders += s.orders[before]
			}
		}
		s.cost[set], s.orders[set] = least+s.across(set), orders
	}
}

// back goes from the whole to the sets that best orders begin with, and gives
// the places of each animal in them.
func (s sets) back() [][2]int {
	places := make([][2]int, len(s.below))
	for k := range places {
		places[k][0] = len(places)
	}
	s.good[len(s.good)-1] = true
	for set := uint32(len(s.good) - 1); set > 0; set-- {
		if !s.good[set] {
			continue
		}
		at, across := bits.OnesCount32(set), s.across(set)
		for rest := set; rest != 0; rest &= rest - 1 {
			k := bits.TrailingZeros32(rest)
			before := set &^ (1 << k)
			if s.last(before, k)+across != s.cost[set] {
				continue
			}
			s.good[before] = true
			places[k] = [2]int{min(at, places[k][0]), max(at, places[k][1])}
		}
	}
	return places
}

// order goes down one best order.
func (s sets) order() (out []int) {
	byDominance := make([]int, len(s.below))
	for k := range byDominance {
		byDominance[k] = k
	}
	surplus := func(k int) int { return bits.OnesCount32(s.below[k]) - bits.OnesCount32(s.above[k]) }
	slices.SortStableFunc(byDominance, func(a, b int) int { return surplus(b) - surplus(a) })
	for set := uint32(0); len(out) < len(s.below); {
		for _, k := range byDominance {
			next := set | 1<<k
			if next != set && s.good[next] && s.last(set, k)+s.across(next) == s.cost[next] {
				set, out = next, append(out, k)
				break
			}
		}
	}
	return out
}

func (m Matrix) against(order []int) (out [][2]int) {
	for at, lower := range order {
		for _, higher := range order[:at] {
			if m.Dominates(lower, higher) {
				out = append(out, [2]int{lower, higher})
			}
		}
	}
	return out
}
