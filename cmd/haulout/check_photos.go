package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"haulout/events"
)

// photosRead are the photos that a facility's findings name. One that is named
// and not kept is no damage: a record may have come from a copy without it.
type photosRead struct {
	Named int `json:"named"`
	Kept  int `json:"kept"`
}

func (p *photosRead) String() string {
	named := counted(p.Named, "photo", "photos") + " named"
	if p.Named == p.Kept {
		return named + " and kept"
	}
	return fmt.Sprintf("%s, %d of them not kept", named, p.Named-p.Kept)
}

// readPhotos reads every photo that a finding on record names, and holds it
// against its digest.
func (n *node) readPhotos(ctx context.Context, c *checked) {
	seen := map[string]bool{}
	out := &photosRead{}
	for line, err := range n.archived(ctx, c.Facility) {
		if err != nil {
			return // told by the reading of both copies
		}
		for _, digest := range photosIn(line) {
			if seen[digest] {
				continue
			}
			seen[digest] = true
			out.Named++
			kept, err := n.keepsPhoto(ctx, c.Facility, digest)
			if err != nil && c.Problem == "" {
				c.Problem = err.Error()
			}
			if kept {
				out.Kept++
			}
		}
	}
	if out.Named > 0 {
		c.Photos = out
	}
}

func (n *node) keepsPhoto(ctx context.Context, facility, digest string) (bool, error) {
	hash, err := events.ParseHash(digest)
	if err != nil {
		return false, nil
	}
	_, err = n.journal.Photo(ctx, facility, hash)
	if errors.Is(err, events.ErrNoPhoto) {
		return false, nil
	}
	return err == nil, err
}

// photosIn lists the digests of photos in a record; most records have none, and
// are not decoded.
func photosIn(line []byte) (out []string) {
	if !bytes.Contains(line, []byte(`"photo":"`)) {
		return nil
	}
	ev, err := events.Decode(line)
	if check, ok := ev.Body.(*events.CheckMade); ok && err == nil {
		for _, f := range check.Findings {
			if f.Photo != "" {
				out = append(out, f.Photo)
			}
		}
	}
	return out
}
