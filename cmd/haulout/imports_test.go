package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// house is where the repository begins.
const house = "../.."

// room is what a package may import beyond the standard library, by prefix.
// A room that may take any library says what it never takes.
type room struct {
	may   []string
	never []string // of what may allows
	tests []string // what its tests may import besides
	pure  bool     // no I/O either
	sure  bool     // no clock and no dice: what comes out follows from what went in
}

// testLibraries are for tests alone, anywhere.
var testLibraries = []string{
	"github.com/google/go-cmp/", "pgregory.net/rapid", "github.com/santhosh-tekuri/jsonschema/", "github.com/gowebpki/jcs",
	"github.com/rogpeppe/go-internal/", "github.com/chromedp/", "golang.org/x/mod/", "github.com/google/uuid",
}

// storage is what the interface and the pages know nothing of.
var storage = []string{"github.com/nats-io/", "github.com/dgraph-io/", "haulout/events/journal", "haulout/api", "haulout/web", "haulout/cmd"}

// rooms is the plan of the house. A package below projections without a line of
// its own is a science.
var rooms = map[string]room{
	"haulout/events":              {sure: true},
	"haulout/events/journal":      {may: []string{"haulout/events", "github.com/nats-io/"}},
	"haulout/projections":         {may: []string{"haulout/events", "haulout/projections/", "github.com/dgraph-io/", "github.com/klauspost/compress/", "golang.org/x/sync/"}, never: []string{"haulout/events/journal", "haulout/projections/dossier"}, sure: true},
	"haulout/projections/dossier": {may: []string{"haulout/events", "haulout/projections", "golang.org/x/mod/"}, never: []string{"haulout/events/journal"}, sure: true},
	"haulout/api":                 {may: []string{""}, never: storage, tests: []string{"haulout/events/journal"}},
	"haulout/web":                 {may: []string{""}, never: storage, tests: []string{"haulout/events/journal"}, sure: true},
	"haulout/cmd/haulout":         {may: []string{""}},
	"haulout/cmd/haulout/colony":  {may: []string{"haulout/events"}, never: []string{"haulout/events/journal"}},
}

var science = room{may: []string{"gonum.org/v1/gonum/"}, pure: true, sure: true}

// inputOutput is what a science does not touch.
var inputOutput = []string{"os", "io/ioutil", "net", "syscall", "log", "database", "time/tzdata"}

func roomOf(pkg string) (room, bool) {
	if r, ok := rooms[pkg]; ok {
		return r, true
	}
	return science, strings.HasPrefix(pkg, "haulout/projections/")
}

// takes says whether a room takes an import.
func (r room) takes(path string, test bool) bool {
	if first, _, _ := strings.Cut(path, "/"); !strings.Contains(first, ".") && first != "haulout" {
		return test || !r.pure || !under(path, inputOutput)
	}
	if test && under(path, slices.Concat(testLibraries, r.tests)) {
		return true
	}
	return under(path, r.may) && !under(path, r.never)
}

// under says whether a path is one of the places or lies below one that ends
// with a slash or stands for a whole tree.
func under(path string, places []string) bool {
	return slices.ContainsFunc(places, func(place string) bool {
		rest, ok := strings.CutPrefix(path, place)
		return ok && (place == "" || rest == "" || rest[0] == '/' || strings.HasSuffix(place, "/"))
	})
}

type listedPackage struct {
	ImportPath, Dir                    string
	Imports, TestImports, XTestImports []string
	GoFiles                            []string
}

func packages(t *testing.T) (out []listedPackage) {
	t.Helper()
	list := exec.CommandContext(t.Context(), "go", "list", "-json=ImportPath,Dir,Imports,TestImports,XTestImports,GoFiles", "./...")
	list.Dir = house
	raw, err := list.Output()
	if err != nil {
		t.Fatal(err)
	}
	for read := json.NewDecoder(bytes.NewReader(raw)); ; {
		var p listedPackage
		if err := read.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		out = append(out, p)
	}
	if len(out) < len(rooms)-1 {
		t.Fatalf("only %d packages are listed", len(out))
	}
	return out
}

func TestNoRoomImportsWhatItMayNot(t *testing.T) {
	for _, p := range packages(t) {
		r, ok := roomOf(p.ImportPath)
		if !ok {
			t.Errorf("%s has no place in the plan of the house", p.ImportPath)
			continue
		}
		for _, path := range p.Imports {
			if !r.takes(path, false) {
				t.Errorf("%s imports %s", p.ImportPath, path)
			}
		}
		for _, path := range slices.Concat(p.TestImports, p.XTestImports) {
			if path != p.ImportPath && !r.takes(path, true) {
				t.Errorf("a test of %s imports %s", p.ImportPath, path)
			}
		}
	}
}

func TestThePlanOfTheHouseRefuses(t *testing.T) {
	for _, no := range [][2]string{
		{"haulout/events", "github.com/google/uuid"}, {"haulout/events", "haulout/projections"}, {"haulout/events/journal", "haulout/projections"},
		{"haulout/projections", "github.com/nats-io/nats.go"}, {"haulout/projections", "haulout/events/journal"}, {"haulout/projections", "haulout/api"},
		{"haulout/projections/growth", "haulout/events"}, {"haulout/projections/growth", "os"}, {"haulout/projections/growth", "net/http"},
		{"haulout/api", "haulout/web"}, {"haulout/api", "github.com/dgraph-io/badger/v4"}, {"haulout/api", "haulout/cmd/haulout"}, {"haulout/web", "haulout/events/journal"},
		{"haulout/projections/dossier", "github.com/labstack/echo/v4"}, {"haulout/cmd/haulout/colony", "haulout/events/journal"},
	} {
		if r, ok := roomOf(no[0]); !ok || r.takes(no[1], false) {
			t.Errorf("%s may import %s", no[0], no[1])
		}
	}
}

// sources visits every Go file of the repository with its path from there.
func sources(t *testing.T, visit func(path string, set *token.FileSet, file *ast.File)) {
	t.Helper()
	found := 0
	err := filepath.WalkDir(house, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != house && left[d.Name()] {
			return fs.SkipDir
		}
		if d.IsDir() || filepath.Ext(path) != ".go" {
			return nil
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		found++
		name, err := filepath.Rel(house, path)
		visit(filepath.ToSlash(name), set, file)
		return err
	})
	if err != nil || found < 50 {
		t.Fatalf("%d files read: %v", found, err)
	}
}

// left is what the repository does not keep, and git's own.
var left = map[string]bool{".git": true, "bin": true, "data": true, ".tools": true, "node_modules": true}

// seeded is what a package of random numbers may be asked for: everything that
// a seed is given to.
var seeded = []string{"New", "NewPCG", "NewChaCha8", "NewSource", "NewZipf", "Rand", "PCG", "ChaCha8", "Source", "Zipf"}

var clocks = []string{"Now", "Since", "Until", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker", "Sleep"}

func TestWhatIsWorkedOutDependsOnNoClockAndNoDice(t *testing.T) {
	sources(t, func(path string, set *token.FileSet, file *ast.File) {
		r, _ := roomOf("haulout/" + filepath.ToSlash(filepath.Dir(path)))
		if strings.HasSuffix(path, "_test.go") || !r.sure {
			return
		}
		for _, imported := range file.Imports {
			if imported.Path.Value == `"crypto/rand"` {
				t.Errorf("%s imports crypto/rand", path)
			}
		}
		ast.Inspect(file, func(n ast.Node) bool {
			use, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			of, ok := use.X.(*ast.Ident)
			if ok && (of.Name == "time" && slices.Contains(clocks, use.Sel.Name) || of.Name == "rand" && !slices.Contains(seeded, use.Sel.Name)) {
				t.Errorf("%s asks for %s.%s", set.Position(n.Pos()), of.Name, use.Sel.Name)
			}
			return true
		})
	})
}

func TestNoFolderIsNamedForNothing(t *testing.T) {
	vague := []string{"internal", "pkg", "util", "utils", "common", "models", "helpers", "manager", "service"}
	err := filepath.WalkDir(house, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		if path != house && left[d.Name()] {
			return fs.SkipDir
		}
		if slices.Contains(vague, d.Name()) {
			t.Errorf("the folder %s says nothing of what is in it", path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestTheTopLevelHoldsWhatItShould(t *testing.T) {
	want := []string{
		".ci", ".editorconfig", ".gitignore", "DEVELOPERS.md", "LICENSE", "Makefile", "README.md", "api", "cmd", "deploy", "events",
		"go.mod", "go.sum", "projections", "staticcheck.conf", "testdata", "web",
	}
	entries, err := os.ReadDir(house)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		if !left[e.Name()] {
			got = append(got, e.Name())
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("the top level holds\n%q\nwant\n%q", got, want)
	}
}

const (
	usualLines = 45  // more needs a reason in testdata/long-functions.txt
	mostLines  = 100 // more is never taken
)

func TestFunctionsKeepToTheHouseSize(t *testing.T) {
	reasons := reasonsForLength(t)
	sources(t, func(path string, set *token.FileSet, file *ast.File) {
		for _, decl := range file.Decls {
			f, ok := decl.(*ast.FuncDecl)
			if !ok {
				continue
			}
			name, lines := path+" "+nameOf(f), set.Position(f.End()).Line-set.Position(f.Pos()).Line+1
			switch {
			case lines > mostLines:
				t.Errorf("%s has %d lines; %d is the most", name, lines, mostLines)
			case lines > usualLines && reasons[name] == "":
				t.Errorf("%s has %d lines; shorten it, or give a reason in testdata/long-functions.txt", name, lines)
			}
			if lines > usualLines {
				delete(reasons, name)
			}
		}
	})
	for name := range reasons {
		t.Errorf("testdata/long-functions.txt excuses %s, which is not there or not long", name)
	}
}

func nameOf(f *ast.FuncDecl) string {
	if f.Recv == nil {
		return f.Name.Name
	}
	of := f.Recv.List[0].Type
	if star, ok := of.(*ast.StarExpr); ok {
		of = star.X
	}
	if generic, ok := of.(*ast.IndexExpr); ok {
		of = generic.X
	}
	return fmt.Sprint(of) + "." + f.Name.Name
}

// reasonsForLength reads lines of: file function: reason.
func reasonsForLength(t *testing.T) map[string]string {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(house, "testdata", "long-functions.txt"))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for line := range strings.Lines(string(raw)) {
		if line = strings.TrimSpace(line); line == "" || line[0] == '#' {
			continue
		}
		name, reason, _ := strings.Cut(line, ": ")
		if cmp.Or(reason, out[name]) == "" || out[name] != "" {
			t.Errorf("%q gives no reason, or a second one", line)
		}
		out[name] = reason
	}
	return out
}
