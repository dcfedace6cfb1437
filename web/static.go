package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"io/fs"
	"maps"
	"mime"
	"net/http"
	"path"
	"slices"
	"strings"
)

//go:embed static
var staticFiles embed.FS

// assets are the embedded files, served under a folder that is named by the
// hash of them all: a name never changes its bytes, so a browser may keep it.
type assets struct {
	hash  string
	files map[string][]byte
}

// workerFile is served at the root, so that it may serve every page; it is not
// among the files of the hashed folder.
const workerFile = "sw.js"

func readAssets() (assets, error) {
	out := assets{files: map[string][]byte{}}
	err := fs.WalkDir(staticFiles, "static", func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		raw, err := staticFiles.ReadFile(file)
		out.files[strings.TrimPrefix(file, "static/")] = raw
		return err
	})
	if err != nil {
		return out, err
	}
	out.hash, err = hashAll(out.files)
	return out, err
}

// hashAll covers the templates too: the Deck's page is kept by phones, so a
// change of it must give the kept set another name.
func hashAll(files map[string][]byte) (string, error) {
	sum := sha256.New()
	for _, name := range slices.Sorted(maps.Keys(files)) {
		sum.Write([]byte(name + "\x00"))
		sum.Write(files[name])
	}
	err := fs.WalkDir(templates, ".", func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		raw, err := templates.ReadFile(file)
		sum.Write(raw)
		return err
	})
	return hex.EncodeToString(sum.Sum(nil))[:16], err
}

func (a assets) folder() string { return "/static/" + a.hash + "/" }

// kept lists the paths that the service worker keeps on a phone.
func (a assets) kept() []string {
	out := []string{"/deck", "/manifest.webmanifest"}
	for _, name := range slices.Sorted(maps.Keys(a.files)) {
		if name != workerFile && name != "page.js" {
			out = append(out, a.folder()+name)
		}
	}
	return out
}

func (s *site) static(w http.ResponseWriter, r *http.Request) error {
	name, found := strings.CutPrefix(r.URL.Path, s.assets.folder())
	raw := s.assets.files[name]
	if !found || raw == nil || name == workerFile {
		return nowhere
	}
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	return send(w, mime.TypeByExtension(path.Ext(name)), raw)
}

// worker serves the service worker with the list of what it keeps written in.
func (s *site) worker(w http.ResponseWriter, r *http.Request) error {
	list, err := json.Marshal(s.assets.kept())
	if err != nil {
		return err
	}
	raw := bytes.Replace(s.assets.files[workerFile], []byte(`"HASH"`), []byte(`"`+s.assets.hash+`"`), 1)
	raw = bytes.Replace(raw, []byte(`["FILES"]`), list, 1)
	w.Header().Set("Cache-Control", "no-cache")
	return send(w, "text/javascript; charset=utf-8", raw)
}

func (s *site) manifest(w http.ResponseWriter, r *http.Request) error {
	icon := func(file, size, sort string) map[string]string {
		return map[string]string{"src": s.assets.folder() + file, "sizes": size, "type": sort, "purpose": "any"}
	}
	raw, err := json.Marshal(map[string]any{
		"id": "/deck", "name": "haulout Deck", "short_name": "Deck", "lang": "en-GB",
		"start_url": "/deck", "scope": "/", "display": "standalone",
		"background_color": "#f5f7f5", "theme_color": "#0a4f5c",
		"icons": []any{icon("icon.svg", "any", "image/svg+xml"), icon("icon-192.png", "192x192", "image/png"), icon("icon-512.png", "512x512", "image/png")},
	})
	if err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-cache")
	return send(w, "application/manifest+json", raw)
}

func send(w http.ResponseWriter, mediaType string, raw []byte) error {
	w.Header().Set("Content-Type", mediaType)
	_, err := w.Write(raw)
	return err
}
