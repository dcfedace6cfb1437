package journal

import (
	"context"
	"fmt"

	"haulout/events"
)

// Comparison is what the log and the archive say of a facility.
type Comparison struct {
	Facility string
	Log      Head
	Archive  Head
	Pages    uint64
	Problem  string // "" when they agree
}

// compare checks that the stream has all its pages, and that the archive is a
// true beginning of it. The archive may be behind; it catches up. It is never
// ahead: then the log lost its end.
func (r *recorder) compare(ctx context.Context) error {
	c, err := r.comparison(ctx)
	if err != nil {
		return err
	}
	if c.Problem != "" {
		return fmt.Errorf("%w: %s: %s", ErrDamage, r.facility, c.Problem)
	}
	return nil
}

func (r *recorder) comparison(ctx context.Context) (Comparison, error) {
	c := Comparison{Facility: r.facility, Archive: r.archive.Position(r.facility)}
	info, err := r.stream.Info(ctx)
	if err != nil {
		return c, fmt.Errorf("ask for the state of the log of %s: %w", r.facility, err)
	}
	state := info.State
	c.Pages = state.Msgs
	if state.LastSeq > 0 && (state.FirstSeq != 1 || state.NumDeleted > 0 || state.Msgs != state.LastSeq) {
		c.Problem = fmt.Sprintf("the log has lost pages: %d of %d are there", state.Msgs, state.LastSeq)
		return c, nil
	}
	if state.LastSeq > 0 {
		if c.Log, err = r.headAt(ctx, state.LastSeq, 0); err != nil {
			return c, err
		}
	}
	return c, r.agree(ctx, &c, state.LastSeq)
}

func (r *recorder) agree(ctx context.Context, c *Comparison, lastSeq uint64) error {
	switch {
	case c.Archive.Number > c.Log.Number:
		c.Problem = fmt.Sprintf("the log ends at record %d, the archive holds %d", c.Log.Number, c.Archive.Number)
	case c.Archive.Number == 0:
	default:
		seq, err := r.seqOf(ctx, c.Archive.Number, lastSeq)
		if err != nil {
			return err
		}
		same, err := r.headAt(ctx, seq, c.Archive.Number)
		if err != nil {
			return err
		}
		if same != c.Archive {
			c.Problem = fmt.Sprintf("record %d in the log is not the one in the archive", c.Archive.Number)
		}
	}
	return nil
}

// headAt is a record of a page as a head: the one with the number, or the last.
func (r *recorder) headAt(ctx context.Context, seq, number uint64) (Head, error) {
	page, err := r.page(ctx, seq)
	if err != nil {
		return Head{}, err
	}
	if number == 0 {
		number = page.Last()
	}
	if number < page.First || number > page.Last() {
		return Head{}, nil
	}
	return Head{number, events.LeafHash(page.Lines[number-page.First])}, nil
}

// Compare compares a facility's log with the archive.
func (j *Journal) Compare(ctx context.Context, facility string) (Comparison, error) {
	r := j.recorder(facility)
	if r == nil || r.stream == nil {
		return Comparison{Facility: facility, Archive: j.archive.Position(facility), Problem: "its stream is missing"}, nil
	}
	return r.comparison(ctx)
}
