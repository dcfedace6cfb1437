package main

import (
	"context"
	"fmt"
	"slices"
	"time"

	"haulout/events"
)

// todayP99 asks for the board of the colony again and again, as of the end of
// its records, with a feed in between. The first asking, which reads everything
// anew, is among the askings that count.
func todayP99(ctx context.Context, n *node, records int) (time.Duration, error) {
	const askings = 500
	now := benchStart.Add(time.Duration(records) * benchStep)
	var took []time.Duration
	for i := range askings {
		number := n.store.Head("bench").Number + 1
		if err := n.recordDrafts(ctx, []events.Draft{benchFeed(records + i)}); err != nil {
			return 0, err
		}
		n.settled(ctx, "bench", number, time.Minute)
		start := time.Now()
		b, err := n.store.Today("bench", now, time.Time{})
		if err != nil || b == nil || len(b.Calls) == 0 {
			return 0, fmt.Errorf("there is no board to be had: %w", err)
		}
		took = append(took, time.Since(start))
	}
	slices.Sort(took)
	return took[askings*99/100], nil
}
