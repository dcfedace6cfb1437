package dominance

import (
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"slices"
)

// Shuffled is where an animal stands when its encounters are put in many
// orders. Low and High hold the level of the reference file (9 in 10).
type Shuffled struct {
	Animal             string
	Points, SD         float64 // points; SD over the orders
	Low, High          float64 // points
	Place              float64 // mean place, 1 for the first
	LowPlace, TopPlace float64
}

// Randomised rates counted encounters in so many random orders, and tells how
// much of what differs between ratings differs between animals (repeatability,
// 0 to 1, the intraclass correlation of a one-way analysis of variance). Sanchez-
// Tojar, Schroeder & Farine 2018 (J Anim Ecol 87:594-608). It takes the
// hierarchy to be the same over the whole window: where places truly changed,
// it blurs them, and Step over time is to be read instead. The same seed gives
// the same result. Errors: fewer than two orders; no encounters; those of Step.
func Randomised(counted []Seen, scale Scale, orders int, seed uint64) (by []Shuffled, repeatability float64, err error) {
	if orders < 2 {
		return nil, 0, fmt.Errorf("orders: %d: give two or more, %g are usual", orders, assumed("shuffles"))
	}
	dice, order := rand.New(rand.NewPCG(seed, 0)), inAnyOrder(counted)
	return overOrders(counted, scale, func(yield func([]Seen) bool) {
		for range orders {
			dice.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
			if !yield(order) {
				return
			}
		}
	})
}

// overOrders rates the encounters in each of the orders.
func overOrders(counted []Seen, scale Scale, orders iter.Seq[[]Seen]) (by []Shuffled, repeatability float64, err error) {
	start, err := NewRating(scale)
	if err != nil {
		return nil, 0, err
	}
	ids := named(counted)
	if len(ids) == 0 {
		return nil, 0, fmt.Errorf("encounters: there are none: rate at least one")
	}
	points, stands := make([][]float64, len(ids)), make([][]float64, len(ids))
	for order := range orders {
		r, err := start.Step(order)
		if err != nil {
			return nil, 0, err
		}
		row := make([]float64, len(ids))
		for i, id := range ids {
			row[i] = r.Points[id]
			points[i] = append(points[i], row[i])
		}
		for i, place := range places(row) {
			stands[i] = append(stands[i], place)
		}
	}
	for i, id := range ids {
		by = append(by, shuffledOf(id, points[i], stands[i]))
	}
	return by, intraclass(points), nil
}

func shuffledOf(id string, points, stands []float64) Shuffled {
	out := Shuffled{Animal: id}
	out.Points, out.SD = spread(points)
	out.Place, _ = spread(stands)
	out.Low, out.High = middle(points)
	out.TopPlace, out.LowPlace = middle(stands)
	return out
}

// spread is the mean and the standard deviation of all values there are.
func spread(values []float64) (mean, sd float64) {
	n := float64(len(values))
	for _, v := range values {
		mean += v
	}
	mean /= n
	for _, v := range values {
		sd += (v - mean) * (v - mean) / n
	}
	return mean, math.Sqrt(sd)
}

// middle holds the level of the values between its ends.
func middle(values []float64) (low, high float64) {
	sorted := slices.Sorted(slices.Values(values))
	out := int(float64(len(sorted)) * (1 - assumed("level")) / 2)
	return sorted[out], sorted[len(sorted)-1-out]
}

// intraclass is the intraclass correlation of groups of equal size.
func intraclass(groups [][]float64) float64 {
	n, size := float64(len(groups)), float64(len(groups[0]))
	var means []float64
	within := 0.0
	for _, g := range groups {
		mean, sd := spread(g)
		means, within = append(means, mean), within+sd*sd*size
	}
	_, between := spread(means)
	msb, msw := between*between*n*size/(n-1), within/(n*(size-1))
	if msb+msw == 0 {
		return 0
	}
	return (msb - msw) / (msb + (size-1)*msw)
}
