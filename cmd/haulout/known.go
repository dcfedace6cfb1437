package main

import (
	"context"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"

	"haulout/events"
	"haulout/projections"
)

// known is what a facility knows: the lists that names in a file are held
// against.
type known struct {
	projections.Facility
	zone       *time.Location
	animals    []projections.Animal // everyone who ever lived there
	foods      []projections.Food
	enclosures []projections.Enclosure
	lots       map[string]bool
}

// facilities lists the facilities in reach.
func (c *client) facilities(ctx context.Context) ([]projections.Facility, error) {
	var answer struct {
		Facilities []projections.Facility `json:"facilities"`
	}
	return answer.Facilities, c.get(ctx, "/api/v1/facilities", &answer)
}

// facility finds the facility with a code, or with "" the only one.
func (c *client) facility(ctx context.Context, code string) (projections.Facility, error) {
	list, err := c.facilities(ctx)
	if err != nil {
		return projections.Facility{}, err
	}
	var codes []string
	for _, f := range list {
		if codes = append(codes, f.Code); f.Code == code {
			return f, nil
		}
	}
	switch {
	case len(list) == 0:
		return projections.Facility{}, fmt.Errorf("no facility is open at %s in your reach; haulout serve --facility CODE --zone ZONE opens one", c.where)
	case code != "":
		return projections.Facility{}, useError{fmt.Errorf("no facility has the code %q%s; there are %s", code, meant(code, codes), strings.Join(codes, ", "))}
	case len(list) > 1:
		return projections.Facility{}, useError{fmt.Errorf("say which facility with --facility: %s", strings.Join(codes, ", "))}
	}
	return list[0], nil
}

func (c *client) knownAt(ctx context.Context, code string) (*known, error) {
	f, err := c.facility(ctx, code)
	if err != nil {
		return nil, err
	}
	k := &known{Facility: f, lots: map[string]bool{}}
	if k.zone, err = time.LoadLocation(f.Zone); err != nil {
		return nil, fmt.Errorf("the zone of %s: %w", f.Code, err)
	}
	if k.animals, err = c.animalsOf(ctx, f.Code); err != nil {
		return nil, err
	}
	var lists struct {
		Foods      []projections.Food      `json:"foods"`
		Enclosures []projections.Enclosure `json:"enclosures"`
		Lots       []projections.Lot       `json:"lots"`
	}
	for _, list := range []string{"foods", "enclosures", "lots"} {
		if err := c.get(ctx, "/api/v1/"+list+"?facility="+url.QueryEscape(f.Code), &lists); err != nil {
			return nil, err
		}
	}
	k.foods, k.enclosures = lists.Foods, lists.Enclosures
	for _, lot := range lists.Lots {
		k.lots[lot.ID] = true
	}
	return k, nil
}

// animalsOf lists everyone who ever lived at a facility.
func (c *client) animalsOf(ctx context.Context, code string) ([]projections.Animal, error) {
	var answer struct {
		Animals []projections.Animal `json:"animals"`
	}
	err := c.get(ctx, "/api/v1/animals", &answer)
	return slices.DeleteFunc(answer.Animals, func(a projections.Animal) bool {
		return !slices.ContainsFunc(a.Stays, func(s projections.Stay) bool { return s.Facility == code })
	}), err
}

// named finds the id of what a cell names by id or by name.
func named[T any](cell string, list []T, of func(T) (id, name string)) (id string, found bool) {
	for _, one := range list {
		if id, _ := of(one); id == cell {
			return id, true
		}
	}
	return called(cell, list, of)
}

// called finds the id of what has a name.
func called[T any](name string, list []T, of func(T) (id, name string)) (id string, found bool) {
	for _, one := range list {
		if id, has := of(one); events.NameFold(has) == events.NameFold(name) {
			return id, true
		}
	}
	return "", false
}

func namesOf[T any](list []T, of func(T) (id, name string)) (out []string) {
	for _, one := range list {
		id, name := of(one)
		out = append(out, name, id)
	}
	return out
}

func animalNamed(a projections.Animal) (id, name string)       { return a.ID, a.Name }
func foodNamed(f projections.Food) (id, name string)           { return f.ID, f.Name }
func enclosureNamed(e projections.Enclosure) (id, name string) { return e.ID, e.Name }
