package journal

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"strconv"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"haulout/events"
)

// firstHeader carries the number of a page's first record, so that a page can
// be found by record number without reading it.
const firstHeader = "Haulout-First"

// pageWait is how long a page may take before it is asked for by its number.
const pageWait = 2 * time.Second

func pageOf(facility string, header nats.Header, data []byte) (events.Page, error) {
	first, err := strconv.ParseUint(header.Get(firstHeader), 10, 64)
	if err != nil {
		return events.Page{}, fmt.Errorf("%w: a page of %s without the number of its first record", ErrDamage, facility)
	}
	lines, err := events.SplitPage(data)
	if err != nil {
		return events.Page{}, fmt.Errorf("%w: a page of %s at record %d: %w", ErrDamage, facility, first, err)
	}
	return events.Page{Facility: facility, First: first, Lines: lines}, nil
}

func (r *recorder) page(ctx context.Context, seq uint64) (events.Page, error) {
	msg, err := r.stream.GetMsg(ctx, seq)
	if errors.Is(err, jetstream.ErrMsgNotFound) {
		return events.Page{}, fmt.Errorf("%w: page %d of %s is missing", ErrDamage, seq, r.facility)
	}
	if err != nil {
		return events.Page{}, fmt.Errorf("read page %d of %s: %w", seq, r.facility, err)
	}
	return pageOf(r.facility, msg.Header, msg.Data)
}

// seqOf finds the stream sequence of the page that holds a record, by halving.
func (r *recorder) seqOf(ctx context.Context, number, last uint64) (uint64, error) {
	low, high := uint64(1), last // the page lies in low … high
	for low < high {
		middle := (low + high + 1) / 2
		page, err := r.page(ctx, middle)
		if err != nil {
			return 0, err
		}
		if page.First <= number {
			low = middle
		} else {
			high = middle - 1
		}
	}
	return low, nil
}

// pages reads the log after a record up to its end as it is now.
func (r *recorder) pages(ctx context.Context, after uint64) iter.Seq2[events.Page, error] {
	return func(yield func(events.Page, error) bool) {
		if err := r.read(ctx, after, yield); err != nil {
			yield(events.Page{}, err)
		}
	}
}

func (r *recorder) read(ctx context.Context, after uint64, yield func(events.Page, error) bool) error {
	info, err := r.stream.Info(ctx)
	if err != nil {
		return fmt.Errorf("ask for the state of the log of %s: %w", r.facility, err)
	}
	last := info.State.LastSeq
	if last == 0 {
		return nil
	}
	seq := uint64(1)
	if after > 0 {
		if seq, err = r.seqOf(ctx, after+1, last); err != nil {
			return err
		}
	}
	consumer, err := r.stream.OrderedConsumer(ctx, jetstream.OrderedConsumerConfig{DeliverPolicy: jetstream.DeliverByStartSequencePolicy, OptStartSeq: seq})
	if err != nil {
		return fmt.Errorf("read the log of %s: %w", r.facility, err)
	}
	messages, err := consumer.Messages(jetstream.PullMaxMessagesWithBytesLimit(500, 16<<20))
	if err != nil {
		return fmt.Errorf("read the log of %s: %w", r.facility, err)
	}
	defer messages.Stop()
	stop := context.AfterFunc(ctx, messages.Stop)
	defer stop()
	for ; seq <= last; seq++ {
		page, err := r.nextPage(ctx, messages, seq)
		if err != nil {
			return errors.Join(ctx.Err(), err)
		}
		if page.Last() > after && !yield(page, nil) {
			return nil
		}
	}
	return nil
}

// nextPage takes the next message and insists that none is missing before it:
// JetStream passes over a damaged message without a word.
func (r *recorder) nextPage(ctx context.Context, messages jetstream.MessagesContext, want uint64) (events.Page, error) {
	msg, err := messages.Next(jetstream.NextMaxWait(pageWait))
	for errors.Is(err, nats.ErrTimeout) { // after a damaged last message none comes
		if _, err := r.page(ctx, want); err != nil {
			return events.Page{}, err
		}
		msg, err = messages.Next(jetstream.NextMaxWait(pageWait))
	}
	if err != nil {
		return events.Page{}, fmt.Errorf("read page %d of %s: %w", want, r.facility, err)
	}
	meta, err := msg.Metadata()
	if err != nil {
		return events.Page{}, err
	}
	if meta.Sequence.Stream != want {
		return events.Page{}, fmt.Errorf("%w: page %d of %s is missing, %d came instead", ErrDamage, want, r.facility, meta.Sequence.Stream)
	}
	return pageOf(r.facility, msg.Headers(), msg.Data())
}
