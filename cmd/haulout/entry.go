package main

import (
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

	"haulout/events"
)

// entry is a fact and the rows that it was made from.
type entry struct {
	draft events.Draft
	rows  []*row
}

func (e entry) bad() bool { return slices.ContainsFunc(e.rows, func(r *row) bool { return r.bad }) }

const yetToCome = "is yet to come; what is imported has happened"

func (im *importer) add(r *row, kind string, at time.Time, body events.Body) {
	im.addAll([]*row{r}, kind, at, body)
}

// addAll adds a fact whose id follows from what it says, and from how many
// times the file said it before.
func (im *importer) addAll(rows []*row, kind string, at time.Time, body events.Body) {
	data, err := events.MakeData(body)
	if err != nil {
		im.problem(rows[0], "", "", "%v", err)
		return
	}
	meaning := strings.Join([]string{im.facility, kind, at.UTC().Format(time.RFC3339Nano), string(data)}, "\x00")
	im.equal[meaning]++
	im.addWithID(derived(meaning, strconv.Itoa(im.equal[meaning])), rows, kind, at, body)
}

// addWithID checks a fact and keeps it to be sent. A row that is bad already
// has no fact to check.
func (im *importer) addWithID(id string, rows []*row, kind string, at time.Time, body events.Body) {
	if slices.ContainsFunc(rows, func(r *row) bool { return r.bad }) {
		return
	}
	if at.After(time.Now().Add(events.Skew)) {
		im.problem(rows[0], "time", rows[0].cell("time"), yetToCome)
		im.spoil(rows)
		return
	}
	data, err := events.MakeData(body)
	if err != nil {
		im.problem(rows[0], "", "", "%v", err)
		return
	}
	e := entry{events.Draft{ID: id, Type: events.TypeOf(kind), Time: at.UTC().Format(time.RFC3339Nano), Facility: im.facility, Data: data}, rows}
	_, err = e.draft.Fact()
	im.check(e, err)
	im.facts = append(im.facts, e)
	im.checking.at(len(im.facts))
}

// check notes what the vocabulary says against a fact.
func (im *importer) check(e entry, err error) {
	problems, ok := errors.AsType[events.Problems](err)
	if !ok && err != nil {
		problems = events.Problems{{Detail: err.Error()}}
	}
	for _, p := range problems {
		im.refused(e, p)
	}
}
