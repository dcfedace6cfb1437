package api

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	_ "image/png" // so that image.Decode knows it

	"github.com/bep/imagemeta"
	"golang.org/x/image/draw"
	"golang.org/x/image/math/f64"
)

// What a photo may be, and what is kept of it.
const (
	maxPhoto       = 12 << 20   // bytes as handed in
	maxPhotoPixels = 24_000_000 // as handed in
	photoSide      = 1600       // pixels of the longer side as kept
	photoQuality   = 82         // of the JPEG as kept, of 100
)

// errPhoto says why a picture can't be kept.
var errPhoto = errors.New("the photo can't be kept")

// photo is a picture as it is kept: a JPEG of its pixels alone. What a camera
// writes beside them, such as where and with what it was taken, is gone.
type photo struct {
	bytes         []byte
	width, height int
}

// newPhoto draws a picture anew: upright, at most photoSide long, and without
// anything that came with it. Errors: errPhoto with what is wrong.
func newPhoto(raw []byte) (photo, error) {
	shape, format, err := image.DecodeConfig(bytes.NewReader(raw))
	if err != nil || (format != "jpeg" && format != "png") {
		return photo{}, fmt.Errorf("%w: it is no JPEG and no PNG; send one of these", errPhoto)
	}
	if shape.Width < 1 || shape.Height < 1 || shape.Width*shape.Height > maxPhotoPixels {
		return photo{}, fmt.Errorf("%w: it has %d by %d pixels; send at most %d million", errPhoto, shape.Width, shape.Height, maxPhotoPixels/1_000_000)
	}
	picture, _, err := image.Decode(bytes.NewReader(raw))
	if err != nil {
		return photo{}, fmt.Errorf("%w: it breaks off or is damaged: %w; take it again", errPhoto, err)
	}
	upright := turned(shrunk(picture), orientation(raw, format))
	var out bytes.Buffer
	if err := jpeg.Encode(&out, upright, &jpeg.Options{Quality: photoQuality}); err != nil {
		return photo{}, err
	}
	size := upright.Bounds().Size()
	return photo{out.Bytes(), size.X, size.Y}, nil
}

// shrunk is a picture on white, its longer side no longer than photoSide.
func shrunk(picture image.Image) *image.RGBA {
	size := picture.Bounds().Size()
	if longer := max(size.X, size.Y); longer > photoSide {
		size = image.Pt(max(1, size.X*photoSide/longer), max(1, size.Y*photoSide/longer))
	}
	out := image.NewRGBA(image.Rectangle{Max: size})
	draw.Draw(out, out.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.CatmullRom.Scale(out, out.Bounds(), picture, picture.Bounds(), draw.Over, nil)
	return out
}

// orientation is how the camera was held: 1 to 8 by the EXIF standard, 1 where
// nothing says so.
func orientation(raw []byte, format string) (held int) {
	held = 1
	as := map[string]imagemeta.ImageFormat{"jpeg": imagemeta.JPEG, "png": imagemeta.PNG}[format]
	// What can't be read is as if it said nothing: the pixels are there.
	_, _ = imagemeta.Decode(imagemeta.Options{
		R: bytes.NewReader(raw), ImageFormat: as, Sources: imagemeta.EXIF,
		ShouldHandleTag: func(tag imagemeta.TagInfo) bool { return tag.Tag == "Orientation" },
		HandleTag: func(tag imagemeta.TagInfo) error {
			if value, ok := tag.Value.(uint16); ok && value >= 1 && value <= 8 {
				held = int(value)
			}
			return nil
		},
	})
	return held
}

// turned brings a picture upright, by the orientation that the camera noted.
func turned(picture *image.RGBA, held int) *image.RGBA {
	if held == 1 {
		return picture
	}
	w, h := float64(picture.Bounds().Dx()), float64(picture.Bounds().Dy())
	turn := map[int]f64.Aff3{ // where a pixel goes: x, then y
		2: {-1, 0, w, 0, 1, 0},
		3: {-1, 0, w, 0, -1, h},
		4: {1, 0, 0, 0, -1, h},
		5: {0, 1, 0, 1, 0, 0},
		6: {0, -1, h, 1, 0, 0},
		7: {0, -1, h, -1, 0, w},
		8: {0, 1, 0, -1, 0, w},
	}[held]
	size := picture.Bounds().Size()
	if held >= 5 {
		size = image.Pt(size.Y, size.X)
	}
	out := image.NewRGBA(image.Rectangle{Max: size})
	draw.NearestNeighbor.Transform(out, turn, picture, picture.Bounds(), draw.Src, nil)
	return out
}
