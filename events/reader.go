package events

import (
	"errors"
	"reflect"
	"strconv"
)

// bodyReader fills a body from its canonical JSON by the rules of its kind. It
// is stricter than encoding/json, so that whatever is taken also fits the
// schema: names count to the letter, null is no value, and nothing stands
// twice. Each field at fault is named with its full path.
type bodyReader struct {
	canon
	problems Problems
}

// readBody reads a whole body. The error is Problems.
func readBody(data []byte, rs rules, v reflect.Value) error {
	b := bodyReader{canon: canon{src: data}}
	err := b.object(rs, v)
	if err == nil && b.at != len(data) {
		err = errors.New("more than one JSON value")
	}
	if err != nil {
		b.problems = Problems{{"", "can't be read: " + err.Error()}}
	}
	b.problems.within("data", 0)
	return b.problems.orNil()
}

func (b *bodyReader) object(rs rules, v reflect.Value) error {
	if b.next() != '{' {
		return b.refuse("an object")
	}
	b.at++
	var last []byte
	for first := true; !b.take('}'); first = false {
		if !first && !b.take(',') {
			return errors.New("expected , or } in an object")
		}
		name, err := b.name()
		if err != nil {
			return err
		}
		if !first && compareUTF16(last, name) >= 0 {
			return errors.New("names that are not in their canonical order")
		}
		last = name
		if err := b.member(rs, name, v); err != nil {
			return err
		}
	}
	return nil
}

func (b *bodyReader) member(rs rules, name []byte, v reflect.Value) error {
	since := len(b.problems)
	r := rs.named(name)
	if r == nil {
		b.problems.add(short(string(name)), "is not a field of this kind of fact; see its schema")
		return b.skip()
	}
	err := b.field(r, v.Field(r.index))
	b.problems.within(r.name, since)
	return err
}

func (rs rules) named(name []byte) *rule {
	for i := range rs {
		if rs[i].name == string(name) {
			return &rs[i]
		}
	}
	return nil
}

func (b *bodyReader) field(r *rule, v reflect.Value) error {
	switch v.Kind() {
	case reflect.String:
		return b.string(r, v)
	case reflect.Bool:
		return b.bool(v)
	case reflect.Int:
		return b.int(v)
	case reflect.Struct:
		if v.Type() == quantityType {
			return b.quantity(v)
		}
		return b.object(r.inner, v)
	}
	if v.Type().Elem().Kind() == reflect.Uint8 {
		return b.raw(v)
	}
	return b.list(r, v)
}

var quantityRules = rulesOf(quantityType)

func (b *bodyReader) quantity(v reflect.Value) error {
	if b.next() != '{' {
		return b.refuse(`a measured value, {"value":"81.5","unit":"kg"},`)
	}
	since := len(b.problems)
	if err := b.object(quantityRules, v); err != nil || len(b.problems) > since {
		return err
	}
	for i := range quantityRules {
		if r := &quantityRules[i]; v.Field(r.index).Len() == 0 {
			b.problems.add(r.name, `is missing; write a measured value as {"value":"81.5","unit":"kg"}`)
			return nil
		}
	}
	return nil
}

func (b *bodyReader) string(r *rule, v reflect.Value) error {
	if b.next() != '"' {
		return b.refuse("a text in quotes")
	}
	s, err := b.text()
	if len(s) == 0 && r.optional && (r.enum != nil || r.format != "" || r.ref != "") {
		b.problems.add("", "is empty; leave it out, or give %s", r.wanted())
	}
	v.SetString(string(s))
	return err
}

func (b *bodyReader) bool(v reflect.Value) error {
	if first := b.next(); first != 't' && first != 'f' {
		return b.refuse("true or false")
	}
	word, err := b.literal(nil)
	v.SetBool(string(word) == "true")
	return err
}

func (b *bodyReader) int(v reflect.Value) error {
	if !isNumber(b.next()) {
		return b.refuse("a whole number")
	}
	digits, err := b.number(nil)
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(string(digits))
	if err != nil {
		b.problems.add("", "is %s; a whole number is wanted", digits)
	}
	v.SetInt(int64(n))
	return nil
}

// raw keeps an object as it stands, for a body that is read later.
func (b *bodyReader) raw(v reflect.Value) error {
	if b.next() != '{' {
		return b.refuse("an object")
	}
	value, err := b.value(nil, 1)
	v.SetBytes(value)
	return err
}

func (b *bodyReader) list(r *rule, v reflect.Value) error {
	if b.next() != '[' {
		return b.refuse("a list")
	}
	b.at++
	n := 0
	v.Set(reflect.MakeSlice(v.Type(), 0, 2))
	for ; !b.take(']'); n++ {
		if n > 0 && !b.take(',') {
			return errors.New("expected , or ] in an array")
		}
		v.Grow(1)
		v.SetLen(n + 1)
		since := len(b.problems)
		if err := b.field(r, v.Index(n)); err != nil {
			return err
		}
		b.problems.at(n, since)
	}
	return nil
}

// refuse names the value that comes next as of the wrong sort, and passes it by.
func (b *bodyReader) refuse(wanted string) error {
	b.problems.add("", "is %s; %s is wanted", sortOf(b.next()), wanted)
	return b.skip()
}

func (b *bodyReader) skip() error {
	_, err := b.value(nil, 1)
	return err
}

// sortOf says in words what sort of JSON value starts with the byte.
func sortOf(first byte) string {
	switch {
	case first == '{':
		return "an object"
	case first == '[':
		return "a list"
	case first == '"':
		return "a text"
	case first == 't' || first == 'f':
		return "true or false"
	case first == 'n':
		return "null"
	}
	return "a number"
}
