package events

import (
	"fmt"
	"math"
	"math/big"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Problem says what is wrong with one field of a fact, and what to do.
type Problem struct {
	Field  string `json:"field"`
	Detail string `json:"detail"`
}

// Problems is why a fact was not taken. It is never empty when it is an error.
type Problems []Problem

func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, one := range p {
		lines[i] = one.Field + ": " + one.Detail
	}
	return strings.Join(lines, "; ")
}

func (p *Problems) add(field, format string, args ...any) {
	*p = append(*p, Problem{field, fmt.Sprintf(format, args...)})
}

// within says that the problems from since on are those of a field.
func (p Problems) within(field string, since int) {
	for i := since; i < len(p); i++ {
		if rest := p[i].Field; rest != "" && rest[0] != '[' {
			p[i].Field = field + "." + rest
		} else {
			p[i].Field = field + rest
		}
	}
}

// at says that the problems from since on are those of a list's entry.
func (p Problems) at(index, since int) {
	if since < len(p) {
		p.within(indexed("", index), since)
	}
}

// Ref names something that facts are about: an animal, a lot, an enclosure.
type Ref struct {
	Sort string // animal, enclosure, food, lot, behaviour, session, watch, entry, facility
	ID   string
}

func (r Ref) String() string { return r.Sort + "/" + r.ID }

// crossChecker is a body with a rule that spans several of its fields.
type crossChecker interface{ check(*Problems) }

// rules is what the tags of one struct type say, read once.
type rules []rule

type rule struct {
	index    int
	name     string // wire name
	typ      reflect.Type
	optional bool
	ref      string
	fresh    bool // this field brings ref into being
	named    bool // this field is the name people use
	units    []string
	sizes    []float64 // of each unit, in its reference unit
	min, max *big.Rat
	least    float64 // min and max as floats
	most     float64
	enum     []string
	format   string
	length   int
	doc      string
	inner    rules // of a nested struct, or of the elements of a list
}

var quantityType = reflect.TypeFor[Quantity]()

// rulesOf reads the tags of a struct type. A tag that can't be read is a
// programming error and stops the program at its start.
func rulesOf(t reflect.Type) rules {
	out := make(rules, 0, t.NumField())
	for i := range t.NumField() {
		out = append(out, ruleOf(t.Field(i), i))
	}
	return out
}

func ruleOf(f reflect.StructField, index int) rule {
	wire, options, _ := strings.Cut(f.Tag.Get("json"), ",")
	r := rule{
		index: index, name: wire, typ: f.Type, optional: options != "",
		ref: f.Tag.Get("ref"), format: f.Tag.Get("format"), doc: f.Tag.Get("doc"), length: 200,
	}
	if fresh := f.Tag.Get("new"); fresh != "" {
		r.ref, r.fresh = fresh, true
	}
	_, r.named = f.Tag.Lookup("name")
	r.units, r.enum = list(f.Tag.Get("unit")), list(f.Tag.Get("enum"))
	r.min, r.max = bound(f.Tag.Get("min")), bound(f.Tag.Get("max"))
	r.least, r.most = float(r.min), float(r.max)
	for _, unit := range r.units {
		r.sizes = append(r.sizes, Quantity{"1", unit}.Float(r.reference(unit)))
	}
	if n, err := strconv.Atoi(f.Tag.Get("len")); err == nil {
		r.length = n
	}
	elem := f.Type
	for elem.Kind() == reflect.Slice {
		elem = elem.Elem()
	}
	if elem.Kind() == reflect.Struct && elem != quantityType {
		r.inner = rulesOf(elem)
	}
	return r
}

func list(tag string) []string {
	if tag == "" {
		return nil
	}
	return strings.Split(tag, ",")
}

func bound(tag string) *big.Rat {
	if tag == "" {
		return nil
	}
	r, ok := new(big.Rat).SetString(tag)
	if !ok {
		panic("events: a bound that is no number: " + tag)
	}
	return r
}

func float(r *big.Rat) (f float64) {
	if r != nil {
		f, _ = r.Float64()
	}
	return f
}

// check adds a problem for each field of v that breaks its rule. The field of
// a problem is written from the inside out, and only where there is one, since
// nearly every fact is sound.
func (rs rules) check(v reflect.Value, out *Problems) {
	for i := range rs {
		r, since := &rs[i], len(*out)
		r.check(v.Field(r.index), r.optional, out)
		out.within(r.name, since)
	}
}

func (r *rule) check(v reflect.Value, optional bool, out *Problems) {
	kind := v.Kind()
	empty := v.IsZero() || kind == reflect.Slice && v.Len() == 0
	if empty && kind != reflect.Bool && (optional || kind != reflect.Int) {
		if !optional {
			out.add("", "is missing; give %s", r.wanted())
		}
		return
	}
	switch {
	case v.Type() == quantityType:
		r.checkQuantity(*v.Addr().Interface().(*Quantity), out)
	case kind == reflect.String:
		r.checkText(v.String(), out)
	case kind == reflect.Int:
		r.checkRange(new(big.Rat).SetInt64(v.Int()), "", out)
	case kind == reflect.Struct:
		r.inner.check(v, out)
	case kind == reflect.Slice && v.Type().Elem().Kind() != reflect.Uint8:
		r.checkList(v, out)
	}
}

func (r *rule) wanted() string {
	switch {
	case r.doc != "":
		return r.doc
	case r.ref != "":
		return "the id of the " + r.ref
	case r.enum != nil:
		return "one of " + strings.Join(r.enum, ", ")
	}
	return "a value"
}

// maxList bounds lists, so that one fact stays a fact and not a file.
const maxList = 500

func (r *rule) checkList(v reflect.Value, out *Problems) {
	if v.Len() > maxList {
		out.add("", "has %d entries; at most %d fit in one fact", v.Len(), maxList)
		return
	}
	for i := range v.Len() {
		since := len(*out)
		if r.inner != nil {
			r.inner.check(v.Index(i), out)
		} else {
			r.check(v.Index(i), false, out)
		}
		out.at(i, since)
	}
}

func (r *rule) checkQuantity(q Quantity, out *Problems) {
	i := slices.Index(r.units, q.Unit)
	if i < 0 {
		out.add("unit", "is %q; use one of %s", short(q.Unit), strings.Join(r.units, ", "))
		return
	}
	if !plainDecimal(q.Value) {
		out.add("value", "is %q; write a plain decimal number in quotes, such as \"81.5\"", short(q.Value))
		return
	}
	if f, _ := strconv.ParseFloat(q.Value, 64); r.clearOfBounds(f * r.sizes[i]) {
		return
	}
	unit, since := r.reference(q.Unit), len(*out)
	if value, err := q.In(unit); err == nil {
		r.checkRange(value, " "+unit, out)
	}
	out.within("value", since)
}

// clearOfBounds says that a value is so far inside the bounds that the rounding
// of a float64 can't matter; near them the exact value decides.
func (r *rule) clearOfBounds(f float64) bool {
	const guard = 1e-9
	return (r.min == nil || f >= r.least+guard*math.Abs(r.least)) && (r.max == nil || f <= r.most-guard*math.Abs(r.most))
}

// reference is the unit that the bounds are in: the first of the tag, or the
// unit itself where the tag allows several dimensions.
func (r *rule) reference(unit string) string {
	if unitSize[unit].dimension == unitSize[r.units[0]].dimension {
		return r.units[0]
	}
	return unit
}

func (r *rule) checkRange(value *big.Rat, unit string, out *Problems) {
	switch {
	case r.min != nil && value.Cmp(r.min) < 0:
		out.add("", "is %s%s; the least that is taken is %s%s", plain(value), unit, plain(r.min), unit)
	case r.max != nil && value.Cmp(r.max) > 0:
		out.add("", "is %s%s; the most that is taken is %s%s", plain(value), unit, plain(r.max), unit)
	}
}

func plain(r *big.Rat) string {
	f, _ := r.Float64()
	return strconv.FormatFloat(f, 'f', -1, 64)
}

func (r *rule) checkText(s string, out *Problems) {
	switch {
	case len(s) > r.length:
		out.add("", "has %d bytes; at most %d fit", len(s), r.length)
	case !utf8.ValidString(s) || strings.ContainsRune(s, 0):
		out.add("", "holds bytes that are not text")
	case r.enum != nil && !slices.Contains(r.enum, s):
		out.add("", "is %q; use one of %s", s, strings.Join(r.enum, ", "))
	case r.ref == "entry":
		if !ValidID(s) {
			out.add("", "is %q; give the id of the entry, a UUID", s)
		}
	case r.ref != "":
		if !ValidCode(s) {
			out.add("", "is %q; an id has letters, digits, dot, dash or underscore, at most 64", s)
		}
	case r.format != "":
		if err := formats[r.format](s); err != nil {
			out.add("", "is %q; %v", s, err)
		}
	}
}

// ValidID says whether s is a UUID in its usual lower-case form.
func ValidID(s string) bool {
	const form = "00000000-0000-0000-0000-000000000000"
	if len(s) != len(form) {
		return false
	}
	for i := range len(s) {
		hex := s[i] >= '0' && s[i] <= '9' || s[i] >= 'a' && s[i] <= 'f'
		if dash := form[i] == '-'; dash && s[i] != '-' || !dash && !hex {
			return false
		}
	}
	return true
}

// codePattern is ValidCode for programs that read the schema.
const codePattern = `^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$`

// ValidCode says whether s can name an animal, a lot, a facility or a keeper.
func ValidCode(s string) bool {
	for i := range len(s) {
		b := s[i]
		letter := b >= '0' && b <= '9' || b >= 'A' && b <= 'Z' || b >= 'a' && b <= 'z'
		if mark := b == '.' || b == '_' || b == '-'; !letter && (!mark || i == 0) {
			return false
		}
	}
	return len(s) > 0 && len(s) <= 64
}

// ValidFacility says whether s can be the code of a facility: it names a
// stream and stands in addresses, so it has small letters, digits and dashes.
func ValidFacility(s string) bool {
	return ValidCode(s) && len(s) <= 32 && s == strings.ToLower(s) && !strings.ContainsAny(s, "._")
}

// formats checks texts whose form is fixed by a standard.
var formats = map[string]func(string) error{
	"date":     checkDate,
	"clock":    checkClock,
	"edtf":     checkEDTF,
	"instant":  func(s string) error { _, err := ParseTime(s); return err },
	"zone":     checkZone,
	"code":     checkCode,
	"digest":   func(s string) error { _, err := ParseHash(s); return err },
	"iso11784": checkTransponder,
}

func checkDate(s string) error {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return fmt.Errorf("write a date as 2026-03-01")
	}
	return nil
}

func checkClock(s string) error {
	if _, err := time.Parse("15:04", s); err != nil || len(s) != len("15:04") {
		return fmt.Errorf("write a time of the day as 08:30")
	}
	return nil
}

func checkZone(s string) error {
	if _, err := time.LoadLocation(s); err != nil || s == "Local" {
		return fmt.Errorf("name a zone of the IANA time zone database, such as Europe/Dublin")
	}
	return nil
}

func checkCode(s string) error {
	if !ValidCode(s) {
		return fmt.Errorf("use letters, digits, dot, dash or underscore, at most 64")
	}
	return nil
}

// checkTransponder follows ISO 11784: 15 digits, of which the last 12 are a
// 38-bit number and the first 3 a country (ISO 3166-1 numeric) or a
// manufacturer (900 to 998). 999 is for tests, 000 is none.
func checkTransponder(s string) error {
	digits := strings.Trim(s, "0123456789") == "" && len(s) == 15
	if !digits || s[:3] == "000" || s[:3] == "999" {
		return fmt.Errorf("an ISO 11784 code has 15 digits and starts with a country or manufacturer number")
	}
	if n, _ := strconv.ParseUint(s[3:], 10, 64); n > 1<<38-1 {
		return fmt.Errorf("the last 12 digits of an ISO 11784 code are at most 274877906943")
	}
	return nil
}

// ParseTime reads an RFC 3339 time; a fact's time always says its offset.
func ParseTime(s string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil || loose(s) || t.Year() < 1900 || t.Year() > 9998 {
		return time.Time{}, fmt.Errorf("write a time with its offset, such as 2026-03-01T16:00:00Z")
	}
	return t.UTC(), nil
}

// loose finds what time.Parse takes and RFC 3339 does not: an hour of one
// digit, a comma for the point, an offset of 24 hours.
func loose(s string) bool {
	end := len(s)
	return s[13] != ':' || s[19] == ',' || (s[end-3] == ':' && s[end-5:end-3] == "24")
}
