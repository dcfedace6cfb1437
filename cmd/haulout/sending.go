package main

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"net/http"
	"slices"

	"haulout/events"
)

const (
	batchFacts = 500     // facts of one request
	batchBytes = 3 << 20 // bytes of facts in one request; the server takes 4 MiB
)

// send records facts of one facility in batches, in their order.
func (im *importer) send(ctx context.Context, facility string, total int, facts iter.Seq2[entry, error]) error {
	p := newProgress(im.errs, "import "+im.sum.Kind+" for "+facility, total)
	defer p.end()
	var batch []entry
	size, done := 0, 0
	flush := func() error {
		n := len(batch)
		err := im.sendBatch(ctx, batch)
		batch, size, done = batch[:0], 0, done+n
		p.at(done)
		return err
	}
	for e, err := range facts {
		if err != nil {
			return err
		}
		batch, size = append(batch, e), size+len(e.draft.Data)+300
		if len(batch) < batchFacts && size < batchBytes {
			continue
		}
		if err := flush(); err != nil {
			return err
		}
	}
	return flush()
}

// sendBatch sends a batch until it is taken. With --skip-bad, what is refused is
// left out of it; without, the import ends there.
func (im *importer) sendBatch(ctx context.Context, batch []entry) error {
	for len(batch) > 0 {
		drafts := make([]events.Draft, len(batch))
		for i, e := range batch {
			drafts[i] = e.draft
		}
		receipts, err := im.client.record(ctx, drafts)
		r, ok := errors.AsType[*refusal](err)
		if ok && len(r.Problems) > 0 && (r.Status == http.StatusUnprocessableEntity || r.Status == http.StatusConflict) {
			if batch = im.without(batch, r.Problems); im.skipBad {
				continue
			}
			return fmt.Errorf("the server refused a row, and nothing after it was recorded; %s", im.soFar())
		}
		if ctx.Err() != nil {
			return fmt.Errorf("the import was stopped: %s", im.soFar())
		}
		if err != nil {
			return fmt.Errorf("%w; %s", err, im.soFar())
		}
		for _, one := range receipts {
			if one.Repeated {
				im.sum.Repeated++
			} else {
				im.sum.Recorded++
			}
		}
		return nil
	}
	return nil
}

// without notes what was refused and gives the rest of a batch.
func (im *importer) without(batch []entry, problems []events.EntryProblem) []entry {
	for _, p := range problems {
		if p.Index < 0 || p.Index >= len(batch) {
			continue
		}
		e := batch[p.Index]
		if !e.bad() { // its first problem
			im.sum.forget(events.KindName(e.draft.Type))
		}
		im.refused(e, p.Problem)
	}
	return slices.DeleteFunc(slices.Clone(batch), entry.bad)
}

// soFar says what an import that stops leaves behind.
func (im *importer) soFar() string {
	return fmt.Sprintf("%s recorded by then; importing the file again records the rest and nothing twice", counted(im.sum.Recorded, "fact was", "facts were"))
}
