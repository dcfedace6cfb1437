package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"os"
	"reflect"
	"slices"

	"github.com/spf13/cobra"
)

func newFigure() *cobra.Command {
	cmd := &cobra.Command{
		Use: "figure", Short: "Answer from a file, with no server",
		Long: "Works out an answer from a file alone: no server, no data folder, nothing is recorded.\n" +
			"Each answer says what it rests on and what it does not know.",
		FParseErrWhitelist: cobra.FParseErrWhitelist{UnknownFlags: true}, // so that a misspelt figure is told, not its options
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			var names []string
			for _, sub := range cmd.Commands() {
				names = append(names, sub.Name())
			}
			return useError{fmt.Errorf("there is no figure %q%s; haulout figure --help lists them", args[0], meant(args[0], names))}
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newFigureEnergy())
	cmd.AddCommand(newFigureHierarchy())
	cmd.AddCommand(newFigureRation())
	cmd.AddCommand(newFigureGrowth())
	cmd.AddCommand(newFigureWeights())
	cmd.AddCommand(newFigureCoat())
	cmd.AddCommand(newFigureSeason())
	cmd.AddCommand(newFigureSpace())
	return cmd
}

// object is a JSON object on its way into a struct.
type object map[string]json.RawMessage

func readObject(path string) (object, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var o object
	if err := json.Unmarshal(raw, &o); err != nil {
		return nil, fmt.Errorf("%s is no JSON object: %w", path, err)
	}
	return o, nil
}

// into fills the struct that out points to; what the object leaves out stays
// as it is. A key that no field has is refused, and so is a value of another
// form, with the key.
func (o object) into(out any) error {
	fields := map[string]reflect.Value{}
	for field, value := range reflect.ValueOf(out).Elem().Fields() {
		fields[field.Tag.Get("json")] = value
	}
	names, errs := slices.Sorted(maps.Keys(fields)), []error{}
	for _, key := range slices.Sorted(maps.Keys(o)) {
		field, known := fields[key]
		if !known {
			errs = append(errs, fmt.Errorf("the key %q is not known%s", key, meant(key, names)))
			continue
		}
		if err := json.Unmarshal(o[key], field.Addr().Interface()); err != nil {
			errs = append(errs, fmt.Errorf("%s is %.40s; give %s", key, o[key], formOf(field.Type())))
		}
	}
	return errors.Join(errs...)
}

// formOf says in words what a value must be.
func formOf(t reflect.Type) string {
	switch t {
	case reflect.TypeFor[numbers]():
		return "a number, or a list of numbers with null for what is not known"
	case reflect.TypeFor[words]():
		return "a list of names"
	}
	switch t.Kind() {
	case reflect.Pointer:
		return formOf(t.Elem())
	case reflect.Float64:
		return "a number"
	case reflect.Int:
		return "a whole number"
	case reflect.Slice:
		return "a list of objects"
	case reflect.Map:
		return "an object"
	}
	return "text"
}

// numbers is a list in which nil is not known. A list of one may be written as
// the number alone.
type numbers []*float64

func (n *numbers) UnmarshalJSON(raw []byte) error {
	if raw[0] == '[' || string(raw) == "null" {
		return json.Unmarshal(raw, (*[]*float64)(n))
	}
	*n = numbers{new(float64)}
	return json.Unmarshal(raw, (*n)[0])
}

// words is a list of names; one may be written alone.
type words []string

func (w *words) UnmarshalJSON(raw []byte) error {
	if raw[0] == '[' {
		return json.Unmarshal(raw, (*[]string)(w))
	}
	*w = words{""}
	return json.Unmarshal(raw, &(*w)[0])
}
