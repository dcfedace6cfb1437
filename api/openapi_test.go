package api

import (
	"bytes"
	"fmt"
	"maps"
	"mime"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// description is the committed OpenAPI document with its schemas ready for use.
type description struct {
	doc      map[string]any
	compiler *jsonschema.Compiler
	routes   *http.ServeMux
	mu       sync.Mutex
	schemas  map[string]*jsonschema.Schema
}

const docURL = "https://saltgarth.example/openapi.json"

var described = sync.OnceValues(func() (*description, error) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(openAPIFile))
	if err != nil {
		return nil, err
	}
	seal(doc)
	d := &description{doc: doc.(map[string]any), compiler: jsonschema.NewCompiler(), routes: table(nil), schemas: map[string]*jsonschema.Schema{}}
	d.compiler.DefaultDraft(jsonschema.Draft2020)
	d.compiler.AssertFormat()
	return d, d.compiler.AddResource(docURL, doc)
})

// seal lets no object have a member that its schema does not name, so that the
// description can't fall behind what is answered.
func seal(node any) {
	switch node := node.(type) {
	case []any:
		for _, one := range node {
			seal(one)
		}
	case map[string]any:
		if _, ok := node["properties"].(map[string]any); ok && node["type"] == "object" {
			node["additionalProperties"] = false
		}
		for _, one := range node {
			seal(one)
		}
	}
}

func describe(t *testing.T) *description {
	t.Helper()
	d, err := described()
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// at follows names down the document, and references; it gives the place where
// it came out as a JSON pointer.
func (d *description) at(names ...string) (node map[string]any, pointer string) {
	node, pointer = d.doc, "#"
	for _, name := range names {
		next, ok := node[name].(map[string]any)
		if !ok {
			return nil, pointer
		}
		node, pointer = next, pointer+"/"+strings.NewReplacer("~", "~0", "/", "~1", "{", "%7B", "}", "%7D").Replace(name)
		if ref, ok := node["$ref"].(string); ok {
			node, pointer = d.at(strings.Split(strings.TrimPrefix(ref, "#/"), "/")...)
		}
	}
	return node, pointer
}

func (d *description) schema(pointer string) (*jsonschema.Schema, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if s := d.schemas[pointer]; s != nil {
		return s, nil
	}
	s, err := d.compiler.Compile(docURL + pointer)
	d.schemas[pointer] = s
	return s, err
}

// fits says why an answer is not as the description has it.
func (d *description) fits(r *http.Request, a answer) error {
	matched, pattern := d.routes.Handler(r)
	if _, listed := matched.(need); !listed {
		return nil
	}
	method, path, _ := strings.Cut(pattern, " ")
	operation := []string{"paths", path, strings.ToLower(method), "responses", fmt.Sprint(a.status)}
	response, _ := d.at(operation...)
	if response == nil {
		return fmt.Errorf("%s is not said to answer %d", pattern, a.status)
	}
	media, _, err := mime.ParseMediaType(a.header.Get("Content-Type"))
	if err != nil || len(a.body) == 0 {
		if _, content := response["content"]; content && r.Method != http.MethodHead && media != "text/event-stream" {
			return fmt.Errorf("%s is said to answer %d with content", pattern, a.status)
		}
		return nil
	}
	content, pointer := d.at(append(operation, "content", media)...)
	if content == nil {
		return fmt.Errorf("%s is not said to answer %d with %s", pattern, a.status, media)
	}
	if !strings.HasSuffix(media, "json") || media == "application/x-ndjson" {
		return nil
	}
	return d.check(pointer+"/schema", a.body)
}

func (d *description) check(pointer string, raw []byte) error {
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		return err
	}
	return d.checkValue(pointer, value)
}

func (d *description) checkValue(pointer string, value any) error {
	schema, err := d.schema(pointer)
	if err != nil {
		return err
	}
	return schema.Validate(value)
}

func TestTheDescriptionHasTheRoutesOfThePolicy(t *testing.T) {
	d := describe(t)
	described := map[string]need{}
	paths, _ := d.at("paths")
	for path, methods := range paths {
		for method, operation := range methods.(map[string]any) {
			route := strings.ToUpper(method) + " " + path
			described[route] = policy[route]
			security, stated := operation.(map[string]any)["security"].([]any)
			if isOpen := stated && len(security) == 0; isOpen != (policy[route] == open) {
				t.Errorf("%s is said to be open: %t", route, isOpen)
			}
		}
	}
	if diff := cmp.Diff(policy, described); diff != "" {
		t.Errorf("policy and description (-policy +description):\n%s", diff)
	}
}

// Every answer that a test of this package gets is held against the description
// on its way; this test sees to it that each route is asked for something full.
func TestEveryRouteAnswersAsItIsDescribed(t *testing.T) {
	s := openSite(t)
	s.mustRecord(keeper,
		s.feed("morning", "2.5", "2.5"),
		s.fact("weighed", "weight.taken", "saltgarth", `{"animal":"marl","mass":{"value":"81.5","unit":"kg"},"scale":"platform-1","coat":"dry","method":"voluntary"}`),
		s.fact("coat", "coat.scored", "saltgarth", `{"animal":"marl","stage":"2","new_coat":{"value":"40","unit":"%"}}`),
		s.fact("looked", "check.made", "saltgarth", `{"animal":"marl","findings":[{"region":"eyes","word":"left eye half closed","urgent":true}]}`),
		s.fact("trial", "trial.scored", "saltgarth", `{"behaviour":"marl-chin-rest","animal":"marl","step":1,"outcome":"met"}`),
		s.fact("mark", "animal.identified", "saltgarth", `{"animal":"marl","scheme":"tag","code":"S 12","where":"left fore flipper"}`),
		s.fact("placed", "animal.placed", "saltgarth", `{"animal":"marl","enclosure":"deep-pool"}`),
		s.fact("thawed", "lot.thawed", "saltgarth", `{"lot":"h-2611","mass":{"value":"20","unit":"kg"},"how":"refrigerated"}`),
		s.fact("heavier", "entry.corrected", "saltgarth", `{"entry":"`+idOf("weighed")+`","reason":"misread","data":{"animal":"marl","mass":{"value":"82.5","unit":"kg"}}}`),
		s.fact("able", "behaviour.approved", "saltgarth", `{"behaviour":"marl-chin-rest","animal":"marl"}`),
	)
	for _, route := range slices.Sorted(maps.Keys(policy)) {
		if got := s.visit(steward, route); got.status >= 400 {
			t.Errorf("%s: %d %s", route, got.status, got.body)
		}
	}
}

func TestAnAnswerThatIsNotDescribedIsFound(t *testing.T) {
	d := describe(t)
	for body, status := range map[string]int{
		`{"name":"rv","role":"keeper","pin":"1234"}`: 200, `{"name":"rv"}`: 200, `{"name":"rv","role":"god"}`: 200, `{"name":5,"role":"keeper"}`: 200, `[]`: 200, `{"name":"rv","role":"keeper"}`: 418,
	} {
		got := answer{t: t, status: status, header: http.Header{"Content-Type": {"application/json"}}, body: []byte(body)}
		if err := d.fits(newRequest(http.MethodGet, "/api/v1/me", ""), got); err == nil {
			t.Errorf("%d with %s passes", status, body)
		}
	}
}

func TestEveryExampleFitsItsSchema(t *testing.T) {
	d, examples := describe(t), 0
	var walk func(names []string, node any)
	walk = func(names []string, node any) {
		m, ok := node.(map[string]any)
		if !ok {
			return
		}
		if example, ok := m["example"]; ok {
			_, pointer := d.at(append(slices.Clone(names), "schema")...)
			if err := d.checkValue(pointer, example); err != nil {
				t.Errorf("%s: %v", strings.Join(names, " "), err)
			}
			examples++
		}
		for name, child := range m {
			walk(append(slices.Clone(names), name), child)
		}
	}
	for _, part := range []string{"paths", "components"} {
		walk([]string{part}, d.doc[part])
	}
	if examples < 30 {
		t.Errorf("only %d examples were found", examples)
	}
}

func TestTheDescriptionIsServedAsItIsCommitted(t *testing.T) {
	s := openSite(t)
	got := s.get("", "/api/openapi.json").want(http.StatusOK)
	if !bytes.Equal(got.body, openAPIFile) || got.header.Get("Content-Type") != "application/json" {
		t.Error("another description is served")
	}
}
