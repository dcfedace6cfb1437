package events

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/gowebpki/jcs"
	"pgregory.net/rapid"
)

const jcsDir = "../testdata/vectors/jcs/"

func read(t *testing.T, path string) []byte {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return raw
}

// The published vectors of RFC 8785; their source stands in SOURCE.txt beside
// them.
func TestCanonicalFollowsThePublishedVectors(t *testing.T) {
	for _, name := range []string{"arrays", "french", "structures", "unicode", "values", "weird"} {
		t.Run(name, func(t *testing.T) {
			got, err := Canonical(read(t, jcsDir+"input/"+name+".json"))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(read(t, jcsDir+"output/"+name+".json")), string(got)); diff != "" {
				t.Errorf("(-published +got):\n%s", diff)
			}
		})
	}
}

func TestNumbersPrintAsPublished(t *testing.T) {
	rows, err := csv.NewReader(bytes.NewReader(read(t, jcsDir+"numbers.csv"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		bits, err := strconv.ParseUint(row[0], 16, 64)
		if err != nil {
			t.Fatal(err)
		}
		digits := strconv.FormatFloat(math.Float64frombits(bits), 'g', 17, 64)
		if got, err := Canonical([]byte(digits)); err != nil || string(got) != row[1] {
			t.Errorf("%s (%s) prints as %s, %v; published is %s", row[0], digits, got, err, row[1])
		}
	}
}

func TestCanonicalRefusesWhatItCannotCarry(t *testing.T) {
	deep := func(n int) string { return strings.Repeat("[", n) + strings.Repeat("]", n) }
	if _, err := Canonical([]byte(deep(maxDepth + 1))); err != nil {
		t.Errorf("%d lists inside each other: %v", maxDepth+1, err)
	}
	for name, c := range map[string]struct{ src, want string }{
		"a name that stands twice":            {`{"eaten":1,"eaten":2}`, `name "eaten" stands twice`},
		"a name twice, once escaped":          {`{"b":0,"a":1,"\u0061":2}`, `name "a" stands twice`},
		"a lone high surrogate":               {`["\ud83d"]`, "lone surrogate"},
		"a lone low surrogate":                {`["\ude02"]`, "lone surrogate"},
		"surrogates the wrong way round":      {`["\ude02\ud83d"]`, "lone surrogate"},
		"a high surrogate before a letter":    {`["\ud83d\u0041"]`, "lone surrogate"},
		"a lone surrogate in a name":          {`{"\ud83d":1}`, "lone surrogate"},
		"bytes that are not UTF-8":            {"[\"\xff\"]", "not UTF-8"},
		"an overlong encoding":                {"[\"\xc0\xaf\"]", "not UTF-8"},
		"a surrogate in UTF-8":                {"[\"\xed\xa0\xbd\"]", "not UTF-8"},
		"bytes not UTF-8 behind an escape":    {"[\"\\n\xff\"]", "not UTF-8"},
		"a control character":                 {"[\"a\nb\"]", "control character"},
		"a control character after an escape": {"[\"\\n\n\"]", "control character"},
		"nesting without end":                 {deep(maxDepth + 2), "nested deeper"},
		"a second value":                      {`{} {}`, "more than one"},
		"letters behind the value":            {`1x`, "more than one"},
		"nothing":                             {``, "ends too early"},
		"white space alone":                   {" \n", "ends too early"},
		"a comma too many in an object":       {`{"a":1,}`, "expected a name"},
		"a comma too many in a list":          {`[1,]`, "unexpected"},
		"a missing colon":                     {`{"a" 1}`, "expected :"},
		"an object without its end":           {`{"a":1`, "expected , or }"},
		"a list without its end":              {`[1`, "expected , or ]"},
		"a text without its end":              {`"a`, "closing quote"},
		"a text that ends in a backslash":     {`"a\`, "closing quote"},
		"an escape that JSON does not know":   {`"\x"`, `unknown escape`},
		"too few hexadecimal digits":          {`"\u12g4"`, "hexadecimal"},
		"a leading zero":                      {`01`, "not a JSON number"},
		"a leading zero behind a minus":       {`-01`, "not a JSON number"},
		"a point without digits":              {`1.`, "not a JSON number"},
		"a leading point":                     {`.5`, "unexpected"},
		"a leading plus":                      {`+1`, "unexpected"},
		"a minus alone":                       {`-`, "not a JSON number"},
		"an exponent without digits":          {`1e+`, "not a JSON number"},
		"a number beyond float64":             {`1e400`, "beyond the range"},
		"a number that is none":               {`NaN`, "unexpected"},
		"infinity":                            {`Infinity`, "unexpected"},
		"a comment":                           {`{} // fish`, "more than one"},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := Canonical([]byte(c.src))
			if err == nil {
				t.Fatalf("%q was taken as %q", c.src, got)
			}
			if !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "at byte ") {
				t.Errorf("says %q; wanted %q and the byte", err, c.want)
			}
		})
	}
}

// anyJSON draws JSON values with texts from every plane, as encoding/json
// writes them.
func anyJSON() *rapid.Generator[any] {
	text := rapid.StringOf(rapid.RuneFrom([]rune("abZ09 \"\\/<&\b\f\n\r\t\x00\x1f\x7f\u0080é€\u2028\ufb33\uffff😂\U0010ffff")))
	leaf := rapid.OneOf(
		rapid.Just[any](nil), rapid.Bool().AsAny(), text.AsAny(),
		rapid.Float64().AsAny(), rapid.Int64().AsAny(), rapid.Float64Range(-1e22, 1e22).AsAny(), rapid.Float64Range(-1e-5, 1e-5).AsAny(),
	)
	value := leaf
	for range 3 {
		value = rapid.OneOf(leaf, rapid.SliceOfN(value, 0, 4).AsAny(), rapid.MapOfN(text, value, 0, 6).AsAny())
	}
	return value
}

// gowebpki/jcs is an implementation of RFC 8785 by other hands.
func TestCanonicalAgreesWithAnotherImplementation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := anyJSON().Draw(t, "value")
		src, err := json.MarshalIndent(value, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		want, err := jcs.Transform(src)
		if err != nil {
			t.Skip("the other implementation does not take", string(src))
		}
		if got, err := Canonical(src); err != nil || !bytes.Equal(got, want) {
			t.Fatalf("%s\nbecomes  %s, %v\nelsewhere %s", src, got, err, want)
		}
	})
}

func TestCanonicalLeavesTheSourceAlone(t *testing.T) {
	src := []byte(`{"b":"\u0062","a":[1.0,"ö"],"c":{"z":1,"y":2}}`)
	before := bytes.Clone(src)
	got, err := Canonical(src)
	if err != nil || string(got) != `{"a":[1,"ö"],"b":"b","c":{"y":2,"z":1}}` {
		t.Errorf("got %s, %v", got, err)
	}
	if !bytes.Equal(src, before) {
		t.Errorf("the source became %s", src)
	}
}
