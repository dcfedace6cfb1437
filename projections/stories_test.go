package projections

import (
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/rogpeppe/go-internal/txtar"

	"haulout/events"
)

// The stories in testdata/projections say, for keepers and programmers alike,
// what was recorded and what the program then answers. Under "given" stands one
// fact a line; kind, at and data are needed, facility is saltgarth and by is rv
// where they are left out, and a fact that is referred to later has a name.
// Each "expect" asks one of the questions below; @name stands for the id of a
// named fact, and ", as known after @name" asks what was believed back then.

const storiesDir = "../testdata/projections"

var update = flag.Bool("update", false, "write what the stories expect anew; read the difference before you keep it")

// questions are what a story can ask, with the words that follow.
var questions = map[string]func(s *Store, asOf time.Time, words []string) (any, error){
	"facilities": func(s *Store, asOf time.Time, w []string) (any, error) { return s.Facilities(asOf) },
	"enclosures": func(s *Store, asOf time.Time, w []string) (any, error) { return s.Enclosures(w[0], asOf) },
	"animals":    func(s *Store, asOf time.Time, w []string) (any, error) { return s.Animals(asOf) },
	"animal":     func(s *Store, asOf time.Time, w []string) (any, error) { return s.Animal(w[0], asOf) },
	"roster": func(s *Store, asOf time.Time, w []string) (any, error) {
		at, err := events.ParseTime(w[1])
		if err != nil {
			return nil, err
		}
		list, err := s.Roster(w[0], at, asOf)
		var out []string
		for _, h := range list {
			out = append(out, strings.TrimSpace(h.Animal.Name+" at "+h.Facility+" "+h.Enclosure))
		}
		return out, err
	},
	"foods":       func(s *Store, asOf time.Time, w []string) (any, error) { return s.Foods(w[0], asOf) },
	"lots":        func(s *Store, asOf time.Time, w []string) (any, error) { return s.Lots(w[0], asOf) },
	"supplements": func(s *Store, asOf time.Time, w []string) (any, error) { return s.Supplements(w[0], asOf) },
	"house": func(s *Store, asOf time.Time, w []string) (any, error) {
		at, err := events.ParseTime(w[1])
		if err != nil {
			return nil, err
		}
		return s.House(w[0], at, asOf)
	},
	"diet": func(s *Store, asOf time.Time, w []string) (any, error) {
		at, err := events.ParseTime(w[1])
		if err != nil {
			return nil, err
		}
		return s.Diet(w[0], at, asOf)
	},
	"behaviours": func(s *Store, asOf time.Time, w []string) (any, error) { return s.Behaviours(w[0], asOf) },
	"days": func(s *Store, asOf time.Time, w []string) (any, error) {
		return s.Days(w[0], Day(w[1]), Day(w[2]), asOf)
	},
	"weights": func(s *Store, asOf time.Time, w []string) (any, error) {
		return s.Weights(w[0], Day(w[1]), Day(w[2]), asOf)
	},
	"order": func(s *Store, asOf time.Time, w []string) (any, error) {
		o, err := s.Order(askedOrder(w), storyNow, asOf)
		if o == nil || err != nil {
			return nil, err
		}
		return orderLines(o), nil
	},
	"ratings": func(s *Store, asOf time.Time, w []string) (any, error) {
		o, err := s.Order(askedOrder(w), storyNow, asOf)
		if o == nil || err != nil {
			return nil, err
		}
		return ratingLines(o), nil
	},
	"sampling": func(s *Store, asOf time.Time, w []string) (any, error) {
		o, err := s.Order(askedOrder(w), storyNow, asOf)
		if o == nil || err != nil {
			return nil, err
		}
		return map[string]any{"sampling": o.Evidence.Sampling, "contact": o.Contact}, nil
	},
	"company": func(s *Store, asOf time.Time, w []string) (any, error) {
		c, err := s.CompanyOf(askedOrder(w), storyNow, asOf)
		if c == nil || err != nil {
			return nil, err
		}
		return companyLines(c), nil
	},
	"care": func(s *Store, asOf time.Time, w []string) (any, error) {
		return s.CareOf(w[0], Day(w[1]), Day(w[2]), Day(w[2]).End(s.Zone("saltgarth")).Add(-time.Second), asOf)
	},
	"coat-scores": func(s *Store, asOf time.Time, w []string) (out any, err error) {
		err = s.at(asOf, func(v view) error {
			out, err = v.coatScores(w[0], Day(w[1]))
			return err
		})
		return out, err
	},
	"water-tests": func(s *Store, asOf time.Time, w []string) (out any, err error) {
		err = s.at(asOf, func(v view) error {
			out, err = rows[waterRow](v, &waters, Local("enclosure", w[0], w[1]), Day(w[2]), Day(w[3]))
			return err
		})
		return out, err
	},
	"devices": func(s *Store, asOf time.Time, w []string) (any, error) { return s.Devices(w[0], asOf) },
	"answers": func(s *Store, asOf time.Time, w []string) (any, error) { return s.CallAnswers(w[0], w[1], asOf) },
	"judgements": func(s *Store, asOf time.Time, w []string) (any, error) {
		at, err := events.ParseTime(w[1])
		if err != nil {
			return nil, err
		}
		return s.Judgements(strings.Split(w[0], "+"), at, asOf)
	},
	"periods": func(s *Store, asOf time.Time, w []string) (any, error) { return s.Periods(w[0], w[1], asOf) },
	"ration": func(s *Store, asOf time.Time, w []string) (any, error) {
		at, err := events.ParseTime(w[1])
		if err != nil {
			return nil, err
		}
		return s.Ration(w[0], at, asOf)
	},
}

// told is one fact of a story.
type told struct {
	Name, Facility, Kind, At, By string
	Data                         json.RawMessage
}

func TestStories(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(storiesDir, "*.txtar"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txtar"), func(t *testing.T) {
			story, err := txtar.ParseFile(file)
			if err != nil {
				t.Fatal(err)
			}
			r := newRecorder(t)
			known := map[string]events.Event{}
			asked := 0
			for i, part := range story.Files {
				switch word, question, _ := strings.Cut(part.Name, " "); word {
				case "given":
					tell(t, r, known, string(part.Data))
				case "expect":
					asked++
					ask(t, r, known, question, &story.Files[i])
				default:
					t.Fatalf("%q is neither given nor expect", part.Name)
				}
			}
			if asked == 0 || len(strings.TrimSpace(string(story.Comment))) == 0 {
				t.Error("a story says in words what it is about, and expects something")
			}
			if *update {
				if err := os.WriteFile(file, txtar.Format(story), 0o644); err != nil {
					t.Fatal(err)
				}
			}
		})
	}
}

func tell(t *testing.T, r *recorder, known map[string]events.Event, given string) {
	for line := range strings.Lines(given) {
		if strings.TrimSpace(line) == "" {
			continue
		}
		f := told{Facility: "saltgarth", By: "rv"}
		d := json.NewDecoder(strings.NewReader(withIDs(line, known)))
		d.DisallowUnknownFields()
		if err := d.Decode(&f); err != nil {
			t.Fatalf("%v in %s", err, line)
		}
		ev, err := r.try(events.Draft{ID: r.id(0), Type: events.TypeOf(f.Kind), Time: f.At, Facility: f.Facility, Data: f.Data}, f.By)
		if err != nil {
			t.Fatalf("%v in %s", err, line)
		}
		if f.Name != "" {
			known[f.Name] = ev
		}
	}
}

func withIDs(text string, known map[string]events.Event) string {
	for name, ev := range known {
		text = strings.ReplaceAll(text, `"@`+name+`"`, `"`+ev.ID+`"`)
	}
	return text
}

func withNames(text string, known map[string]events.Event) string {
	for name, ev := range known {
		text = strings.ReplaceAll(text, `"`+ev.ID+`"`, `"@`+name+`"`)
	}
	return text
}

var asKnown = regexp.MustCompile(`^(.*), as known after @(\S+)$`)

// ask puts a question to an archive that holds what was told so far.
func ask(t *testing.T, r *recorder, known map[string]events.Event, question string, part *txtar.File) {
	s := openStore(t, t.TempDir(), All())
	defer closeStore(t, s)
	mustApply(t, s, r.pages()...)
	var asOf time.Time
	asked := question
	if then := asKnown.FindStringSubmatch(question); then != nil {
		asked, asOf = then[1], known[then[2]].Recorded
	}
	words := strings.Fields(asked)
	answer, ok := questions[words[0]]
	if !ok {
		t.Fatalf("nobody knows how to answer %q", question)
	}
	said, err := answer(s, asOf, words[1:])
	if err != nil {
		t.Fatalf("%s: %v", question, err)
	}
	raw, err := json.MarshalIndent(said, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		part.Data = []byte(withNames(string(raw), known) + "\n")
	}
	var want, got any
	if err := json.Unmarshal([]byte(withIDs(string(part.Data), known)), &want); err != nil {
		t.Fatalf("%s: %v", question, err)
	}
	if err := json.Unmarshal(raw, &got); err != nil {
		t.Fatal(err)
	}
	lastDigit := cmpopts.EquateApprox(1e-12, 0) // sums of float64 differ in it
	if diff := cmp.Diff(want, got, lastDigit); diff != "" {
		t.Errorf("%s (- expected, + answered):\n%s", question, diff)
	}
}

func TestEveryProjectionHasItsStory(t *testing.T) {
	for _, p := range All() {
		if _, err := os.Stat(filepath.Join(storiesDir, p.Name+".txtar")); err != nil {
			t.Errorf("%s has no story; write testdata/projections/%s.txtar", p.Name, p.Name)
		}
	}
}

// A projection that is not listed is never folded, and nobody would notice.
func TestEveryProjectionIsListed(t *testing.T) {
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var made, listed []string
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, decl := range file.Decls {
			made = append(made, madeIn(decl)...)
			listed = append(listed, listedIn(decl)...)
		}
	}
	slices.Sort(made)
	slices.Sort(listed)
	if diff := cmp.Diff(made, listed); diff != "" || len(made) == 0 {
		t.Errorf("projections that are made (-) and those that All lists (+):\n%s", diff)
	}
	var named []string
	for _, p := range All() {
		named = append(named, p.Name)
	}
	slices.Sort(named)
	if len(slices.Compact(named)) != len(All()) {
		t.Errorf("two projections share a name: %v", named)
	}
}

// madeIn finds the variables that are made by Daily, Whole or Running.
func madeIn(decl ast.Decl) (names []string) {
	vars, ok := decl.(*ast.GenDecl)
	if !ok || vars.Tok != token.VAR {
		return nil
	}
	for _, spec := range vars.Specs {
		v := spec.(*ast.ValueSpec)
		for i, value := range v.Values {
			if call, ok := value.(*ast.CallExpr); ok && slices.Contains([]string{"Daily", "Whole", "Running"}, calledName(call.Fun)) {
				names = append(names, v.Names[i].Name)
			}
		}
	}
	return names
}

func calledName(fun ast.Expr) string {
	switch f := fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.IndexExpr: // with its type written out
		return calledName(f.X)
	}
	return ""
}

// listedIn finds the names in All.
func listedIn(decl ast.Decl) (names []string) {
	all, ok := decl.(*ast.FuncDecl)
	if !ok || all.Name.Name != "All" || all.Recv != nil {
		return nil
	}
	ast.Inspect(all.Body, func(n ast.Node) bool {
		if list, ok := n.(*ast.CompositeLit); ok {
			for _, e := range list.Elts {
				names = append(names, fmt.Sprint(e))
			}
		}
		return true
	})
	return names
}
