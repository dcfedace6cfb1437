package main

import (
	"context"
	"fmt"
	"net/url"

	"haulout/events"
	"haulout/projections"
)

// refs is what a facility knows.
type refs map[events.Ref]bool

// refsOf reads what a facility knows, everything that facts must not name
// before it is defined.
func (c *client) refsOf(ctx context.Context, code string) (refs, error) {
	k, err := c.knownAt(ctx, code)
	if err != nil {
		return nil, err
	}
	var more struct {
		Behaviours []projections.Behaviour `json:"behaviours"`
	}
	if err := c.get(ctx, "/api/v1/behaviours?facility="+url.QueryEscape(code), &more); err != nil {
		return nil, err
	}
	out := refs{}
	for _, a := range k.animals {
		out[events.Ref{Sort: "animal", ID: a.ID}] = true
	}
	for _, f := range k.foods {
		out[events.Ref{Sort: "food", ID: f.ID}] = true
	}
	for _, e := range k.enclosures {
		out[events.Ref{Sort: "enclosure", ID: e.ID}] = true
	}
	for lot := range k.lots {
		out[events.Ref{Sort: "lot", ID: lot}] = true
	}
	for _, b := range more.Behaviours {
		out[events.Ref{Sort: "behaviour", ID: b.ID}] = true
	}
	return out, nil
}

// defined is what a fact brings into being, if others may only name it then.
func defined(ev events.Event) (ref events.Ref) {
	switch b := ev.Body.(type) {
	case *events.AnimalEntered:
		return events.Ref{Sort: "animal", ID: b.Animal}
	case *events.EnclosureDescribed:
		return events.Ref{Sort: "enclosure", ID: b.Enclosure}
	case *events.FoodDescribed:
		return events.Ref{Sort: "food", ID: b.Food}
	case *events.LotReceived:
		return events.Ref{Sort: "lot", ID: b.Lot}
	case *events.BehaviourPlanned:
		return events.Ref{Sort: "behaviour", ID: b.Behaviour}
	}
	return ref
}

// unknownIn finds what a fact names and its facility does not know. A fact that
// is on record was right when it came.
func (im *importer) unknownIn(ctx context.Context, f *recordsFile, ev events.Event) (out events.Problems, err error) {
	known := f.lists[ev.Facility]
	if known == nil {
		if known, err = im.client.refsOf(ctx, ev.Facility); err != nil {
			return nil, err
		}
		f.lists[ev.Facility] = known
	}
	if ref := defined(ev); ref.ID != "" {
		known[ref] = true
	}
	for _, ref := range ev.Refs() {
		switch ref.Sort {
		case "animal", "enclosure", "food", "lot", "behaviour":
			if !known[ref] {
				out = append(out, events.Problem{Field: "data", Detail: fmt.Sprintf("names the %s %q, which %s does not know", ref.Sort, ref.ID, ev.Facility)})
			}
		}
	}
	if len(out) == 0 {
		return nil, nil
	}
	before, err := im.client.find(ctx, ev.ID)
	if err != nil || before != nil {
		return nil, err
	}
	return out, nil
}
