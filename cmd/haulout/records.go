package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"os"
	"time"

	"haulout/events"
)

// recordsFile is what a first reading of a file of records found: which facts
// are to be sent, for which facility, and which are not.
type recordsFile struct {
	path   string
	order  []string       // facilities as they come
	total  map[string]int // facts to send for each
	open   map[string]bool
	strays map[string]bool  // openings that are left out, and what corrects them
	wrong  map[int]bool     // lines that can't be taken
	books  map[string]*book // of facilities that are not open yet
	lists  map[string]refs  // of those that are
}

// book judges the facts of a facility that is not open yet as its recorder will:
// there, the file alone decides.
type book struct {
	register *events.Register
	defining map[string]*events.Event
}

// importRecords reads the file twice: once to check every line, once to send.
func (im *importer) importRecords(ctx context.Context, path string) error {
	list, err := im.client.facilities(ctx)
	if err != nil {
		return err
	}
	f := &recordsFile{path: path, total: map[string]int{}, open: map[string]bool{}, strays: map[string]bool{}, wrong: map[int]bool{}, books: map[string]*book{}, lists: map[string]refs{}}
	for _, one := range list {
		f.open[one.Code] = true
	}
	im.sum.Facility = im.facility
	for line, raw := range eachLine(path, &err) {
		if stop := im.checkRecord(ctx, f, line, raw); stop != nil {
			return stop
		}
	}
	if err != nil || !im.goesAhead() {
		return err
	}
	for _, facility := range f.order {
		if err := im.send(ctx, facility, f.total[facility], f.of(facility)); err != nil {
			return err
		}
	}
	return nil
}

// eachLine reads a file line by line; err is set where that ends before the end.
func eachLine(path string, err *error) iter.Seq2[int, []byte] {
	return func(yield func(int, []byte) bool) {
		f, opened := os.Open(path)
		if opened != nil {
			*err = opened
			return
		}
		defer f.Close()
		lines := bufio.NewScanner(f)
		lines.Buffer(nil, 4<<20)
		for n := 1; lines.Scan(); n++ {
			raw := bytes.TrimSpace(bytes.TrimPrefix(lines.Bytes(), []byte("\ufeff")))
			if len(raw) > 0 && !yield(n, raw) {
				return
			}
		}
		if e := lines.Err(); e != nil {
			*err = fmt.Errorf("read %s: %w", path, e)
		}
	}
}

// checkRecord judges one line. The error is one that ends the import.
func (im *importer) checkRecord(ctx context.Context, f *recordsFile, line int, raw []byte) error {
	var d events.Draft
	if err := json.Unmarshal(raw, &d); err != nil {
		im.sum.Rows++
		im.wrongLine(f, line, events.Problem{Detail: "is no record: " + err.Error()})
		return nil
	}
	if im.facility != "" && d.Facility != im.facility {
		return nil
	}
	im.sum.Rows++
	ev, err := d.Fact()
	if err != nil {
		problems, ok := errors.AsType[events.Problems](err)
		if !ok {
			problems = events.Problems{{Detail: err.Error()}}
		}
		im.wrongLine(f, line, problems...)
		return nil
	}
	if stray, err := im.isStray(ctx, f, ev); err != nil || stray {
		return err
	}
	problems, err := im.judge(ctx, f, ev)
	if err != nil || len(problems) > 0 {
		im.wrongLine(f, line, problems...)
		return err
	}
	if f.total[ev.Facility]++; f.total[ev.Facility] == 1 {
		f.order = append(f.order, ev.Facility)
	}
	im.sum.Facts[events.KindName(ev.Type)]++
	return nil
}

// isStray says whether a fact is the opening of a facility that was opened
// otherwise, or a correction of one: it has no place there.
func (im *importer) isStray(ctx context.Context, f *recordsFile, ev events.Event) (bool, error) {
	if target := ev.Target(); target != "" && f.strays[target] {
		f.strays[ev.ID] = true
		im.sum.LeftOut++
		im.note("entry %s for %s was left out: it corrects the opening that was", ev.ID, ev.Facility)
		return true, nil
	}
	if events.KindName(ev.Type) != "facility.opened" || !f.open[ev.Facility] {
		return false, nil
	}
	im.sum.LeftOut++
	im.note("the facility.opened of %s was left out: it is open already", ev.Facility)
	same, err := im.client.find(ctx, ev.ID)
	if err == nil && same == nil {
		f.strays[ev.ID] = true
		return true, nil
	}
	return true, err
}

// judge holds a fact against what its facility knows and what stands before it
// in the file.
func (im *importer) judge(ctx context.Context, f *recordsFile, ev events.Event) (events.Problems, error) {
	if ev.Time.After(time.Now().Add(events.Skew)) {
		return events.Problems{{Field: "time", Detail: yetToCome}}, nil
	}
	if f.open[ev.Facility] {
		return im.unknownIn(ctx, f, ev)
	}
	b := f.books[ev.Facility]
	if b == nil {
		b = &book{events.NewRegister(), map[string]*events.Event{}}
		f.books[ev.Facility] = b
	}
	return b.take(ev), nil
}

// take checks a fact and learns from it. Corrections of what defines nothing
// are left to the server.
func (b *book) take(ev events.Event) events.Problems {
	target := b.defining[ev.Target()]
	if ev.Target() != "" && target == nil {
		return nil
	}
	if err := b.register.Check(ev, target); err != nil {
		if problems, ok := errors.AsType[events.Problems](err); ok {
			return problems
		}
		return events.Problems{{Detail: err.Error()}}
	}
	b.register.Add(ev, target)
	if ev.Defines() || target != nil {
		b.defining[ev.ID] = &ev
	}
	return nil
}

func (im *importer) wrongLine(f *recordsFile, line int, problems ...events.Problem) {
	f.wrong[line] = len(problems) > 0
	for _, p := range problems {
		im.refused(entry{rows: []*row{{line: line}}}, p)
	}
}

// of reads the facts of one facility again, those that can't be taken left out.
func (f *recordsFile) of(facility string) iter.Seq2[entry, error] {
	return func(yield func(entry, error) bool) {
		var err error
		for line, raw := range eachLine(f.path, &err) {
			if f.wrong[line] {
				continue
			}
			var d events.Draft
			if err = json.Unmarshal(raw, &d); err != nil {
				break
			}
			opening := f.open[facility] && events.KindName(d.Type) == "facility.opened"
			if d.Facility != facility || f.strays[d.ID] || opening {
				continue
			}
			if !yield(entry{d, []*row{{line: line}}}, nil) {
				return
			}
		}
		if err != nil {
			yield(entry{}, err)
		}
	}
}
