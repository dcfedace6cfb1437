package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// readEvents reads encounters that followed each other as they are listed. All
// that is wrong with them is told at once.
func (in *hierarchyInput) readEvents(f *hierarchyFile) error {
	list := []json.RawMessage{}
	if err := json.Unmarshal(f.Events, &list); err != nil {
		return fmt.Errorf("events is %.60s; give a list of encounters", f.Events)
	}
	var errs []error
	for i, raw := range list {
		m, err := f.event(raw)
		if err == nil && len(in.met) > 0 && !m.after(in.met[len(in.met)-1]) {
			err = errors.New(" is before the one above it; list events as they followed each other")
		}
		if err != nil {
			errs = append(errs, fmt.Errorf("events[%d]%w", i, err))
			continue
		}
		in.met = append(in.met, m)
	}
	if len(errs) > told {
		errs = append(errs[:told], fmt.Errorf("… and %d more problems", len(errs)-told))
	}
	if err := errors.Join(errs...); err != nil {
		return err
	}
	return in.count(f.IDs)
}

// event reads an encounter; its error goes on from where it stands.
func (f *hierarchyFile) event(raw json.RawMessage) (meeting, error) {
	text, err := eventText(raw)
	if err != nil {
		return meeting{}, err
	}
	m, wrong := text.read(f.animal)
	return m, slipsOf(wrong)
}

func slipsOf(wrong []slip) error {
	var out []string
	for _, w := range wrong {
		out = append(out, fmt.Sprintf("%s %q: %s", w.field, w.value, w.why))
	}
	if out == nil {
		return nil
	}
	return errors.New(", " + strings.Join(out, "; "))
}

func (f *hierarchyFile) animal(name string) (string, string) {
	if !slices.Contains(f.IDs, name) {
		return "", "is not one of ids; add it there or correct the name" + meant(name, f.IDs)
	}
	return name, ""
}

// eventText takes an encounter as a list, or as an object with the columns of a
// sheet.
func eventText(raw json.RawMessage) (encounterText, error) {
	if bytes.HasPrefix(raw, []byte("{")) {
		return eventObject(raw)
	}
	cells := []string{}
	if err := json.Unmarshal(raw, &cells); err != nil || len(cells) < 2 || len(cells) > 4 {
		return encounterText{}, fmt.Errorf(" is %.60s; give texts: winner and loser, or day, winner and loser, or day, time, winner and loser", raw)
	}
	n := len(cells)
	return encounterText{time: strings.Join(cells[:n-2], " "), winner: cells[n-2], loser: cells[n-1]}, nil
}

func eventObject(raw json.RawMessage) (encounterText, error) {
	var o object
	var e struct {
		Time      string          `json:"time"`
		Winner    string          `json:"winner"`
		Loser     string          `json:"loser"`
		Draw      json.RawMessage `json:"draw"`
		Intensity string          `json:"intensity"`
		Place     string          `json:"place"`
		Cause     string          `json:"cause"`
		Signal    json.RawMessage `json:"signal"`
	}
	if err := errors.Join(json.Unmarshal(raw, &o), o.into(&e)); err != nil {
		return encounterText{}, fmt.Errorf(": %w", err)
	}
	return encounterText{e.Time, e.Winner, e.Loser, strings.Trim(string(e.Draw), `"`), e.Intensity, e.Place, e.Cause}, nil
}
