package dominance

import (
	"errors"
	"fmt"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

var errOtherAnimals = errors.New("the two matrices are not of the same animals: count both over the same list")

// Rate is how many events were counted in how many animal-hours of watching: the
// hours of each watch times the animals in view.
type Rate struct {
	Events int
	Hours  float64 // animal-hours
}

// PerHour is events an animal-hour, with the range that holds the true rate at
// the level of the reference file (9 in 10); ok is false where nobody watched.
// Exact for events that come independently of each other (Garwood 1936,
// Biometrika 28:437-442); such as come in bouts are less sure than that.
func (r Rate) PerHour() (mean, low, high float64, ok bool) {
	if !(r.Hours > 0) {
		return 0, 0, 0, false
	}
	out, n := (1-assumed("level"))/2, float64(r.Events)
	if r.Events > 0 {
		low = gammaQuantile(out, n)
	}
	return n / r.Hours, low / r.Hours, gammaQuantile(1-out, n+1) / r.Hours, true
}

// gammaQuantile is the value below which a gamma variable of unit scale lies with
// a chance.
func gammaQuantile(p, shape float64) float64 { return mathext.GammaIncRegInv(shape, p) }

// Rising compares two times of watching: p is how often chance alone would put
// this many of all events, or more, into the later one, if the rate were the
// same. ok is false where one of them has fewer animal-hours than the reference
// file asks for ("watched_least"), and p is 1 then. Errors: counts or hours
// below zero. Source: the conditional test of two Poisson counts, Przyborowski &
// Wilenski 1940 (Biometrika 31:313-323, from memory).
func Rising(before, lately Rate) (p float64, ok bool, err error) {
	if before.Events < 0 || lately.Events < 0 || !(before.Hours >= 0 && lately.Hours >= 0) {
		return 1, false, fmt.Errorf("rates: %v and %v: give counts and hours from zero", before, lately)
	}
	least := assumed("watched_least")
	if before.Hours < least || lately.Hours < least {
		return 1, false, nil
	}
	if lately.Events == 0 {
		return 1, true, nil
	}
	all := distuv.Binomial{N: float64(before.Events + lately.Events), P: lately.Hours / (before.Hours + lately.Hours)}
	return min(1, 1-all.CDF(float64(lately.Events-1))), true, nil
}

// Shared is the range of the share of time in which two animals keep company,
// from the share on each day with scans, 0 to 1: the looks of one day follow
// each other too closely to count one by one, so a day counts as one look. ok is
// false without a day. The range is of a beta distribution that begins with half
// a look for each answer (Jeffreys' prior; the rule is an assumption).
func Shared(days []float64) (low, high float64, ok bool) {
	if len(days) == 0 {
		return 0, 0, false
	}
	sum := 0.0
	for _, share := range days {
		sum += share
	}
	a, b, out := sum+0.5, float64(len(days))-sum+0.5, (1-assumed("level"))/2
	return mathext.InvRegIncBeta(a, b, out), mathext.InvRegIncBeta(a, b, 1-out), true
}
