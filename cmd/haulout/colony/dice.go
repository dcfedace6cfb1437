package colony

import (
	"encoding/hex"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"time"
)

// dice is a seeded generator with the throws that days are made of.
type dice struct{ *rand.Rand }

// newDice gives each purpose its own stream, so that one does not disturb the
// other.
func newDice(seed uint64, purpose string) dice {
	h := fnv.New64a()
	h.Write([]byte(purpose))
	return dice{rand.New(rand.NewPCG(seed, h.Sum64()))}
}

func (d dice) chance(p float64) bool { return d.Float64() < p }

func (d dice) normal(mean, sd float64) float64 { return mean + sd*d.NormFloat64() }

func (d dice) between(lo, hi float64) float64 { return lo + (hi-lo)*d.Float64() }

// logBetween is even on the scale of ratios: as many below as above the
// geometric mean.
func (d dice) logBetween(lo, hi float64) float64 { return lo * math.Pow(hi/lo, d.Float64()) }

// count is a Poisson number (Knuth's product of uniforms; means stay small).
func (d dice) count(mean float64) (n int) {
	limit := math.Exp(-mean)
	for p := d.Float64(); p > limit; p *= d.Float64() {
		n++
	}
	return n
}

func pick[T any](d dice, of []T) T { return of[d.IntN(len(of))] }

// draw picks an index with the given weights.
func (d dice) draw(weights []float64) int {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	at := d.Float64() * sum
	for i, w := range weights {
		if at -= w; at < 0 {
			return i
		}
	}
	return len(weights) - 1
}

// id is a UUID in the layout of version 7 (RFC 9562, section 5.7): 48 bits of
// the time in milliseconds, the rest thrown.
func (d dice) id(at time.Time) string {
	var b [16]byte
	ms, hi, lo := uint64(at.UnixMilli()), d.Uint64(), d.Uint64()
	for i := range 6 {
		b[i] = byte(ms >> (40 - 8*i))
	}
	for i := range 8 {
		b[8+i] = byte(lo >> (8 * i))
	}
	b[6], b[7] = 0x70|byte(hi&0x0f), byte(hi>>8)
	b[8] = 0x80 | b[8]&0x3f
	return dashed(b)
}

func dashed(b [16]byte) string {
	var out [36]byte
	hex.Encode(out[0:8], b[0:4])
	hex.Encode(out[9:13], b[4:6])
	hex.Encode(out[14:18], b[6:8])
	hex.Encode(out[19:23], b[8:10])
	hex.Encode(out[24:36], b[10:16])
	out[8], out[13], out[18], out[23] = '-', '-', '-', '-'
	return string(out[:])
}
