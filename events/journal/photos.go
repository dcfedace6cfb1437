package journal

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"

	"github.com/nats-io/nats.go/jetstream"

	"haulout/events"
)

// photoBucket is where a facility's photos lie: beside its log, found by the
// SHA-256 of their bytes. The records that name them are chained, so a photo
// that is not what was handed in shows.
func photoBucket(facility string) string { return "photos-" + facility }

// KeepPhoto puts a photo on disk and returns its digest. The same photo is kept
// once.
func (j *Journal) KeepPhoto(ctx context.Context, facility string, photo []byte) (digest events.Hash, err error) {
	digest = sha256.Sum256(photo)
	if err := j.takesPhotos(facility); err != nil {
		return digest, err
	}
	store, err := j.server.js.ObjectStore(ctx, photoBucket(facility))
	if errors.Is(err, jetstream.ErrBucketNotFound) {
		store, err = j.server.js.CreateOrUpdateObjectStore(ctx, jetstream.ObjectStoreConfig{
			Bucket: photoBucket(facility), Description: "photos of " + facility, Storage: jetstream.FileStorage, Replicas: 1,
		})
	}
	if err != nil {
		return digest, fmt.Errorf("open the photos of %s: %w", facility, err)
	}
	if _, err := store.GetInfo(ctx, digest.String()); err == nil {
		return digest, nil
	}
	if _, err := store.PutBytes(ctx, digest.String(), photo); err != nil {
		return digest, fmt.Errorf("%w: keep a photo of %s: %w", events.ErrNotWritten, facility, err)
	}
	return digest, nil
}

func (j *Journal) takesPhotos(facility string) error {
	if j.recorder(facility) == nil {
		return fmt.Errorf("%w: %s", events.ErrNotOpen, facility)
	}
	if why := j.ReadOnly(facility); why != "" {
		return fmt.Errorf("%w: %s", events.ErrReadOnly, why)
	}
	return j.space()
}

// Photo reads a photo back; events.ErrNoPhoto where the facility keeps none of that
// digest, ErrDamage where its bytes are not what they were.
func (j *Journal) Photo(ctx context.Context, facility string, digest events.Hash) ([]byte, error) {
	store, err := j.server.js.ObjectStore(ctx, photoBucket(facility))
	if errors.Is(err, jetstream.ErrBucketNotFound) {
		return nil, events.ErrNoPhoto
	}
	if err != nil {
		return nil, fmt.Errorf("open the photos of %s: %w", facility, err)
	}
	photo, err := store.GetBytes(ctx, digest.String())
	switch {
	case errors.Is(err, jetstream.ErrObjectNotFound):
		return nil, events.ErrNoPhoto
	case errors.Is(err, jetstream.ErrDigestMismatch) || err == nil && sha256.Sum256(photo) != digest:
		return nil, fmt.Errorf("%w: the photo %s of %s is not what was handed in", ErrDamage, digest, facility)
	case err != nil:
		return nil, fmt.Errorf("read a photo of %s: %w", facility, err)
	}
	return photo, nil
}
