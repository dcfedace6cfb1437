package web

import (
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"
)

//go:embed templates
var templates embed.FS

// frame is what stands around every page.
type frame struct {
	Title   string
	Here    string // the page of the navigation that is open
	Notices []string
	Visitor Visitor
	Static  string // folder of the static files
	Version string
}

// link is one page of the navigation.
type link struct {
	Name, Path string
	Here       bool
}

// Pages is the navigation. A page is named here when it exists.
func (f frame) Pages() []link {
	var out []link
	for _, name := range []string{"Today", "Deck", "Animals", "Colony", "Fish room", "Water"} {
		out = append(out, link{name, "/" + strings.ReplaceAll(strings.ToLower(name), " ", ""), name == f.Here})
	}
	return out
}

func (s *site) frame(r *http.Request, here, title string) frame {
	return frame{
		Title: title, Here: here, Notices: s.notices(), Visitor: s.Visitor(r),
		Static: s.assets.folder(), Version: s.Version,
	}
}

func (s *site) notices() []string {
	if s.Notices == nil {
		return nil
	}
	return s.Notices()
}

// parsePages reads each page together with the parts that all of them share.
func parsePages() (map[string]*template.Template, error) {
	parts, err := template.New("").ParseFS(templates, "templates/parts/*.html")
	if err != nil {
		return nil, err
	}
	files, err := fs.Glob(templates, "templates/*.html")
	if err != nil {
		return nil, err
	}
	out := map[string]*template.Template{}
	for _, file := range files {
		page, err := template.Must(parts.Clone()).ParseFS(templates, file)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", file, err)
		}
		out[strings.TrimSuffix(path.Base(file), ".html")] = page
	}
	return out, nil
}
