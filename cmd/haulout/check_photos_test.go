package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"haulout/events"
)

func TestACheckReadsThePhotosThatFindingsName(t *testing.T) {
	dir := t.TempDir()
	n := tryNode(t, dir)
	openSaltgarth(t, n)
	photo := bytes.Repeat([]byte("a picture of a scratch "), 4000)
	kept, err := n.journal.KeepPhoto(t.Context(), "saltgarth", photo)
	if err != nil {
		t.Fatal(err)
	}
	for _, digest := range []string{kept.String(), strings.Repeat("0", 64)} {
		mustRecord(t, n, factOf(t, saltgarthDraft("check.made", fmt.Sprintf(`{"animal":"marl","findings":[{"region":"skin","word":"scratch","photo":%q}]}`, digest))))
	}
	n.settled(t.Context(), "saltgarth", 5, 5*time.Second)
	found, err := n.check(t.Context(), dir, true, io.Discard)
	if err != nil || len(found) != 1 || found[0].Problem != "" || found[0].Photos == nil || *found[0].Photos != (photosRead{2, 1}) {
		t.Fatalf("%+v %v", found, err)
	}
	if line := found[0].String(); !strings.Contains(line, "2 photos named, 1 of them not kept") {
		t.Error(line)
	}
	if err := n.close(); err != nil {
		t.Fatal(err)
	}
	alterPhoto(t, dir)
	n = tryNode(t, dir)
	defer n.close()
	if found, err = n.check(t.Context(), dir, true, io.Discard); err != nil || found[0].Problem == "" {
		t.Errorf("an altered photo is not found: %+v %v", found, err)
	}
}

func factOf(t *testing.T, d events.Draft) events.Event {
	t.Helper()
	fact, err := d.Fact()
	if err != nil {
		t.Fatal(err)
	}
	return fact
}

// alterPhoto changes a letter of a picture in the files of the log.
func alterPhoto(t *testing.T, dir string) {
	t.Helper()
	altered := 0
	err := filepath.WalkDir(filepath.Join(dir, "log"), func(path string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasSuffix(path, ".blk") {
			return err
		}
		raw, err := os.ReadFile(path)
		if changed := bytes.Replace(raw, []byte("a picture of a scratch"), []byte("a picture of a scratcH"), 1); err == nil && !bytes.Equal(raw, changed) {
			altered++
			return os.WriteFile(path, changed, 0o600)
		}
		return err
	})
	if err != nil || altered == 0 {
		t.Fatalf("%d files altered: %v", altered, err)
	}
}
