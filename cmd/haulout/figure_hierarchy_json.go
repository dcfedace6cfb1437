package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"haulout/projections/dominance"
)

// hierarchyFile is the object as it is written. What it says of its source and
// of what others found is not read.
type hierarchyFile struct {
	ID         json.RawMessage `json:"id"`
	Species    json.RawMessage `json:"species"`
	Setting    json.RawMessage `json:"setting"`
	Sex        json.RawMessage `json:"sex"`
	Behaviour  json.RawMessage `json:"behaviour"`
	Source     json.RawMessage `json:"source"`
	Published  json.RawMessage `json:"published"`
	Computed   json.RawMessage `json:"computed"`
	Notes      json.RawMessage `json:"notes"`
	Order      json.RawMessage `json:"order"`
	Kind       string          `json:"kind"`
	Convention string          `json:"convention"`
	IDs        words           `json:"ids"`
	Matrix     json.RawMessage `json:"matrix"`
	Events     json.RawMessage `json:"events"`
	Ops        json.RawMessage `json:"ops"`
	Starts     json.RawMessage `json:"start_values"`
	Params     json.RawMessage `json:"params"`
}

func (in *hierarchyInput) readObject(path string, text []byte) error {
	var o object
	if err := json.Unmarshal(text, &o); err != nil {
		return fmt.Errorf("%s is no JSON object: %w", path, err)
	}
	var f hierarchyFile
	if err := o.into(&f); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if err := in.take(&f); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return nil
}

func (in *hierarchyInput) take(f *hierarchyFile) error {
	in.kind, in.listed = f.Kind, true
	has := 0
	for _, raw := range []json.RawMessage{f.Matrix, f.Events, f.Ops} {
		if raw != nil {
			has++
		}
	}
	switch {
	case has == 0:
		return errors.New("there is neither a matrix nor events; give ids with one of them")
	case has > 1:
		return errors.New("there is more than one of matrix, events and ops; leave all but one out")
	case f.IDs == nil:
		return errors.New("ids is missing; name the animals")
	}
	for i, id := range f.IDs {
		if strings.TrimSpace(id) == "" {
			return fmt.Errorf("ids[%d] is empty; name the animal", i)
		}
	}
	if err := in.readScale(f); err != nil {
		return err
	}
	switch {
	case f.Matrix != nil:
		return in.readMatrix(f)
	case f.Ops != nil:
		return in.readOps(f)
	}
	return in.readEvents(f)
}

func (in *hierarchyInput) readMatrix(f *hierarchyFile) error {
	rows := [][]*float64{}
	if err := json.Unmarshal(f.Matrix, &rows); err != nil {
		return fmt.Errorf("matrix is %.60s; give a list with a row for each animal, and in each row a count for each", f.Matrix)
	}
	in.matrix = dominance.Matrix{IDs: f.IDs}
	for i, row := range rows {
		wins := make([]float64, len(row))
		for j, n := range row {
			switch {
			case n != nil:
				wins[j] = *n
			case i != j:
				return fmt.Errorf("matrix[%d][%d] is null; give a count, 0 where none was seen", i, j)
			}
		}
		in.matrix.Wins = append(in.matrix.Wins, wins)
	}
	if err := in.matrix.Check(); err != nil {
		return err
	}
	says, _, _ := strings.Cut(f.Convention, ";")
	switch says = strings.TrimSpace(says); says {
	case "", "row beats column":
		return nil
	case "column beats row":
		in.matrix = in.matrix.Transposed()
		return nil
	}
	return fmt.Errorf("convention is %q; write \"row beats column\" or \"column beats row\"", says)
}
