package events

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"unicode/utf16"
	"unicode/utf8"
)

// maxDepth bounds nesting, so that a hostile body can't exhaust the stack.
const maxDepth = 32

// Canonical rewrites one JSON value in the form of RFC 8785: members sorted by
// UTF-16 code units, numbers as ECMAScript prints them, no white space. It
// refuses what that form can't carry: repeated names, lone surrogates, bytes
// that are not UTF-8, numbers beyond a float64, and nesting deeper than 32.
func Canonical(src []byte) ([]byte, error) {
	c := canon{src: src}
	out, err := c.value(make([]byte, 0, len(src)), 0)
	if err != nil {
		return nil, fmt.Errorf("at byte %d: %w", c.at, err)
	}
	if c.space(); c.at != len(src) {
		return nil, fmt.Errorf("at byte %d: more than one JSON value", c.at)
	}
	return out, nil
}

type canon struct {
	src []byte
	at  int
}

func (c *canon) space() {
	for c.at < len(c.src) {
		switch c.src[c.at] {
		case ' ', '\t', '\n', '\r':
			c.at++
		default:
			return
		}
	}
}

// next skips white space and shows the byte that follows, 0 at the end.
func (c *canon) next() byte {
	if c.space(); c.at == len(c.src) {
		return 0
	}
	return c.src[c.at]
}

func (c *canon) take(b byte) bool {
	if c.next() != b {
		return false
	}
	c.at++
	return true
}

func (c *canon) value(out []byte, depth int) ([]byte, error) {
	if depth > maxDepth {
		return nil, fmt.Errorf("nested deeper than %d", maxDepth)
	}
	switch b := c.next(); {
	case b == '{':
		return c.object(out, depth)
	case b == '[':
		return c.array(out, depth)
	case b == '"':
		s, err := c.text()
		return appendText(out, s), err
	case isNumber(b):
		return c.number(out)
	default:
		return c.literal(out)
	}
}

// member is where one member of an object stands in what was written.
type member struct {
	name     []byte
	from, to int
}

// object writes the members as they come, which is mostly their order already,
// and moves them only where it is not.
func (c *canon) object(out []byte, depth int) ([]byte, error) {
	c.at++
	out = append(out, '{')
	start, sorted := len(out), true
	members := make([]member, 0, 8)
	for first := true; !c.take('}'); first = false {
		if !first && !c.take(',') {
			return nil, errors.New("expected , or } in an object")
		}
		name, err := c.name()
		if err != nil {
			return nil, err
		}
		from := len(out)
		out = append(appendText(out, name), ':')
		if out, err = c.value(out, depth+1); err != nil {
			return nil, err
		}
		sorted = sorted && (first || compareUTF16(members[len(members)-1].name, name) < 0)
		members = append(members, member{name, from, len(out)})
		out = append(out, ',')
	}
	if !sorted {
		if err := arrange(out[start:], members, start); err != nil {
			return nil, err
		}
	}
	if len(members) > 0 {
		out = out[:len(out)-1] // the last comma
	}
	return append(out, '}'), nil
}

// arrange puts the written members in order; written starts at start.
func arrange(written []byte, members []member, start int) error {
	slices.SortFunc(members, func(a, b member) int { return compareUTF16(a.name, b.name) })
	was, at := slices.Clone(written), 0
	for i, m := range members {
		if i > 0 && bytes.Equal(members[i-1].name, m.name) {
			return fmt.Errorf("name %q stands twice in one object; give it once", m.name)
		}
		at += copy(written[at:], was[m.from-start:m.to-start])
		written[at] = ','
		at++
	}
	return nil
}

// name reads a member's name and the colon behind it.
func (c *canon) name() ([]byte, error) {
	if c.next() != '"' {
		return nil, errors.New("expected a name in an object")
	}
	name, err := c.text()
	if err == nil && !c.take(':') {
		err = errors.New("expected : after a name")
	}
	return name, err
}

func (c *canon) array(out []byte, depth int) ([]byte, error) {
	c.at++
	out = append(out, '[')
	for first := true; !c.take(']'); first = false {
		if !first {
			if !c.take(',') {
				return nil, errors.New("expected , or ] in an array")
			}
			out = append(out, ',')
		}
		var err error
		if out, err = c.value(out, depth+1); err != nil {
			return nil, err
		}
	}
	return append(out, ']'), nil
}

func (c *canon) literal(out []byte) ([]byte, error) {
	for _, word := range []string{"true", "false", "null"} {
		if len(c.src)-c.at >= len(word) && string(c.src[c.at:c.at+len(word)]) == word {
			c.at += len(word)
			return append(out, word...), nil
		}
	}
	if c.at == len(c.src) {
		return nil, errors.New("the JSON ends too early")
	}
	return nil, fmt.Errorf("unexpected %q", c.src[c.at])
}

func isNumber(first byte) bool { return first == '-' || (first >= '0' && first <= '9') }

// number follows the JSON grammar by hand, since strconv takes more than JSON.
func (c *canon) number(out []byte) ([]byte, error) {
	start := c.at
	if c.src[c.at] == '-' {
		c.at++
	}
	whole := c.digits()
	if whole == 0 || (whole > 1 && c.src[c.at-whole] == '0') {
		return nil, errors.New("not a JSON number")
	}
	if c.peek('.') {
		c.at++
		if c.digits() == 0 {
			return nil, errors.New("not a JSON number")
		}
	}
	if c.peek('e') || c.peek('E') {
		c.at++
		if c.peek('+') || c.peek('-') {
			c.at++
		}
		if c.digits() == 0 {
			return nil, errors.New("not a JSON number")
		}
	}
	f, err := strconv.ParseFloat(string(c.src[start:c.at]), 64)
	if err != nil {
		return nil, errors.New("number beyond the range of a float64")
	}
	return appendNumber(out, f), nil
}

func (c *canon) peek(b byte) bool { return c.at < len(c.src) && c.src[c.at] == b }

func (c *canon) digits() (n int) {
	for ; c.at < len(c.src) && c.src[c.at] >= '0' && c.src[c.at] <= '9'; c.at++ {
		n++
	}
	return n
}

// appendNumber prints as ECMAScript's Number::toString does.
func appendNumber(out []byte, f float64) []byte {
	if f == 0 {
		return append(out, '0')
	}
	if a := math.Abs(f); a >= 1e-6 && a < 1e21 {
		return strconv.AppendFloat(out, f, 'f', -1, 64)
	}
	out = strconv.AppendFloat(out, f, 'e', -1, 64)
	if n := len(out); out[n-4] == 'e' && out[n-2] == '0' { // 1e-07 is written 1e-7
		out[n-2] = out[n-1]
		out = out[:n-1]
	}
	return out
}

// text reads a string; c.at stands on the opening quote. A text without escapes
// is a part of the source, not a copy.
func (c *canon) text() ([]byte, error) {
	c.at++
	start := c.at
	for c.at < len(c.src) && c.src[c.at] != '"' && c.src[c.at] != '\\' && c.src[c.at] >= 0x20 {
		c.at++
	}
	plain := c.src[start:c.at]
	if !utf8.Valid(plain) {
		return nil, errors.New("text that is not UTF-8")
	}
	if c.peek('"') {
		c.at++
		return plain, nil
	}
	return c.escaped(slices.Clone(plain))
}

func (c *canon) escaped(out []byte) ([]byte, error) {
	for c.at < len(c.src) {
		switch b := c.src[c.at]; {
		case b == '"':
			c.at++
			if !utf8.Valid(out) {
				return nil, errors.New("text that is not UTF-8")
			}
			return out, nil
		case b == '\\':
			r, err := c.escape()
			if err != nil {
				return nil, err
			}
			out = utf8.AppendRune(out, r)
		case b < 0x20:
			return nil, errors.New("control character in a text")
		default:
			out = append(out, b)
			c.at++
		}
	}
	return nil, errors.New("a text without its closing quote")
}

func (c *canon) escape() (rune, error) {
	c.at++
	if c.at == len(c.src) {
		return 0, errors.New("a text without its closing quote")
	}
	b := c.src[c.at]
	c.at++
	switch b {
	case '"', '\\', '/':
		return rune(b), nil
	case 'b':
		return '\b', nil
	case 'f':
		return '\f', nil
	case 'n':
		return '\n', nil
	case 'r':
		return '\r', nil
	case 't':
		return '\t', nil
	case 'u':
		return c.unicode()
	}
	return 0, fmt.Errorf(`unknown escape \%c`, b)
}

func (c *canon) unicode() (rune, error) {
	high, err := c.hex4()
	if err != nil || !utf16.IsSurrogate(high) {
		return high, err
	}
	if !c.peek('\\') || c.at+1 >= len(c.src) || c.src[c.at+1] != 'u' {
		return 0, errors.New("lone surrogate in a text")
	}
	c.at += 2
	low, err := c.hex4()
	if err != nil {
		return 0, err
	}
	if r := utf16.DecodeRune(high, low); r != utf8.RuneError {
		return r, nil
	}
	return 0, errors.New("lone surrogate in a text")
}

func (c *canon) hex4() (rune, error) {
	if c.at+4 > len(c.src) {
		return 0, errors.New("a text without its closing quote")
	}
	n, err := strconv.ParseUint(string(c.src[c.at:c.at+4]), 16, 16)
	if err != nil {
		return 0, errors.New(`\u needs four hexadecimal digits`)
	}
	c.at += 4
	return rune(n), nil
}

func appendText(out, s []byte) []byte {
	const hex = "0123456789abcdef"
	out = append(out, '"')
	plain := 0
	for i, b := range s {
		if b >= 0x20 && b != '"' && b != '\\' {
			continue
		}
		out = append(out, s[plain:i]...)
		plain = i + 1
		switch b {
		case '"', '\\':
			out = append(out, '\\', b)
		case '\b':
			out = append(out, '\\', 'b')
		case '\f':
			out = append(out, '\\', 'f')
		case '\n':
			out = append(out, '\\', 'n')
		case '\r':
			out = append(out, '\\', 'r')
		case '\t':
			out = append(out, '\\', 't')
		default:
			out = append(out, '\\', 'u', '0', '0', hex[b>>4], hex[b&15])
		}
	}
	return append(append(out, s[plain:]...), '"')
}

// compareUTF16 orders as RFC 8785 asks. Within ASCII, and wherever neither text
// has a character above U+FFFF, that is the order of the bytes.
func compareUTF16(a, b []byte) int {
	if ascii(a) && ascii(b) {
		return bytes.Compare(a, b)
	}
	return slices.Compare(utf16.Encode([]rune(string(a))), utf16.Encode([]rune(string(b))))
}

func ascii(s []byte) bool {
	for _, b := range s {
		if b >= utf8.RuneSelf {
			return false
		}
	}
	return true
}
