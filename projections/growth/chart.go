package growth

import (
	"fmt"
	"math"
)

// Average is an exponentially weighted average with its limits.
type Average struct{ Value, Lo, Hi float64 }

// EWMA are the averages of values in order: lambda of the newest and the rest of
// the one before, beginning with the target. Limits lie so many standard
// deviations of the average, as it widens from the first value on, about the
// target. Values, target and sigma have one unit; lambda is above 0 and up to 1.
// Errors: a lambda or sigma that can't be. Source: Roberts 1959; Lucas &
// Saccucci 1990 (Technometrics 32:1); NIST/SEMATECH e-Handbook 6.3.2.4.
func EWMA(values []float64, lambda, target, sigma, limit float64) ([]Average, error) {
	if !(lambda > 0 && lambda <= 1) || !(sigma >= 0) {
		return nil, fmt.Errorf("ewma: lambda %v, sigma %v: give lambda above 0 and up to 1, and sigma from 0", lambda, sigma)
	}
	out := make([]Average, len(values))
	value, gone := target, 1.0
	for i, x := range values {
		value, gone = lambda*x+(1-lambda)*value, gone*square(1-lambda)
		half := limit * sigma * math.Sqrt(lambda/(2-lambda)*(1-gone))
		out[i] = Average{value, target - half, target + half}
	}
	return out, nil
}

// Sums are the two cumulative sums: how far values have run above the target and
// below it.
type Sums struct{ High, Low float64 }

// CUSUM are the cumulative sums of values in order. Slack is what a value may be
// off the target without adding; all have one unit. A sum above a limit is a
// signal. Source: Page 1954 (Biometrika 41:100); NIST/SEMATECH e-Handbook
// 6.3.2.3.
func CUSUM(values []float64, target, slack float64) []Sums {
	out := make([]Sums, len(values))
	last := Sums{}
	for i, x := range values {
		last = Sums{max(0, last.High+x-target-slack), max(0, last.Low+target-slack-x)}
		out[i] = last
	}
	return out
}

// run is a stretch of values whose statistic passed its limit: where it left
// the target, where it was first beyond the limit, and where it came back, the
// number of values where it did not.
type run struct{ began, seen, back int }

// runs finds the stretches on which a statistic that is above 0 passed the
// limit. That a change began where the sum last was nought is Page's estimate.
func runs(n int, above, beyond func(i int) bool) (out []run) {
	began, seen := 0, -1
	for i := range n {
		if !above(i) {
			if seen >= 0 {
				out = append(out, run{began, seen, i})
			}
			began, seen = i+1, -1
			continue
		}
		if seen < 0 && beyond(i) {
			seen = i
		}
	}
	if seen >= 0 {
		out = append(out, run{began, seen, n})
	}
	return out
}
